"""Walks over small farms, worked out by hand: what two lines of one sheet say, and what distrust does."""

import pytest

from lotwalk.book import Book
from lotwalk.errors import NotUnderstood
from lotwalk.ledger.read.things import find_thing
from lotwalk.sheets.reader import read_sheet
from lotwalk.walk.distrust import doubt
from lotwalk.walk.model import Start
from lotwalk.walk.walk import walk

FARM = """
common: {by: TO, at: 2026-03-01 08:00}
entries:
- {kind: person, code: TO, name: Tess Orr}
- {kind: supplier, code: SEEDS, name: Seeds}
- {kind: equipment, codes: "M-1, M-2", type: medium}
- {kind: equipment, codes: "KN-1, KN-2", type: tool}
- {kind: seed-receipt, lot: S-1, crop: pea, supplier: SEEDS, amount: 5 kg}
- {kind: seed-receipt, lot: S-2, crop: radish, supplier: SEEDS, amount: 5 kg}
- {kind: supplies-receipt, lot: BL-1, product: Bleach, type: sanitiser, active: chlorine, label_min: 50 ppm,
   label_max: 200 ppm, label_contact: 1 min}
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 200 g, trays: 1, equipment: M-1, water: none}
- {kind: sowing, at: 2026-03-02 09:30, batch: T-2, seed: S-2 200 g, trays: 1, equipment: M-2, water: none}
- {kind: solution, at: 2026-03-12 08:00, lot: SOL-1, product: BL-1, volume: 10 L}
"""
"""E2 to E11. T-1 grows on M-1, T-2 on M-2."""


@pytest.fixture
def book(where):
    book = Book.start(where, name="F", location="L", timezone="UTC", measures="metric", clock=lambda: 1_774_500_000)
    book.load(read_sheet(FARM, "farm.yaml"))
    yield book
    book.ledger.engine.dispose()


def load(book, sheet):
    """Load a sheet with one dip in it, and return what the book says of the dip."""
    (dip,) = [receipt for receipt in book.load(read_sheet(sheet, "day.yaml")) if receipt.verdict]
    return dip


def reached(book, direction, code, *distrusted):
    with book.ledger.reading() as connection:
        start = Start(find_thing(connection, code).id)
        return walk(connection, direction, [start], doubt=doubt(connection, distrusted)).codes()


CUT_DIP_CUT = """
in_order: {in_order}
common: {{by: TO, at: 2026-03-12 09:00}}
entries:
- {{kind: harvest, lot: H-1, from: T-1 1, amount: 900 g, cut: above the medium, equipment: KN-1}}
- {{kind: sanitising, items: KN-1, solution: SOL-1, reading: 100 ppm, contact: 2 min, washed: yes, temperature: 20 C,
   ph: 7}}
- {{kind: harvest, lot: H-2, from: T-2 1, amount: 900 g, cut: above the medium, equipment: KN-1}}
"""
"""Three things in one minute: the knife cuts T-1, is dipped, and cuts T-2."""


def test_a_dip_between_two_cuts_of_one_minute_parts_them_where_the_sheet_is_in_order(book):
    """The knife carries nothing from T-1 past the dip on the next line, so H-2 stays out, and T-1 is not behind it.

    The solution is: it wet the knife that then cut H-2, and it was made of BL-1.
    """
    assert load(book, CUT_DIP_CUT.format(in_order="yes")).verdict.passed == ("KN-1",)
    assert reached(book, "forward", "T-1") == {"H-1", "KN-1", "M-1"}
    assert reached(book, "back", "H-2") == {"T-2", "S-2", "M-2", "KN-1", "SOL-1", "BL-1"}


def test_in_a_sheet_that_is_not_in_order_a_dip_of_that_minute_parts_nothing(book):
    """Nobody said which of the three came first, so the knife can have cut T-2 right after T-1."""
    assert load(book, CUT_DIP_CUT.format(in_order="no")).verdict.passed == ("KN-1",)
    assert reached(book, "forward", "T-1") == {"H-1", "KN-1", "M-1", "H-2", "M-2"}
    assert {"T-1", "S-1", "M-1"} <= reached(book, "back", "H-2")


A_DAY_LATER = """
in_order: {in_order}
common: {{by: TO, at: 2026-03-13}}
entries:
- {{kind: sanitising, items: KN-1, solution: SOL-1, reading: 100 ppm, contact: 2 min, washed: yes, temperature: 20 C,
   ph: 7}}
- {{kind: harvest, lot: H-2, from: T-2 1, amount: 900 g, cut: above the medium, equipment: KN-1}}
"""
"""On the day after the knife cut T-1 it is dipped and cuts T-2, and no hour is written."""


