"""Putting a backup in the place of a ledger, and setting aside what lies there: nothing of that is deleted.

The backup is copied and verified first. It has the ledger's name as a whole or not at all, and the old file goes with
its companions, so that it can be opened again under its new name.
"""

import gc
import shutil
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, select

from lotwalk.errors import LedgerError
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.keep.opening import UNREADABLE, closing_engine, head_of, looked_at
from lotwalk.ledger.model import Head
from lotwalk.ledger.verify.entries import verify
from lotwalk.store import engine as store
from lotwalk.store import tables
from lotwalk.store.companions import SIDES, beside, copied, damage, in_use_under_the_name, play, waiting
from lotwalk.store.connecting import open_here
from lotwalk.store.files import in_place_of, is_database, make_private, permit, why
from lotwalk.store.locks import alone
from lotwalk.store.replacing import NEW, replace, workshop


@dataclass(frozen=True, slots=True)
class Restoring:
    """What putting a backup back means, told before it is done.

    `after` is the head of the backup, `form` its form, `unknown` the kinds of its records that are not known here.
    `there` says whether anything lies in its place, and `before` is the head of that, None where no ledger can be read.
    `shared` is with how many entries both logs begin, and `lacking` names the entries of what lies there that have
    something beyond, the oldest first.
    """

    ledger: Path
    backup: Path
    after: Head
    form: str
    unknown: tuple[str, ...]
    there: bool
    before: Head | None
    shared: int
    lacking: tuple[str, ...]

    @property
    def beyond(self) -> int:
        """How many entries of what lies there are not in the backup."""
        return self.before.size - self.shared if self.before else 0

    @property
    def of_another_farm(self) -> bool:
        """Whether the two have not even their first entry in common."""
        return self.before is not None and not self.shared


@dataclass(frozen=True, slots=True)
class Restored:
    """What was done: `aside` are the files that were set aside, as they are named now."""

    told: Restoring
    aside: tuple[Path, ...]


def restore(
    where: str,
    backup: Path,
    kinds: Kinds,
    agreed: Callable[[Restoring], bool] = lambda told: True,
    clock: Callable[[], float] = time.time,
) -> Restored | None:
    """Put a backup in the place of the ledger at `where`, and set aside what lies there.

    `agreed` is asked before anything is changed; None is returned where it says no. Raises LedgerError when the ledger
    is on a server or some program has it open, when the backup is missing, damaged, not whole or of a newer program, or
    when the disk refuses: then the ledger is as it was. Cut short, it is finished by whoever opens the ledger next.
    """
    path = store.file_of(where)
    if path is None:
        raise LedgerError(
            "restore is for a ledger in a file, and this one is on a server. Work on with the backup, which needs"
            f" no server (`lotwalk --ledger {backup} verify`), or put a dump of the server's own back with pg_restore"
        )
    if path.is_dir():
        raise LedgerError(f"{path}: this is a folder; name the ledger's file")
    if not path.parent.is_dir():
        raise LedgerError(f"{path.parent}: there is no such folder; make it first")
    if not backup.is_file():
        raise LedgerError(f"{backup}: there is no such file; name the backup that is to be put back")
    try:
        with workshop(path) as folder:
            _not_open(path)
            _bring(backup, path, folder / NEW, kinds)
            told = _told(path, backup, folder / NEW, kinds)
            seen = _as_seen(path)
            if not agreed(told):
                return None
            return Restored(told, tuple(_put_back(path, folder, seen, clock)))
    except BrokenPipeError:
        raise
    except OSError as error:
        raise LedgerError(f"{path}: nothing was restored: {why(error)}. The ledger is as it was") from None


def _put_back(path: Path, folder: Path, seen: object, clock: Callable[[], float]) -> list[Path]:
    with ExitStack() as stack:
        if (path.exists() and stack.enter_context(alone(path)) is None) or _as_seen(path) != seen:
            raise LedgerError(f"{path}: it was opened or written to meanwhile. Nothing was changed; run restore again")
        return replace(path, folder, _aside(path, clock()))


def _aside(path: Path, now: float) -> Path:
    stem = f"{path.stem}-set-aside-{time.strftime('%Y-%m-%d-%H%M%S', time.localtime(now))}"
    name, number = path.with_name(f"{stem}{path.suffix}"), 1
    while any(beside(name, end).exists() for end in ("", *SIDES)):
        number += 1
        name = path.with_name(f"{stem}-{number}{path.suffix}")
    return name


def _as_seen(path: Path) -> list[tuple[int, ...] | None]:
    """What tells whether a file, or one beside it, was written to or replaced."""
    found: list[tuple[int, ...] | None] = []
    for one in (path, *(beside(path, end) for end in SIDES)):
        state = one.stat() if one.exists() else None
        found.append(state and (state.st_dev, state.st_ino, state.st_size, state.st_mtime_ns))
    return found


def _not_open(path: Path) -> None:
    if not path.exists():
        return
    if open_here(path):
        gc.collect()  # a book that was let go of, and not closed, is open until then
    if open_here(path):
        raise LedgerError(f"{path}: this program has it open itself; close it first")
    with alone(path) as file:
        if file is None or in_use_under_the_name(path):
            raise LedgerError(f"{path}: another program has it open; end that one first. Nothing was changed")


