"""Whether what was written is where its name leads: a file may be moved, removed or replaced while it is written to.

SQLite goes on with the file that it opened, and with the -wal beside the name, and says that all is well.
"""

import contextlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from sqlalchemy import Connection

from lotwalk.errors import LedgerError
from lotwalk.store.connecting import FileConnection
from lotwalk.store.files import file_at


class Moved(LedgerError):
    """The name of the ledger leads to another file than the one that was written to, or to none."""


def check_room(connection: Connection, path: Path | None) -> None:
    """Raise LedgerError where the ledger can only be read, for want of room on the disk."""
    driver = connection.connection.driver_connection
    if isinstance(driver, FileConnection) and driver.no_room:
        raise LedgerError(
            f"{path}: the disk is full, or it fails; nothing was written. The ledger can be read as it is. Make room on"
            " the disk, and do this again"
        )


def check_name(connection: Connection, path: Path | None, *, written: bool) -> None:
    """Raise Moved unless the name leads to the file that the connection has open. `written`: after the commit."""
    driver = connection.connection.driver_connection
    if path is None or not isinstance(driver, FileConnection) or driver.file is None:
        return
    found = file_at(path)
    if found == driver.file:
        return
    now = "another file has its name" if found else "no file has its name"
    lies = (
        "What was to be written is in the file that had the name before, if that is kept anywhere"
        if written
        else "Nothing was written, neither there nor in the file that had the name before"
    )
    raise Moved(
        f"{path}: it was moved, removed or replaced while it was written to, and {now} now. Nothing of this is in a"
        f" ledger of this name. {lies}. See which file is the right one, put it in its place, and do this again if that"
        " one lacks it"
    )


@contextlib.contextmanager
def put_down_if_moved(connection: Connection, path: Path | None) -> Iterator[None]:
    """Where the file was moved, see to it that nothing of it stays beside the name, and raise Moved all the same.

    What stands in the -wal belongs to the file that was opened, and is put into that one.
    """
    try:
        yield
    except Moved:
        driver = connection.connection.driver_connection
        assert isinstance(driver, sqlite3.Connection)
        with contextlib.suppress(sqlite3.Error):
            driver.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
        raise
