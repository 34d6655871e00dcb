"""What holds of every balance, on random farms: the equation, split entries, mixed units, nothing counted twice."""

from dataclasses import dataclass, replace
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.balance.farm import load, start, weighed

from lotwalk.balance.model import Movement
from lotwalk.balance.movements import Lot
from lotwalk.balance.onward import onward
from lotwalk.balance.reckoning import reckon
from lotwalk.book import Book

SLOW = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)

GRAMS = {"g": Decimal(1), "kg": Decimal(1000), "oz": Decimal("28.349523125"), "lb": Decimal("453.59237")}
"""By definition: the pound is 453.59237 g, and the ounce a sixteenth of it."""

KINDS = ("delivery", "disposal", "sample", "packing", "held", "binned", "count")


@dataclass(frozen=True)
class Act:
    """One thing done with P-1, at a minute of its own."""

    kind: str
    minute: int
    number: int
    unit: str

    @property
    def grams(self) -> Decimal:
        return self.number * GRAMS[self.unit]


@st.composite
def acts(draw: st.DrawFn) -> list[Act]:
    minutes = draw(st.lists(st.integers(0, 59), max_size=8, unique=True))
    return [
        Act(draw(st.sampled_from(KINDS)), minute, draw(st.integers(0, 40)), draw(st.sampled_from(sorted(GRAMS))))
        for minute in minutes
    ]


def sheet(done: list[Act], made: int) -> str:
    lines = [
        f"- {{kind: harvest, at: 2026-03-02, lot: H-1, from: T-1, amount: {made} g}}",
        f"- {{kind: packing, at: 2026-03-03, lot: P-1, from: H-1 {made} g, amount: {made} g}}",
        "- {kind: delivery, at: 2026-03-04 00:00, code: D-0, customer: CAFE, items: P-1 0 g}",
    ]
    for place, act in enumerate(done):
        amount, at = f"{act.number} {act.unit}", f"2026-03-05 10:{act.minute:02d}"
        lines.append(
            {
                "delivery": f"- {{kind: delivery, at: {at}, code: D-{place + 1}, customer: CAFE, items: P-1 {amount}}}",
                "disposal": f"- {{kind: disposal, at: {at}, items: P-1 {amount}}}",
                "sample": f"- {{kind: sample, at: {at}, of: P-1, amount: {amount}}}",
                "packing": f"- {{kind: packing, at: {at}, lot: P-1-{place}, from: P-1 {amount}, amount: {amount}}}",
                "held": f"- {{kind: return, at: {at}, delivery: D-0, lot: P-1, amount: {amount}, then: held}}",
                "binned": f"- {{kind: return, at: {at}, delivery: D-0, lot: P-1, amount: {amount}, then: disposed}}",
                "count": f"- {{kind: stock-count, at: {at}, lot: P-1, amount: {amount}}}",
            }[act.kind]
        )
    return "again: yes\ncommon: {by: TO}\nentries:\n" + "\n".join(lines)


@pytest.fixture(scope="module")
def template(tmp_path_factory):
    """A farm with a batch of trays, that every random farm is copied from."""
    path = tmp_path_factory.mktemp("random") / "template.db"
    book = start(str(path))
    load(book, "- {kind: sowing, at: 2026-03-01, batch: T-1, seed: S-1 500 g, trays: 4, equipment: M-1}")
    with book.ledger.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    book.ledger.engine.dispose()
    return path


def written(template, text: str) -> Book:
    """The book of a fresh copy with this sheet loaded."""
    for old in template.parent.glob("farm.db*"):
        old.unlink()
    path = template.with_name("farm.db")
    path.write_bytes(template.read_bytes())
    book = Book.open(str(path))
    load(book, text)
    return book


def sums_of(template, done: list[Act], made: int, code: str = "P-1"):
    book = written(template, sheet(done, made))
    (lot,) = weighed(book, code).lots
    book.ledger.engine.dispose()
    return lot.sums


@SLOW
@given(acts(), st.integers(1, 5000))
def test_a_balance_is_what_a_clerk_keeps_from_minute_to_minute(template, done, made):
    went = dict.fromkeys(KINDS, Decimal(0))
    on_hand = None
    for act in sorted(done, key=lambda act: act.minute):
        went[act.kind] += act.grams
        if act.kind == "count":
            on_hand = act.grams
        elif on_hand is not None and act.kind != "binned":
            on_hand += act.grams if act.kind == "held" else -act.grams
    sums = sums_of(template, done, made)
    assert sums.made == made
    assert sums.returned == went["held"] + went["binned"]
    assert sums.delivered == went["delivery"]
    assert sums.disposed == went["disposal"] + went["binned"]
    assert sums.sampled == went["sample"]
    assert sums.used.get("packing", 0) == went["packing"]
    assert sums.on_hand == on_hand
    out = sums.delivered + sums.disposed + sums.sampled + sum(sums.used.values())
    assert sums.made + sums.returned == out + (sums.on_hand or 0) + sums.unaccounted


