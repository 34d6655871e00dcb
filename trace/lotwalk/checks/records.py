"""The book as the checks read it: entries in force by what their kinds say that they tell, and the rules gone by.

A check names facts and fields, never a kind of record, so a grower's own kinds are checked like those that ship.
"""

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import TypeVar, cast
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Field, Kind, Value
from lotwalk.kinds.roles import facts, holds
from lotwalk.ledger.entry import Entry
from lotwalk.ledger.model import ThingRow
from lotwalk.ledger.read.entries import Contact, all_makers, contacts, entries_of, kinds_in_use
from lotwalk.ledger.read.things import all_lots, thing_codes
from lotwalk.values.codes import fold
from lotwalk.values.units import Amount, Units

_ROW = re.compile(r"\[\d+\]")
_Shared = TypeVar("_Shared")


@dataclass(frozen=True, slots=True)
class Told:
    """One fact that an entry tells of one thing, in the field at `path` (`items`, `from[0].lot`)."""

    record: Entry
    thing: ThingRow
    path: str

    @property
    def code(self) -> str:
        """The code of the thing."""
        return self.thing.code

    @property
    def scope(self) -> Mapping[str, Value]:
        """The row's fields over the entry's."""
        mentions = self.record.content.mentions
        return next((mention.scope for mention in mentions if mention.path == self.path), self.record.values)


class Records:
    """What the checks ask of one state of the book. `now` is the time of asking, in seconds since 1970.

    `older` is how many verdicts are of a judge that has learned since.
    """

    def __init__(
        self,
        connection: Connection,
        kinds: Kinds,
        rules: RuleSet,
        units: Units,
        place: ZoneInfo,
        now: int,
        older: int = 0,
    ) -> None:
        self.connection = connection
        self.kinds = kinds
        self.rules = rules
        self.units = units
        self.zone = place
        self.now = now
        self.older = older
        self._of_kind: dict[str, list[Entry]] = {}
        self._of_kinds: dict[tuple[str, ...], list[Entry]] = {}
        self._telling: dict[str, list[Told]] = {}
        self._records: dict[int, Entry] = {}
        self._shared: dict[Callable[[Records], object], object] = {}
        self._plain: dict[tuple[str, str], dict[str, Field] | None] = {}

    def share(self, make: "Callable[[Records], _Shared]") -> _Shared:
        """Return what `make` makes of these records, made once for all the checks that ask for it."""
        if make not in self._shared:
            self._shared[make] = make(self)
        return cast(_Shared, self._shared[make])

    def of_kinds(self, names: Iterable[str]) -> list[Entry]:
        """Return the entries of these kinds of record, by time."""
        wanted = tuple(names)
        for name in wanted:
            if name not in self._of_kind:
                self._of_kind[name] = entries_of(self.connection, self.kinds, name)
        if wanted not in self._of_kinds:
            found = (record for name in wanted for record in self._of_kind[name])
            self._of_kinds[wanted] = sorted(found, key=by_time)
        return self._of_kinds[wanted]

    @cached_property
    def all(self) -> list[Entry]:
        """Every entry in force, by time."""
        return self.of_kinds(kinds_in_use(self.connection))

    @property
    def followed(self) -> list[Entry]:
        """Return the entries, by time, of which each use is looked at: of lots, of water, by people."""
        return self.all

    def kind(self, record: Entry) -> Kind:
        """Return the kind of an entry."""
        return self.kinds[record.kind]

    def entries_telling(self, fact: str) -> list[Entry]:
        """Return the entries that tell a fact of themselves, by time."""
        return [record for record in self.of_kinds(self.kinds.telling(fact)) if self._of_itself(record, fact)]

    def _of_itself(self, record: Entry, fact: str) -> bool:
        told = [one for one in self.kind(record).facts if one.name == fact]
        return any(holds(one.when, record.values, passes=None, thing=None) for one in told)

    def telling(self, fact: str) -> list[Told]:
        """Return what is told of things, by time: once for each thing that an entry tells it of."""
        if fact not in self._telling:
            self._telling[fact] = [
                one for record in self.of_kinds(self.kinds.telling(fact)) for one in self._told(record, fact)
            ]
        return self._telling[fact]

    def _told(self, record: Entry, fact: str) -> Iterable[Told]:
        if (record.kind, fact) not in self._plain:
            self._plain[record.kind, fact] = _told_by_thing_alone(self.kind(record), fact)
        fields = self._plain[record.kind, fact]
        if fields is None:
            for mention in record.content.mentions:
                if any(one.name == fact for one in mention.field.facts):
                    for code in mention.codes:
                        thing = self.things.get(fold(code))
                        if thing and fact in facts(mention.field, mention.scope, (thing.kind, thing.cls)):
                            yield Told(record, thing, mention.path)
            return
        # Nothing that the entry says decides, so it need not be read again: its links are enough.
        for use in record.version.uses:
            path = use.field
            field = fields.get(_ROW.sub("[]", path))
            thing = self.things.get(fold(use.code)) if field else None
            named = field and thing and self.kinds.thing_matches(thing.kind, field.things or (thing.kind,))
            if field and thing and named and fact in facts(field, {}, (thing.kind, thing.cls)):
                yield Told(record, thing, path)

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
    def _makers(self) -> dict[int, tuple[str, int]]:
        return all_makers(self.connection)

    def maker(self, code: str) -> Entry | None:
        """Return the entry in force that made or registered a thing, or None."""
        thing = self.thing(code)
        made = self._makers.get(thing.id) if thing else None
        if made is None:
            return None
        kind, seq = made
        if seq not in self._records:
            self._records.update((record.seq, record) for record in self.of_kinds([kind]))
        return self._records.get(seq)

    def contacts(self) -> list[Contact]:
        """Return the uses of items in contact."""
        return contacts(self.connection)

    def weighed(self) -> list[str]:
        """Return the codes of the lots that have an amount of their own, in the order in which they came in."""
        return all_lots(self.connection)

    def basis(self, key: str) -> str:
        """Return a limit with its number and citation, as a finding names the rule that it comes from."""
        limit = self.rules.limits.get(key)
        return limit.cited if limit else key

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


def _told_by_thing_alone(kind: Kind, fact: str) -> dict[str, Field] | None:
    """The fields that tell a fact, by path with rows as `[]`; None where it hangs on what the entry says."""
    found: dict[str, Field] = {}
    for name, field in kind.fields.items():
        for path, one in [(name, field), *((f"{name}[].{inner}", row) for inner, row in field.fields.items())]:
            told = [line for line in one.facts if line.name == fact]
            if any(isinstance(line.when, str) or (line.when and set(line.when) != {"thing"}) for line in told):
                return None
            if told:
                found[path] = one
    return found


def by_time(entry: Entry) -> tuple[int, int, int, int]:
    """Return the key by which entries stand in the order of their times."""
    return entry.start, entry.end, entry.line, entry.seq
