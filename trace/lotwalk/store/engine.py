"""Opening the database behind a ledger: a SQLite file by default, PostgreSQL by its URL."""

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from threading import Lock
from typing import Any

from sqlalchemy import Connection, Engine, Table, create_engine, event, inspect, text
from sqlalchemy.engine import URL
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import ConnectionPoolEntry

from lotwalk.errors import Damaged, DatabaseRefused, LedgerError
from lotwalk.store import addresses
from lotwalk.store.connecting import VERSION_TABLE, Connecting, FileConnection, is_of_the_disk, open_here
from lotwalk.store.files import is_database
from lotwalk.store.moved import check_name, check_room, put_down_if_moved
from lotwalk.store.tables import complete_for_postgresql, metadata

HEAD = "0002"
"""The newest migration; ordinary commands compare it with one SELECT and never import alembic."""

_PLAIN = {
    "attempt to write a readonly database": "it, or its folder, may not be written to; copy it to a folder of your own",
    "database is locked": "another program is writing to it; try again",
    "file is not a database": "this file is not a ledger",
    "database or disk is full": "the disk is full; nothing was written",
    "disk I/O error": "the disk is full, or it fails; nothing was written. Make room on it and try again. If that does"
    " not help, put a backup in its place with `lotwalk restore`, which keeps what lies there",
}
"""What SQLite says on a bad day, in plain words."""

_DAMAGED = ("malformed", "could not decode", "codec can't decode", "corrupt", "invalid page", "could not read block")
"""What databases say, among other words, when what they read cannot be what was written."""

_ONE_AT_A_TIME = Lock()
"""Alembic keeps the migration that is under way in its module, one for all threads."""

_APPEND_LOCK = 0x4C4F5457
"""The key of PostgreSQL's advisory lock under which entries are appended (the letters LOTW)."""


def file_of(where: str) -> Path | None:
    """Return the file that a file name or URL leads to, or None for a server. Raises LedgerError for an odd one."""
    url = addresses.url_of(where)
    if url.get_backend_name() != "sqlite":
        return None
    if not url.database or url.database == ":memory:":
        raise LedgerError("a ledger is a file: give its name")
    # SQLite keeps its side files beside the file itself, not beside a link to it.
    path = Path(url.database)
    return path.resolve() if path.is_symlink() else path


def open_engine(where: str, *, create: bool = False, instead: Path | None = None) -> Engine:
    """Return an engine for the ledger at `where`.

    With `create` a missing SQLite file is made; without it, LedgerError says how to start a ledger. `instead` is a file
    that is read in the place of a SQLite ledger, and never written.
    """
    url = addresses.url_of(where)
    if url.get_backend_name() == "sqlite":
        _check_file(url, create)
    try:
        engine = create_engine(url)
    except ModuleNotFoundError:
        raise LedgerError("PostgreSQL needs its driver: install lotwalk with its extra, lotwalk[postgresql]") from None
    if url.get_backend_name() == "sqlite":
        path = Path(url.database or "").resolve()
        event.listen(engine, "do_connect", Connecting(path, create=create, instead=instead))
        event.listen(engine, "begin", _begin_sqlite)
        event.listen(engine, "checkin", _try_again)
    else:
        complete_for_postgresql()
    return engine


def takes_its_files(engine: Engine) -> bool:
    """Return whether the disk takes the files that SQLite keeps beside a ledger's file. Raises LedgerError."""
    try:
        with _plain_errors(engine):
            engine.connect().close()
    except LedgerError as error:
        if isinstance(error.__cause__, DBAPIError) and is_of_the_disk(error.__cause__.orig):
            return False
        raise
    return True


def name_of(engine: Engine) -> str:
    """Return how people name the ledger: its file, or its address without the password."""
    return addresses.name_of(engine.url)


def path_of(engine: Engine) -> Path | None:
    """Return the file of an open ledger, or None for one on a server."""
    return Path(engine.url.database) if engine.dialect.name == "sqlite" and engine.url.database else None


def _check_file(url: URL, create: bool) -> None:
    if not url.database or url.database == ":memory:":
        raise LedgerError("a ledger is a file: give its name")
    path = Path(url.database)
    if path.is_dir():
        raise LedgerError(f"{path}: this is a folder; name a file in it, such as {path / 'lotwalk.db'}")
    if create and not path.parent.is_dir():
        raise LedgerError(f"{path.parent}: there is no such folder; make it first")
    if not create and not path.is_file():
        raise LedgerError(
            f"{path}: there is no ledger here; begin one with `lotwalk --ledger {path} start`. Where there"
            " was one: is this the right folder, or does `--ledger` name another file? A backup is put in its place by"
            f" `lotwalk --ledger {path} restore BACKUP`"
        )
    if not create and not open_here(path) and not is_database(path):
        raise LedgerError(f"{path}: this file is not a ledger")


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _try_again(driver: FileConnection, record: ConnectionPoolEntry) -> None:
    """Let the next connection look again whether there is room on the disk."""
    if driver and driver.no_room:
        record.invalidate()


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """Yield a connection that sees one state of the ledger throughout."""
    with _plain_errors(engine), engine.connect() as connection:
        if engine.dialect.name == "postgresql":
            connection = connection.execution_options(isolation_level="REPEATABLE READ")
        transaction = connection.begin()
        try:
            yield connection
        finally:
            # There is nothing to commit, and a damaged file refuses to.
            transaction.rollback()


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """Yield a connection in one transaction, alone in appending; it is rolled back when the block raises.

    Raises LedgerError when the ledger's name leads to another file by then, or to none: nothing is in that one.
    """
    with _plain_errors(engine), engine.connect() as plain:
        connection = plain.execution_options(writes=True)
        if engine.dialect.name == "postgresql":
            # Whoever waited for the lock must see what the one before has written, whatever the server's default.
            connection = connection.execution_options(isolation_level="READ COMMITTED")
        path = path_of(engine)
        check_room(connection, path)
        with put_down_if_moved(connection, path):
            with connection.begin():
                if engine.dialect.name == "postgresql":
                    connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _APPEND_LOCK})
                yield connection
                check_name(connection, path, written=False)
            check_name(connection, path, written=True)