@pytest.mark.parametrize(("in_order", "further"), [("yes", set()), ("no", {"H-2", "M-2"})])
def test_a_dip_parts_a_cut_of_that_day_from_the_days_before_where_the_sheet_is_in_order(book, in_order, further):
    """In order, the knife was dipped before it cut T-2. In no order it can have been dipped in the evening."""
    cut = "kind: harvest, lot: H-1, from: T-1 1, amount: 900 g, cut: above the medium, equipment: KN-1"
    book.load(read_sheet(f"entries: [{{{cut}, by: TO, at: 2026-03-12}}]", "before.yaml"))
    assert load(book, A_DAY_LATER.format(in_order=in_order)).verdict.passed == ("KN-1",)
    assert reached(book, "forward", "T-1") == {"H-1", "KN-1", "M-1"} | further
    assert ("T-1" in reached(book, "back", "H-2")) is bool(further)


HALF_A_DIP = """
common: {by: TO}
entries:
- {kind: harvest, at: 2026-03-12 09:00, lot: H-1, from: T-1 1, amount: 900 g, cut: above the medium, equipment: KN-2}
- {kind: washing, at: 2026-03-12 10:00, items: KN-1, method: brushed}
- {kind: sanitising, at: 2026-03-12 11:00, items: "KN-1, KN-2", solution: SOL-1, reading: 100 ppm, contact: 2 min,
   temperature: 20 C, ph: 7}
- {kind: harvest, at: 2026-03-12 12:00, lot: H-2, from: T-2 1, amount: 900 g, cut: above the medium, equipment: KN-1}
"""
"""KN-2 cuts T-1 and goes unwashed into a dip with KN-1, which was washed; KN-1 cuts T-2."""


def test_two_knives_of_one_dip_meet_in_it_when_the_dip_is_not_believed(book):
    """Believed, KN-1 comes clean out of the dip though KN-2 does not, and only the solution is behind it. KN-2, which
    does not, leaves in the bath what it had on it.

    Not believed, the dip was a bath of both knives: what was on KN-2 gets onto KN-1 in it and into H-2 an hour later,
    so T-1, its seed and its medium are behind H-2.
    """
    dip = load(book, HALF_A_DIP)
    assert (dip.verdict.passed, dip.verdict.failed) == (("KN-1",), ("KN-2",))
    believed, back = {"H-1", "KN-2", "M-1", "SOL-1"}, {"T-2", "S-2", "M-2", "KN-1", "SOL-1", "BL-1"}
    assert reached(book, "forward", "T-1") == believed
    assert reached(book, "back", "H-2") == back
    assert reached(book, "forward", "T-1", dip.name) == believed | {"KN-1", "H-2", "M-2"}
    assert reached(book, "back", "H-2", dip.name) == back | {"KN-2", "T-1", "S-1", "M-1"}


HALF_IN_HOT_WATER = """
common: {by: TO}
entries:
- {kind: harvest, at: 2026-03-12 09:00, lot: H-1, from: T-1 1, amount: 900 g, cut: above the medium, equipment: KN-2}
- {kind: washing, at: 2026-03-12 10:00, items: KN-1, method: brushed}
- {kind: sanitising, at: 2026-03-12 11:00, items: "KN-1, KN-2", method: heat, temperature: 80 C, contact: 1 min}
- {kind: harvest, at: 2026-03-12 12:00, lot: H-2, from: T-2 1, amount: 900 g, cut: above the medium, equipment: KN-1}
"""
"""As above, but both knives lie in hot water, and no solution has a code of its own by which they could meet."""


def test_two_knives_of_one_hot_bath_meet_in_it_when_it_is_not_believed(book):
    """Believed, KN-1 comes clean out of the water and KN-2, which was not washed, does not: H-2 has nothing of T-1.

    Not believed, the knives lay in one water: what was on KN-2 gets onto KN-1 and into H-2 an hour later. M-2, on which
    T-2 stands, was cut with KN-1 too.
    """
    bath = load(book, HALF_IN_HOT_WATER)
    assert (bath.verdict.passed, bath.verdict.failed) == (("KN-1",), ("KN-2",))
    believed, back = {"H-1", "KN-2", "M-1"}, {"T-2", "S-2", "M-2", "KN-1"}
    assert reached(book, "forward", "T-1") == believed
    assert reached(book, "back", "H-2") == back
    assert reached(book, "forward", "T-1", bath.name) == believed | {"KN-1", "H-2", "M-2"}
    assert reached(book, "back", "H-2", bath.name) == back | {"KN-2", "T-1", "S-1", "M-1"}


TWO_DIPS = """
common: {by: TO}
entries:
- {kind: harvest, at: 2026-03-12 09:00, lot: H-1, from: T-1 1, amount: 900 g, cut: above the medium, equipment: KN-1}
- {kind: sanitising, at: 2026-03-12 10:00, items: "KN-1, KN-2", solution: SOL-1, reading: 100 ppm, contact: 2 min,
   washed: yes, temperature: 20 C, ph: 7}
- {kind: harvest, at: 2026-03-12 11:00, lot: H-2, from: T-2 1, amount: 900 g, cut: above the medium, equipment: KN-2}
- {kind: sanitising, at: 2026-03-12 12:00, items: "KN-1, KN-2", solution: SOL-1, reading: 100 ppm, contact: 2 min,
   washed: yes, temperature: 20 C, ph: 7}
"""


