"""The rows of one traceability event: a lot and an entry each, the key data elements in typed cells, and the gaps."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import TypeAlias

from lotwalk.exchange.events_file import AMOUNT, DATE, DOCUMENT, INPUT, LOCATION, LOT, Column, Event, Source
from lotwalk.exchange.farm import Farm
from lotwalk.exchange.reading import Location, Reader, partner_location, place_location, uses
from lotwalk.exchange.scope import Scope
from lotwalk.judge.words import names_one_of
from lotwalk.ledger.model import Version
from lotwalk.ledger.use import Use
from lotwalk.recall.asking.buyer import CUSTOMER
from lotwalk.recall.words.common import code_list
from lotwalk.values.roles import Role
from lotwalk.values.text import Written

Cell: TypeAlias = str | Decimal | date
"""What stands in a cell: words (none: empty), a number, a day."""

_UNITS = {"count": "pieces"}
_FARM, _NEXT, _TOOK = "farm", "next", "took"
_LAST = ("Entry", "Time as written")


@dataclass(frozen=True, slots=True)
class Sheet:
    """An event's rows, by time and then in the order of the entry.

    `gaps` are the required elements that the book does not hold, with the entries of the rows that lack each.
    """

    event: Event
    titles: tuple[str, ...]
    rows: list[list[Cell]] = field(default_factory=list)
    gaps: dict[str, list[str]] = field(default_factory=dict)
    entries: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Row:
    """What a row is of."""

    version: Version
    source: Source
    lot: Use
    input: Use | None


@dataclass(slots=True)
class Rows:
    """Makes the sheets. `cold` are the words of the rule set by which a place is a cold store."""

    scope: Scope
    reader: Reader
    farm: Farm
    cold: Sequence[str]

    def sheet(self, event: Event) -> Sheet:
        """Return the sheet of an event."""
        sheet = Sheet(event, (*(title for one in event.columns for title in _titles(one)), *_LAST))
        versions = self.scope.entries([source.kind for source in event.sources])
        self.reader.learn_behind(use.code for version in versions for use in version.uses)
        self.reader.learn_takers(use.code for version in versions for use in uses(version, Role.MADE))
        for version in versions:
            for row in self._rows(event, version):
                self._add(sheet, row)
        return sheet

    def _rows(self, event: Event, version: Version) -> Iterator[_Row]:
        for source in event.source(version.kind):
            if source.cold and not self._is_cold(version, source.cold):
                continue
            for lot in self._of(version, source.lot, source.lots):
                if not self.scope.holds(lot.code):
                    continue
                if not source.input:
                    yield _Row(version, source, lot, None)
                for used in self._of(version, source.input, source.inputs) if source.input else ():
                    yield _Row(version, source, lot, used)

    def _of(self, version: Version, role: Role, kinds: Sequence[str]) -> Iterator[Use]:
        for use in uses(version, role):
            thing = self.reader.thing(use.code)
            if thing and (thing.kind in kinds if kinds else thing.cls == "lot"):
                yield use

    def _is_cold(self, version: Version, name: str) -> bool:
        return any(names_one_of(use, self.cold) for use in self.reader.follow(version, (name, "use")))

    def _add(self, sheet: Sheet, row: _Row) -> None:
        cells: list[Cell] = []
        for column in sheet.event.columns:
            paths = (row.source.instead or {}).get(column.title, column.paths)
            found, missing = self._cells(column, paths, row)
            cells += found
            for title in missing if column.needed else ():
                told = sheet.gaps.setdefault(title, [])
                if row.version.name not in told:
                    told.append(row.version.name)
        sheet.rows.append([*cells, row.version.name, row.version.at])
        sheet.entries.append(row.version.name)

    def _cells(self, column: Column, paths: Sequence[str], row: _Row) -> tuple[Sequence[Cell], Sequence[str]]:
        """The cells of a column, and the titles of the elements that are missing in it."""
        if column.form == DATE:
            day = self._day(paths[0], row)
            return [day or ""], [] if day else [column.title]
        if column.form == AMOUNT:
            return self._amount(column, paths[0], row)
        if column.form == LOCATION:
            location = self._location(paths, row)
            if location is None:
                return [""], [column.title]
            return [location.words], [f"{column.title}: {part}" for part in location.missing]
        if column.form == DOCUMENT:
            return self._document(paths, row), []
        words = next((told for path in paths if (told := ", ".join(self._values(path, row)))), "")
        return [words], [] if words else [column.title]

    def _day(self, path: str, row: _Row) -> date | None:
        root, _, rest = path.partition(".")
        version = self._root(root, row) if rest else row.version
        return datetime.fromtimestamp(version.start, self.farm.settings.zone).date() if version else None

    def _amount(self, column: Column, root: str, row: _Row) -> tuple[Sequence[Cell], Sequence[str]]:
        use = row.input if root == INPUT else row.lot
        if use is None or use.amount is None:
            return ["", "", ""], [column.title]
        written = self.reader.written_amount(row.version, use)
        return [use.amount, _UNITS.get(use.unit or "", use.unit or ""), written], []

    def _document(self, paths: Sequence[str], row: _Row) -> list[Cell]:
        kind = self.reader.kinds[row.version.kind]
        for name in paths:
            if words := self.reader.words(row.version, name):
                return [kind.fields[name].title, words]
        return [f"Entry in the record book: {kind.title.lower()}", row.version.name]

    def _values(self, path: str, row: _Row) -> list[str]:
        root, *rest = path.split(".")
        if root == _TOOK:
            return [code_list([use.code for use in self._of(row.version, Role.TOOK, ())])]
        if root == _FARM:
            return list(filter(None, [self.farm.field(rest[0])]))
        if root in (LOT, INPUT):
            use = row.input if root == INPUT else row.lot
            version = self._root(root, row)
            if not rest:
                return [use.code] if use else []
            return self.reader.follow(version, rest) if version else []
        return self.reader.follow(row.version, (root, *rest)) if self._has(row, root) else []

    def _has(self, row: _Row, name: str) -> bool:
        return name == "place" or name in row.version.fields

    def _root(self, root: str, row: _Row) -> Version | None:
        use = row.input if root == INPUT else row.lot
        return self.reader.maker(use.code) if use else None

    def _location(self, paths: Sequence[str], row: _Row) -> Location | None:
        for path in paths:
            if path == _FARM:
                return self.farm.location
            if path == _NEXT:
                return _joined(self._next(row.lot.code))
            if codes := self._values(path, row):
                return _joined([self._of_code(code) for code in codes])
        return None

    def _of_code(self, code: str) -> Location:
        thing, made = self.reader.thing(code), self.reader.maker(code)
        if thing and thing.cls == "place":
            return place_location(self.reader, code, self.farm.location)
        fields: dict[str, Written] = dict(made.fields) if made else {}
        return partner_location(fields, code)

    def _next(self, lot: str) -> list[Location]:
        """Who got the lot next: customers it went to as it is, and the farm itself where something was made of it."""
        found: dict[str, Location] = {}
        for version in self.reader.takers(lot):
            if version.void or not self.scope.tells(version):
                continue
            to = [use.code for use in uses(version, Role.TO) if self._is_customer(use.code)]
            for code in to:
                found[code] = self._of_code(code)
            if not to and uses(version, Role.MADE):
                found[""] = self.farm.location
        return list(found.values())

    def _is_customer(self, code: str) -> bool:
        thing = self.reader.thing(code)
        return thing is not None and thing.kind == CUSTOMER


def _joined(found: Sequence[Location]) -> Location | None:
    if not found:
        return None
    missing = dict.fromkeys(part for one in found for part in one.missing)
    return Location("; ".join(dict.fromkeys(one.words for one in found)), tuple(missing))


def _titles(column: Column) -> tuple[str, ...]:
    if column.form == AMOUNT:
        return column.title, f"{column.title}: unit", f"{column.title}: as written"
    if column.form == DOCUMENT:
        return f"{column.title} type", f"{column.title} number"
    return (column.title,)
