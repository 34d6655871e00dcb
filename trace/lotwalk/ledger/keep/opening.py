"""Opening a ledger, once it is sure that what stands beside its file belongs to it.

SQLite plays a -wal into whatever file has the name. After a power cut that is right; where another copy was put there
since, it destroys the copy. So where no program has the file open, the two are first put together in a private copy.
"""

import sqlite3
import weakref
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from sqlalchemy import Engine, inspect, select

from lotwalk.errors import LedgerError
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import Head
from lotwalk.ledger.verify.entries import Verification, end_fits, verify
from lotwalk.store import engine as store
from lotwalk.store import tables
from lotwalk.store.companions import beside, copied, in_use_under_the_name, play, waiting
from lotwalk.store.connecting import open_here, writable
from lotwalk.store.files import says_database, size_of
from lotwalk.store.locks import CAN_ASK, alone
from lotwalk.store.replacing import finish

UNREADABLE = (LedgerError, sqlite3.Error, ValueError, TypeError, KeyError)
"""What reading a damaged file may raise."""


@dataclass(frozen=True, slots=True)
class Look:
    """A private copy of a ledger with what stood beside it played in, and why that does not belong to it, or nothing.

    `alone` is the head that the file tells without it, where its newest entry follows onto the log.
    """

    copy: Path
    alone: Head | None
    why_not: str


def open_ledger(where: str, kinds: Callable[[], Kinds]) -> Engine:
    """Return an engine for the ledger at a file or URL.

    A restore that was cut short is finished first. Raises LedgerError when there is no ledger, or when what stands
    beside its file does not belong to it: then nothing is touched.
    """
    path = store.file_of(where)
    if path is None:
        return store.open_engine(where)
    finish(path)
    if not path.exists() and waiting(path):
        raise _left_alone(path)
    left = path.is_file() and (beside(path, "-wal").exists() or waiting(path))
    if not left or not CAN_ASK or open_here(path):
        return store.open_engine(where)
    with ExitStack() as stack:
        copy = _judged(path, kinds, stack)
        engine = store.open_engine(where)
        if copy and (not writable(path) or not store.takes_its_files(engine)):
            engine.dispose()
            engine = store.open_engine(where, instead=copy)
            weakref.finalize(engine, stack.pop_all().close)
        return engine


def _judged(path: Path, kinds: Callable[[], Kinds], stack: ExitStack) -> Path | None:
    """A private copy of a ledger with what waits beside it, where something does. LedgerError if it does not belong."""
    with alone(path) as file:
        if file is None or not says_database(file):
            return None
        if in_use_under_the_name(path):
            raise LedgerError(
                f"{path}: another program goes on with a file that had this name and was moved or replaced. End that"
                " program first, then try again"
            )
        if not waiting(path):
            return None
        look = stack.enter_context(looked_at(path, file, kinds))
        if look.why_not:
            raise _does_not_fit(path, look.why_not)
        return look.copy


def nothing_left_at(where: str) -> None:
    """Raise LedgerError where the file of a ledger that was moved away has left behind what was written to it last.

    A new ledger under its name would destroy that.
    """
    path = store.file_of(where)
    if path is not None:
        finish(path)
        if not size_of(path) and waiting(path):
            raise _left_alone(path)


@contextmanager
def looked_at(path: Path, file: BinaryIO, kinds: Callable[[], Kinds], *, sides: bool = True) -> Iterator[Look]:
    """Yield what a ledger's file, opened as `file`, is with what stands beside it; without `sides`, by itself.

    Neither is touched. Raises LedgerError where there is no room for a copy.
    """
    with copied(path, file, sides=sides) as copy:
        before = head_of(copy)
        damaged = play(copy)
        yield Look(copy, before, damaged or _why_not(path, file, copy, kinds, before))


def head_of(copy: Path) -> Head | None:
    """Return the head of a file that nothing stands beside, or None where its newest entry does not follow."""
    try:
        with closing_engine(copy) as engine, store.reading(engine) as connection:
            if not inspect(connection).has_table(tables.entry.name) or not end_fits(connection):
                return None
            table = tables.entry
            row = connection.execute(select(table.c.seq, table.c.root).order_by(table.c.seq.desc()).limit(1)).one()
            return Head(row[0], bytes(row[1]))
    except UNREADABLE:
        return None


@contextmanager
def closing_engine(copy: Path) -> Iterator[Engine]:
    """Yield an engine that reads a private copy and makes no file beside it."""
    engine = store.open_engine(str(copy), instead=copy)
    try:
        yield engine
    finally:
        engine.dispose()


def _why_not(path: Path, file: BinaryIO, copy: Path, kinds: Callable[[], Kinds], before: Head | None) -> str:
    """Why a ledger with what stood beside it is not what the file was by itself, gone on with; or nothing."""
    if not copy.stat().st_size:
        return "" if not waiting(path) else "the file itself is empty"
    try:
        with closing_engine(copy) as engine:
            form = store.version(engine)
    except LedgerError as error:
        return str(error)
    if form is None or form > store.HEAD or (before is None and not _entries(copy)):
        # No ledger, one of a newer program, or one that was never begun: nothing is known of it that could be lost.
        return "" if before is None else "it holds no ledger that can be read"
    found = _verified(copy, kinds, before)
    if found is None:
        return "its log cannot be read"
    if found.ok:
        return ""
    with copied(path, file, sides=False) as by_itself:
        was = _verified(by_itself, kinds, before)
    if was is not None and not was.ok and (was.first_bad, was.why) == (found.first_bad, found.why):
        return ""  # it was damaged as much before, which `verify` tells
    return f"{found.first_bad}: {found.why}" if found.first_bad else found.why


def _entries(copy: Path) -> int:
    try:
        with closing(sqlite3.connect(f"{copy.as_uri()}?mode=ro&immutable=1", uri=True)) as opened:
            return int(opened.execute(f"SELECT count(*) FROM {tables.entry.name}").fetchone()[0])
    except sqlite3.Error:
        return 0


def _verified(copy: Path, kinds: Callable[[], Kinds], older: Head | None) -> Verification | None:
    try:
        with closing_engine(copy) as engine, store.reading(engine) as connection:
            return verify(connection, kinds(), older)
    except UNREADABLE:
        return None


def _does_not_fit(path: Path, why: str) -> LedgerError:
    lie = " and ".join(one.name for one in waiting(path))
    return LedgerError(
        f"{path}: {lie} beside it does not belong to it ({why}). So it is when a program was stopped while it wrote,"
        " and another copy was put there since. Nothing was touched. `lotwalk"
        f" --ledger {path} restore BACKUP` puts a backup in its place; where {path.name} itself is the copy that you"
        " want, name it as the BACKUP. What lies there now is set aside and kept"
    )


def _left_alone(path: Path) -> LedgerError:
    lie = " and ".join(one.name for one in waiting(path))
    return LedgerError(
        f"{path}: there is no such file, and {lie} holds what was written to it last. Put the file back where it was,"
        f" or run `lotwalk --ledger {path} restore BACKUP`, which sets aside what lies there"
    )
