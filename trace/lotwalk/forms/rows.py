"""What was typed and ticked in one row of a form, turned into what would stand on a sheet."""

import re
from collections.abc import Mapping
from typing import TypeAlias

from lotwalk.errors import Problem
from lotwalk.forms.names import Name
from lotwalk.kinds.model import Field, Kind
from lotwalk.values.text import Fields, Listing, Text, Written

Cells: TypeAlias = dict[Name, "str | bool"]
"""The boxes of one row that are not empty: text, or True for one that is ticked."""

_LISTS = ("codes", "words", "trays", "files")
_MEASURED = re.compile(r"[^\W\d_]|[%°℃℉]")
"""A letter or a sign of a unit."""

_UNPRINTED = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")


def write_row(
    kind: Kind, cells: Cells, units: Mapping[str, str], line: int
) -> tuple[Fields, dict[str, tuple[int, ...]], list[Problem]]:
    """Return a row as a sheet's entry, the printed lines that the members of its lists stand on, and what is wrong.

    `units` are those printed in boxes, by path; `line` is what the entry and its values carry as their line.
    """
    row = _Row(kind, units, line)
    for name, value in cells.items():
        row.take(name, value)
    return row.written(), row.lines, row.problems


class _Row:
    """Gathers one row. `boxes` are texts, and ticked choices, by field and line and inner field."""

    def __init__(self, kind: Kind, units: Mapping[str, str], line: int) -> None:
        self._kind = kind
        self._units = units
        self._line = line
        self._boxes: dict[tuple[str, int, str], list[str]] = {}
        self.problems: list[Problem] = []
        self.lines: dict[str, tuple[int, ...]] = {}

    def take(self, name: Name, value: str | bool) -> None:
        """Take in one box."""
        text = name.choice if value is True else _cleaned(str(value))
        self._boxes.setdefault((name.field, name.line, name.inner), []).append(text)
        if _UNPRINTED.search(text):
            self._wrong(name.field, "a sign that does not print", "text that can be printed")

    def written(self) -> Fields:
        """Return the entry. Its fields stand in the order of the kind's file, those that it does not know last."""
        entry = Fields({"kind": Text(self._kind.name, self._line)}, line=self._line)
        known = list(self._kind.fields)
        names = dict.fromkeys(name for name, _, _ in self._boxes)
        for name in sorted(names, key=lambda one: known.index(one) if one in known else len(known)):
            field = self._kind.fields.get(name)
            if any(line for outer, line, _ in self._boxes if outer == name):
                entry[name] = self._list(name, field)
            else:
                entry[name] = self._value(name, 0, "", field)
        return entry

    def _list(self, name: str, field: Field | None) -> Written:
        """Return a list of rows. A line with only its first box filled may hold the short form, as on a sheet."""
        lines = sorted({line for outer, line, _ in self._boxes if outer == name and line})
        order = list(field.fields) if field else []
        rows = Listing(line=self._line)
        for line in lines:
            inner = [one for outer, at, one in self._boxes if (outer, at) == (name, line)]
            inner.sort(key=lambda one: order.index(one) if one in order else len(order))
            cells = {one: self._value(name, line, one, field.fields.get(one) if field else None) for one in inner}
            rows.append(_short(cells, field) or Fields(cells, line=self._line))
        if not any(isinstance(row, str) for row in rows):
            # A text in the short form may stand for several rows, and then no line is that of one member.
            self.lines[name] = tuple(lines)
        return rows

    def _value(self, name: str, line: int, inner: str, field: Field | None) -> Written:
        texts = self._boxes[name, line, inner]
        path = f"{name}.{inner}" if line else name
        if field is None:
            return self._text(" ".join(texts))
        if len(texts) > 1 and field.read not in _LISTS:
            ticked = ", ".join(texts)
            self._wrong(path, f"{len(texts)} boxes are ticked: {ticked}", "one of them")
        if field.read in _LISTS:
            parts = [part.strip() for text in texts for part in text.split("\n") if part.strip()]
            return self._text(parts[0]) if len(parts) == 1 else Listing(map(self._text, parts), line=self._line)
        text = texts[0] if field.read == "text" else " ".join(texts[0].split())
        unit = self._units.get(path)
        return self._text(f"{text} {unit}" if unit and field.dimensions and not _MEASURED.search(text) else text)

    def _text(self, text: str) -> Text:
        return Text(text, self._line)

    def _wrong(self, path: str, what: str, expected: str) -> None:
        self.problems.append(Problem(what, expected, path, line=self._line))


def _short(cells: Mapping[str, Written], field: Field | None) -> Written | None:
    """Return the text of a line that holds nothing but its first box, written in the row's short form."""
    first = field.short.partition("}")[0].removeprefix("{") if field and field.short else ""
    text = cells.get(first)
    alone = len(cells) == 1 and isinstance(text, str)
    return text if alone and isinstance(text, str) and re.search(r"\s|,|\.\.", text) else None


def _cleaned(text: str) -> str:
    return text.replace("\r\n", "\n").replace("\r", "\n").strip()
