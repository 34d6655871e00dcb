"""The trace of a lot or a delivery on paper for one customer: what they may be told, and of nobody else anything.

What stands in it is the scope of the exports: what that customer got, and what lies behind it by ingredient. Failed
tests come first. Words in which another customer is named are left out, wherever they were written.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import BinaryIO

from lotwalk.exchange.export_request import Desk as Asked
from lotwalk.exchange.export_request import answer, others_named
from lotwalk.exchange.rows import Cell, Sheet
from lotwalk.ledger.model import ThingRow
from lotwalk.ledger.read.things import things_of
from lotwalk.ledger.read.uses import versions_using
from lotwalk.pages.cautions import caution
from lotwalk.pages.maps.build import Builder, Subject
from lotwalk.pages.maps.model import Map
from lotwalk.pages.sheet.frame import Facts
from lotwalk.pages.tracing.desk import Desk
from lotwalk.pages.tracing.document import Document
from lotwalk.pages.tracing.flow import SMALL, Column, Flow
from lotwalk.pages.tracing.grouped import add_groups
from lotwalk.recall.asking.buyer import CUSTOMER
from lotwalk.recall.model import FAILED, Evidence
from lotwalk.recall.traceback.evidence import evidence_of
from lotwalk.recall.words.common import code_list, count
from lotwalk.recall.words.evidence import outcome
from lotwalk.values.roles import Role
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import BACK, Doubt, Start

TITLE = "Traceability record"
LEFT_OUT = "(left out: it names another customer)"
_CAUTIONS = ("cleaning-is-no-proof",)
_WATER = "water-source"
_TOGETHER = 150.0
"""Points that a heading keeps with it: what is said of an event, and its first row."""
_UNIT = ": unit"
"""How the column is called that holds an amount's unit; the words written stand in the next."""

ABOUT = (
    "This is what our record book holds by ingredient: what was delivered to you, and what it was made of. What came"
    " near it by contact only, such as on a shared mat, is not told here. It does not say that any of it is safe."
)
ELEMENTS = (
    "Key data elements as 21 CFR 1 subpart S names them (restated, in part from memory). What the book does not hold is"
    " left out, and named below. Quantities stand as they were written."
)


@dataclass(frozen=True, slots=True)
class Written:
    """What was printed: how many pages, lots and failed tests."""

    title: str
    pages: int
    lots: int
    failed: int


@dataclass(frozen=True, slots=True)
class _Test:
    thing: ThingRow
    told: Evidence


def write_trace_for(
    desk: Desk, asked: Asked, own: Sequence[Path] = (), *, page_size: str = "", out: BinaryIO
) -> Written:
    """Write the paper as a PDF. `asked` is for one customer; `own` are the folders of the grower's own kinds.

    Raises NotUnderstood for an unknown page size.
    """
    paper = _Paper(desk, asked, own)
    document = Document("trace-for", paper.facts(), page_size or desk.paper)
    flow = document.flow
    tests = paper.tests()
    failed = [one for one in tests if one.told.result == FAILED]
    lots = paper.lots()
    paper.add_answer(flow, lots, tests, failed)
    paper.add_elements(flow)
    if drawn := paper.map(document):
        document.add_map(drawn)
        add_groups(flow, [drawn])
    paper.add_tests(flow, "All tests and papers of what lies behind it", tests)
    document.close()
    codes = ", ".join(asked.scope.question.codes)
    pages = document.write(out, desk, title=f"{TITLE}: {codes}", subject=f"For {asked.customer}")
    return Written(TITLE, pages, len(lots), len(failed))


