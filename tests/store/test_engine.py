"""Opening what is a ledger and what is not, told in plain words; and how safely it is written."""

import sqlite3
from contextlib import ExitStack

import pytest
from sqlalchemy import text
from tests.ledger.farm import SETTINGS

from lotwalk.book import Book
from lotwalk.errors import LedgerError, LotwalkError
from lotwalk.store import engine as store


@pytest.fixture
def ledger(where) -> str:
    """A ledger that has just been begun."""
    Book.start(where, **SETTINGS).ledger.engine.dispose()
    return where


@pytest.fixture
def file(tmp_path) -> str:
    """A ledger in a SQLite file."""
    path = str(tmp_path / "farm.db")
    Book.start(path, **SETTINGS).ledger.engine.dispose()
    return path


def why(where: str, **more) -> str:
    """Why a ledger cannot be opened."""
    with pytest.raises(LedgerError) as caught:
        Book.open(where, **more)
    return str(caught.value)


def why_not_started(where: str) -> str:
    with pytest.raises(LedgerError) as caught:
        Book.start(where, **SETTINGS)
    return str(caught.value)


def test_every_connection_to_a_file_is_durable(file):
    engine = store.open_engine(file)
    with ExitStack() as stack:
        for connection in [stack.enter_context(engine.connect()) for _ in range(3)]:
            found = [
                connection.exec_driver_sql(f"PRAGMA {name}").scalar()
                for name in ("journal_mode", "synchronous", "foreign_keys")
            ]
            assert found == ["wal", 2, 1]  # 2 is FULL
            assert connection.exec_driver_sql("PRAGMA busy_timeout").scalar() >= 10_000
    engine.dispose()


def test_foreign_keys_are_in_force(ledger):
    engine = store.open_engine(ledger)
    with pytest.raises(LedgerError, match=r"(?i)foreign key"), store.writing(engine) as connection:
        connection.execute(text("INSERT INTO ref (seq, first) VALUES (99, 1)"))
    engine.dispose()


def test_a_missing_file_is_not_made(tmp_path):
    path = tmp_path / "none.db"
    told = why(str(path))
    assert told.startswith(f"{path}: there is no ledger here; begin one with `lotwalk --ledger {path} start`. ")
    assert told.endswith(f"by `lotwalk --ledger {path} restore BACKUP`")
    assert not path.exists()


def test_a_missing_folder_is_told(tmp_path):
    path = tmp_path / "none" / "farm.db"
    assert why_not_started(str(path)) == f"{path.parent}: there is no such folder; make it first"


def test_a_folder_is_no_ledger(tmp_path):
    assert why(str(tmp_path)).startswith(f"{tmp_path}: this is a folder")
    assert why_not_started(str(tmp_path)).startswith(f"{tmp_path}: this is a folder")


def test_a_file_of_something_else_is_no_ledger_and_stays_as_it_is(tmp_path):
    path = tmp_path / "notes.txt"
    path.write_text("eggs, milk\n" * 100)
    assert why(str(path)) == f"{path}: this file is not a ledger"
    assert why_not_started(str(path)).endswith("this file is not a ledger")
    assert path.read_text() == "eggs, milk\n" * 100


def test_another_programs_database_is_no_ledger_and_stays_as_it_is(tmp_path):
    path = tmp_path / "other.db"
    other = sqlite3.connect(path)
    other.execute("CREATE TABLE song (title TEXT)")
    other.close()
    before = path.read_bytes()
    assert why(str(path)).startswith(f"{path}: no ledger has been started here")
    assert why_not_started(str(path)) == f"{path}: there are tables here already (song); choose another name"
    assert path.read_bytes() == before


def test_an_empty_file_can_become_a_ledger(tmp_path):
    path = tmp_path / "farm.db"
    path.touch()
    assert why(str(path)).startswith(f"{path}: no ledger has been started here")
    Book.start(str(path), **SETTINGS).ledger.engine.dispose()
    Book.open(str(path)).ledger.engine.dispose()


def test_a_ledger_is_not_begun_twice(ledger):
    assert why_not_started(ledger).endswith("there is a ledger here already; choose another name")
    book = Book.open(ledger)
    with book.ledger.reading() as connection:
        assert book.ledger.head(connection).size == 1
    book.ledger.engine.dispose()


def test_a_ledger_among_other_tables_of_a_postgresql_database(fresh):
    where = fresh("postgresql")
    engine = store.open_engine(where)
    with store.writing(engine) as connection:
        connection.execute(text("CREATE TABLE song (title text)"))
    Book.start(where, **SETTINGS).ledger.engine.dispose()
    other = fresh("postgresql")
    blocked = store.open_engine(other)
    with store.writing(blocked) as connection:
        connection.execute(text("CREATE TABLE entry (title text)"))
    assert why_not_started(other).endswith("there are tables here already (entry); choose another name")
    for one in (engine, blocked):
        one.dispose()


@pytest.mark.parametrize(
    ("found", "words"),
    [
        ("9999", "this ledger was made by a newer Lotwalk (9999); update Lotwalk"),
        ("0000", "this ledger is of an older form (0000); run `lotwalk"),
    ],
)
def test_a_ledger_of_another_version_is_told(ledger, found, words):
    engine = store.open_engine(ledger)
    with store.writing(engine) as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = :found"), {"found": found})
    engine.dispose()
    assert words in why(ledger)


@pytest.mark.parametrize(
    ("where", "words"),
    [
        ("mysql://farm@localhost/farm", "mysql is not supported; use a SQLite file or PostgreSQL"),
        ("oracle://farm@localhost/farm", "oracle is not supported"),
        ("://", "not a database URL"),
        ("sqlite://", "a ledger is a file: give its name"),
        ("sqlite:///:memory:", "a ledger is a file: give its name"),
        ("", "a ledger is a file: give its name"),
    ],
)
def test_a_place_that_can_hold_no_ledger_is_told(where, words):
    assert words in why(where)
    assert words in why_not_started(where)


def test_a_server_that_does_not_answer_is_told_without_the_password(tmp_path):
    said = why(f"postgresql://farm:s3cret@/farm?host={tmp_path}")
    assert "the database refused" in said
    assert "s3cret" not in said


def test_a_slip_in_the_settings_leaves_no_file(tmp_path):
    path = tmp_path / "farm.db"
    for slip in ({"timezone": "Mars/Base"}, {"measures": "cubits"}, {"rules": "nowhere"}, {"phone": " "}):
        with pytest.raises(LotwalkError):
            Book.start(str(path), **{**SETTINGS, **slip})
        assert not path.exists()


def test_a_reader_sees_one_state_of_the_ledger_throughout(ledger):
    book = Book.open(ledger)
    with book.ledger.reading() as connection:
        before = book.ledger.head(connection)
        book.record("person", at="2026-03-01", by="TO", code="TO", name="Tess Orr")
        assert book.ledger.head(connection) == before
        assert connection.execute(text("SELECT count(*) FROM thing")).scalar() == 0
    with book.ledger.reading() as connection:
        assert book.ledger.head(connection).size == before.size + 1
    book.ledger.engine.dispose()


def test_what_fails_is_rolled_back(ledger):
    engine = store.open_engine(ledger)
    with pytest.raises(RuntimeError, match="stop"), store.writing(engine) as connection:
        connection.execute(text("INSERT INTO sheet (id, digest, name, in_order) VALUES (1, 'a', 'b', 0)"))
        raise RuntimeError("stop")
    with store.reading(engine) as connection:
        assert connection.execute(text("SELECT count(*) FROM sheet")).scalar() == 0
    engine.dispose()
