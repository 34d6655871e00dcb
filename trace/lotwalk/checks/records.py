"""The book as the checks read it: entries in force by what their kinds say that they tell, and the rules gone by.

A check names facts and fields, never a kind of record, so a grower's own kinds are checked like those that ship.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, text

from lotwalk.judge.rules import RuleSet
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Kind, Value
from lotwalk.kinds.roles import facts, holds
from lotwalk.ledger.evidence_model import Entry
from lotwalk.ledger.model import ThingRow, Version
from lotwalk.ledger.read import makers, thing_codes
from lotwalk.ledger.record import parse
from lotwalk.ledger.stored_entry import Content, StoredEntry, content_of
from lotwalk.values.codes import fold
from lotwalk.values.units import Amount, Units

DAY = 86_400
"""Seconds."""

_LIVE = "NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.seq)"
_ENTRIES = (
    "SELECT e.seq, e.first, e.kind, e.at_from, e.at_to, CASE WHEN s.in_order = 1 THEN s.id ELSE 0 END, e.line,"
    f" e.recorded_at, e.record FROM entry e LEFT JOIN sheet s ON s.id = e.sheet WHERE {_LIVE} AND e.void = 0"
)


class Record(StoredEntry):
    """An entry in force. `version` is all that is stored of it."""

    __slots__ = ("version",)
    version: Version

    def __init__(self, row: Sequence[int | str], kinds: Kinds) -> None:
        """`row` is that of a stored entry, and its hashed text."""
        object.__setattr__(self, "version", parse(str(row[-1])))
        super().__init__(row[:-1], lambda _: content_of(self.version, kinds))

    @property
    def code(self) -> str:
        """The name by which people know it: `E12`."""
        return self.version.name

    @property
    def place(self) -> str | None:
        """Where it was done."""
        return self.version.place

    @property
    def span(self) -> tuple[int, int]:
        """The first and last second of its time."""
        return self.start, self.end


@dataclass(frozen=True, slots=True)
class Told:
    """One fact that an entry tells of one thing. `scope` is the row's fields over the entry's."""

    record: Record
    thing: ThingRow
    scope: Mapping[str, Value]

    @property
    def code(self) -> str:
        """The code of the thing."""
        return self.thing.code


class Records:
    """What the checks ask of one state of the book. `now` is the time of asking, in seconds since 1970."""

    def __init__(
        self, connection: Connection, kinds: Kinds, rules: RuleSet, units: Units, place: ZoneInfo, now: int
    ) -> None:
        self.connection = connection
        self.kinds = kinds
        self.rules = rules
        self.units = units
        self.zone = place
        self.now = now
        self._of_kind: dict[str, list[Record]] = {}
        self._telling: dict[str, list[Told]] = {}

    def of_kinds(self, names: Iterable[str]) -> list[Record]:
        """Return the entries of these kinds of record, by time."""
        wanted = list(names)
        for name in wanted:
            if name not in self._of_kind:
                rows = self.connection.execute(text(f"{_ENTRIES} AND e.kind = :kind"), {"kind": name})
                self._of_kind[name] = [Record(list(row), self.kinds) for row in rows]
        return sorted((record for name in wanted for record in self._of_kind[name]), key=by_time)

    @cached_property
    def all(self) -> list[Record]:
        """Every entry in force, by time."""
        names = self.connection.execute(text("SELECT DISTINCT kind FROM entry")).scalars().all()
        return self.of_kinds(sorted(names))

    def kind(self, record: Record) -> Kind:
        """Return the kind of an entry."""
        return self.kinds[record.kind]

    def entries_telling(self, fact: str) -> list[Record]:
        """Return the entries that tell a fact of themselves, by time."""
        return [record for record in self.of_kinds(self.kinds.telling(fact)) if self._of_itself(record, fact)]

    def _of_itself(self, record: Record, fact: str) -> bool:
        told = [one for one in self.kind(record).facts if one.name == fact]
        return any(holds(one.when, record.values, passes=None, thing=None) for one in told)

    def telling(self, fact: str) -> list[Told]:
        """Return what is told of things, by time: once for each thing that an entry tells it of."""
        if fact not in self._telling:
            self._telling[fact] = [
                one for record in self.of_kinds(self.kinds.telling(fact)) for one in self._told(record, fact)
            ]
        return self._telling[fact]

    def _told(self, record: Record, fact: str) -> Iterable[Told]:
        content: Content = record.content
        for mention in content.mentions:
            if not any(one.name == fact for one in mention.field.facts):
                continue
            for code in mention.codes:
                thing = self.things.get(fold(code))
                if thing and fact in facts(mention.field, mention.scope, (thing.kind, thing.cls)):
                    yield Told(record, thing, mention.scope)

    def told_of(self, fact: str) -> dict[str, list[Told]]:
        """Return what is told of things, by the thing's code."""
        found: dict[str, list[Told]] = defaultdict(list)
        for one in self.telling(fact):
            found[one.code].append(one)
        return found

    @cached_property
    def things(self) -> Mapping[str, ThingRow]:
        """All things by their folded codes."""
        return {fold(thing.code): thing for thing in thing_codes(self.connection)}

    def thing(self, code: str) -> ThingRow | None:
        """Return the thing of this code, or None."""
        return self.things.get(fold(code))

    @cached_property
    def _makers(self) -> dict[int, Version]:
        return makers(self.connection, [thing.id for thing in self.things.values()])

    @cached_property
    def _records(self) -> dict[int, Record]:
        return {record.seq: record for records in self._of_kind.values() for record in records}

    def maker(self, code: str) -> Record | None:
        """Return the entry in force that made or registered a thing, or None."""
        thing = self.thing(code)
        version = self._makers.get(thing.id) if thing else None
        if version is None:
            return None
        return next((one for one in self.of_kinds([version.kind]) if one.seq == version.seq), None)

    def basis(self, key: str) -> str:
        """Return a limit with its number and citation, as a finding names the rule that it comes from."""
        limit = self.rules.limits.get(key)
        if limit is None:
            return key
        sure = " (from memory)" if limit.confidence == "memory" and "memory" not in limit.source else ""
        return f"{key} {limit.written}: {limit.source}{sure}"

    def seconds(self, key: str) -> int | None:
        """Return a limit that is a time in seconds, or None where the rule set has none."""
        amount = self.rules.amount(key)
        return int(amount.value) if amount else None

    def date(self, second: int) -> str:
        """Return the farm's date at a second, as 2026-03-02."""
        return datetime.fromtimestamp(second, self.zone).date().isoformat()

    @property
    def today(self) -> str:
        """The farm's date at the time of asking."""
        return self.date(self.now)

    def begins(self, date: str) -> int:
        """Return the first second of a date (2026-03-02)."""
        return int(datetime.fromisoformat(date).replace(tzinfo=self.zone).timestamp())

    def ends(self, date: str) -> int:
        """Return the last second of a date."""
        return int(datetime.fromisoformat(f"{date}T23:59:59").replace(tzinfo=self.zone).timestamp())

    def clock(self, second: int) -> str:
        """Return the farm's date and time at a second, as 2026-03-02 09:10."""
        return datetime.fromtimestamp(second, self.zone).strftime("%Y-%m-%d %H:%M")

    def show(self, amount: Amount) -> str:
        """Return an amount as it was written, or in the farm's measures."""
        return amount.written or self.units.show(amount.value, amount.unit)


def by_time(entry: Entry) -> tuple[int, int, int, int]:
    """Return the key by which entries stand in the order of their times."""
    return entry.start, entry.end, entry.line, entry.seq
