"""A ledger's file that is moved, removed or replaced while a program writes to it: nobody is told that all went well.

The farm has three entries, and an older copy of it has two. A batch of nine people is recorded, and while it is being
checked, or just when it is committed, the file goes.
"""

import shutil
import sqlite3
from pathlib import Path

import pytest
from sqlalchemy import event
from tests.killing import killed, people, recorded_and_killed
from tests.ledger.farm import SETTINGS

from lotwalk.book import Book
from lotwalk.errors import LedgerError
from lotwalk.ledger.verify.entries import verify
from lotwalk.sheets.reader import read_sheet

MORE = [f"- {{kind: person, at: 2026-03-01, by: TO, code: P-{number}, name: Somebody}}\n" for number in range(400)]
BATCH = "entries:\n" + "".join(MORE[:9])


@pytest.fixture
def ledger(tmp_path) -> Path:
    folder = tmp_path / "farm"
    folder.mkdir()
    path = folder / "farm.db"
    Book.start(str(path), **SETTINGS).ledger.engine.dispose()
    people(path, "TO")
    shutil.copy(path, tmp_path / "older.db")
    people(path, "AK")
    return path


def size(path: Path) -> int:
    """How many entries are in a ledger in which nothing is wrong."""
    book = Book.open(str(path))
    with book.ledger.reading() as connection:
        found = verify(connection, book.ledger.kinds)
    book.ledger.engine.dispose()
    assert found.why == ""
    return found.entries


def load_while(ledger: Path, moment: str, move) -> str:
    """What is told when the file is moved while the batch is checked, or when it is committed."""
    book = Book.open(str(ledger))
    left = [1]

    def once(*_):
        if left:
            left.pop()
            move()

    if moment == "commit":
        event.listen(book.ledger.engine, "commit", once)
    with pytest.raises(LedgerError) as caught:
        book.load(read_sheet(BATCH, "batch.yaml"), progress=once if moment == "check" else None)
    book.ledger.engine.dispose()
    return str(caught.value)


@pytest.mark.parametrize("moment", ["check", "commit"])
def test_moved_away(ledger, moment):
    other = ledger.with_name("elsewhere.db")
    said = load_while(ledger, moment, lambda: ledger.rename(other))
    assert "no file has its name now. Nothing of this is in a ledger of this name" in said
    assert not ledger.exists()
    written = moment == "commit"
    assert ("is in the file that had the name before" in said) == written
    assert size(other) == (12 if written else 3)
    other.rename(ledger)
    assert size(ledger) == (12 if written else 3)


@pytest.mark.parametrize("moment", ["check", "commit"])
def test_removed(ledger, moment):
    assert "no file has its name now" in load_while(ledger, moment, ledger.unlink)
    with pytest.raises(LedgerError, match="there is no ledger here"):
        Book.open(str(ledger))


@pytest.mark.parametrize("moment", ["check", "commit"])
def test_replaced_by_an_older_copy_as_a_shared_folder_does_it(ledger, tmp_path, moment):
    said = load_while(ledger, moment, lambda: (tmp_path / "older.db").rename(ledger))
    assert "another file has its name now. Nothing of this is in a ledger of this name" in said
    assert size(ledger) == 2
    people(ledger, "LATER")
    assert size(ledger) == 3


def test_while_a_program_goes_on_with_the_file_that_had_the_name_another_is_not_opened(ledger, tmp_path):
    book = Book.open(str(ledger))
    book.record("person", at="2026-03-01", by="TO", code="BL", name="Somebody")
    (tmp_path / "older.db").rename(ledger)
    before = ledger.read_bytes()

    def refused():
        try:
            Book.open(str(ledger))
        except LedgerError as error:
            assert "another program goes on with a file that had this name" in str(error)
        else:
            raise SystemExit

    # In another process, since a process is not told of its own locks.
    assert not killed(lambda: refused() or killed(lambda: None), 999)
    book.ledger.engine.dispose()
    assert ledger.read_bytes() == before


def test_a_copy_that_was_put_there_is_spared_when_the_program_was_killed_besides(ledger, tmp_path):
    book = Book.open(str(ledger))
    book.load(read_sheet("entries:\n" + "".join(MORE), "more.yaml"))
    book.ledger.engine.dispose()
    recorded_and_killed(ledger, "LAST")
    (tmp_path / "older.db").rename(ledger)
    left = {path.name: path.read_bytes() for path in ledger.parent.iterdir()}
    with pytest.raises(LedgerError, match=r"farm\.db-wal beside it does not belong to it .*restore BACKUP"):
        Book.open(str(ledger))
    assert {path.name: path.read_bytes() for path in ledger.parent.iterdir()} == left
    with sqlite3.connect(f"file:{ledger}?mode=ro&immutable=1", uri=True) as opened:
        assert opened.execute("PRAGMA integrity_check").fetchone() == ("ok",)