class _Paper:
    """What the paper tells, each word of it looked at."""

    def __init__(self, desk: Desk, asked: Asked, own: Sequence[Path]) -> None:
        self.desk = desk
        self.asked = asked
        self.sheets = [one for one in answer(asked, own).sheets if one.rows]
        self.codes = ", ".join(asked.scope.question.codes)
        self._others: re.Pattern[str] = others_named(asked)

    def may(self, words: str) -> str:
        """Return words that may be told, or that they are left out."""
        return LEFT_OUT if self._others.search(words) else words

    def facts(self) -> Facts:
        """What stands on every page."""
        told = [(one.subject, one.says) for one in map(caution, _CAUTIONS)]
        about = (f"{self.codes}, for {self.asked.customer}.", self.desk.reached_by)
        return self.desk.facts(TITLE, [one for one in about if one], told, ())

    def lots(self) -> list[ThingRow]:
        """The lots and deliveries in the scope, by their codes."""
        keys = sorted(self.asked.scope.keys or ())
        return sorted(things_of(self.desk.connection, keys), key=lambda one: (one.kind, one.code))

    def tests(self) -> list[_Test]:
        """What examined the lots behind it and the water that they had: what failed first, then by time."""
        things = {one.id: one for one in self.lots()}
        drew = versions_using(self.desk.connection, list(things), (Role.MADE, Role.TENDED), None)
        water = {use.code for _, _, version in drew for use in version.uses}
        named = [self.asked.reader.thing(code) for code in sorted(water)]
        sources = [one for one in named if one and one.cls == _WATER]
        found = [
            _Test(thing, told)
            for thing, some in evidence_of(self.desk.connection, self.desk.kinds, [*things.values(), *sources])
            for told in some
        ]
        return sorted(found, key=lambda one: (one.told.result != FAILED, one.told.at, one.told.entry, one.thing.code))

    def add_answer(self, flow: Flow, lots: Sequence[ThingRow], tests: Sequence[_Test], failed: Sequence[_Test]) -> None:
        """Place what it is, and what failed."""
        name = self.desk.names(self.asked.scope.question.codes)
        called = ", ".join(f"{code} {name.get(code, '')}".strip() for code in self.asked.scope.question.codes)
        kinds: dict[str, int] = {}
        for one in lots:
            kinds[one.kind] = kinds.get(one.kind, 0) + 1
        told = ", ".join(
            count(number, kind.title.lower(), kind.plural.lower())
            for word, number in sorted(kinds.items())
            if (kind := self.desk.kinds.things[word])
        )
        passed = f"{count(len(tests), 'test or paper', 'tests and papers')} in hand, {len(failed)} FAILED."
        flow.framed([self.may(called), f"In this record: {told}.", passed, ABOUT])
        if failed:
            self.add_tests(flow, "What failed", failed)

    def add_tests(self, flow: Flow, title: str, tests: Sequence[_Test]) -> None:
        """Place a row for each test or paper."""
        flow.heading(title)
        if not tests:
            flow.words("None is in the book.")
            return
        rows = [
            (
                "!" if one.told.result == FAILED else "",
                one.told.at,
                f"{self.desk.kinds[one.told.kind].title} {one.told.entry}",
                f"{self.desk.kinds.things[one.thing.kind].title} {self.may(one.thing.code)}",
                self.may(one.told.looked_for),
                " ".join(filter(None, (outcome(one.told), ", ".join(one.told.germs)))),
                self.may(one.told.says),
            )
            for one in tests
        ]
        columns = (
            Column("", 3, bold=True),
            Column("When", 14),
            Column("Entry", 17),
            Column("Of", 20),
            Column("Looked for", 18),
            Column("Came to", 13, bold=True),
            Column("As written", 20),
        )
        flow.grid(columns, rows)

    def add_elements(self, flow: Flow) -> None:
        """Place each event with its rows, element by element."""
        for number, sheet in enumerate(self.sheets):
            flow.heading(f"{sheet.event.title}, {sheet.event.rule}", keep=_TOGETHER)
            if number == 0:
                flow.words(ELEMENTS, size=SMALL)
            if sheet.event.says:
                flow.words(sheet.event.says, size=SMALL)
            same = _same(sheet)
            if same:
                flow.words(self.may(f"In each row: {'; '.join(f'{title}: {words}' for title, words in same.items())}."))
            rows = [self._row(sheet, row, same) for row in sheet.rows]
            flow.grid((Column(sheet.titles[0], 18, bold=True), Column("", 41), Column("", 41)), rows)
            for title, entries in sheet.gaps.items():
                flow.words(f"Not in the book: {title} ({code_list(entries)}).", size=SMALL)

    def _row(self, sheet: Sheet, row: Sequence[Cell], same: dict[str, str]) -> tuple[str, str, str]:
        told = [
            f"{title}: {self.may(words)}"
            for title, words in _worded(sheet, row)
            if words and title not in same and title != sheet.titles[0]
        ]
        half = (len(told) + 1) // 2
        return self.may(_shown(row[0])), "\n".join(told[:half]), "\n".join(told[half:])

    def map(self, document: Document) -> Map | None:
        """The map back from it, by ingredient and of nothing but the scope; None where nothing lies behind it."""
        codes = self.asked.scope.question.codes
        keys = list(self.desk.keys(codes))
        frontier = Frontier(self.desk.connection, BACK, Doubt())
        frontier.run(map(Start, keys))
        mine = self.asked.scope.customer
        within = {one.code for one in self.lots() if one.kind != CUSTOMER} | ({mine.code} if mine else set())
        builder = Builder(self.desk.connection, self.desk.kinds, self.desk.zone)
        subject = Subject(frozenset(codes), along=frozenset(within), within=within)
        drawn = builder.build(f"{self.codes}, back to what it was made of", frontier, subject, document.fits)
        return drawn if len(drawn.boxes) > 1 else None


def _same(sheet: Sheet) -> dict[str, str]:
    """The elements that say the same in all rows of a sheet, where there are several."""
    if len(sheet.rows) < 2:
        return {}
    columns = [dict(_worded(sheet, row)) for row in sheet.rows]
    first, others = columns[0], columns[1:]
    same = {title: words for title, words in first.items() if words and all(one[title] == words for one in others)}
    same.pop(sheet.titles[0], None)
    return same


def _worded(sheet: Sheet, row: Sequence[Cell]) -> Iterator[tuple[str, str]]:
    """Yield each element with its words; an amount, which has a unit and the words written behind it, as one."""
    cells = iter(zip(sheet.titles, row, strict=True))
    amounts = {title.removesuffix(_UNIT) for title in sheet.titles if title.endswith(_UNIT)}
    for title, cell in cells:
        if title in amounts:
            (_, unit), (_, written) = next(cells), next(cells)
            yield title, _shown(written) or f"{_shown(cell)} {_shown(unit)}".strip()
        else:
            yield title, _shown(cell)


def _shown(cell: Cell) -> str:
    if isinstance(cell, date):
        return cell.isoformat()
    return f"{cell.normalize():f}" if isinstance(cell, Decimal) else cell
