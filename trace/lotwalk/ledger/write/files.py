"""Attached files: known by their bytes, named cleanly, never opened or run."""

import hashlib
import unicodedata
from dataclasses import dataclass
from pathlib import Path

from lotwalk.errors import NotUnderstood
from lotwalk.ledger.model import File

LIMIT = 20_000_000
"""Bytes, where the rule set names no largest file."""

RULES_TYPE = "application/yaml"
"""The media type under which the ledger keeps a rule set."""

_STARTS = {b"%PDF-": "application/pdf", b"\x89PNG\r\n\x1a\n": "image/png", b"\xff\xd8\xff": "image/jpeg"}


@dataclass(frozen=True, slots=True)
class Drawer:
    """Where the files that entries name are found, and how many bytes one of them may have.

    With `inside` a file must lie in that folder, or in one below.
    """

    folder: Path
    limit: int = LIMIT
    inside: bool = False

    def attach(self, name: str) -> File:
        """Return the file of that name, relative to the folder.

        Raises NotUnderstood when it is missing, too large, elsewhere, or neither PDF, PNG nor JPEG.
        """
        path = self.folder / name
        if self.inside and not _is_inside(path, self.folder):
            # A sheet may come from somebody else, and must not bring other files of this computer into the book.
            expected = "a file beside the sheet or in a folder below"
            raise NotUnderstood(f"{name} leads out of the sheet's folder", expected)
        return _attach(path, self.limit)


def _is_inside(path: Path, folder: Path) -> bool:
    try:
        return path.resolve().is_relative_to(folder.resolve())
    except (OSError, ValueError):
        return False


def _attach(path: Path, limit: int) -> File:
    try:
        size = path.stat().st_size
        if not path.is_file():
            raise NotUnderstood(f"{path} is not a file", "a PDF, PNG or JPEG file")
        if size > limit:
            raise NotUnderstood(f"{path} has {size:,} bytes", f"at most {limit:,}")
        content = path.read_bytes()
    except (OSError, ValueError):
        raise NotUnderstood(f"{path} cannot be read", "the name of a file beside the sheet") from None
    for start, media_type in _STARTS.items():
        if content.startswith(start):
            return File(hashlib.sha256(content).hexdigest(), _clean(path.name), media_type, content)
    raise NotUnderstood(f"{path.name} is neither PDF, PNG nor JPEG", "a file of one of these")


def rules_file(name: str, content: str) -> File:
    """Return the text of a rule set, named as in the farm's settings, as an attachment."""
    data = content.encode()
    return File(hashlib.sha256(data).hexdigest(), rules_file_name(name), RULES_TYPE, data)


def rules_file_name(name: str) -> str:
    """Return the name of the file under which a rule set is kept."""
    return _clean(f"{Path(name).name.removesuffix('.yaml').removesuffix('.yml')}.yaml")


def _clean(name: str) -> str:
    kept = "".join(letter for letter in unicodedata.normalize("NFC", name) if letter.isprintable())
    return kept.replace("/", "_").replace("\\", "_").strip(". ")[:120] or "file"
