"""What a customer got, for a buyer who lost the label: by crop, in some time, from the book's own words."""

import pytest

from lotwalk.book import Book
from lotwalk.errors import NotUnderstood
from lotwalk.recall.asking.asked import ask, ask_buyer
from lotwalk.recall.asking.buyer import Buyer
from lotwalk.recall.recall import recall
from lotwalk.sheets.reader import read_sheet
from lotwalk.values.times import read_when, zone

UTC = zone("UTC")
FARM = """
common: {by: TO, at: 2026-03-01 08:00}
entries:
- {kind: person, code: TO, name: Tess Orr}
- {kind: supplier, code: SEEDS, name: Seeds}
- {kind: customer, code: CAFE, name: Corner Cafe}
- {kind: customer, code: SHOP, name: Corner Shop}
- {kind: product, code: PEA-50, name: Garden mix, commodity: pea shoots, variety: Curly}
- {kind: seed-receipt, lot: S-PEA, crop: pea, variety: Curly, supplier: SEEDS, amount: 5 kg}
- {kind: seed-receipt, lot: S-RAD, crop: radish, variety: Purple Stem, supplier: SEEDS, amount: 5 kg}
- {kind: sowing, at: 2026-03-02 09:00, batch: T-PEA, seed: S-PEA 200 g, trays: 2, water: none}
- {kind: sowing, at: 2026-03-02 09:30, batch: T-RAD, seed: S-RAD 200 g, trays: 2, water: none}
- {kind: harvest, at: 2026-03-10 09:00, lot: H-PEA, from: T-PEA 2, amount: 900 g, cut: above the medium}
- {kind: harvest, at: 2026-03-10 09:30, lot: H-RAD, from: T-RAD 2, amount: 400 g, cut: above the medium}
- {kind: packing, at: 2026-03-10 12:00, lot: P-PEA, from: H-PEA 800 g, product: PEA-50, amount: 800 g, printed: "0042"}
- {kind: delivery, at: 2026-03-10 15:00, code: D-1, customer: CAFE, items: P-PEA 100 g}
- {kind: delivery, at: 2026-03-11, code: D-2, customer: CAFE, items: [H-RAD 50 g, P-PEA 50 g]}
- {kind: delivery, at: 2026-03-12, code: D-3, customer: SHOP, items: H-RAD 100 g}
- {kind: delivery, at: 2026-03-20, code: D-4, customer: CAFE, items: H-RAD 100 g}
- {kind: complaint, at: 2026-03-14, code: Q-1, customer: CAFE, type: illness, product: PEA-50, from: 2026-03-11,
   until: 2026-03-12, description: ill}
- {kind: complaint, at: 2026-03-14, code: Q-2, customer: CAFE, type: allergen, deliveries: D-1, description: hives}
"""


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    where = tmp_path_factory.mktemp("buyer") / "farm.db"
    book = Book.start(
        str(where), name="F", location="L", timezone="UTC", measures="metric", clock=lambda: 1_774_500_000
    )
    book.load(read_sheet(FARM, "farm.yaml"))
    yield book
    book.ledger.engine.dispose()


def buyer(customer="CAFE", crop=None, first=None, last=None):
    more = {"start": read_when(first, UTC).start} if first else {}
    more |= {"end": read_when(last, UTC).end} if last else {}
    return Buyer(customer, crop, **more)


def stands_for(book, asked):
    with book.ledger.reading() as connection:
        one = ask_buyer(connection, book.ledger.kinds, asked, UTC)
        codes = dict(connection.exec_driver_sql("SELECT id, code FROM thing").all())
    return [codes[key] for key in one.starts], [codes[key] for key in one.lots]


