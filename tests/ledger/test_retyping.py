"""When the type of a thing is corrected, what was made of it follows."""

from sqlalchemy import text
from tests.ledger.farm import current, history, load, number

from lotwalk.ledger.verify.entries import verify

BAD = """
    - {kind: supplies-receipt, at: 2026-03-01, by: TO, lot: CAN, product: Green can, type: nutrient, active: chlorine}
    - {kind: solution, at: 2026-03-02 07:30, by: TO, lot: FIRST, product: CAN, volume: 10 L}
    - {kind: solution, at: 2026-03-02 08:30, by: TO, lot: SECOND, product: FIRST, volume: 20 L}
    - {kind: solution, at: 2026-03-02 09:30, by: TO, lot: OTHER, product: BLEACH, volume: 20 L}
"""


def types(book):
    with book.ledger.reading() as connection:
        rows = connection.execute(
            text("SELECT code, type, farm_wide FROM thing WHERE kind IN ('supplies-lot', 'solution')")
        )
        return {code: (type_, wide) for code, type_, wide in rows}


def test_solutions_take_the_type_that_their_product_was_corrected_to(book):
    can, first, second, other = load(book, BAD)
    assert types(book)["SECOND"] == ("nutrient", 0)
    receipts = book.amend(number(can), {"type": "sanitiser"}, because="misread the can", by=["TO"])
    found = types(book)
    assert found["CAN"] == found["FIRST"] == found["SECOND"] == ("sanitiser", 1)
    assert [receipt.name for receipt in receipts] == [can.name, first.name, second.name]
    assert all("recorded as of another type now" in one for receipt in receipts[1:] for one in receipt.notices)
    assert len(history(book, other.name)) == 1


def test_the_version_says_the_same_and_why_it_was_filed(book):
    can, first, *_ = load(book, BAD)
    before = current(book, first.name)
    book.amend(number(can), {"type": "sanitiser"}, because="misread the can", by=["TO"])
    old, new = history(book, first.name)
    assert (new.fields, new.at, new.start, new.by) == (old.fields, old.at, old.start, old.by)
    assert old == before
    assert new.because == "what it was made of is recorded as of another type now"
    assert new.amended_by == ()
    assert new.evidence == (can.name,)


def test_the_log_is_whole_afterwards_and_the_type_can_be_corrected_again(book):
    can, first, second, _ = load(book, BAD)
    for type_ in ("sanitiser", "detergent", "nutrient"):
        book.amend(number(can), {"type": type_}, because="again", by=["TO"])
        assert types(book)["SECOND"][0] == type_
        with book.ledger.reading() as connection:
            assert verify(connection, book.ledger.kinds).ok
    assert len(history(book, second.name)) == len(history(book, first.name)) == 4


def test_another_correction_files_nothing_anew(book):
    can, first, *_ = load(book, BAD)
    (receipt,) = book.amend(number(can), {"product": "Greener can"}, because="name", by=["TO"])
    assert receipt.name == can.name
    assert len(history(book, first.name)) == 1
