"""Small sheets, each with the balance that anyone can reckon from it beside it."""

from fractions import Fraction

import pytest
from tests.balance.farm import load, told, weighed

from lotwalk.balance.onward import onward
from lotwalk.errors import NotUnderstood
from lotwalk.ledger.read.things import find_thing
from lotwalk.ledger.read.uses import makers

PACKED = """
    - {kind: harvest, at: 2026-03-09, lot: H-1, from: T-1, amount: 1 kg}
    - {kind: packing, at: 2026-03-10 08:00, lot: P-1, from: H-1 1 kg, amount: 1 kg}
"""

GROWN = """
    - {kind: sowing, at: 2026-03-01, batch: T-1, seed: S-1 500 g, trays: 4, equipment: M-1..M-4}
"""

CASES = {
    "sold, thrown out and sampled; the rest was never counted": (
        """
        - {kind: delivery, at: 2026-03-11, code: D-1, customer: CAFE, items: P-1 600 g}
        - {kind: disposal, at: 2026-03-12, items: P-1 150 g, reason: mould}
        - {kind: sample, at: 2026-03-11, of: P-1, amount: 25 g, lab: LAB}
        """,
        {"P-1": "g: made 1000, delivered 600, disposed 150, sampled 25, missing 225"},
    ),
    "one lot twice in one delivery": (
        "- {kind: delivery, at: 2026-03-11, code: D-1, customer: CAFE, items: [P-1 300 g, P-1 100 g]}",
        {"P-1": "g: made 1000, delivered 400, missing 600"},
    ),
    "packs of a size": (
        """
        - {kind: packing, at: 2026-03-10, lot: P-2, from: P-1 1 kg, packs: 20, product: PEA-50}
        - kind: delivery
          at: 2026-03-11
          code: D-1
          customer: CAFE
          items: [{lot: P-2, packs: 14}, {lot: P-2, packs: 2}]
        - {kind: stock-count, at: 2026-03-12, lot: P-2, amount: 200 g}
        """,
        {"P-1": "g: made 1000, used 1000 packing", "P-2": "g: made 1000, delivered 800, on hand 200"},
    ),
    "pounds, ounces, kilograms and grams are one unit": (
        """
        - {kind: sowing, at: 2026-03-02, batch: T-2, seed: S-2 8 oz, trays: 2, equipment: M-1}
        - {kind: sowing, at: 2026-03-02, batch: T-3, seed: S-2 0.25 kg, trays: 2, equipment: M-2}
        - {kind: disposal, at: 2026-03-02, items: S-2 1/2 lb}
        """,
        # 2 lb are 907.18474 g; half a pound twice and 250 g leave 203.59237 g.
        {"S-2": "g: made 907.18474, used 476.796185 sowing, disposed 226.796185, missing 203.59237"},
    ),
    "counted, then more went and some came back": (
        """
        - {kind: delivery, at: 2026-03-11, code: D-1, customer: CAFE, items: P-1 300 g}
        - {kind: stock-count, at: 2026-03-11 18:00, lot: P-1, amount: 900 g}
        - {kind: stock-count, at: 2026-03-12 18:00, lot: P-1, amount: 650 g}
        - {kind: delivery, at: 2026-03-13, code: D-2, customer: CAFE, items: P-1 500 g}
        - {kind: return, at: 2026-03-14, delivery: D-2, lot: P-1, amount: 100 g, then: held}
        """,
        # On hand: the latest count, 650, less the 500 of the 13th, and the 100 that came back on the 14th.
        {"P-1": "g: made 1000, returned 100, delivered 800, on hand 250, missing 50"},
    ),
    "a count dated that day comes after the morning's delivery and before the next day's": (
        """
        - {kind: delivery, at: 2026-03-11 09:00, code: D-1, customer: CAFE, items: P-1 300 g}
        - {kind: stock-count, at: 2026-03-11, lot: P-1, amount: 700 g}
        - {kind: delivery, at: 2026-03-12 09:00, code: D-2, customer: CAFE, items: P-1 200 g}
        """,
        {"P-1": "g: made 1000, delivered 500, on hand 500"},
    ),
    "a delivery dated that day comes after the count of 8 o'clock": (
        """
        - {kind: stock-count, at: 2026-03-11 08:00, lot: P-1, amount: 1 kg}
        - {kind: delivery, at: 2026-03-11, code: D-1, customer: CAFE, items: P-1 300 g}
        """,
        {"P-1": "g: made 1000, delivered 300, on hand 700"},
    ),
    "on a sheet in order the earlier line came first": (
        """
        in_order: yes
        common: {by: TO, at: 2026-03-11}
        entries:
        - {kind: stock-count, lot: P-1, amount: 1 kg}
        - {kind: delivery, code: D-1, customer: CAFE, items: P-1 300 g}
        """,
        {"P-1": "g: made 1000, delivered 300, on hand 700"},
    ),
    "nothing left": (
        """
        - {kind: delivery, at: 2026-03-11, code: D-1, customer: CAFE, items: P-1 960 g}
        - {kind: stock-count, at: 2026-03-12, lot: P-1, amount: 0 g}
        """,
        {"P-1": "g: made 1000, delivered 960, on hand 0, missing 40"},
    ),
    "what came back was thrown out": (
        """
        - {kind: delivery, at: 2026-03-11, code: D-1, customer: CAFE, items: P-1 1 kg}
        - {kind: return, at: 2026-03-12, delivery: D-1, lot: P-1, amount: 200 g, then: disposed}
        """,
        {"P-1": "g: made 1000, returned 200, delivered 1000, disposed 200"},
    ),
    "what came back was restocked as a lot of its own": (
        """
        - {kind: delivery, at: 2026-03-11, code: D-1, customer: CAFE, items: P-1 1 kg}
        - {kind: return, at: 2026-03-12, delivery: D-1, lot: P-1, amount: 200 g, then: restocked, new_lot: P-1R}
        - {kind: delivery, at: 2026-03-13, code: D-2, customer: CAFE, items: P-1R 150 g}
        """,
        {
            "P-1": "g: made 1000, returned 200, used 200 return, delivered 1000",
            "P-1R": "g: made 200, delivered 150, missing 50",
        },
    ),
    "thrown out without an amount is all that was left": (
        """
        - {kind: delivery, at: 2026-03-11, code: D-1, customer: CAFE, items: P-1 700 g}
        - {kind: disposal, at: 2026-03-12, items: P-1, reason: date gone}
        """,
        {"P-1": "g: made 1000, delivered 700, disposed 300"},
    ),
    "after a count that is what was counted": (
        """
        - {kind: delivery, at: 2026-03-11, code: D-1, customer: CAFE, items: P-1 700 g}
        - {kind: stock-count, at: 2026-03-12, lot: P-1, amount: 250 g}
        - {kind: sample, at: 2026-03-13, of: P-1, amount: 25 g}
        - {kind: disposal, at: 2026-03-14, items: P-1}
        """,
        {"P-1": "g: made 1000, delivered 700, disposed 225, sampled 25, on hand 0, missing 50"},
    ),
    "a harvest that names no trays cut what was left of the batch": (
        """
        - {kind: disposal, at: 2026-03-08, items: {lot: T-1, trays: 1}}
        """,
        {"T-1": "count: made 4, used 3 harvest, disposed 1"},
    ),
    "some now and the rest later": (
        """
        - {kind: sowing, at: 2026-03-01, batch: T-2, seed: S-1 500 g, trays: 5, equipment: M-1}
        - {kind: harvest, at: 2026-03-09, lot: H-2, from: {batch: T-2, trays: 2, finished: no}, amount: 300 g}
        - {kind: harvest, at: 2026-03-11, lot: H-3, from: T-2, amount: 300 g}
        """,
        {"T-2": "count: made 5, used 5 harvest"},
    ),
    "a tray that nobody says anything of": (
        """
        - {kind: sowing, at: 2026-03-01, batch: T-2, seed: S-1 500 g, trays: 5, equipment: M-1}
        - {kind: harvest, at: 2026-03-09, lot: H-2, from: T-2 4, amount: 300 g}
        """,
        {"T-2": "count: made 5, used 4 harvest, missing 1"},
    ),
    "a second cutting takes no more trays": (
        """
        - {kind: sowing, at: 2026-03-01, batch: T-2, seed: S-1 500 g, trays: 2, equipment: M-1}
        - {kind: harvest, at: 2026-03-09, lot: H-2, from: {batch: T-2, trays: 2, finished: no}, amount: 3 kg}
        - {kind: harvest, at: 2026-03-18, lot: H-3, from: T-2 2, amount: 200 g, cutting: 2}
        """,
        {"T-2": "count: made 2, used 2 harvest", "H-3": "g: made 200, missing 200"},
    ),
    "more went out than there was": (
        """
        - {kind: delivery, at: 2026-03-11, code: D-1, customer: CAFE, items: P-1 700 g}
        - {kind: delivery, at: 2026-03-12, code: D-2, customer: CAFE, items: P-1 400 g}
        """,
        {"P-1": "g: made 1000, delivered 1100, missing -100"},
    ),
    "nothing was left to throw out": (
        """
        - {kind: delivery, at: 2026-03-11, code: D-1, customer: CAFE, items: P-1 1.2 kg}
        - {kind: disposal, at: 2026-03-12, items: P-1}
        """,
        {"P-1": "g: made 1000, delivered 1200, missing -200"},
    ),
    "nobody wrote down how much there was": (
        """
        - {kind: soaking, at: 2026-03-01, lot: SOAK-1, seed: S-1 1 kg}
        - {kind: sowing, at: 2026-03-02, batch: T-2, seed: SOAK-1 700 g, trays: 3, equipment: M-1}
        """,
        {"SOAK-1": "g: made ?, used 700 sowing"},
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_the_balance_of_a_sheet(book, case):
    sheet, expected = CASES[case]
    load(book, GROWN + PACKED)
    load(book, sheet)
    assert {code: told(book, code) for code in expected} == expected


def test_what_was_taken_without_an_amount_is_named(book):
    load(book, GROWN + PACKED)
    (name,) = load(book, "- {kind: packing, at: 2026-03-10, lot: P-2, from: P-1 1 kg, amount: 1 kg, packaging: BOXES}")
    assert told(book, "BOXES") == f"count: made 500, missing 500, unmeasured {name}"


def test_an_entry_of_which_some_passed_and_some_failed_took_once(book):
    # Only M-1 was washed, so the sanitising walks as two; what it took is named once.
    *_, name = load(
        book,
        """
        - {kind: supplies-receipt, at: 2026-03-01, lot: BL-1, product: Bleach, type: sanitiser, amount: 5 L,
           active: chlorine, label_min: 50 ppm, label_max: 200 ppm, label_contact: 1 min}
        - {kind: washing, at: 2026-03-02 08:00, items: M-1, method: brush}
        - {kind: sanitising, at: 2026-03-02 09:00, items: "M-1, M-2", solution: BL-1, reading: 100 ppm, contact: 2 min}
        """,
    )
    assert told(book, "BL-1") == f"mL: made 5000, missing 5000, unmeasured {name}"


def test_where_a_lot_went_on_to(book):
    load(book, GROWN.replace("trays: 4", "trays: 5") + PACKED.replace("from: T-1", "from: T-1 4"))
    load(
        book,
        """
        - {kind: harvest, at: 2026-03-09, lot: H-2, from: T-1 1, amount: 500 g}
        - {kind: packing, at: 2026-03-10, lot: P-2, from: [P-1 300 g, H-2 500 g], amount: 760 g}
        - {kind: delivery, at: 2026-03-11, code: D-1, customer: CAFE, items: P-2 160 g}
        """,
    )
    with book.ledger.reading() as connection:
        found = {one.code: one for one in onward(connection, "H-1", book.ledger.kinds)}
    # P-2 is 300 parts of P-1, which is all H-1, and 500 of H-2.
    assert {code: one.share for code, one in found.items()} == {"P-1": 1, "P-2": Fraction(3, 8)}
    assert (found["P-2"].made, found["P-2"].delivered, found["P-2"].on_hand) == (285, 60, None)


def test_only_entries_in_force_count(book):
    load(book, GROWN + PACKED)
    first, second, third = load(
        book,
        """
        - {kind: delivery, at: 2026-03-11, code: D-1, customer: CAFE, items: P-1 700 g}
        - {kind: delivery, at: 2026-03-12, code: D-2, customer: CAFE, items: P-1 700 g}
        - {kind: stock-count, at: 2026-03-13, lot: P-1, amount: 1 g}
        """,
    )
    book.void(int(second[1:]), because="typed twice", by=["TO"])
    book.amend(int(first[1:]), {"items": "P-1 600 g"}, because="read wrongly", by=["TO"])
    assert told(book, "P-1") == "g: made 1000, delivered 600, on hand 1, missing 399"
    book.void(int(third[1:]), because="another shelf", by=["TO"])
    assert told(book, "P-1") == "g: made 1000, delivered 600, missing 400"


def test_a_lot_whose_maker_is_void_has_no_amount(book):
    load(book, GROWN + PACKED)
    load(book, "- {kind: delivery, at: 2026-03-11, code: D-1, customer: CAFE, items: P-1 700 g}")
    with book.ledger.reading() as connection:
        thing = find_thing(connection, "P-1")
        maker = makers(connection, [thing.id])[thing.id]
    book.void(maker.number, because="never packed", by=["TO"])
    assert told(book, "P-1") == "g: made ?, delivered 700, void"
    assert told(book, "H-1") == "g: made 1000, missing 1000"


def test_a_maker_amended_to_another_unit_leaves_out_what_was_written_before(book):
    (made,) = load(book, "- {kind: seed-receipt, at: 2026-03-01, lot: S-9, crop: pea, supplier: HOLT, amount: 3 bags}")
    taken, _ = load(
        book,
        """
        - {kind: disposal, at: 2026-03-02, items: S-9 1 bag}
        - {kind: stock-count, at: 2026-03-03, lot: S-9, amount: 2 bags}
        """,
    )
    assert told(book, "S-9") == "count: made 3, disposed 1, on hand 2"
    book.amend(int(made[1:]), {"amount": "3 kg"}, because="weighed", by=["TO"])
    assert told(book, "S-9").startswith(f"g: made 3000, missing 3000, other unit {taken}")


@pytest.mark.parametrize(
    ("code", "why"),
    [
        ("NOPE", "NOPE is not in the book"),
        ("D-1", "D-1 is a delivery, which has no amount"),
        ("M-1", "M-1 is a medium, which has no amount"),
        ("TO", "TO is a person, which has no amount"),
    ],
)
def test_what_is_no_lot_is_refused(farm, code, why):
    load(farm, GROWN + PACKED)
    load(farm, "- {kind: delivery, at: 2026-03-11, code: D-1, customer: CAFE, items: P-1 700 g}")
    with pytest.raises(NotUnderstood, match=why):
        weighed(farm, "P-1", code)


def test_lots_come_in_the_order_asked_each_once_however_they_are_cased(farm):
    load(farm, GROWN + PACKED)
    assert [lot.code for lot in weighed(farm, "p-1", "S-1", "P-1").lots] == ["P-1", "S-1"]
    assert weighed(farm).lots == ()
