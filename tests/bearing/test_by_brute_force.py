"""Dirt on a made-up farm, day by day, against the walk: no lot that it got onto is missed.

The farm of this file has mats, batches and a bad well, and one act a day. It knows nothing of entries or uses: dirt is
on a thing or not, and what stands together shares it. The same acts are then recorded, in any order, and the walk from
the well must reach every lot that got dirty.
"""

from dataclasses import dataclass, field

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.bearing.farm import forward, load

from lotwalk.book import Book

MATS = ("M-1", "M-2", "M-3")
TAKEN = {
    "cut": "kind: harvest, lot: {made}, from: {lot} 1, amount: 100 g, cut: above the medium, equipment: none",
    "composted": "kind: disposal, items: {lot}, to: compost",
    "packed": "kind: packing, lot: {made}, from: [{{lot: {lot}, amount: 1 tray, finished: yes}}], amount: 100 g",
    "sold": "kind: delivery, code: {made}, customer: CAFE, items: [{{lot: {lot}, amount: 1 tray, finished: yes}}]",
}


@dataclass
class World:
    """What is dirty, what each growing batch stands on, and the lines that tell of it."""

    dirty: set[str] = field(default_factory=set)
    ever: set[str] = field(default_factory=set)
    under: dict[str, set[str]] = field(default_factory=dict)
    lines: list[str] = field(default_factory=list)
    made: int = 0

    def write(self, day: int, line: str) -> None:
        self.lines.append(f"- {{at: 2026-03-{day:02d} 09:00, {line}}}\n")
        self.ever |= {thing for thing in self.dirty if thing not in MATS}

    def meet(self, *things: str) -> None:
        """These are in contact, with all that stands on the mats among them: dirt on one is dirt on all."""
        together = set(things)
        for batch, mats in self.under.items():
            if mats & together:
                together.add(batch)
        if together & self.dirty:
            self.dirty |= together

    def new(self, letter: str) -> str:
        self.made += 1
        return f"{letter}-{self.made}"

    def act(self, day: int, what: str, mats: tuple[str, ...], batch: int, way: str) -> None:
        growing = sorted(self.under)
        if what == "sow":
            lot = self.new("T")
            self.meet(*mats)
            self.under[lot] = set(mats)
            self.meet(lot, *mats)
            trays = "trays: 1, water: none"
            self.write(day, f'kind: sowing, batch: {lot}, seed: S-1 9 g, {trays}, equipment: "{", ".join(mats)}"')
        elif what == "dip":
            (mat,) = mats[:1]
            if not any(mat in stands for stands in self.under.values()):
                self.dirty.discard(mat)
            reading = "solution: SOL-1, reading: 100 ppm, contact: 2 min, washed: yes, temperature: 20 C, ph: 7"
            self.write(day, f"kind: sanitising, items: {mat}, {reading}")
        elif growing:
            lot = growing[batch % len(growing)]
            if what == "water":
                self.dirty.add(lot)
                self.write(day, f"kind: growing-check, batches: {lot}, water: WELL, equipment: none")
                return
            if what == "lift":
                (mat,) = mats[:1]
                self.under[lot].add(mat)
                self.meet(lot, mat)
                self.write(day, f"kind: growing-check, batches: {lot}, water: none, equipment: {mat}")
                return
            made, before = self.new("X"), lot in self.dirty
            stands = self.under.pop(lot)
            self.meet(lot, *stands)
            if lot in self.dirty and way != "composted":
                self.dirty.add(made)
            if not before:
                # What it got while it was taken is on what came of it; of the batch itself nothing is left.
                self.dirty.discard(lot)
            self.write(day, TAKEN[way].format(lot=lot, made=made))


ACTS = st.tuples(
    st.sampled_from(("sow", "sow", "water", "take", "take", "dip", "lift")),
    st.lists(st.sampled_from(MATS), min_size=1, max_size=2, unique=True).map(tuple),
    st.integers(0, 3),
    st.sampled_from(tuple(TAKEN)),
)


@given(acts=st.lists(ACTS, min_size=4, max_size=14), late=st.data())
@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_lot_that_dirt_got_onto_is_missed(template, tmp_path, acts, late):
    world = World()
    for day, (what, mats, batch, way) in enumerate(acts, 2):
        world.act(day, what, mats, batch, way)
    where = tmp_path / "farm.db"
    for old in tmp_path.glob("farm.db*"):
        old.unlink()
    where.write_bytes(template.read_bytes())
    book = Book.open(str(where), clock=lambda: 1_774_500_000)
    # A sowing comes first, since nothing can be told of a batch that is not in the book; the rest in any order.
    first = [line for line in world.lines if "kind: sowing" in line]
    rest = late.draw(st.permutations([line for line in world.lines if line not in first]))
    for number, line in enumerate([*first, *rest]):
        load(book, line, f"sheet-{number}.yaml")
    reached = forward(book, "WELL")
    book.ledger.engine.dispose()
    assert world.ever - reached == set()


def test_the_made_up_farm_knows_dirt_when_it_sees_it():
    """T-1 is wet, lifted onto M-2, composted; T-3 grows on M-2, which was dipped while T-1 stood there."""
    world = World()
    for day, act in enumerate(
        [
            ("sow", ("M-1",), 0, "cut"),
            ("water", ("M-1",), 0, "cut"),
            ("lift", ("M-2",), 0, "cut"),
            ("dip", ("M-2",), 0, "cut"),
            ("take", ("M-1",), 0, "composted"),
            ("sow", ("M-2",), 0, "cut"),
        ],
        2,
    ):
        world.act(day, *act)
    assert world.ever == {"T-1", "T-3"}
    assert world.dirty == {"T-1", "T-3", "M-1", "M-2"}
