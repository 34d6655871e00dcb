"""A glance at the newest entry: it is what was hashed, and follows onto the log."""

import pytest
from sqlalchemy import text

from lotwalk.ledger.verify.entries import end_fits

NEWEST = "(SELECT max(seq) FROM entry)"


def fits(book, *statements):
    with book.ledger.engine.begin() as connection:
        for statement in statements:
            connection.execute(text(statement))
    with book.ledger.reading() as connection:
        return end_fits(connection)


def test_a_log_that_was_left_alone_fits(book):
    assert fits(book)
    book.record("person", at="2026-03-01", by="TO", code="XX", name="New")
    assert fits(book)


@pytest.mark.parametrize(
    "edit",
    [
        f"UPDATE entry SET record = replace(record, 'a', 'b') WHERE seq = {NEWEST}",
        f"UPDATE entry SET digest = peaks WHERE seq = {NEWEST}",
        f"UPDATE entry SET root = digest WHERE seq = {NEWEST}",
        f"UPDATE entry SET peaks = root WHERE seq = {NEWEST}",
        "UPDATE entry SET peaks = digest WHERE seq = (SELECT max(seq) - 1 FROM entry)",
    ],
)
def test_an_edit_of_the_newest_entry_is_seen(lite, edit):
    for code in ("X1", "X2", "X3"):
        lite.record("person", at="2026-03-01", by="TO", code=code, name="New")
    assert fits(lite)
    with lite.ledger.reading() as connection:
        size = lite.ledger.head(connection).size
    # A tree of 2, 4, 8, ... leaves has one peak, its root: then these columns are the same.
    while size & (size - 1) == 0 or (size - 1) & (size - 2) == 0 or size % 2:
        lite.record("person", at="2026-03-01", by="TO", code=f"Y{size}", name="New")
        size += 1
    assert not fits(lite, edit)
