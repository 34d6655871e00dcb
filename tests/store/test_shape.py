"""`verify` compares the ledger's tables, indexes and triggers with what Lotwalk makes, and an index can be put back."""

import pytest
from sqlalchemy import text
from tests.ledger.farm import SETTINGS

from lotwalk.book import Book
from lotwalk.errors import LedgerError
from lotwalk.ledger.verify import verify
from lotwalk.store import engine as store
from lotwalk.store.shape import mend


@pytest.fixture
def book(where):
    book = Book.start(where, **SETTINGS)
    book.record("person", at="2026-03-01", by="TO", code="TO", name="Tess Orr")
    yield book
    book.ledger.engine.dispose()


def told(book, *statements):
    """What `verify` says after these statements were run behind the ledger's back."""
    with book.ledger.engine.begin() as connection:
        for statement in statements:
            connection.execute(text(statement))
    with book.ledger.reading() as connection:
        found = verify(connection, book.ledger.kinds)
    assert found.ok is (found.why == "")
    assert found.first_bad is None
    return found.why


def test_a_ledger_as_it_was_made_has_no_difference(book):
    assert told(book) == ""


@pytest.mark.parametrize("index", ["use_in", "use_out", "use_clear", "use_long", "use_named", "entry_first"])
def test_a_missing_index_is_told_and_put_back(book, index):
    why = told(book, f"DROP INDEX {index}")
    assert f"the index {index} of the table" in why
    assert "`lotwalk migrate` puts it back" in why
    assert mend(book.ledger.engine) == [index]
    assert told(book) == ""


def test_an_index_of_other_columns_or_without_its_condition_is_told_and_put_back(book):
    for made in ("ON use (thing)", "ON use (thing, at_from, at_to, grp, line)"):
        why = told(book, "DROP INDEX use_in", f"CREATE INDEX use_in {made}")
        assert why == "the index use_in is not as Lotwalk made it; `lotwalk migrate` puts it back"
        assert mend(book.ledger.engine) == ["use_in"]
    assert told(book) == ""


def test_a_trigger_is_told_whoever_made_it(book):
    if book.ledger.engine.dialect.name == "sqlite":
        made = ["CREATE TRIGGER quiet AFTER INSERT ON entry BEGIN DELETE FROM use WHERE node = 0; END"]
    else:
        made = [
            "CREATE FUNCTION quiet() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN RETURN NEW; END'",
            "CREATE TRIGGER quiet AFTER INSERT ON entry FOR EACH ROW EXECUTE FUNCTION quiet()",
        ]
    why = told(book, *made)
    assert "a trigger named quiet stands on the table entry" in why
    assert "DROP TRIGGER quiet" in why


def test_a_column_that_is_not_lotwalk_s_is_told(book):
    assert "the table thing has not the columns" in told(book, "ALTER TABLE thing ADD COLUMN secret TEXT")


def test_a_command_that_misses_an_index_says_how_to_mend_it(tmp_path):
    book = Book.start(str(tmp_path / "farm.db"), **SETTINGS)
    with book.ledger.engine.begin() as connection:
        connection.execute(text("DROP INDEX use_in"))
    told = pytest.raises(LedgerError, match="no such index: use_in; `lotwalk migrate` puts it back")
    with told, store.reading(book.ledger.engine) as connection:
        connection.execute(text("SELECT 1 FROM use INDEXED BY use_in WHERE role <= 4 AND thing = 1"))
    book.ledger.engine.dispose()
