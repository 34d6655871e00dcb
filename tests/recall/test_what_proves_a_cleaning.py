"""A cleaning is no better proved by a tub of another day, by a product without a label or by what nobody wrote.

The farm of this file, by hand. T-A of seed S-A stands on M-1 and M-2 and is cut for K1; then both mats are dipped, and
T-B of seed S-B stands on them and is cut for K2. Nothing else is shared: so D-A lies in the scope of a recall of D-B
exactly where one of the two dips is no clean break.
"""

import pytest

from lotwalk.book import Book
from lotwalk.checks.by_subject import CHECKS
from lotwalk.checks.findings import find
from lotwalk.recall.asking.asked import ask
from lotwalk.recall.recall import recall
from lotwalk.recall.words.common import doubt_words
from lotwalk.sheets.reader import read_sheet
from lotwalk.values.times import read_when, zone
from lotwalk.walk.distrust import doubt

REGISTER = """
common: {by: PO, at: 2026-11-01 08:00}
entries:
- {kind: person, code: PO, name: Pia Orr}
- {kind: supplier, code: SEEDS, name: Seeds}
- {kind: customer, code: K1, name: Lark Kitchen}
- {kind: customer, code: K2, name: Corner Shop}
- {kind: equipment, codes: "M-1, M-2", type: medium, porous: no}
- {kind: seed-receipt, lot: S-A, crop: radish, supplier: SEEDS, amount: 5 kg}
- {kind: seed-receipt, lot: S-B, crop: pea, supplier: SEEDS, amount: 5 kg}
- {kind: supplies-receipt, lot: QT-1, product: Quatfold, type: sanitiser, active: quaternary ammonium, strength: 10 %,
   label_min: 200 ppm, label_max: 400 ppm, label_contact: 1 min, expires: 2027-12-31}
- {kind: supplies-receipt, lot: CL-1, product: Plain bleach, type: sanitiser, active: sodium hypochlorite,
   strength: 5 %, expires: 2027-12-31}
- {kind: sowing, at: 2026-11-02 09:00, batch: T-A, seed: S-A 200 g, trays: 2, equipment: "M-1, M-2", water: none}
- {kind: harvest, at: 2026-11-12 09:00, lot: H-A, from: T-A, amount: 900 g, cut: above the medium, equipment: none}
- {kind: delivery, at: 2026-11-12 15:00, code: D-A, customer: K1, items: H-A 900 g}
- {kind: washing, at: 2026-11-20 12:05, items: "M-1, M-2", method: brushed}
"""
AFTER = """
common: {by: PO}
entries:
- {kind: sowing, at: 2026-11-21 09:00, batch: T-B, seed: S-B 200 g, trays: 2, equipment: "M-1, M-2", water: none}
- {kind: harvest, at: 2026-11-24 09:00, lot: H-B, from: T-B, amount: 900 g, cut: above the medium, equipment: none}
- {kind: delivery, at: 2026-11-24 15:00, code: D-B, customer: K2, items: H-B 900 g}
"""
MIX = (
    "- {kind: solution, by: PO, at: 2026-11-20 12:00, lot: SZ, product: QT-1, volume: 10 L, reading: 300 ppm,"
    " discard_at: 2026-11-20 14:00}\n"
)
BLEACH = (
    "- {kind: solution, by: PO, at: 2026-11-20 12:00, lot: SZ, product: CL-1, volume: 10 L, reading: 110 ppm,"
    " discard_at: 2026-11-20 14:00}\n"
)
UTC = zone("UTC")


def dip(items='"M-1, M-2"', at="2026-11-20 12:10", **fields):
    told = "".join(f", {name}: {value}" for name, value in fields.items())
    return f"- {{kind: sanitising, by: PO, at: {at}, items: {items}, solution: SZ, contact: 1 min{told}}}\n"


class Farm:
    """The farm's book, typed on the evening of 25 November."""

    def __init__(self, where: str) -> None:
        self.now = read_when("2026-11-25 20:00", UTC).start
        self.book = Book.start(
            where, name="F", location="L", timezone="UTC", measures="metric", rules="us", clock=lambda: float(self.now)
        )
        self.load(REGISTER)

    def load(self, text: str) -> list[str]:
        return [receipt.name for receipt in self.book.load(read_sheet(text, "sheet.yaml"))]

    def recall(self, *distrusted: str, asked: str = "D-B"):
        with self.book.ledger.reading() as connection:
            doubted = doubt(connection, distrusted, self.book.older_verdicts(connection))
            return recall(connection, ask(connection, [asked]), self.book.ledger.kinds, doubt=doubted)

    def reached(self, *distrusted: str) -> list[str]:
        return [one.code for one in self.recall(*distrusted).deliveries]

    def findings(self):
        with self.book.ledger.reading() as connection:
            return {one.finding.id: one.finding for one in find(self.book.records(connection), CHECKS) if one.open}


@pytest.fixture
def farm(where):
    found = Farm(where)
    yield found
    found.book.ledger.engine.dispose()


@pytest.fixture
def lite(tmp_path):
    found = Farm(str(tmp_path / "farm.db"))
    yield found
    found.book.ledger.engine.dispose()


def test_a_reading_days_after_the_mix_was_thrown_away_shrinks_no_recall(farm):
    """Nobody asked before the reading came, so that no complaint makes it late."""
    _, dipped = farm.load(MIX + dip(temperature="25 degC"))
    sown, *_ = farm.load(AFTER)
    assert farm.reached() == ["D-A", "D-B"]
    said = farm.findings()[f"not-clean:{dipped}"]
    assert said.do.startswith("Decide what becomes of what M-1 and M-2 were used for since")
    farm.load("- {kind: solution-check, by: PO, at: 2026-11-25 09:00, solution: SZ, reading: 300 ppm}\n")
    assert farm.reached() == ["D-A", "D-B"]
    assert {f"not-clean:{dipped}", f"no-clean-break:{sown}"} <= set(farm.findings())