def test_a_dip_that_is_not_believed_leaves_the_others_as_they_are(book):
    """What was on KN-1 reaches KN-2 and H-2 only in the dip of ten. Both knives came into that of noon clean."""
    _, ten, _, noon = book.load(read_sheet(TWO_DIPS, "day.yaml"))
    believed = {"H-1", "KN-1", "M-1"}
    assert reached(book, "forward", "T-1") == believed
    assert reached(book, "forward", "T-1", noon.name) == believed
    for word in (ten.name, "sanitising", "all"):
        assert reached(book, "forward", "T-1", word) == believed | {"KN-2", "H-2", "M-2", "SOL-1"}


TWO_SHEDS = """
entries:
- {kind: person, at: 2026-03-01, by: TO, code: AK, name: Ana Kost}
- {kind: place, at: 2026-03-01, by: TO, code: SHED, name: Shed, use: growing, usual_tools: KN-1}
- {kind: harvest, at: 2026-03-12 09:00, by: AK, lot: H-1, from: T-1 1, amount: 900 g, cut: above the medium,
   equipment: KN-1}
- {kind: harvest, at: 2026-03-12 11:00, by: TO, place: SHED, lot: H-2, from: T-2 1, amount: 900 g,
   cut: above the medium}
"""
"""Ana cuts T-1 with KN-1. Tess cuts T-2 in the shed where KN-1 usually hangs, and does not say with what."""


def test_who_is_reached_only_through_a_tool_that_was_assumed_is_assumed_too(book):
    """Tess and the shed stand in the record of H-2. That Ana comes in rests on KN-1, which it does not name."""
    book.load(read_sheet(TWO_SHEDS, "day.yaml"))
    with book.ledger.reading() as connection:
        start = Start(find_thing(connection, "H-2").id)
        found = walk(connection, "back", [start], through=("people", "places"), sure=True)
        without = walk(connection, "back", [start], sure=True)
        quick = walk(connection, "back", [start])
    told = {one.thing.code: one.assumed for one in found.reached}
    assert told == {
        "T-2": False, "S-2": False, "M-2": False, "TO": False, "SHED": False,
        "KN-1": True, "T-1": True, "S-1": True, "M-1": True, "AK": True,
    }  # fmt: skip
    assert {one.thing.code: one.assumed for one in without.reached} == {
        code: assumed for code, assumed in told.items() if code not in ("TO", "AK", "SHED")
    }
    # The quick answer asks of each thing only whether some record names it, and that of H-1 names KN-1.
    assert [one.thing.code for one in quick.reached if one.assumed] == []


def test_a_walk_forward_ends_at_no_person_or_place(book):
    """Whoever cut it did not become part of it. One may start at a person: Ana cut T-1 with the knife that cut T-2."""
    book.load(read_sheet(TWO_SHEDS, "day.yaml"))
    for code, reaches in (("T-1", {"H-1", "M-1", "KN-1", "H-2", "M-2"}), ("AK", {"H-1", "M-1", "KN-1", "H-2", "M-2"})):
        with book.ledger.reading() as connection:
            start = Start(find_thing(connection, code).id)
            assert walk(connection, "forward", [start], through=("people", "places")).codes() == reaches


def test_entries_walked_through_that_name_no_tool_are_counted(book):
    """From S-1 the walk passes the sowing of T-1, which names a mat and no tool, and its harvest, which names none."""
    cut = "kind: harvest, lot: H-1, from: T-1 1, amount: 900 g, cut: above the medium"
    book.load(read_sheet(f"entries: [{{{cut}, by: TO, at: 2026-03-12}}]", "day.yaml"))
    with book.ledger.reading() as connection:
        start = Start(find_thing(connection, "S-1").id)
        assert walk(connection, "forward", [start]).silent == {"tool": 1, "equipment": 1}


@pytest.mark.parametrize("word", ["E14", "e14", "SOL-1", "BL-1", "sanitising", "all", "ALL"])
def test_a_dip_is_doubted_by_its_name_by_what_it_took_or_by_its_kind(book, word):
    """E14 took SOL-1, which was made of BL-1. Where it is doubted, what was on KN-2 gets into H-2."""
    assert load(book, HALF_A_DIP).name == "E14"
    assert "H-2" not in reached(book, "forward", "T-1", "S-1")
    assert "H-2" in reached(book, "forward", "T-1", word)


@pytest.mark.parametrize(
    ("word", "told"),
    [
        ("E99", "there is no entry E99"),
        ("KN-1", "KN-1 is a tool"),
        ("harvest", "harvest is not in the book"),
        ("polishing", "polishing is not in the book"),
    ],
)
def test_what_stands_for_no_cleaning_cannot_be_doubted(book, word, told):
    load(book, HALF_A_DIP)
    with pytest.raises(NotUnderstood) as caught:
        reached(book, "forward", "T-1", word)
    assert caught.value.what == told
