"""A ledger that may only be read, in a folder that may only be read, still answers; and is not written to."""

import os
import shutil
import tempfile
from contextlib import contextmanager
from pathlib import Path

import pytest
from click.testing import CliRunner
from tests.ledger.farm import SETTINGS

from lotwalk.book import Book
from lotwalk.cli.main import main

NOBODY = 65_534
READING = [("show", "TO"), ("log", "person"), ("verify",), ("trace", "TO", "--forward")]
WRITING = ("record", "person", "--code", "AK", "--name", "A", "--by", "TO", "--at", "2026-03-02")


class Lotwalk:
    """The command as click's test runner calls it."""

    name = "lotwalk"

    def main(self, args, prog_name, **extra):
        raise SystemExit(main(args))


def run(path, *arguments):
    return CliRunner().invoke(Lotwalk(), ["--ledger", str(path), *arguments])


@contextmanager
def as_reader():
    """Be somebody who may write nowhere in the folder: the superuser may write everywhere."""
    superuser = os.geteuid() == 0
    if superuser:
        os.seteuid(NOBODY)
    try:
        yield
    finally:
        if superuser:
            os.seteuid(0)


@pytest.fixture
def folder():
    """A folder that anybody may read, with a ledger in it. Each command has run once, so that all of it is imported."""
    made = Path(tempfile.mkdtemp(prefix="read only %20 "))
    book = Book.start(str(made / "farm.db"), **SETTINGS)
    book.record("person", at="2026-03-01", by="TO", code="TO", name="Tess Orr")
    book.ledger.engine.dispose()
    shutil.copy(made / "farm.db", made / "other.db")
    for command in (*READING, WRITING):
        assert run(made / "other.db", *command).exit_code == 0
    for path in made.glob("other.db*"):
        path.unlink()
    yield made
    made.chmod(0o755)
    shutil.rmtree(made)


def lock(folder):
    for path in folder.iterdir():
        path.chmod(0o444)
    folder.chmod(0o555)


@pytest.mark.parametrize("command", READING)
def test_reading_commands_answer(folder, command):
    before = (folder / "farm.db").read_bytes()
    lock(folder)
    with as_reader():
        done = run(folder / "farm.db", *command)
    assert done.exit_code == 0, done.output
    assert [path.name for path in folder.iterdir()] == ["farm.db"]
    assert (folder / "farm.db").read_bytes() == before


def test_a_writing_command_says_why_it_cannot(folder):
    lock(folder)
    with as_reader():
        done = run(folder / "farm.db", *WRITING)
    assert done.exit_code == 2
    assert "may not be written to; copy it to a folder of your own" in done.output


def test_what_another_program_has_just_written_is_read_too(folder):
    book = Book.open(str(folder / "farm.db"))
    with book.ledger.reading() as connection:
        connection.exec_driver_sql("SELECT 1 FROM entry").all()
        book.record("person", at="2026-03-02", by="TO", code="NEW", name="New")
        assert (folder / "farm.db-wal").stat().st_size
        lock(folder)
        with as_reader():
            done = run(folder / "farm.db", "show", "NEW")
    book.ledger.engine.dispose()
    assert done.exit_code == 0, done.output
    assert "NEW: person" in done.output
