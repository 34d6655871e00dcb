"""Copying a whole ledger, as it stands at one moment, into a SQLite file of its own."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from sqlalchemy import Connection, Engine, insert, inspect, select

from lotwalk.errors import LedgerError
from lotwalk.store import engine as store
from lotwalk.store.tables import metadata

_CHUNK = 5_000


def copy_to(engine: Engine, path: Path) -> None:
    """Copy the ledger to a SQLite file that is not there yet, whatever else writes to it meanwhile.

    From a SQLite file all is copied page by page; from PostgreSQL, row by row, which makes a ledger that needs no
    server. Raises LedgerError.
    """
    if engine.dialect.name == "sqlite":
        _copy_pages(engine, path)
    else:
        target = store.open_engine(str(path), create=True)
        try:
            # Of the form that the ledger has: what follows from its records is derived where a ledger is migrated.
            store.migrate(target, store.version(engine) or store.HEAD)
            with store.reading(engine) as source, store.writing(target) as copy:
                _copy_rows(source, copy)
        finally:
            target.dispose()


def _copy_pages(engine: Engine, path: Path) -> None:
    # SQLite's own backup holds one state of the source for as long as it copies.
    with store.reading(engine) as connection, _plain_errors(), closing(sqlite3.connect(path)) as copy:
        source = connection.connection.driver_connection
        assert isinstance(source, sqlite3.Connection)
        source.backup(copy)


def _copy_rows(source: Connection, copy: Connection) -> None:
    """Copy every table, those that others refer to first, each by its key, so that an entry follows what it amends."""
    for table in metadata.sorted_tables:
        there = {column["name"] for column in inspect(source).get_columns(table.name)}
        columns = [column for column in table.columns if column.name in there]
        rows = source.execute(select(*columns).order_by(*table.primary_key), execution_options={"yield_per": _CHUNK})
        for some in rows.mappings().partitions(_CHUNK):
            copy.execute(insert(table), [dict(row) for row in some])


@contextmanager
def _plain_errors() -> Iterator[None]:
    """The driver's own errors, which pass by SQLAlchemy here, as a LedgerError."""
    try:
        yield
    except sqlite3.Error as error:
        name = error.sqlite_errorname if hasattr(error, "sqlite_errorname") else ""
        reason = "the disk is full" if name == "SQLITE_FULL" else str(error)
        if name.startswith("SQLITE_IOERR"):
            reason = f"the disk is full, or fails ({error})"
        raise LedgerError(f"no copy was made: {reason}. Nothing was kept of it") from error


def settle(path: Path) -> None:
    """Make a copy a single file that can also be read where nothing can be written, and look it through for damage.

    Raises LedgerError.
    """
    with _plain_errors(), closing(sqlite3.connect(path)) as copy:
        copy.execute("PRAGMA journal_mode = DELETE")
        found = copy.execute("PRAGMA quick_check").fetchone()[0]
    if found != "ok":
        raise LedgerError(f"the copy is damaged ({found}), and so perhaps the ledger; nothing was kept of it")
