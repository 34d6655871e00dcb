"""Whether another program has a ledger's file open, and holding it against others for a while.

SQLite says so by locks on single bytes, which last until it closes the file. Here they are asked for, and set, in the
same place. Systems without such locks (`fcntl`) cannot be asked; there nobody is thought to have it open.
"""

import contextlib
import os
import struct
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from lotwalk.errors import LedgerError
from lotwalk.store.files import file_at, may_write

try:
    import fcntl
except ImportError:  # pragma: no cover
    fcntl = None  # type: ignore[assignment]

SHARED = (0x40000002, 510)
"""First byte and count: each connection to a file in WAL mode holds a read lock here (SQLite's os.h, SHARED_FIRST)."""
CONNECTED = (128, 1)
"""The same in the -shm file (SQLite's os_unix.c, UNIX_SHM_DMS)."""

_FLOCK, _TYPE = ("hhqqi", 0) if sys.platform.startswith("linux") else ("qqihh", 3)
"""The layout of C's `struct flock`, and which of its fields is the type: of Linux, and of BSD and macOS."""

PATIENCE = 15.0
"""Seconds to wait for a program that holds a file alone."""

CAN_ASK = fcntl is not None


def lock_on(path: Path, where: tuple[int, int]) -> str:
    """Return what lock other programs hold on these bytes: `none`, `read` or `write`.

    The file must not be open in this process: closing it here would drop the locks of this process.
    """
    try:
        handle = os.open(path, os.O_RDONLY)
    except OSError:
        return "none"
    try:
        return _lock_on(handle, where)
    finally:
        os.close(handle)


@contextlib.contextmanager
def alone(path: Path) -> Iterator[BinaryIO | None]:
    """Yield a file that no other program can begin to use meanwhile, or None where some program has it open.

    A file that may only be read is not held, only asked about. It must not be open in this process, nor be opened by
    other means before the block ends: closing it would drop the lock. Raises LedgerError where another program holds
    it alone, and goes on to do so.
    """
    writable = may_write(path)
    with path.open("r+b" if writable else "rb") as file:
        yield file if _hold(file.fileno(), writable, path) else None


@contextlib.contextmanager
def only_one(path: Path) -> Iterator[bool]:
    """Yield whether nobody else is inside such a block for the same file, which is made where it is missing."""
    while True:
        path.parent.mkdir(exist_ok=True)
        try:
            handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o666)
        except FileNotFoundError:  # its folder was removed at this moment
            continue
        try:
            if not _flock(handle):
                yield False
                return
            # Whoever held it before may have removed it, and then another one has the name.
            found = os.fstat(handle)
            if file_at(path) == (found.st_dev, found.st_ino):
                yield True
                return
        finally:
            os.close(handle)


def _flock(handle: int) -> bool:
    if not CAN_ASK:
        return True
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def _hold(handle: int, writable: bool, path: Path) -> bool:
    end = time.monotonic() + PATIENCE
    while True:
        found = _lock_on(handle, SHARED)
        if found == "read":
            return False
        if found == "none" and (not writable or _take(handle)):
            return True
        if time.monotonic() > end:
            raise LedgerError(f"{path}: another program is writing to it; try again")
        time.sleep(0.02)


def _lock_on(handle: int, where: tuple[int, int]) -> str:
    if not CAN_ASK:
        return "none"
    asked = [fcntl.F_WRLCK, os.SEEK_SET, *where, 0] if _TYPE == 0 else [*where, 0, fcntl.F_WRLCK, os.SEEK_SET]
    found = struct.unpack(_FLOCK, fcntl.fcntl(handle, fcntl.F_GETLK, struct.pack(_FLOCK, *asked)))[_TYPE]
    return {fcntl.F_RDLCK: "read", fcntl.F_WRLCK: "write"}.get(found, "none")


def _take(handle: int) -> bool:
    if not CAN_ASK:
        return True
    try:
        fcntl.lockf(handle, fcntl.LOCK_EX | fcntl.LOCK_NB, SHARED[1], SHARED[0], os.SEEK_SET)
    except OSError:
        return False
    return True
