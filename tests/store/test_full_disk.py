"""On a disk without room a ledger can still be read, and what cannot be done is told in plain words."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from sqlalchemy import text
from tests.killing import contents, people, recorded_and_killed
from tests.ledger.farm import SETTINGS

from lotwalk.book import Book
from lotwalk.errors import LedgerError
from lotwalk.store.locks import SHARED, lock_on

SOURCE = Path(__file__).parents[2] / "trace"


@pytest.fixture
def disk(tmp_path):
    """A small disk, half full, with a ledger of two entries on it."""
    place = tmp_path / "disk"
    place.mkdir()
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=800k", "none", str(place)], capture_output=True, check=False
    )
    if done.returncode:
        pytest.skip("a disk can be mounted by the superuser only")
    Book.start(str(place / "farm.db"), **SETTINGS).ledger.engine.dispose()
    people(place / "farm.db", "TO")
    yield place
    subprocess.run(["umount", "--lazy", str(place)], check=True)


def fill(disk: Path) -> None:
    with pytest.raises(OSError, match="No space"), (disk / "photos").open("wb", buffering=0) as file:
        while True:
            file.write(bytes(1024))


def codes(book: Book) -> set[str]:
    with book.ledger.reading() as connection:
        return set(connection.execute(text("SELECT code FROM thing")).scalars())


def test_a_full_disk_is_read_and_not_written_until_there_is_room(disk):
    fill(disk)
    before = (disk / "farm.db").read_bytes()
    book = Book.open(str(disk / "farm.db"))
    assert codes(book) == {"TO"}
    with pytest.raises(LedgerError, match=r"nothing was written\. The ledger can be read"):
        book.record("person", at="2026-03-01", by="TO", code="AK", name="A")
    assert (disk / "farm.db").read_bytes() == before
    (disk / "photos").unlink()
    book.record("person", at="2026-03-01", by="TO", code="AK", name="A")
    assert codes(book) == {"TO", "AK"}
    book.ledger.engine.dispose()


def test_what_a_killed_program_left_is_read_too(disk):
    recorded_and_killed(disk / "farm.db", "NEW")
    (disk / "farm.db-shm").unlink()  # what stands where is found out anew then, for which there is no room
    fill(disk)
    before = contents(disk)
    book = Book.open(str(disk / "farm.db"))
    assert codes(book) == {"TO", "NEW"}
    book.ledger.engine.dispose()
    left = contents(disk)
    assert [left[name] for name in ("farm.db", "farm.db-wal")] == [before[name] for name in ("farm.db", "farm.db-wal")]
    (disk / "photos").unlink()
    people(disk / "farm.db", "LATER")
    book = Book.open(str(disk / "farm.db"))
    assert codes(book) == {"TO", "NEW", "LATER"}
    book.ledger.engine.dispose()


def test_a_disk_that_is_full_in_the_middle_of_a_batch_keeps_what_was_there(disk):
    book = Book.open(str(disk / "farm.db"))
    many = [{"kind": "person", "at": "2026-03-01", "by": "TO", "code": f"P-{n}", "name": "P"} for n in range(900)]
    with pytest.raises(LedgerError, match="the disk is full"):
        book.record_all(many)
    assert codes(book) == {"TO"}
    book.ledger.engine.dispose()


def lotwalk(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """The command where no file may grow, which every system can be asked for."""
    environment = {**os.environ, "PYTHONPATH": str(SOURCE)}
    command = ["bash", "-c", 'ulimit -f 0; exec "$@"', "-", sys.executable, "-m", "lotwalk", "--ledger", "farm.db"]
    return subprocess.run(
        [*command, *arguments], cwd=folder, env=environment, capture_output=True, text=True, check=False
    )


@pytest.fixture
def folder(tmp_path) -> Path:
    Book.start(str(tmp_path / "farm.db"), **SETTINGS).ledger.engine.dispose()
    people(tmp_path / "farm.db", "TO")
    return tmp_path


@pytest.mark.parametrize(
    ("command", "status"), [(("verify",), 0), (("show", "TO"), 0), (("log", "person"), 0), (("check",), 1)]
)
def test_reading_commands_answer_where_no_file_may_grow(folder, command, status):
    done = lotwalk(folder, *command)
    assert (done.returncode, done.stderr) == (status, "")
    assert done.stdout


def test_a_writing_command_says_what_to_do(folder):
    done = lotwalk(folder, "record", "person", "--code", "AK", "--name", "A", "--by", "TO")
    assert done.returncode == 2
    assert "Make room on the disk, and do this again" in done.stderr


def test_while_another_program_has_it_open_it_is_read_as_that_one_left_it(folder):
    book = Book.open(str(folder / "farm.db"))
    book.record("person", at="2026-03-01", by="TO", code="AK", name="A")
    done = lotwalk(folder, "show", "AK")
    assert (done.returncode, done.stderr) == (0, "")
    book.ledger.engine.dispose()
    assert lock_on(folder / "farm.db", SHARED) == "none"
