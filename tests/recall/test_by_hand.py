"""Recalls on small farms whose answers are worked out by hand: what would narrow a scope, and what is compared."""

import pytest

from lotwalk.book import Book
from lotwalk.recall.asking.asked import ask
from lotwalk.recall.one_cause.detail import Cause
from lotwalk.recall.recall import recall
from lotwalk.recall.traceback.ranking import rank, rows_of
from lotwalk.sheets.reader import read_sheet

FIRST_OF_MAY = 1_777_593_600
FARM = """
common: {{by: TO, at: 2026-03-01 08:00}}
entries:
- {{kind: person, code: TO, name: Tess Orr}}
- {{kind: supplier, code: SEEDS, name: Seeds}}
- {{kind: customer, code: CAFE, name: Corner Cafe}}
- {{kind: customer, code: SHOP, name: Corner Shop}}
- {{kind: equipment, codes: "KN-1, KN-2", type: tool}}
- {{kind: product, code: RAD, name: Radish, commodity: radish{keeps}}}
- {{kind: seed-receipt, lot: S-1, crop: pea, supplier: SEEDS, amount: 5 kg}}
- {{kind: seed-receipt, lot: S-2, crop: radish, supplier: SEEDS, amount: 5 kg}}
- {{kind: supplies-receipt, lot: BL-1, product: Bleach, type: sanitiser, active: chlorine, label_min: 50 ppm,
   label_max: 200 ppm, label_contact: 1 min}}
- {{kind: solution, lot: SOL-1, product: BL-1, volume: 10 L}}
- {{kind: sowing, batch: T-1, seed: S-1 200 g, trays: 1, water: none}}
- {{kind: sowing, batch: T-2, seed: S-2 200 g, trays: 1, water: none}}
"""


@pytest.fixture
def opened(tmp_path):
    """Begins the farm's book and loads sheets into it."""
    books = []

    def opened(*sheets, keeps=""):
        where = str(tmp_path / "farm.db")
        books.append(
            Book.start(where, name="F", location="L", timezone="UTC", measures="metric", clock=lambda: FIRST_OF_MAY)
        )
        for number, sheet in enumerate([FARM.format(keeps=keeps), *sheets]):
            books[-1].load(read_sheet(sheet, f"sheet-{number}.yaml"))
        return books[-1]

    yield opened
    for book in books:
        book.ledger.engine.dispose()


CUT_1 = "- {kind: harvest, lot: H-1, from: T-1 1, amount: 900 g, cut: above the medium, equipment: KN-1}"
WEAK_DIP = "- {kind: sanitising, items: KN-1, solution: SOL-1, reading: 20 ppm, contact: 2 min, washed: yes}"
CUT_2 = "- {kind: harvest, lot: H-2, from: T-2 1, amount: 900 g, cut: above the medium, equipment: KN-1}"
TWO_SENT = """
common: {by: TO, at: 2026-03-13 09:00}
entries:
- {kind: delivery, code: D-1, customer: CAFE, items: H-1 900 g}
- {kind: delivery, code: D-2, customer: SHOP, items: H-2 900 g}
"""


def day(*lines, in_order="yes"):
    """A sheet of 12 March on which no hour is written."""
    return "\n".join((f"in_order: {in_order}", "common: {by: TO, at: 2026-03-12}", "entries:", *lines))


def hints(book, cause, *deliveries):
    """What would narrow the scope of D-2, if it was this cause, which reaches these deliveries."""
    with book.ledger.reading() as connection:
        kinds = book.ledger.kinds
        found = recall(connection, ask(connection, ["D-2"]), kinds)
        rows = [one for one in found.candidates if one.thing.code == cause]
        assert [tuple(row.deliveries) for row in rows] == [deliveries]
        return [(hint.what, hint.codes, hint.out) for hint in Cause(connection, kinds, rows, found.doubt).hints()]


@pytest.mark.parametrize(
    ("sheets", "told"),
    [
        ([day(CUT_1, WEAK_DIP, CUT_2)], [("passed", ("KN-1",), 1)]),
        ([day(CUT_1, WEAK_DIP, CUT_2, in_order="no")], []),
        ([day(WEAK_DIP, CUT_1, CUT_2)], []),
        ([day(CUT_1, CUT_2, WEAK_DIP)], []),
        # The lines of two sheets say nothing of each other.
        ([day(CUT_1, "", CUT_2), day("", WEAK_DIP)], []),
    ],
    ids=["between", "in no order", "before both", "after both", "on another sheet"],
)
def test_a_dip_that_failed_would_have_parted_two_cuts_of_its_day_where_the_sheet_says_it_lay_between(
    opened, sheets, told
):
    """If it was T-1, the knife took it from H-1 to H-2, so both deliveries are in the scope. Had the dip passed, D-2
    would be out: but only where the sheet says that the dip came between the two cuts."""
    assert hints(opened(*sheets, TWO_SENT), "T-1", "D-1", "D-2") == told


