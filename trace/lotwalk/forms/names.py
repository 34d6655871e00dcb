"""How the boxes of a form are named in its file, and what the file says of itself.

A box is named `KIND/ROW/FIELD`, such as `harvest/2/amount`; in a list, `harvest/2/from/3/batch`. A box to tick has its
choice behind an equals sign, `harvest/2/cut=with roots`. Rows and lines count from 1, as they are printed.
"""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

MARK = "lotwalk-form"
"""The hidden field in which a form says what it is."""

VERSION = 1
"""Raised when the names change their meaning."""

_KIND = re.compile(r"[a-z][a-z0-9-]{0,60}")
_NUMBER = re.compile(r"[1-9][0-9]{0,4}")
_FIELD = re.compile(r"[a-z][a-z0-9_]{0,60}")
_MOST_KINDS = 500


@dataclass(frozen=True, slots=True)
class Name:
    """The name of one box. `line` is 0 outside of a list; `choice` is empty for a box to write in."""

    kind: str
    row: int
    field: str
    line: int = 0
    inner: str = ""
    choice: str = ""

    def __str__(self) -> str:
        parts = [self.kind, str(self.row), self.field]
        parts += [str(self.line), self.inner] if self.line else []
        # A full stop in a name would part it into a parent and a child.
        choice = self.choice.replace("%", "%25").replace(".", "%2E")
        return "/".join(parts) + (f"={choice}" if choice else "")

    @property
    def path(self) -> str:
        """The field's path, without row and line: `amount`, `from.batch`."""
        return f"{self.field}.{self.inner}" if self.line else self.field


def read_name(text: str) -> Name | None:
    """Return the name that `text` says, or None where it names no box of a form."""
    place, _, choice = text.partition("=")
    parts = place.split("/")
    if len(parts) not in (3, 5) or not _KIND.fullmatch(parts[0]):
        return None
    numbers, names = (parts[1], *parts[3:4]), (parts[2], *parts[4:])
    if not all(map(_NUMBER.fullmatch, numbers)) or not all(map(_FIELD.fullmatch, names)):
        return None
    choice = choice.replace("%2E", ".").replace("%25", "%")
    if len(parts) == 3:
        return Name(parts[0], int(parts[1]), parts[2], choice=choice)
    return Name(parts[0], int(parts[1]), parts[2], int(parts[3]), parts[4], choice)


@dataclass(frozen=True, slots=True)
class Made:
    """What a form says of one kind in it: the digest of the kind's file, its rows, and the units printed in boxes.

    `units` are by path; a number written there without a unit has the printed one.
    """

    digest: str
    rows: int
    units: Mapping[str, str] = field(default_factory=dict)


def write_mark(made: Mapping[str, Made]) -> str:
    """Return what the hidden field holds, as ASCII."""
    kinds = {name: {"digest": one.digest, "rows": one.rows, "units": dict(one.units)} for name, one in made.items()}
    return json.dumps({"form": VERSION, "kinds": kinds}, sort_keys=False, separators=(",", ":"))


def read_mark(text: str) -> dict[str, Made] | None:
    """Return what a hidden field says by kind, or None where it is not as `write_mark` writes it."""
    try:
        said = json.loads(text)
        if said["form"] != VERSION or not 1 <= len(said["kinds"]) <= _MOST_KINDS:
            return None
        return {name: _made(name, one) for name, one in said["kinds"].items()}
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None


def _made(name: str, said: Mapping[str, Any]) -> Made:
    digest, rows, units = said["digest"], said["rows"], said["units"]
    fits = isinstance(digest, str) and isinstance(rows, int) and 1 <= rows < 100_000 and isinstance(units, dict)
    if not fits or not _KIND.fullmatch(name) or not all(isinstance(unit, str) for unit in units.values()):
        raise ValueError(name)
    return Made(digest, rows, {str(path): unit for path, unit in units.items()})
