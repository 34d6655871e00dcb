"""Files as such: waiting until they are on the disk, giving a whole one its name, and who may read it."""

import contextlib
import errno
import os
import shutil
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

_SAYS = b"SQLite format 3\x00"
_PREFIX = ".lotwalk-"
_LEFT_BEHIND = 86_400
"""Seconds after which a folder of this prefix was left by a program that was killed: no copy takes a day."""

File = tuple[int, int]
"""What a name leads to: the device and the number of the file on it."""


def file_at(path: Path) -> File | None:
    """Return which file has this name at the moment, or None where there is none."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def why(error: OSError) -> str:
    """Return why the system refused, in plain words."""
    # A limit on the size of a file is met in the same way as the end of the disk.
    return (
        "the disk is full" if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG) else str(error.strerror or error)
    )


def may_write(path: Path) -> bool:
    """Return whether this user may write to a file or folder."""
    return os.access(path, os.W_OK, effective_ids=os.access in os.supports_effective_ids)


def size_of(path: Path) -> int:
    """Return how many bytes a file holds: none where it is missing."""
    try:
        return path.stat().st_size
    except OSError:
        return 0


def is_database(path: Path) -> bool:
    """Return whether a file is empty, or says that it is one of SQLite's.

    The file must not be open in this process: closing it here would drop the locks of this process.
    """
    with path.open("rb") as file:
        return says_database(file)


def says_database(file: BinaryIO) -> bool:
    """Return the same of a file that is open."""
    file.seek(0)
    return file.read(len(_SAYS)) in (b"", _SAYS)


def keep(path: Path) -> None:
    """Wait until a file, or a folder's list of names, is on the disk."""
    with contextlib.suppress(OSError):  # some systems open no folders, and some disks know no waiting
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def give_name(whole: Path, name: Path) -> None:
    """Move a file that is whole to a name that nothing has. Raises FileExistsError, and writes over nothing."""
    try:
        os.link(whole, name)
    except FileExistsError:
        raise
    except OSError:
        # Sticks are often of a make that knows no second names: there the name is taken for the moment of the move.
        name.open("xb").close()
        try:
            whole.replace(name)
        except BaseException:
            name.unlink(missing_ok=True)
            raise
    else:
        whole.unlink()
    keep(name.parent)


def make_private(path: Path) -> int:
    """Make a new, empty file that only this user may read, and return the permissions that one has by default."""
    handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666)
    try:
        usual = os.fstat(handle).st_mode & 0o777
    finally:
        os.close(handle)
    permit(path, 0o600)
    return usual


def in_place_of(path: Path, other: Path) -> None:
    """Give a file the owner and the permissions of the one whose place it takes."""
    found = other.stat()
    with contextlib.suppress(OSError, AttributeError):  # only the superuser gives files away
        os.chown(path, found.st_uid, found.st_gid)
    permit(path, found.st_mode & 0o777)


def permit(path: Path, mode: int) -> None:
    """Give a file these permissions, where the disk knows of any."""
    with contextlib.suppress(OSError):  # a stick may know of no permissions
        path.chmod(mode)


@contextlib.contextmanager
def private_folder(place: Path) -> Iterator[Path]:
    """Yield a new folder that only this user may look into, and remove it in the end. Raises OSError.

    What a program that was killed left here a day ago is removed too.
    """
    with tempfile.TemporaryDirectory(prefix=_PREFIX, dir=place, ignore_cleanup_errors=True) as folder:
        _sweep(place)
        yield Path(folder)


def _sweep(place: Path) -> None:
    with contextlib.suppress(OSError):
        for folder in place.glob(f"{_PREFIX}*"):
            if folder.is_dir() and not folder.is_symlink() and time.time() - folder.stat().st_mtime > _LEFT_BEHIND:
                shutil.rmtree(folder, ignore_errors=True)