@SLOW
@given(acts(), st.integers(1, 5000), st.data())
def test_an_entry_split_in_two_changes_nothing(template, done, made, data):
    splittable = [act for act in done if act.kind != "count" and act.number]
    if not splittable:
        return
    act = data.draw(st.sampled_from(splittable))
    first = data.draw(st.integers(0, act.number))
    halves = [replace(act, number=first), replace(act, number=act.number - first)]
    split = [*(one for one in done if one is not act), *halves]
    assert sums_of(template, split, made) == sums_of(template, done, made)


MOMENTS = st.integers(0, 6)
AMOUNTS = st.one_of(st.none(), st.decimals(0, 1000, places=3))
FACTS = st.frozensets(
    st.sampled_from(("delivered", "disposed", "sampled", "returned", "counted", "finished", "regrown")), max_size=2
)


@st.composite
def movements(draw: st.DrawFn) -> list[Movement]:
    """Any movements at all, in any order of time, measured or not, some in another unit."""
    found = []
    for entry in range(1, draw(st.integers(1, 8))):
        start = draw(MOMENTS)
        found.append(
            Movement(
                entry,
                entry,
                draw(st.sampled_from(("a", "b"))),
                draw(st.sampled_from(("made", "took", "took", "about", "tended"))),
                start,
                start + draw(st.integers(0, 3)),
                draw(st.integers(0, 1)),
                entry,
                draw(AMOUNTS),
                draw(st.sampled_from(("g", "g", "g", "count"))),
                draw(FACTS),
            )
        )
    return sorted(found, key=lambda one: (one.end, one.start, one.number))


@given(movements())
def test_the_equation_holds_whatever_the_entries_say(moved):
    found = reckon(Lot(1, "P-1", "packed-lot", None, False), moved)
    sums = found.sums
    out = sum(sums.used.values()) + sums.delivered + sums.disposed + sums.sampled
    assert (sums.made is None) == (sums.unaccounted is None)
    if sums.made is not None:
        assert sums.made + sums.returned == out + (sums.on_hand or 0) + sums.unaccounted
        assert (sums.percent == 100) == (sums.unaccounted == 0) or sums.made + sums.returned == 0
    assert sum(taking.amount for taking in found.takings if taking.amount is not None) == out
    assert all(amount >= 0 for amount in (sums.returned, sums.delivered, sums.disposed, sums.sampled))


@st.composite
def chains(draw: st.DrawFn) -> tuple[dict[str, int], dict[str, dict[str, int]], dict[str, int]]:
    """Harvests, packings without loss made of them and of each other, and what of each was delivered."""
    left = {f"H-{number}": draw(st.integers(1, 50)) * 10 for number in range(1, draw(st.integers(2, 4)))}
    cut = dict(left)
    packed: dict[str, dict[str, int]] = {}
    for number in range(1, draw(st.integers(1, 5))):
        full = sorted(code for code, amount in left.items() if amount)
        if not full:
            break
        chosen = draw(st.lists(st.sampled_from(full), min_size=1, max_size=3, unique=True))
        packed[f"P-{number}"] = {code: draw(st.integers(1, left[code])) for code in chosen}
        for code, amount in packed[f"P-{number}"].items():
            left[code] -= amount
        left[f"P-{number}"] = sum(packed[f"P-{number}"].values())
    sold = {code: draw(st.integers(0, amount)) for code, amount in left.items()}
    return cut, packed, {code: amount for code, amount in sold.items() if amount}


def told(chain) -> str:
    cut, packed, sold = chain
    lines = [f"- {{kind: harvest, at: 2026-03-02, lot: {code}, from: T-1, amount: {cut[code]} g}}" for code in cut]
    for code, of in packed.items():
        rows = ", ".join(f"{name} {amount} g" for name, amount in of.items())
        lines.append(f"- {{kind: packing, at: 2026-03-03, lot: {code}, from: [{rows}], amount: {sum(of.values())} g}}")
    lines += [
        f"- {{kind: delivery, at: 2026-03-04, code: D-{code}, customer: CAFE, items: {code} {amount} g}}"
        for code, amount in sold.items()
    ]
    return "\n".join(lines)


@SLOW
@given(chains())
def test_nothing_is_counted_twice_in_a_total(template, chain):
    cut, packed, sold = chain
    book = written(template, told(chain))
    (total,) = weighed(book, *cut, *packed).totals
    book.ledger.engine.dispose()
    # Packed without loss: all there ever was is what was cut, and what was packed again is packed once.
    assert total.sums.made == sum(cut.values())
    assert total.sums.delivered == sum(sold.values())
    assert total.sums.used == {}
    assert total.sums.unaccounted == sum(cut.values()) - sum(sold.values())


@SLOW
@given(chains())
def test_a_blend_is_shared_out_whole(template, chain):
    cut, packed, sold = chain
    book = written(template, told(chain))
    with book.ledger.reading() as connection:
        parts = {code: {one.code: one for one in onward(connection, code, book.ledger.kinds)} for code in cut}
    book.ledger.engine.dispose()
    for code in packed:
        shares = [found[code] for found in parts.values() if code in found]
        assert sum(one.share for one in shares) == 1
        assert sum(float(one.delivered) for one in shares) == pytest.approx(sold.get(code, 0))
