"""The files that a command writes: whole or not at all, and never over what the program did not write itself."""

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from lotwalk.errors import NotUnderstood

PDF = b"%PDF-"
"""What a PDF begins with."""

_LONGEST = 80


def check_free(path: Path, begins: bytes = PDF, noun: str = "PDF") -> None:
    """Raise NotUnderstood where a file is that does not begin so, and is therefore none that the program wrote."""
    if not path.exists():
        return
    if path.is_file():
        with path.open("rb") as file:
            if file.read(len(begins)) == begins:
                return
    raise NotUnderstood(f"{path} is there already and is no {noun}", "another name in --out")


@contextlib.contextmanager
def written(path: Path) -> Iterator[BinaryIO]:
    """Yield a file to write to; it gets its name once the block has ended well, and is removed otherwise.

    Raises NotUnderstood where there is no such folder, and OSError where it may not be written to.
    """
    from lotwalk.store.files import in_place_of  # Slow to import, and every command's start would wait for it.

    # A name may be a link to the file that is meant.
    place = Path(os.path.realpath(path))
    if not place.parent.is_dir():
        raise NotUnderstood(f"{path.parent} is no folder that is there", "a folder that exists, in --out")
    part = place.with_name(f".{place.name[:_LONGEST]}.part")
    try:
        with part.open("wb") as file:
            yield file
        if place.exists():
            in_place_of(part, place)
        part.replace(place)
    finally:
        part.unlink(missing_ok=True)


def file_name(*words: str) -> str:
    """Return a name for a file from codes, which may hold any character: letters, digits, `-`, `.` and `_` stay."""
    kept = "".join(sign if sign.isalnum() or sign in "-._" else "_" for sign in "-".join(filter(None, words)))
    return kept[:_LONGEST].lstrip(".") or "paper"
