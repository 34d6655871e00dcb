"""The files that SQLite keeps beside a ledger's file, and what the ledger would be once they are played into it.

What was committed last stands in the -wal until it is put into the file; after a power cut it waits there for the next
opening. Beside a file to which it does not belong, such as a copy that was put back by hand, it destroys that file.
"""

import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager
from pathlib import Path
from typing import BinaryIO

from lotwalk.errors import LedgerError
from lotwalk.store.files import private_folder, size_of, why
from lotwalk.store.locks import CONNECTED, lock_on

SIDES = ("-wal", "-shm", "-journal")
"""How the names of the files beside a ledger's file end."""

_PLAYED = ("-wal", "-journal")
"""Those that SQLite plays into the file. The -shm only says where what stands in the -wal."""

_CHUNK = 1 << 20
_HEADER = 32
"""Bytes at the start of a -wal before anything can be played (https://www.sqlite.org/fileformat2.html, 4.1)."""


def beside(path: Path, end: str) -> Path:
    """Return the name of one of the files beside a ledger's file."""
    return Path(f"{path}{end}")


def waiting(path: Path) -> list[Path]:
    """Return the files beside a ledger's file from which something would be played into it."""
    return [one for one in (beside(path, end) for end in _PLAYED) if size_of(one) > _HEADER]


def in_use_under_the_name(path: Path) -> bool:
    """Return whether another program goes on with a file that had this name and was moved or replaced.

    To be asked only where no program has the file itself open.
    """
    return lock_on(beside(path, "-shm"), CONNECTED) != "none"


@contextmanager
def copied(path: Path, file: BinaryIO, *, sides: bool = True) -> Iterator[Path]:
    """Yield a private copy of a ledger's file, which was opened as `file`; `play` puts into it what stands beside.

    Without `sides` nothing of that is copied. Raises LedgerError where there is no room for a copy.
    """
    with ExitStack() as stack:
        yield _copy(path, file, waiting(path) if sides else [], stack)


def _copy(path: Path, file: BinaryIO, sides: list[Path], stack: ExitStack) -> Path:
    reason = ""
    for place in (Path(tempfile.gettempdir()), path.parent):
        try:
            copy = stack.enter_context(private_folder(place)) / "ledger.db"
            file.seek(0)
            with copy.open("wb") as made:
                shutil.copyfileobj(file, made, _CHUNK)
            for one in sides:
                shutil.copyfile(one, _held(copy, one.name.removeprefix(path.name)))
        except OSError as error:
            reason = why(error)
        else:
            return copy
    raise LedgerError(
        f"{path}: no room for the copy in which to look at what stands in it and beside it ({reason}). Nothing was"
        " touched; make room on the disk and try again"
    )


def _held(copy: Path, end: str) -> Path:
    return beside(copy, f".held{end}")


def play(copy: Path) -> str:
    """Play what stood beside a ledger's file into the copy of it, and return what is damaged then, or nothing."""
    for end in _PLAYED:
        if _held(copy, end).exists():
            _held(copy, end).replace(beside(copy, end))
    try:
        with closing(sqlite3.connect(copy)) as opened:
            opened.execute("PRAGMA journal_mode = DELETE").fetchall()
            return damage(opened)
    except sqlite3.Error as error:
        return str(error)


def damage(opened: sqlite3.Connection) -> str:
    """Return what SQLite finds wrong with a file and its indexes, or nothing. Raises sqlite3.Error."""
    found = [str(row[0]) for row in opened.execute("PRAGMA integrity_check(1)")]
    return "" if found == ["ok"] else found[0]