def test_a_dip_that_passed_would_still_have_put_its_solution_on_the_knife(opened):
    """If it was the solution, the dip itself brought it to the knife, and its passing would take nothing out."""
    assert hints(opened(day(CUT_1, WEAK_DIP, CUT_2), TWO_SENT), "SOL-1", "D-2") == []


def test_entries_in_the_scope_that_name_no_tool_are_counted(opened):
    """Both cuts name the knife. Neither of the two sowings says what it was worked with."""
    book = opened(day(CUT_1, CUT_2), TWO_SENT)
    with book.ledger.reading() as connection:
        assert recall(connection, ask(connection, ["D-2"]), book.ledger.kinds).silent == {"equipment": 2}


TWO_KNIVES = """
common: {{by: TO}}
entries:
- {{kind: harvest, at: 2026-03-12 09:00, lot: H-1, from: T-1 1, amount: 900 g, cut: above the medium, equipment: KN-1}}
- {{kind: sanitising, at: 2026-03-12 10:00, items: "KN-1, KN-2", solution: SOL-1, reading: 100 ppm, contact: 2 min,
   washed: yes, temperature: 20 C, ph: 7}}
- {{kind: harvest, at: 2026-03-12 11:00, lot: H-2, from: T-2 1, amount: 900 g, cut: above the medium, equipment: KN-2}}
- {{kind: delivery, at: 2026-03-12 15:00, code: D-1, customer: CAFE, items: H-1 900 g}}
- {{kind: delivery, at: 2026-03-12 15:00, code: D-2, customer: SHOP, items: H-2 900 g}}
- {{kind: complaint, at: 2026-03-14, code: Q-1, customer: CAFE, type: {type}, deliveries: D-1, description: ill}}
"""


@pytest.mark.parametrize(("type", "deliveries"), [("illness", ["D-1"]), ("allergen", ["D-1", "D-2"])])
def test_what_washing_does_not_undo_goes_from_knife_to_knife_in_a_dip(opened, type, deliveries):
    """Both knives pass the dip. What makes ill does not get past it. What makes skin itch does: the one knife leaves
    some pea in the bath, and the other takes it to the radish."""
    book = opened(TWO_KNIVES.format(type=type))
    with book.ledger.reading() as connection:
        found = recall(connection, ask(connection, ["Q-1"]), book.ledger.kinds)
    assert [one.code for one in found.deliveries] == deliveries


THREE_CUTS = """
common: {by: TO}
entries:
- {kind: sowing, at: 2026-03-02, batch: T-3, seed: S-1 200 g, trays: 2, water: none}
- {kind: harvest, at: 2026-03-12 09:00, lot: H-1, from: T-3 1, amount: 400 g, cut: above the medium, equipment: KN-1}
- {kind: sanitising, at: 2026-03-12 10:00, items: KN-1, solution: SOL-1, reading: 100 ppm, contact: 2 min, washed: yes,
   temperature: 20 C, ph: 7}
- {kind: harvest, at: 2026-03-12 11:00, lot: H-3, from: T-3 1, amount: 400 g, cut: above the medium, equipment: KN-1}
- {kind: harvest, at: 2026-03-12 12:00, lot: H-2, from: T-2 1, amount: 900 g, cut: above the medium, equipment: KN-1}
- {kind: delivery, at: 2026-03-12 15:00, code: D-2, customer: SHOP, items: H-2 900 g}
"""


def test_the_way_shown_goes_round_a_dip_and_not_through_it(opened):
    """T-3 was cut before the dip and after it, and only the second cut can have put something on the knife for H-2."""
    assert way(opened(THREE_CUTS), "T-3") == [
        ("T-3", "KN-1", "2026-03-12 11:00"),
        ("KN-1", "H-2", "2026-03-12 12:00"),
        ("H-2", "D-2", "2026-03-12 15:00"),
    ]


TYPED_BACKWARDS = """
common: {by: TO}
entries:
- {kind: sowing, at: 2026-03-02, batch: T-3, seed: S-1 200 g, trays: 2, water: none}
- {kind: harvest, at: 2026-03-12 12:00, lot: H-3, from: T-3 1, amount: 400 g, cut: above the medium, equipment: KN-1}
- {kind: harvest, at: 2026-03-12 11:00, lot: H-2, from: T-2 1, amount: 900 g, cut: above the medium, equipment: KN-1}
- {kind: harvest, at: 2026-03-12 09:00, lot: H-1, from: T-3 1, amount: 400 g, cut: above the medium, equipment: KN-1}
- {kind: delivery, at: 2026-03-12 15:00, code: D-2, customer: SHOP, items: H-2 900 g}
"""


