"""What of a recall's scope is still on the farm, and who is to be called first."""

from decimal import Decimal

import pytest

from lotwalk.balance.reckoning import balance
from lotwalk.book import Book
from lotwalk.recall.asking.asked import ask
from lotwalk.recall.recall import recall
from lotwalk.recall.response.calls import calls
from lotwalk.recall.response.holds import holds
from lotwalk.recall.traceforward.levels import in_level
from lotwalk.sheets.reader import read_sheet
from lotwalk.values.times import DAY

FARM = """
common: {by: TO, at: 2026-03-01 08:00}
entries:
- {kind: person, code: TO, name: Tess Orr}
- {kind: supplier, code: SEEDS, name: Seeds}
- {kind: customer, code: CAFE, name: Corner Cafe, contact: Lou, phone: 555-0101}
- {kind: customer, code: SHOP, name: Shop, recall_contact: Kim, recall_phone: 555-0102, phone: 555-0199}
- {kind: customer, code: GRILL, name: Grill}
- {kind: place, code: COLD, name: Cold store, use: cold store}
- {kind: place, code: FRIDGE, name: Fridge, use: cold store}
- {kind: place, code: PACK, name: Packing room, use: pack}
- {kind: seed-receipt, lot: S-1, crop: pea, supplier: SEEDS, amount: 1 kg}
- {kind: sowing, batch: T-0, seed: S-1 100 g, trays: 2, water: none}
- {kind: harvest, at: 2026-03-02, lot: H-0, from: T-0 2, amount: 100 g, cut: above the medium}
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 200 g, trays: 4, water: none}
- {kind: harvest, at: 2026-03-20 09:00, lot: H-1, from: T-1 4, amount: 2 kg, cut: above the medium, into: COLD}
- {kind: packing, at: 2026-03-20 11:00, lot: P-1, from: H-1 500 g, amount: 500 g, place: PACK, into: COLD}
- {kind: packing, at: 2026-03-20 12:00, lot: P-2, from: H-1 500 g, amount: 500 g, place: PACK}
- {kind: packing, at: 2026-03-20 13:00, lot: P-3, from: H-1 600 g, amount: 600 g, into: COLD}
- {kind: packing, at: 2026-03-20 14:00, lot: P-4, from: H-1 200 g, amount: 200 g}
- {kind: delivery, at: 2026-03-21, code: D-1, customer: CAFE, items: P-1 100 g}
- {kind: delivery, at: 2026-03-21, code: D-2, customer: SHOP, items: [P-1 100 g, P-2 400 g]}
- {kind: delivery, at: 2026-03-21, code: D-3, customer: GRILL, items: P-3 600 g}
- {kind: delivery, at: 2026-03-22, code: D-4, customer: CAFE, items: P-4 200 g}
- {kind: move, at: 2026-03-21 18:00, codes: P-1, to: FRIDGE}
- {kind: stock-count, at: 2026-03-22 08:00, lot: P-1, amount: 250 g}
- {kind: hold, at: 2026-03-22 09:00, lots: "P-1, P-2, H-1", reason: a call}
- {kind: release, at: 2026-03-22 10:00, lots: P-2, reason: a slip}
- {kind: complaint, at: 2026-03-22 11:00, code: Q-1, customer: CAFE, type: illness, lots: P-1, description: ill}
- {kind: recall-contact, at: 2026-03-22 12:00, complaint: Q-1, customer: SHOP, reached: no}
- {kind: recall-contact, at: 2026-03-22 13:00, complaint: Q-1, customer: SHOP, reached: yes}
"""


@pytest.fixture(scope="module")
def answer(tmp_path_factory):
    where = str(tmp_path_factory.mktemp("holds") / "farm.db")
    # 2026-03-22 14:00, when the newest entries are recorded.
    book = Book.start(
        str(where), name="F", location="L", timezone="UTC", measures="metric", clock=lambda: 1_774_188_000
    )
    book.load(read_sheet(FARM, "farm.yaml"))
    with book.ledger.reading() as connection:
        kinds = book.ledger.kinds
        found = recall(connection, ask(connection, ["Q-1"]), kinds)

        def told(level):
            scope = in_level(found, level)
            balances = balance(connection, scope.lots, kinds)
            return holds(connection, kinds, scope, balances, 14 * DAY), calls(connection, kinds, scope)

        yield told
    book.ledger.engine.dispose()


def test_what_is_left_of_each_lot_where_it_is_and_whether_it_is_on_hold(answer):
    found, _ = answer(5)
    told = {one.code: (one.amount, one.unit, one.counted, one.where, one.held) for one in found.lots}
    assert told == {
        "P-1": (Decimal(250), "g", True, "FRIDGE", "E25"),
        "P-2": (Decimal(100), "g", False, "PACK", None),
        "H-1": (Decimal(200), "g", False, "COLD", "E25"),
        "S-1": (Decimal(700), "g", False, None, None),
    }, "P-3 and P-4 are sold out, T-1 is cut"


def test_a_lot_that_nobody_named_for_longer_than_it_keeps_is_told_apart(answer):
    found, _ = answer(5)
    assert found.old == ("H-0",)


def test_the_closest_ring_comes_first_and_a_ring_restricts(answer):
    found, _ = answer(5)
    assert [one.level for one in found.lots] == sorted(one.level for one in found.lots)
    closest, _ = answer(1)
    assert "S-1" not in {one.code for one in closest.lots}


def test_customers_stand_in_the_order_of_ring_and_of_what_they_got(answer):
    _, found = answer(5)
    assert [(one.customer, one.amounts, one.lots) for one in found] == [
        ("GRILL", {"g": Decimal(600)}, ("P-3",)),
        ("SHOP", {"g": Decimal(500)}, ("P-1", "P-2")),
        ("CAFE", {"g": Decimal(300)}, ("P-1", "P-4")),
    ]


def test_for_a_recall_the_recall_s_contact_is_named_and_calls_made_are_told(answer):
    _, found = answer(5)
    who = {one.customer: (one.contact, one.phone, one.told) for one in found}
    assert who == {
        "CAFE": ("Lou", "555-0101", ()),
        "SHOP": ("Kim", "555-0102", (("E28", False), ("E29", True))),
        "GRILL": ("", "", ()),
    }
