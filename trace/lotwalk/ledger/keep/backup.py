"""A copy of the ledger to keep elsewhere: whole, of one moment, and verified before it has its name."""

from pathlib import Path

from lotwalk.errors import LedgerError
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.keep.opening import closing_engine
from lotwalk.ledger.ledger import Ledger
from lotwalk.ledger.model import Head
from lotwalk.ledger.verify.entries import Verification, verify
from lotwalk.store import engine as store
from lotwalk.store.copying import copy_to, settle
from lotwalk.store.files import give_name, keep, make_private, permit, private_folder, why


def back_up(ledger: Ledger, path: Path) -> Verification:
    """Copy the ledger to a SQLite file, and return what verifying the copy found.

    The copy must hold the log as the ledger had it when copying began. A log that is not whole is copied all the same,
    since a worse copy may follow. Whoever may not read the ledger's file may not read the copy. Raises LedgerError when
    the file is there already or cannot be written; nothing is left behind then.
    """
    if path.is_dir():
        raise LedgerError(f"{path}: this is a folder; name a file in it, such as {path / 'lotwalk-backup.db'}")
    with ledger.reading() as connection:
        head = ledger.head(connection)
    if path.exists():
        raise _there_already(path)
    if not path.parent.is_dir():
        raise LedgerError(f"{path.parent}: there is no such folder; make it first")
    try:
        with private_folder(path.parent) as folder:
            copy = folder / "copy.db"
            usual = make_private(copy)
            copy_to(ledger.engine, copy)
            settle(copy)
            found = _verified(copy, ledger.kinds, head)
            own = store.path_of(ledger.engine)
            permit(copy, usual & own.stat().st_mode if own else usual)
            keep(copy)
            # Nothing has the name before the copy is whole.
            give_name(copy, path)
    except FileExistsError:
        raise _there_already(path) from None
    except OSError as error:
        raise LedgerError(f"{path}: no copy was made: {why(error)}. Nothing was kept of it") from None
    return found


def _there_already(path: Path) -> LedgerError:
    return LedgerError(f"{path}: there is a file here already; a backup never writes over one")


def _verified(path: Path, kinds: Kinds, head: Head) -> Verification:
    with closing_engine(path) as engine, store.reading(engine) as connection:
        return verify(connection, kinds, head)
