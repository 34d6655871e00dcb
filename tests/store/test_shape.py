"""`verify` compares the ledger's tables, indexes and triggers with what Lotwalk makes, and an index can be put back."""

import pytest
from sqlalchemy import text
from tests.ledger.farm import SETTINGS

from lotwalk.book import Book
from lotwalk.errors import LedgerError
from lotwalk.ledger.verify.entries import verify
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
    with store.writing(book.ledger.engine) as connection:
        assert mend(connection) == [f"the index {index}"]
    assert told(book) == ""


def test_an_index_of_other_columns_or_without_its_condition_is_told_and_put_back(book):
    for made in ("ON use (thing)", "ON use (thing, at_from, at_to, grp, line)"):
        why = told(book, "DROP INDEX use_in", f"CREATE INDEX use_in {made}")
        assert why == "the index use_in is not as Lotwalk made it; `lotwalk migrate` puts it back"
        with store.writing(book.ledger.engine) as connection:
            assert mend(connection) == ["the index use_in"]
    assert told(book) == ""


@pytest.mark.parametrize("made", ["ON use (thing, at_from, at_to, grp, line) WHERE role <= 4 AND thing <> 3",
                                  "ON use (thing, at_from, at_to, grp, line) WHERE role <= 3"])  # fmt: skip
def test_an_index_that_leaves_rows_out_is_told_on_either_database(book, made):
    why = told(book, "DROP INDEX use_in", f"CREATE INDEX use_in {made}")
    assert why == "the index use_in is not as Lotwalk made it; `lotwalk migrate` puts it back"


@pytest.mark.parametrize("table", ["entry", "Entry", "ENTRY"])
def test_a_trigger_is_told_whoever_made_it_and_however_the_table_is_spelled(book, table):
    if book.ledger.engine.dialect.name == "sqlite":
        made = [f"CREATE TRIGGER quiet AFTER INSERT ON {table} BEGIN DELETE FROM use WHERE node = 0; END"]
    else:
        made = [
            "CREATE FUNCTION quiet() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN RETURN NEW; END'",
            f"CREATE TRIGGER quiet AFTER INSERT ON {table} FOR EACH ROW EXECUTE FUNCTION quiet()",
        ]
    why = told(book, *made)
    assert "a trigger named quiet stands on the table entry" in why
    assert "DROP TRIGGER quiet" in why


@pytest.mark.parametrize(
    ("made", "what", "remove"),
    [
        ("CREATE RULE quiet AS ON INSERT TO use DO INSTEAD NOTHING", "a rule named quiet", "DROP RULE quiet ON use"),
        ("ALTER TABLE use ENABLE ROW LEVEL SECURITY", "a row security", "ALTER TABLE use DISABLE ROW LEVEL SECURITY"),
    ],
)
@pytest.mark.parametrize("where", ["postgresql"], indirect=True)
def test_a_rule_or_a_policy_that_hides_rows_is_told(book, made, what, remove):
    why = told(book, made)
    assert what in why
    assert "stands on the table use" in why
    assert remove in why


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