def _bring(backup: Path, path: Path, new: Path, kinds: Kinds) -> None:
    """Copy a backup to a single file. The ledger's own file can be the backup: then without what lies beside it."""
    itself = path.exists() and backup.samefile(path)
    in_use = open_here(backup)
    if not in_use and (not is_database(backup) or not backup.stat().st_size):
        raise LedgerError(f"{backup}: this file is not a ledger")
    usual = make_private(new)
    with ExitStack() as stack:
        file = None if in_use else stack.enter_context(alone(backup))
        if file is None:
            _copy_from_use(backup, new)
        elif waiting(backup) and not itself:
            look = stack.enter_context(looked_at(backup, file, lambda: kinds))
            if look.why_not:
                lie = " and ".join(one.name for one in waiting(backup))
                raise LedgerError(
                    f"{backup}: {lie} beside it does not belong to it ({look.why_not}). Copy {backup.name} alone to"
                    " another folder, and name that copy. Nothing was changed"
                )
            shutil.copyfile(look.copy, new)
        else:
            copy = stack.enter_context(copied(backup, file, sides=False))
            damaged = play(copy)
            if damaged:
                raise LedgerError(f"{backup}: it is damaged ({damaged}); take an earlier backup. Nothing was changed")
            shutil.copyfile(copy, new)
    if path.exists():
        in_place_of(new, path)
    else:
        permit(new, usual & backup.stat().st_mode)


def _copy_from_use(backup: Path, new: Path) -> None:
    try:
        with (
            closing(sqlite3.connect(f"{backup.resolve().as_uri()}?mode=ro", uri=True)) as source,
            closing(sqlite3.connect(new)) as copy,
        ):
            source.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE").fetchall()
            damaged = damage(copy)
    except sqlite3.Error as error:
        damaged = str(error)
    if damaged:
        raise LedgerError(f"{backup}: it cannot be copied ({damaged}). Nothing was changed")


def _told(path: Path, backup: Path, new: Path, kinds: Kinds) -> Restoring:
    with closing_engine(new) as engine:
        form = store.version(engine)
        if form is None:
            raise LedgerError(f"{backup}: no ledger was ever started in it; name the backup that is to be put back")
        if form > store.HEAD:
            raise LedgerError(f"{backup}: it was made by a newer Lotwalk ({form}); update Lotwalk, then restore it")
        with store.reading(engine) as connection:
            found = verify(connection, kinds)
            if not found.ok or not found.entries:
                why = f"{found.first_bad}: {found.why}" if found.first_bad else found.why or "it holds no entry"
                raise LedgerError(
                    f"{backup}: its log is not whole ({why}). Nothing was changed; take another backup. What this one"
                    f" holds can be read with `lotwalk --ledger {backup} show E1`"
                )
            names = connection.execute(select(tables.entry.c.kind).distinct().order_by(tables.entry.c.kind)).scalars()
            unknown = tuple(name for name in names if name not in kinds.names)
            with _what_lies_there(path, kinds) as there:
                before = head_of(there) if there else None
                shared = _shared(connection, there, min(found.head.size, before.size)) if there and before else 0
                lacking = _beyond(there, shared) if there and before else ()
    lies = any(beside(path, end).exists() for end in ("", *SIDES))
    return Restoring(path, backup, found.head, form, unknown, lies, before, shared, lacking)


@contextmanager
def _what_lies_there(path: Path, kinds: Kinds) -> Iterator[Path | None]:
    """Yield a file to read what lies in a ledger's place from, as far as it can be read; it is not touched."""
    if not path.is_file() or not is_database(path):
        yield None
    elif not waiting(path):
        yield path
    else:
        with ExitStack() as stack:
            file = stack.enter_context(alone(path))
            if file is None:
                raise LedgerError(f"{path}: another program has it open; end that one first. Nothing was changed")
            look = stack.enter_context(looked_at(path, file, lambda: kinds))
            yield stack.enter_context(copied(path, file, sides=False)) if look.why_not else look.copy


def _shared(connection: Connection, other: Path, most: int) -> int:
    """With how many entries two logs begin alike. A root tells all entries before it, so halving finds the place."""
    with closing_engine(other) as engine, store.reading(engine) as second:
        low, high = 0, most
        while low < high:
            middle = (low + high + 1) // 2
            if _root(connection, middle) == _root(second, middle) is not None:
                low = middle
            else:
                high = middle - 1
        return low


def _beyond(other: Path, shared: int) -> tuple[str, ...]:
    table = tables.entry
    beyond = select(table.c.first).where(table.c.seq > shared).distinct().order_by(table.c.first)
    with closing_engine(other) as engine, store.reading(engine) as connection:
        return tuple(f"E{first}" for first in connection.execute(beyond).scalars())


def _root(connection: Connection, size: int) -> bytes | None:
    try:
        found = connection.execute(select(tables.entry.c.root).where(tables.entry.c.seq == size)).scalar()
    except UNREADABLE:
        return None
    return bytes(found) if found is not None else None