def test_the_finding_of_a_dead_mix_says_to_dip_again_and_not_to_read(lite):
    """At 13:00 the mix lives for another hour, and the next week there is nothing left to read."""
    _, dipped = lite.load(MIX + dip(temperature="25 degC"))
    lite.now = read_when("2026-11-20 13:00", UTC).start
    assert lite.findings()[f"not-clean:{dipped}"].do == (
        "Read SZ by 2026-11-20 14:00 and record it; or dip again in a fresh mix, before M-1 and M-2 are used."
    )
    lite.now = read_when("2026-11-25 09:00", UTC).start
    assert lite.findings()[f"not-clean:{dipped}"].do == (
        "Dip again in a fresh mix; or record the reading of SZ, if one was taken by 2026-11-20 14:00, before M-1 and"
        " M-2 are used."
    )


def test_a_reading_of_the_same_day_while_the_mix_lives_proves_the_dip_however_late_it_is_typed(lite):
    lite.load(MIX + dip(temperature="25 degC"))
    lite.load(AFTER)
    lite.load("- {kind: solution-check, by: PO, at: 2026-11-20 13:30, solution: SZ, reading: 300 ppm}\n")
    assert lite.reached() == ["D-B"]


def test_a_dip_in_chlorine_without_a_label_is_no_clean_break(farm):
    """All that the Food Code's table asks is written: 110 ppm from 13 degC at pH 10 or lower, for ten seconds."""
    farm.load(BLEACH + dip(reading="110 ppm", temperature="24 degC", ph='"7.5"'))
    farm.load(AFTER)
    assert farm.reached() == ["D-A", "D-B"]


def test_what_rests_on_a_temperature_that_nobody_wrote_is_counted_and_can_be_doubted(farm):
    """M-1 is dipped in a quat of unknown warmth, M-2 in one of 25 degC: the rule set asks for 24."""
    _, unshown, shown = farm.load(
        MIX + dip("M-1", reading="300 ppm") + dip("M-2", "2026-11-20 12:20", reading="300 ppm", temperature="25 degC")
    )
    farm.load(AFTER)
    found = farm.recall()
    assert ([one.code for one in found.deliveries], found.unshown) == (["D-B"], 1)
    assert doubt_words(found, None, ()) == [
        "1 clean break in this scope rests on a strength whose temperature or pH nobody wrote: --distrust unshown shows"
        " the scope without it."
    ]
    doubted = farm.recall("unshown")
    assert ([one.code for one in doubted.deliveries], doubted.unshown) == (["D-A", "D-B"], 0)
    assert doubt_words(doubted, None, ("unshown",)) == ["Clean breaks not believed, as asked: unshown."]
    # It is that dip and no other.
    assert farm.reached(unshown) == ["D-A", "D-B"]
    assert farm.reached("UNSHOWN") == ["D-A", "D-B"]
    found = farm.findings()
    assert found[f"not-shown:{unshown}"].severity == "minor"
    assert f"not-shown:{shown}" not in found


def test_both_mats_of_one_dip_are_two_clean_breaks(lite):
    lite.load(MIX + dip(reading="300 ppm"))
    lite.load(AFTER)
    found = lite.recall()
    assert found.unshown == 2
    assert "2 clean breaks in this scope rest on a strength" in doubt_words(found, None, ())[0]


def test_what_lies_outside_the_scope_is_not_counted(lite):
    """M-3 is dipped so too, and carries a crop that nobody asked about."""
    lite.load(
        "- {kind: equipment, by: PO, at: 2026-11-02, codes: M-3, type: medium}\n"
        + MIX
        + dip(reading="300 ppm", temperature="25 degC")
        + dip("M-3", "2026-11-20 12:20", reading="300 ppm", washed="yes")
    )
    lite.load(AFTER)
    assert lite.recall().unshown == 0


def test_a_dip_that_failed_besides_is_no_clean_break_and_not_counted(lite):
    """Nobody wrote its warmth either, but it is too weak."""
    lite.load(MIX + dip(reading="100 ppm"))
    lite.load(AFTER)
    found = lite.recall()
    assert ([one.code for one in found.deliveries], found.unshown) == (["D-A", "D-B"], 0)


def test_a_spell_that_ends_with_such_a_dip_is_bounded_by_it(lite):
    """Asked about D-A: forward from seed S-A, mats and all, the walk stops at the dip."""
    lite.load(MIX + dip(reading="300 ppm"))
    lite.load(AFTER)
    found = lite.recall(asked="D-A")
    assert ([one.code for one in found.deliveries], found.unshown) == (["D-A"], 2)


def test_when_the_temperature_is_written_after_all_nothing_is_unshown(lite):
    _, dipped = lite.load(MIX + dip(reading="300 ppm"))
    lite.load(AFTER)
    lite.book.amend(int(dipped[1:]), {"temperature": "25 degC"}, because="it stood on the slip", by=["PO"])
    assert lite.recall().unshown == 0
    assert lite.reached("unshown") == ["D-B"]


def test_a_word_on_a_record_does_not_make_it_unshown(lite):
    """What people write has its quotes escaped in the text that is stored."""
    lite.load(MIX + dip(reading="300 ppm", temperature="25 degC", note='\'"kind":"unshown"\''))
    lite.load(AFTER)
    assert lite.recall().unshown == 0