@pytest.mark.parametrize(
    ("asked", "deliveries", "lots"),
    [
        (buyer(), ["D-1", "D-2", "D-4"], []),
        (buyer(last="2026-03-11"), ["D-1", "D-2"], []),
        (buyer(first="2026-03-11"), ["D-2", "D-4"], []),
        (buyer(crop="radish"), ["D-2", "D-4"], ["H-RAD"]),
        (buyer(crop="Radishes"), ["D-2", "D-4"], ["H-RAD"]),
        (buyer(crop="purple stem radish"), ["D-2", "D-4"], ["H-RAD"]),
        (buyer(crop="pea shoots"), ["D-1", "D-2"], ["P-PEA"]),
        (buyer(crop="peas"), ["D-1", "D-2"], ["P-PEA"]),
        (buyer(crop="garden mix"), ["D-1", "D-2"], ["P-PEA"]),
        (buyer(crop="pea-50", first="2026-03-11"), ["D-2"], ["P-PEA"]),
        (buyer(crop="curly"), ["D-1", "D-2"], ["P-PEA"]),
        (buyer(customer="cafe", crop="radish", last="2026-03-12"), ["D-2"], ["H-RAD"]),
        (buyer(customer="shop", crop="radish"), ["D-3"], ["H-RAD"]),
    ],
)
def test_a_buyer_stands_for_what_they_got_of_the_crop_in_that_time(book, asked, deliveries, lots):
    assert stands_for(book, asked) == (deliveries, lots)


@pytest.mark.parametrize(
    ("asked", "what", "expected"),
    [
        (buyer(crop="kale", last="2026-03-11"), "CAFE got no kale until 2026-03-11",
         "something that it got in that time: Garden mix (D-1, D-2); radish (D-2)"),
        (buyer(crop="radish", last="2026-03-10"), "CAFE got no radish until 2026-03-10",
         "Garden mix (D-1), or a time in which it did; the nearest are D-2 on 2026-03-11, D-4 on 2026-03-20"),
        (buyer(first="2026-03-13", last="2026-03-15"), "CAFE got nothing from 2026-03-13 until 2026-03-15",
         "the nearest are D-1 on 2026-03-10, D-2 on 2026-03-11, D-4 on 2026-03-20"),
        (buyer(customer="corner"), "2 customers are called `corner`", "CAFE (Corner Cafe), SHOP (Corner Shop)"),
        (buyer(customer="Grill"), "no customer is called `Grill`", "CAFE (Corner Cafe), SHOP (Corner Shop)"),
        (buyer(customer="S-PEA"), "S-PEA is a seed lot", "the code or the name of a customer"),
        # A word inside another is not it.
        (buyer(crop="rad"), "CAFE got no rad", "radish (D-2, D-4)"),
    ],
)  # fmt: skip
def test_where_nothing_matches_it_is_told_what_there_is(book, asked, what, expected):
    with pytest.raises(NotUnderstood) as caught:
        stands_for(book, asked)
    assert caught.value.what == what
    assert expected in caught.value.expected


def test_a_complaint_without_deliveries_stands_for_what_its_customer_got_of_the_product(book):
    with book.ledger.reading() as connection:
        (complaint,) = ask(connection, ["Q-1"])
        same = ask_buyer(
            connection, book.ledger.kinds, buyer(crop="PEA-50", first="2026-03-11", last="2026-03-12"), UTC
        )
    assert complaint.starts == same.starts


def test_the_scope_is_that_of_the_lots_of_the_crop_and_with_the_box_that_of_the_whole_deliveries(book):
    with book.ledger.reading() as connection:
        kinds = book.ledger.kinds
        asked = [ask_buyer(connection, kinds, buyer(crop="radish"), UTC)]
        alone = recall(connection, asked, kinds)
        by_crop = recall(connection, asked, kinds, with_the_box=True)
        by_code = recall(connection, ask(connection, ["D-2", "D-4"]), kinds)
    # P-PEA is packed as garden mix, of pea alone, and travelled beside the radish in D-2.
    assert (alone.lots, alone.left_out) == (("H-RAD", "S-RAD", "T-RAD"), ("P-PEA",))
    assert (by_crop.left_out, by_crop.with_box) == ((), ("P-PEA",))
    assert (by_crop.lots, by_crop.deliveries) == (by_code.lots, by_code.deliveries)
    assert {one.explains for one in by_crop.candidates} == {1}


def test_which_complaints_no_washing_undoes_stands_with_the_kind_of_thing(book):
    assert book.ledger.kinds.things["complaint"].not_washed_off == ("foreign body", "chemical or taste", "allergen")
    with book.ledger.reading() as connection:
        answers = [recall(connection, ask(connection, [code]), book.ledger.kinds) for code in ("Q-1", "Q-2")]
    assert [one.not_washed_off for one in answers] == [(), ("Q-2",)]
    assert [one.doubt.items for one in answers] == [False, True]
