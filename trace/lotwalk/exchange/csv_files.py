"""Writes tables as CSV (RFC 4180, UTF-8): the events, or every field of every entry of a kind."""

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from lotwalk.exchange.export_request import Desk
from lotwalk.exchange.rows import Cell, Sheet
from lotwalk.kinds.model import Kind
from lotwalk.ledger.model import Version
from lotwalk.recall.words.common import code_list, written_words
from lotwalk.values.text import safe_cell

_APART = ("at", "by", "place", "note", "files")
_FIRST = ("Entry", "Starts", "Ends", "When")
_LAST = ("Place", "By", "Note", "Files", "Verdict", "Recorded", "Amended because")


@dataclass(frozen=True, slots=True)
class Table:
    """One table: a name for its file, the titles of its columns, and its rows."""

    name: str
    titles: Sequence[str]
    rows: Sequence[Sequence[Cell]]

    def text(self) -> str:
        """Return the table as CSV, lines ended as RFC 4180 says. No text in it runs as a formula in a spreadsheet."""
        drawn = io.StringIO()
        writer = csv.writer(drawn)
        writer.writerow(self.titles)
        writer.writerows([_plain(cell) for cell in row] for row in self.rows)
        return drawn.getvalue()


def event_table(sheet: Sheet) -> Table:
    """Return the table of an event."""
    return Table(sheet.event.name, sheet.titles, sheet.rows)


def kind_tables(desk: Desk, names: Sequence[str]) -> Iterator[Table]:
    """Yield the tables of these kinds of record, or of all that have entries in the time asked about.

    Raises NotUnderstood for an unknown kind.
    """
    kinds = desk.ledger.kinds
    for name in names or kinds.names:
        kind = kinds[name]
        found = desk.scope.entries([kind.name])
        if found or names:
            yield _kind_table(desk, kind, found)


def _kind_table(desk: Desk, kind: Kind, found: Iterable[Version]) -> Table:
    fields = [field for name, field in kind.fields.items() if name not in _APART]
    rows: list[Sequence[Cell]] = []
    for version in found:
        written = [written_words(version.fields[one.name], one) if one.name in version.fields else "" for one in fields]
        rows.append([*_first(desk, version), *written, *_last(desk, version)])
    return Table(kind.name, (*_FIRST, *(one.title for one in fields), *_LAST), rows)


def _first(desk: Desk, version: Version) -> Sequence[Cell]:
    return version.name, _moment(desk, version.start), _moment(desk, version.end), version.at


def _last(desk: Desk, version: Version) -> Sequence[Cell]:
    note = version.fields.get("note", "")
    return (
        version.place or "",
        code_list(version.by),
        written_words(note),
        ", ".join(file.name for file in version.files),
        _verdict(version),
        _moment(desk, version.recorded_at),
        version.because if version.amended_by else "",
    )


def _verdict(version: Version) -> str:
    judged = version.judged
    told = [f"passed: {code_list(judged.passed)}"] if judged.passed else []
    return "; ".join([*told, *([f"did not pass: {code_list(judged.failed)}"] if judged.failed else [])])


def _moment(desk: Desk, seconds: int) -> str:
    return datetime.fromtimestamp(seconds, desk.farm.settings.zone).isoformat()


def _plain(cell: Cell) -> str:
    if isinstance(cell, Decimal):
        return format(cell, "f")
    return safe_cell(cell) if isinstance(cell, str) else cell.isoformat()
