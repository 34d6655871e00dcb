"""Connections to a SQLite file: to write to it, to read it where nothing may be written, and which are open here."""

import sqlite3
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any
from weakref import ref

from lotwalk.store.companions import waiting
from lotwalk.store.files import File, file_at, may_write, size_of
from lotwalk.store.locks import SHARED, lock_on

PATIENCE = 15_000
"""Milliseconds to wait for another program that is writing to the same file."""

VERSION_TABLE = "alembic_version"


class FileConnection(sqlite3.Connection):
    """A connection that knows which file it leads to, whatever its name leads to by now."""

    file: File | None = None
    no_room: bool = False
    """Whether it only reads, since there was no room beside the file for what SQLite needs to write."""

    def close(self) -> None:
        """Close it, and let go of the file."""
        _OPEN.pop(id(self), None)
        super().close()


_OPEN: dict[int, ref[FileConnection]] = {}
"""A process whose connections are open must not open their files by other means: closing those drops the locks."""


def open_here(path: Path) -> bool:
    """Return whether a ledger's file is open in this process."""
    file = file_at(path)
    # A list of its own, since a connection may be closed by the collector or by another thread at any moment.
    found = [held() for held in list(_OPEN.values())]
    return file is not None and any(one is not None and one.file == file for one in found)


def _note(connection: FileConnection) -> FileConnection:
    key = id(connection)
    _OPEN[key] = ref(connection, lambda _: _OPEN.pop(key, None))
    return connection


class Connecting:
    """Makes the connections of an engine. `instead` is a file that is read in the place of the ledger's."""

    def __init__(self, path: Path, *, create: bool, instead: Path | None = None) -> None:
        self.path = path
        self.instead = instead
        self.read_only = not create and not writable(path)

    def __call__(self, dialect: Any, record: Any, arguments: Sequence[Any], options: Mapping[str, Any]) -> Any:
        """Return a connection that is ready to be used, as SQLAlchemy's `do_connect` wants it."""
        if self.instead:
            return _ready(_read_only(self.instead, untouched=True))
        if self.read_only:
            # While another program writes, the newest entries stand beside the file, and are read there. When none
            # does, nothing stands beside it; then SQLite must be told that it need not look, since it would have to
            # make files to look with.
            quiet = not waiting(self.path)
            connection = _read_only(self.path, untouched=quiet)
            connection.file = file_at(self.path)
            return _ready(connection if quiet else _note(connection))
        connection = self._opened(arguments, {**options, "factory": FileConnection})
        try:
            _prepare(connection)
        except sqlite3.OperationalError as error:
            connection.close()
            if not is_of_the_disk(error) or not self._is_all_in_the_file():
                raise
            connection = _ready(_read_only(self.path, untouched=True))
            connection.no_room = True
        except BaseException:
            connection.close()
            raise
        return connection

    def _is_all_in_the_file(self) -> bool:
        """Whether the file can be read by itself: nothing waits beside it, and nobody has it open."""
        alone = not open_here(self.path) and lock_on(self.path, SHARED) == "none"
        return alone and not waiting(self.path) and size_of(self.path) > 0

    def _opened(self, arguments: Sequence[Any], options: Mapping[str, Any]) -> FileConnection:
        while True:
            before = file_at(self.path)
            connection: FileConnection = sqlite3.connect(*arguments, **options)
            connection.file = file_at(self.path)
            if before in (None, connection.file):
                return _note(connection)
            # The name was given to another file at this moment, and which of the two was opened is not known.
            connection.close()


def is_of_the_disk(error: BaseException | None) -> bool:
    """Return whether SQLite was refused by the disk: it is full, or fails, or takes no new file."""
    name = getattr(error, "sqlite_errorname", "")
    return name.startswith(("SQLITE_FULL", "SQLITE_IOERR", "SQLITE_CANTOPEN"))


def writable(path: Path) -> bool:
    """Return whether SQLite could write: to the file, and beside it, where it keeps what is not in the file yet."""
    return may_write(path) and may_write(path.resolve().parent)


def _read_only(path: Path, *, untouched: bool) -> FileConnection:
    """Open a file that may only be read, so that reading commands work on a copy on a stick or in an archive."""
    options = "mode=ro&immutable=1" if untouched else "mode=ro"
    uri = f"{path.resolve().as_uri()}?{options}"
    return sqlite3.connect(uri, uri=True, check_same_thread=False, factory=FileConnection)


def _ready(connection: FileConnection) -> FileConnection:
    connection.isolation_level = None
    connection.execute(f"PRAGMA busy_timeout = {PATIENCE}")
    return connection


def _prepare(connection: FileConnection) -> None:
    _ready(connection)  # the engine's begin opens transactions, so that writers lock at once
    cursor = connection.cursor()
    # A file that holds another program's tables is told to be no ledger, and stays as it is.
    tables = {row[0] for row in cursor.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    if not tables or VERSION_TABLE in tables:
        cursor.execute("PRAGMA journal_mode = WAL")
    cursor.execute("PRAGMA synchronous = FULL")
    cursor.execute("PRAGMA foreign_keys = ON")
    cursor.close()
