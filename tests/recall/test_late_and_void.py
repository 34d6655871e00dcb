"""What is not believed after a complaint, however the complaint is amended, dated or joined; and what is void."""

import pytest

from lotwalk.book import Book
from lotwalk.recall.asking.asked import ask
from lotwalk.recall.recall import recall
from lotwalk.sheets.reader import read_sheet

REGISTER = """
common: {by: TO, at: 2026-03-01 08:00}
entries:
- {kind: person, code: TO, name: Tess Orr}
- {kind: supplier, code: SEEDS, name: Seeds}
- {kind: customer, code: CAFE, name: Corner Cafe}
- {kind: customer, code: SHOP, name: Corner Shop}
- {kind: product, code: RAD, name: Radish, commodity: radish}
- {kind: equipment, codes: M-1, type: medium}
- {kind: seed-receipt, lot: S-1, crop: radish, supplier: SEEDS, amount: 5 kg}
- {kind: seed-receipt, lot: S-2, crop: pea, supplier: SEEDS, amount: 5 kg}
- {kind: supplies-receipt, lot: BL-1, product: Bleach, type: sanitiser, active: chlorine, label_min: 50 ppm,
   label_max: 200 ppm, label_contact: 1 min}
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 200 g, trays: 1, equipment: M-1, water: none}
- {kind: harvest, at: 2026-03-09 09:00, lot: H-1, from: T-1, amount: 900 g, cut: above the medium}
- {kind: delivery, at: 2026-03-09 15:00, code: D-1, customer: CAFE, items: H-1 900 g}
- {kind: solution, at: 2026-03-09 16:00, lot: SOL-1, product: BL-1, volume: 10 L}
- {kind: sowing, at: 2026-03-11 09:00, batch: T-2, seed: S-2 200 g, trays: 1, equipment: M-1, water: none}
- {kind: harvest, at: 2026-03-18 09:00, lot: H-2, from: T-2, amount: 900 g, cut: above the medium}
- {kind: packing, at: 2026-03-18 10:00, lot: P-2, from: H-2 900 g, packs: 9, pack_size: 100 g}
- {kind: delivery, at: 2026-03-18 15:00, code: D-2, customer: SHOP, items: P-2 9 packs}
"""
DIP = (
    "- {kind: sanitising, by: TO, at: 2026-03-10 09:00, items: M-1, solution: SOL-1, reading: 100 ppm, contact: 2 min,"
    " washed: yes, temperature: 20 C, ph: 7}\n"
)


def complaint(code="Q-1", at="2026-03-20 09:00", about="deliveries: D-2", customer="SHOP"):
    return (
        f"- {{kind: complaint, by: TO, at: {at}, code: {code}, customer: {customer}, type: illness, {about},"
        " description: ill}\n"
    )


@pytest.fixture
def book(where):
    book = Book.start(where, name="F", location="L", timezone="UTC", measures="metric", clock=lambda: 1_774_500_000)
    book.load(read_sheet(REGISTER, "farm.yaml"))
    yield book
    book.ledger.engine.dispose()


def load(book, text):
    return [receipt.name for receipt in book.load(read_sheet(text, "more.yaml"), again=True)]


def reached(book, *codes):
    with book.ledger.reading() as connection:
        found = recall(connection, ask(connection, codes), book.ledger.kinds)
    return [one.code for one in found.deliveries], list(found.late)


def test_a_dip_written_down_after_the_complaint_is_not_believed(book):
    load(book, complaint())
    (dip,) = load(book, DIP)
    assert reached(book, "Q-1") == (["D-1", "D-2"], [dip])


def test_a_dip_written_down_before_it_is_believed(book):
    load(book, DIP + complaint())
    assert reached(book, "Q-1") == (["D-2"], [])


def test_amending_the_complaint_makes_no_evidence_older(book):
    (name,) = load(book, complaint())
    (dip,) = load(book, DIP)
    book.amend(int(name[1:]), {"description": "ill, two"}, because="typo", by=["TO"])
    assert reached(book, "Q-1") == (["D-1", "D-2"], [dip])


def test_one_more_complaint_believes_no_more(book):
    load(book, complaint())
    (dip,) = load(book, DIP)
    load(book, complaint("Q-0", "2026-03-19 09:00", "deliveries: D-1", "CAFE"))
    assert reached(book, "Q-1", "Q-0")[1] == [dip]


def test_a_complaint_of_some_day_in_a_span_may_be_later_than_the_dip(book):
    load(book, complaint(at="2026-03-02..2026-03-20"))
    (dip,) = load(book, DIP)
    assert reached(book, "Q-1") == (["D-1", "D-2"], [dip])


def test_a_complaint_about_a_product_takes_in_lots_that_name_none(book):
    load(book, DIP + complaint(about="product: RAD"))
    assert reached(book, "Q-1")[0] == ["D-2"]


def test_of_a_void_delivery_it_is_said_that_nothing_lies_behind_it(book):
    *_, delivery = load(book, DIP + complaint()) and [f"E{number}" for number in range(2, 19)]
    book.void(int(delivery[1:]), because="typed twice", by=["TO"])
    with book.ledger.reading() as connection:
        for code in ("D-2", "Q-1"):
            (asked,) = ask(connection, [code])
            assert asked.void == ("D-2",)
            assert asked.words() == [
                "D-2 is void, so nothing lies behind it. Ask about what was recorded in its place."
            ]
