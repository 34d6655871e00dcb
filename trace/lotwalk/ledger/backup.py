"""A copy of the ledger to keep elsewhere: whole, of one moment, and verified before it has its name."""

import contextlib
import os
import tempfile
from pathlib import Path

from lotwalk.errors import LedgerError
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.ledger import Ledger
from lotwalk.ledger.model import Head
from lotwalk.ledger.verify import Verification, verify
from lotwalk.store import engine as store
from lotwalk.store.copying import copy_to, settle


def back_up(ledger: Ledger, path: Path) -> Verification:
    """Copy the ledger to a SQLite file, and return what verifying the copy found.

    The copy must hold the log as the ledger had it when copying began. A log that is not whole is copied all the same,
    since a worse copy may follow. Raises LedgerError when the file is there already or cannot be written; nothing is
    left behind then.
    """
    if path.is_dir():
        raise LedgerError(f"{path}: this is a folder; name a file in it, such as {path / 'lotwalk-backup.db'}")
    with ledger.reading() as connection:
        head = ledger.head(connection)
    try:
        # Nobody else can take the name from here on, and nothing that has it is written over.
        path.open("xb").close()
    except FileExistsError:
        raise LedgerError(f"{path}: there is a file here already; a backup never writes over one") from None
    try:
        with tempfile.TemporaryDirectory(prefix=".lotwalk-", dir=path.parent) as folder:
            copy = Path(folder) / path.name
            copy_to(ledger.engine, copy)
            found = _verified(copy, ledger.kinds, head)
            settle(copy)
            _keep(copy)
            copy.replace(path)
            _keep(path.parent)
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    return found


def _verified(path: Path, kinds: Kinds, head: Head) -> Verification:
    engine = store.open_engine(str(path))
    try:
        with store.reading(engine) as connection:
            return verify(connection, kinds, head)
    finally:
        engine.dispose()


def _keep(path: Path) -> None:
    """Wait until a file, or a folder's list of names, is on the disk."""
    with contextlib.suppress(OSError):  # some systems open no folders, and some disks know no waiting
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