def insert_rows(connection: Connection, table: Table, rows: Sequence[tuple[object, ...]]) -> None:
    """Store rows, each with a value for every column in the table's order, by the driver's own bulk insert.

    SQLAlchemy's insert looks at every value of every row, which takes as long again as storing them.
    """
    if rows:
        mark = "?" if connection.dialect.paramstyle == "qmark" else "%s"
        marks = ", ".join([mark] * len(table.columns))
        columns = ", ".join(column.name for column in table.columns)
        connection.exec_driver_sql(f"INSERT INTO {table.name} ({columns}) VALUES ({marks})", list(rows))


def streamed(connection: Connection, sql: str, size: int) -> Iterator[Any]:
    """Yield the rows of a query, `size` of them fetched at a time: one by one takes twice as long."""
    result = connection.execute(text(sql), execution_options={"yield_per": size})
    for rows in result.partitions(size):
        yield from rows


@contextmanager
def _plain_errors(engine: Engine) -> Iterator[None]:
    try:
        yield
    except driver_errors(engine) as error:
        raise in_plain_words(engine, error) from error


def driver_errors(engine: Engine) -> tuple[type[Exception], ...]:
    """Return what SQLAlchemy raises when the database refuses, and what its driver does where its rows are read.

    A driver that cannot even say what is wrong raises UnicodeDecodeError.
    """
    return DBAPIError, engine.dialect.loaded_dbapi.Error, UnicodeDecodeError


def in_plain_words(engine: Engine, error: Exception) -> LedgerError:
    """Return the error that tells a person what a driver's error says; Damaged where the database is."""
    told = reason(error)
    name = name_of(engine)
    if any(words in told.lower() for words in _DAMAGED):
        return Damaged(
            f"{name}: it is damaged ({told}). Keep this file as it is: `lotwalk verify` says how far it is whole, and"
            " `lotwalk restore` puts a backup in its place"
        )
    if told.startswith("no such index"):
        return LedgerError(f"{name}: {told}; `lotwalk migrate` puts it back, and `lotwalk verify` checks the rest")
    if told in _PLAIN:
        return LedgerError(f"{name}: {_PLAIN[told]}")
    return DatabaseRefused(f"{name}: the database refused: {told}")


def reason(error: Exception) -> str:
    """Return what a driver's error says, in one line and without the text that could not be read."""
    told = str(error.orig if isinstance(error, DBAPIError) else error).strip()
    return told.splitlines()[0].partition(" with text ")[0] if told else "unknown reason"


def version(engine: Engine) -> str | None:
    """Return the migration that the database stands at, or None when it holds no ledger."""
    with _plain_errors(engine), engine.connect() as connection:
        return version_of(connection)


def version_of(connection: Connection) -> str | None:
    """Return the same of the database behind a connection."""
    if not inspect(connection).has_table(VERSION_TABLE):
        return None
    row = connection.execute(text(f"SELECT version_num FROM {VERSION_TABLE}")).first()
    return str(row[0]) if row else None


def check_free(engine: Engine) -> None:
    """Raise LedgerError unless a ledger can be begun here: in a SQLite file of its own, or among PostgreSQL tables
    of other names."""
    if version(engine) is not None:
        raise LedgerError(f"{name_of(engine)}: there is a ledger here already; choose another name")
    with _plain_errors(engine), engine.connect() as connection:
        found = inspect(connection).get_table_names()
    if engine.dialect.name == "postgresql":
        found = sorted(set(found) & set(metadata.tables))
    if found:
        raise LedgerError(f"{name_of(engine)}: there are tables here already ({', '.join(found)}); choose another name")


def check_version(engine: Engine) -> None:
    """Raise LedgerError unless the database holds a ledger of this version; Damaged where it cannot say of which."""
    found = version(engine)
    name = name_of(engine)
    if not re.fullmatch("[0-9]{4}", found or "") and _has_entries(engine):
        raise Damaged(
            f"{name}: it is damaged (the table {VERSION_TABLE} does not say of which form this ledger is). Keep this"
            " file as it is: `lotwalk restore` puts a backup in its place"
        )
    if found is None:
        raise LedgerError(f"{name}: no ledger has been started here; begin one with `lotwalk start`")
    if found < HEAD:
        # The address of a server is told without its password, and is no use in a command.
        command = f"lotwalk --ledger {name} migrate" if path_of(engine) else "lotwalk migrate"
        raise LedgerError(f"{name}: this ledger is of an older form ({found}); run `{command}`")
    if found > HEAD:
        raise LedgerError(f"{name}: this ledger was made by a newer Lotwalk ({found}); update Lotwalk")


def _has_entries(engine: Engine) -> bool:
    with _plain_errors(engine), engine.connect() as connection:
        return inspect(connection).has_table("entry")


def migrate(engine: Engine, revision: str = "head") -> None:
    """Create the tables, or bring them to a migration; the newest if nothing is said."""
    with writing(engine) as connection:
        upgrade(connection, revision)


def upgrade(connection: Connection, revision: str = "head") -> None:
    """Bring the tables to a migration, inside the transaction of the connection."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    config.attributes["connection"] = connection
    with _ONE_AT_A_TIME:
        command.upgrade(config, revision)
