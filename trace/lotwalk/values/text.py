"""Text, mappings and lists that remember the line of the sheet they were written on; text that a table can hold."""

import re
from collections.abc import Iterable
from typing import Any, TypeAlias, Union

Written: TypeAlias = Union[str, "list[Written]", "dict[str, Written]"]
"""What a person wrote: text, lists and mappings of it."""

_NUMBER_WITH_UNIT = re.compile(r"[+-]?[0-9][0-9.,]*(\s?[\w/%°]+)*")
_RUNS = ("=", "+", "-", "@", "\t", "\n")


class Text(str):
    """A string that carries its line (0 = none). It equals, and hashes like, the plain string."""

    __slots__ = ("line",)
    line: int

    def __new__(cls, value: str, line: int = 0) -> "Text":
        """Return the text `value`, written on `line`."""
        text = str.__new__(cls, value)
        text.line = line
        return text


class Fields(dict[str, Written]):
    """A mapping that carries the line of its first key (0 = none), and the names that stood there without a value."""

    __slots__ = ("empty", "line")
    line: int
    empty: tuple[str, ...]

    def __init__(self, *args: Any, line: int = 0, empty: tuple[str, ...] = ()) -> None:
        super().__init__(*args)
        self.line = line
        self.empty = empty


class Listing(list[Written]):
    """A list that carries the line of its first item (0 = none)."""

    __slots__ = ("line",)
    line: int

    def __init__(self, *args: Any, line: int = 0) -> None:
        super().__init__(*args)
        self.line = line


_LINED = (Text, Fields, Listing)


def line_of(value: object) -> int:
    """Return the line that a value was written on, or 0 where it is not known."""
    return value.line if isinstance(value, _LINED) else 0


def plain(value: Written) -> Written:
    """Return the same value in builtin types only, at every depth, so that it can be stored or compared."""
    if isinstance(value, str):
        return str(value)
    if isinstance(value, list):
        return [plain(item) for item in value]
    return {str(name): plain(item) for name, item in value.items()}


def safe_cell(value: object) -> str:
    """Return what a cell of CSV says (None: nothing): what someone typed must not run when a spreadsheet opens it.

    Text that would be read as a formula has an apostrophe before it, as spreadsheets write text themselves.
    """
    # A writer would leave a lone carriage return unquoted, and readers would end the row there.
    text = "" if value is None else str(value).replace("\r\n", "\n").replace("\r", "\n")
    return f"'{text}" if text[:1] in _RUNS and not _NUMBER_WITH_UNIT.fullmatch(text) else text


def words(said: str | Iterable[str]) -> tuple[str, ...]:
    """Return words that were said as a list, or as one word."""
    return (said,) if isinstance(said, str) else tuple(said)
