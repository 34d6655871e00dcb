"""Two programs at one ledger, and a program that dies while it writes."""

import subprocess
import sys
from pathlib import Path

import pytest
from sqlalchemy import text
from tests.ledger.farm import SETTINGS, everything

from lotwalk.book import Book
from lotwalk.ledger.verify.entries import verify
from lotwalk.store import engine as store

SOURCE = Path(__file__).parents[2] / "trace"
MANY = 25

WRITER = """
import sys, time
from pathlib import Path
from lotwalk.book import Book
where, mine, go = sys.argv[1:]
book = Book.open(where)
book.record("person", at="2026-03-01", by="TO", code=f"{mine}-000", name="First")
while not Path(go).exists():
    time.sleep(0.005)
for number in range(1, %d):
    book.record("person", at="2026-03-01", by="TO", code=f"{mine}-{number:03}", name="Another")
"""

CRASH = """
import os, signal, sys
from sqlalchemy import event
from lotwalk.book import Book
book = Book.open(sys.argv[1])

@event.listens_for(book.ledger.engine, "before_cursor_execute")
def die(connection, cursor, statement, parameters, context, many):
    # The entries are in by now, and their uses are not.
    if statement.startswith("INSERT INTO use"):
        os.kill(os.getpid(), signal.SIGKILL)

people = [
    {"kind": "person", "at": "2026-03-01", "by": "TO", "code": f"P-{number}", "name": "Somebody"} for number in range(9)
]
book.record_all(people)
"""


def program(code: str, *arguments: str) -> subprocess.Popen:
    return subprocess.Popen([sys.executable, "-c", code, *arguments], env={"PYTHONPATH": str(SOURCE)})


@pytest.fixture
def begun(where) -> str:
    """A ledger with one person in it."""
    book = Book.start(where, **SETTINGS)
    book.record("person", at="2026-03-01", by="TO", code="TO", name="Tess Orr")
    book.ledger.engine.dispose()
    return where


def whole(where: str) -> set[str]:
    """The codes of a ledger in which nothing is wrong."""
    book = Book.open(where)
    with book.ledger.reading() as connection:
        found = verify(connection, book.ledger.kinds)
        assert (found.ok, found.why) == (True, "")
        codes = set(connection.execute(text("SELECT code FROM thing")).scalars())
        assert found.entries == len(codes) + 1
    book.ledger.engine.dispose()
    return codes


def _write_at_once(where: str, tmp_path) -> None:
    go = tmp_path / "go"
    writers = [program(WRITER % MANY, where, mine, str(go)) for mine in ("A", "B")]
    book = Book.open(where)
    waiting = {"A-000", "B-000"}
    while waiting:
        with book.ledger.reading() as connection:
            waiting -= set(connection.execute(text("SELECT code FROM thing")).scalars())
        assert all(writer.poll() in (None, 0) for writer in writers)
    go.touch()
    assert [writer.wait(60) for writer in writers] == [0, 0]
    book.ledger.engine.dispose()
    assert whole(where) == {"TO"} | {f"{mine}-{number:03}" for mine in ("A", "B") for number in range(MANY)}


def test_two_programs_that_record_at_once_lose_nothing(begun, tmp_path):
    _write_at_once(begun, tmp_path)


def test_a_servers_own_default_of_isolation_does_no_harm(fresh, tmp_path):
    where = fresh("postgresql")
    engine = store.open_engine(where)
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        name = connection.execute(text("SELECT current_database()")).scalar()
        connection.execute(text(f"ALTER DATABASE {name} SET default_transaction_isolation = 'serializable'"))
    engine.dispose()
    book = Book.start(where, **SETTINGS)
    book.record("person", at="2026-03-01", by="TO", code="TO", name="Tess Orr")
    book.ledger.engine.dispose()
    _write_at_once(where, tmp_path)


def test_a_program_that_dies_while_it_writes_leaves_nothing(begun):
    book = Book.open(begun)
    before = everything(book)
    assert program(CRASH, begun).wait(60) == -9
    assert everything(book) == before
    book.record("person", at="2026-03-01", by="TO", code="AK", name="Ana Kost")
    book.ledger.engine.dispose()
    assert whole(begun) == {"TO", "AK"}
