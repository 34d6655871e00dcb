"""Putting a file in the place of a ledger and setting aside what lay there: as a whole, whenever the power fails.

The new file is made ready in a folder beside the ledger. Then a plan is written there, and from that moment the ledger
counts as replaced: whoever opens it carries the plan out first, from wherever it was cut short. Only then are names
changed: the old file's and its companions', then, once that is on the disk, the new one's.
"""

import json
import shutil
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from lotwalk.errors import LedgerError
from lotwalk.store.companions import SIDES, beside
from lotwalk.store.files import keep, why
from lotwalk.store.locks import PATIENCE, alone, only_one

NEW = "new.db"
"""The file in the folder that takes the ledger's place."""

_PLAN, _LOCK = "plan.json", "lock"


def folder_of(path: Path) -> Path:
    """Return the folder beside a ledger in which its replacement is made ready."""
    return beside(path, "-restoring")


@contextmanager
def workshop(path: Path) -> Iterator[Path]:
    """Yield the folder in which a replacement of the ledger is made ready, empty, for this program alone.

    It is removed in the end. A replacing that was cut short is finished first. Raises LedgerError while another program
    is at it.
    """
    folder = folder_of(path)
    with only_one(folder / _LOCK) as mine:
        if not mine:
            raise LedgerError(f"{path}: another program is putting a backup in its place; wait for it, and look again")
        _carry_out(path, folder)
        for one in folder.iterdir():
            if one.name != _LOCK:
                one.unlink()
        try:
            yield folder
        finally:
            if not (folder / _PLAN).exists():
                shutil.rmtree(folder, ignore_errors=True)


def replace(path: Path, folder: Path, aside: Path) -> list[Path]:
    """Put the folder's new file in the place of the ledger, and return what was set aside, as it is named by now.

    `aside` is the name under which the old file is kept, in the same folder; its companions keep theirs beside it.
    """
    set_aside = [beside(aside, end) for end in ("", *SIDES) if beside(path, end).exists()]
    keep(folder / NEW)
    part = folder / f"{_PLAN}.part"
    part.write_text(json.dumps({"aside": aside.name}), "utf-8")
    keep(part)
    part.replace(folder / _PLAN)
    keep(folder)
    keep(path.parent)
    try:
        _move(path, folder)
    except OSError as error:
        raise LedgerError(
            f"{path}: the restore was cut short ({why(error)}). The next command on it finishes it"
        ) from None
    return set_aside


def finish(path: Path) -> None:
    """Carry out a replacing of this ledger that was cut short. Raises LedgerError where that cannot be done."""
    folder = folder_of(path)
    if not folder.exists():
        return
    end = time.monotonic() + PATIENCE
    while True:
        try:
            with only_one(folder / _LOCK) as mine:
                if mine:
                    _carry_out(path, folder)
                    shutil.rmtree(folder, ignore_errors=True)
                    return
        except OSError as error:
            if not (folder / _PLAN).exists():
                return
            raise LedgerError(
                f"{path}: a restore was cut short, and it cannot be finished here ({why(error)}). Run any"
                f" command on it, such as verify, where {path.parent} may be written to"
            ) from None
        if not (folder / _PLAN).exists():
            return  # it is only being made ready
        if time.monotonic() > end:
            raise LedgerError(f"{path}: another program is putting a backup in its place; wait for it, and try again")
        time.sleep(0.02)


def _carry_out(path: Path, folder: Path) -> None:
    if not (folder / _PLAN).exists():
        return
    with ExitStack() as stack:
        if (folder / NEW).exists() and path.exists() and stack.enter_context(alone(path)) is None:
            raise LedgerError(
                f"{path}: a restore of it was cut short, and another program has it open: end that one first"
            )
        _move(path, folder)


def _move(path: Path, folder: Path) -> None:
    aside = path.with_name(json.loads((folder / _PLAN).read_text("utf-8"))["aside"])
    if (folder / NEW).exists():
        for end in ("", *SIDES):
            here, there = beside(path, end), beside(aside, end)
            if not here.exists():
                continue
            if there.exists():
                raise LedgerError(
                    f"{path}: a restore was cut short, and since then a file came to lie here. What the restore sets"
                    f" aside is {there}; move {here} away under another name, and run the command again"
                )
            here.rename(there)
        # On the disk before the new file has the name: until then, what stands beside the name is the old one's.
        keep(path.parent)
        (folder / NEW).rename(path)
    keep(path.parent)
    (folder / _PLAN).unlink()
    keep(folder)