def test_the_way_shown_does_not_go_back_in_time(opened):
    """T-3 was cut before H-2 and after it, and only the first cut can have put something on the knife for H-2."""
    assert way(opened(TYPED_BACKWARDS), "T-3") == [
        ("T-3", "KN-1", "2026-03-12 09:00"),
        ("KN-1", "H-2", "2026-03-12 11:00"),
        ("H-2", "D-2", "2026-03-12 15:00"),
    ]


def way(book, cause):
    """How it could have come from a cause to D-2: through what, to what, and when."""
    with book.ledger.reading() as connection:
        kinds = book.ledger.kinds
        found = recall(connection, ask(connection, ["D-2"]), kinds)
        rows = [one for one in found.candidates if one.thing.code == cause]
        steps = Cause(connection, kinds, rows, found.doubt).steps_to(found.asked[0].starts[0])
    return [(step.came, step.went, step.version.at) for step in steps]


SOLD = """
common: {by: TO}
entries:
- {kind: harvest, at: 2026-03-05 09:00, lot: H-2, from: T-2 1, amount: 900 g, cut: above the medium}
- {kind: packing, at: 2026-03-05 10:00, lot: P-2, from: H-2 900 g, product: RAD, packs: 9, pack_size: 100 g}
- {kind: delivery, at: 2026-03-06 11:59, code: D-1, customer: SHOP, items: P-2 1 pack}
- {kind: delivery, at: 2026-03-06 12:00, code: D-2, customer: SHOP, items: P-2 1 pack}
- {kind: delivery, at: 2026-03-10 11:59, code: D-3, customer: SHOP, items: P-2 1 pack}
- {kind: delivery, at: 2026-03-10 12:00, code: D-4, customer: SHOP, items: P-2 1 pack}
- {kind: delivery, at: 2026-03-20 12:00, code: D-5, customer: CAFE, items: P-2 1 pack}
- {kind: delivery, at: 2026-03-30 12:00, code: D-6, customer: SHOP, items: P-2 1 pack}
- {kind: delivery, at: 2026-03-30 12:01, code: D-7, customer: SHOP, items: P-2 1 pack}
- {kind: delivery, at: 2026-04-03 12:00, code: D-8, customer: SHOP, items: P-2 1 pack}
- {kind: delivery, at: 2026-04-03 12:01, code: D-9, customer: SHOP, items: P-2 1 pack}
"""


@pytest.mark.parametrize(("keeps", "others"), [("", 6), (", shelf_life: 10 days", 2)])
def test_the_others_are_what_went_out_within_a_shelf_life_before_and_after(opened, keeps, others):
    """D-5, of noon on 20 March, is asked about. Where the product's life is not on record it is two weeks: from noon on
    6 March to noon on 3 April went D-2 to D-8, six besides D-5. Within ten days of it, from noon on 10 March to noon on
    30 March, went D-4 and D-6. The seed is behind them all, and all of them stay in the scope.
    """
    book = opened(SOLD, keeps=keeps)
    with book.ledger.reading() as connection:
        found = recall(connection, ask(connection, ["D-5"]), book.ledger.kinds)
    assert found.further == others
    (seed,) = [one for one in found.candidates if one.thing.code == "S-2"]
    assert (seed.explains, seed.others) == (1, others)
    assert [one.code for one in found.deliveries] == [f"D-{number}" for number in range(1, 10)]


ONE_CUT = """
common: {by: TO}
entries:
- {kind: harvest, at: 2026-03-12 09:00, lot: H-1, from: T-1 1, amount: 900 g, cut: above the medium, equipment: KN-1}
- {kind: delivery, at: 2026-03-12 15:00, code: D-1, customer: CAFE, items: H-1 900 g}
"""


def test_a_knife_is_no_row_with_the_lot_that_it_cut(opened):
    """S-1 was sown as T-1, and T-1 was cut as H-1 with KN-1; all four reach D-1 alone.

    The seed, the crop and the cut are one row, since each was made of the one before. Nothing was made of the knife.
    """
    book = opened(ONE_CUT)
    with book.ledger.reading() as connection:
        found = recall(connection, ask(connection, ["D-1"]), book.ledger.kinds)
    assert {tuple(one.deliveries) for one in found.candidates} == {("D-1",)}
    rows = rows_of(rank(found.candidates, 1, found.further))
    assert sorted(sorted(row.codes) for row in rows) == [["H-1", "S-1", "T-1"], ["KN-1"]]
