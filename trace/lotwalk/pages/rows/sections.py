"""What a report's sections hold: their rows measured, in order and in groups, and their charts."""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from lotwalk.ledger.model import ThingRow, Version
from lotwalk.pages.computed.computed import Asked, worked
from lotwalk.pages.computed.makers import MAKERS
from lotwalk.pages.definitions.model import Definition, Piece, ReportSummary, Row, Section
from lotwalk.pages.definitions.section_file import DAY, ENTRIES
from lotwalk.pages.rows.chart_data import Gathered
from lotwalk.pages.rows.reading import Reading
from lotwalk.pages.rows.recorded import Rows
from lotwalk.pages.rows.values import Values, words
from lotwalk.pages.rows.verdicts import concerns
from lotwalk.pages.rows.versions import Period, entry_numbers, histories
from lotwalk.pages.sheet.chart import ChartBox
from lotwalk.pages.sheet.code_key import Key
from lotwalk.pages.sheet.fitting import SAMPLE
from lotwalk.pages.sheet.table import Block, Table
from lotwalk.values.codes import fold

Order = list[tuple[int, int, str]]
Progress = Callable[[int, int], None]
_DIGITS = re.compile(r"(\d+)")
_COUNTED = ("failed", "amended", "void", "late", "out")


@dataclass(frozen=True, slots=True)
class Part:
    """What one section holds."""

    blocks: Sequence[Block]
    charts: Sequence[ChartBox] = ()


@dataclass(slots=True)
class Typing:
    """How the entries of a report were put into the book: how many in sheets, when from and to (seconds), by whom."""

    sheets: int = 0
    first: int = 0
    last: int = 0
    by: dict[str, int] = field(default_factory=dict)

    def add(self, version: Version) -> None:
        """Take in the first version of an entry."""
        at = version.recorded_at
        self.first, self.last = min(self.first or at, at), max(self.last, at)
        self.sheets += version.sheet is not None
        self.by[version.typed_by] = self.by.get(version.typed_by, 0) + 1


@dataclass(frozen=True, slots=True)
class Filled:
    """What all sections hold, and how much that is."""

    parts: Sequence[Part]
    summary: ReportSummary
    typing: Typing


@dataclass(slots=True)
class _Counts:
    """Entries met, each once, and how many of them stand out."""

    entries: int = 0
    marks: dict[str, int] = field(default_factory=lambda: dict.fromkeys(_COUNTED, 0))


def fill(
    state: Reading,
    definition: Definition,
    period: Period,
    thing: ThingRow | None,
    values: Values,
    key: Key,
    tables: Sequence[Table],
    progress: Progress | None,
    pages: Mapping[str, int],
    fit: bool,
) -> Filled:
    """Return what the sections hold; `tables` are theirs, and `key` takes in the codes that it is to explain.

    `pages` say where each kind of record is printed, where that is known. With `fit` the tables' columns get the widths
    that their first rows ask for.
    """
    counts, typing = _Counts(), Typing()
    spans = [Period(None, period.until, None, period.end) if one.before else period for one in definition.sections]
    numbers = [
        entry_numbers(state.connection, section.kinds, span, thing if section.naming else None)
        if section.rows == ENTRIES
        else []
        for section, span in zip(definition.sections, spans, strict=True)
    ]
    total = sum(map(len, numbers))
    parts = []
    for section, span, some, table in zip(definition.sections, spans, numbers, tables, strict=True):
        if section.rows != ENTRIES:
            rows = worked(MAKERS, section, Asked(state, definition, period, thing, values, pages))
            if fit:
                table.fit(rows[:: len(rows) // SAMPLE + 1])
            parts.append(Part([table.block(row) for row in rows]))
            counts.entries += len(parts[-1].blocks)
            continue
        maker = Rows(definition, section, values, state.settings, state.rules, span, state.late)
        gathered = Gathered(section.charts, values, state)
        grouping = _Grouping(section, maker, table, values)
        made = ((history, maker.row(history)) for history in histories(state.connection, some))
        if fit and some:
            # The highest number too, since the name of an entry is not to be broken over two lines.
            sampled = [*some[:: len(some) // SAMPLE + 1], max(some)]
            table.fit([maker.row(history) for history in histories(state.connection, sampled)])
        for history, row in made:
            grouping.add(history, row)
            gathered.add(history[-1])
            key.add(history[-1])
            typing.add(history[0])
            counts.entries += 1
            for name in _COUNTED:
                counts.marks[name] += getattr(row, name)
            if progress:
                progress(counts.entries, total)
        parts.append(Part(grouping.blocks(), gathered.boxes(span, table.width)))
    return Filled(parts, ReportSummary(definition.title, counts.entries, **counts.marks), typing)


@dataclass(slots=True)
class _Grouping:
    """Measures the rows of a section, and keeps them by their groups. Groups of codes stand in the codes' order."""

    section: Section
    rows: Rows
    table: Table
    values: Values
    _groups: dict[str, list[tuple[Order, Block]]] = field(default_factory=dict)
    _titles: dict[str, str] = field(default_factory=dict)

    def add(self, history: Sequence[Version], row: Row) -> None:
        """Take in an entry with its row."""
        content = history[-2] if history[-1].void else history[-1]
        order = self._order(content)
        if not self.section.group:
            self._groups.setdefault("", []).append((order, self.table.block(row)))
            return
        measured: dict[object, Block] = {}
        for title, code in self._named(content):
            alike = concerns(content, code) if code else None
            if alike not in measured:
                measured[alike] = self.table.block(self.rows.row(history, code) if code else row)
            folded = fold(title)
            self._titles.setdefault(folded, title)
            self._groups.setdefault(folded, []).append((order, measured[alike]))

    def blocks(self) -> list[Block]:
        """Return all rows in order, each group under its heading."""
        found: list[Block] = []
        names = sorted(self._groups, key=natural) if self.section.group else list(self._groups)
        for name in names:
            members = self._groups[name]
            if self.section.order:
                members.sort(key=lambda member: member[0])
            if self.section.group:
                found.append(self.table.words([Piece(self._title(name, len(members)), "bold")], keep=True))
            found += [block for _, block in members]
        return found

    def _order(self, content: Version) -> Order:
        return natural(", ".join(self.values.read(content, self.section.order))) if self.section.order else []

    def _named(self, content: Version) -> Iterator[tuple[str, str]]:
        """Yield the groups that an entry stands in, each with the code that it is named by, if it is one."""
        group = self.section.group
        if group == DAY:
            yield f"{datetime.fromtimestamp(content.start, self.values.zone):%Y-%m-%d, %A}", ""
            return
        told = self.values.read(content, group)
        codes = self.values.codes(content, group) if "." not in group else []
        if not codes:
            yield ", ".join(told) or "Not named", ""
        for code in codes:
            yield code, code

    def _title(self, name: str, members: int) -> str:
        title = self._titles[name]
        named = words(self.values.maker(title).get("name", "")) if self.section.group != DAY else ""
        count = f"{members} {'entry' if members == 1 else 'entries'}"
        return f"{title}{f' ({named})' if named else ''}: {count}"


def natural(text: str) -> Order:
    """Return what texts are ordered by so that `M-9` stands before `M-10`."""
    parts: Iterable[str] = _DIGITS.split(text)
    return [(0, int(part), "") if part.isdecimal() and part.isascii() else (1, 0, part) for part in parts if part]
