"""Who was to be kept away from the food, and when: from an exclusion to the first return that surely follows it."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

from sqlalchemy import Connection

from lotwalk.kinds.library import Kinds
from lotwalk.kinds.roles import facts
from lotwalk.ledger.entry import Entry
from lotwalk.ledger.model import ThingRow
from lotwalk.ledger.read.entries import entries_of
from lotwalk.ledger.read.things import find_things
from lotwalk.values.codes import fold
from lotwalk.walk.model import EVER

EXCLUDED, FIT = "excluded", "fit"
"""What kinds of record tell of a person: kept away from now on, or back at work."""


@dataclass(frozen=True, slots=True)
class Absence:
    """A time in which a person was to be kept away. `back` is None while nobody is known to have come back."""

    person: ThingRow
    since: Entry
    back: Entry | None

    def window(self, before: int, after: int) -> tuple[int, int]:
        """Return the first and last second of the time, made longer at both ends (seconds); EVER where it is open."""
        return self.since.start - before, self.back.end + after if self.back else EVER


@dataclass(frozen=True, slots=True)
class Return:
    """An entry (its version, and the name by which people know it) that tells that a person is back."""

    seq: int
    name: str
    person: str


@dataclass(frozen=True, slots=True)
class Fitness:
    """Exclusions and returns in force, by the person (database key)."""

    people: Mapping[int, ThingRow]
    excluded: Mapping[int, list[Entry]]
    back: Mapping[int, list[Entry]]

    @classmethod
    def read(cls, connection: Connection, kinds: Kinds) -> "Fitness":
        """Return those of a ledger. They are few: one query finds them, and most farms have none."""
        told: dict[str, dict[int, list[Entry]]] = {EXCLUDED: defaultdict(list), FIT: defaultdict(list)}
        names = sorted({*kinds.telling(EXCLUDED), *kinds.telling(FIT)})
        entries = [entry for name in names for entry in entries_of(connection, kinds, name)]
        codes = {code for entry in entries for one in entry.content.mentions for code in one.codes}
        things = find_things(connection, codes) if codes else {}
        for entry in entries:
            for thing, fact in _facts(entry, things):
                told[fact][thing.id].append(entry)
        return cls({thing.id: thing for thing in things.values()}, told[EXCLUDED], told[FIT])

    def returned_between(self, seq: int, until: int) -> list[Return]:
        """Return the returns recorded after a version (`seq`) that may be of a time before another (epoch seconds)."""
        return [
            Return(entry.seq, entry.name, self.people[person].code)
            for person, entries in self.back.items()
            for entry in entries
            if entry.seq > seq and entry.start <= until
        ]

    def absences(self, disbelieved: Collection[int] = ()) -> list[Absence]:
        """Return the times in which people were to be kept away, by person and time.

        A return whose version is disbelieved ends none. Exclusions that end with one return are one absence.
        """
        found: list[Absence] = []
        for person, exclusions in sorted(self.excluded.items(), key=lambda one: fold(self.people[one[0]].code)):
            ends: dict[int, Absence] = {}
            for since in sorted(exclusions, key=lambda one: (one.start, one.end, one.seq)):
                after = [
                    one for one in self.back.get(person, ()) if one.seq not in disbelieved and since.surely_before(one)
                ]
                back = min(after, key=lambda one: (one.end, one.start, one.seq), default=None)
                ends.setdefault(back.seq if back else 0, Absence(self.people[person], since, back))
            found += ends.values()
        return found


def _facts(entry: Entry, things: Mapping[str, ThingRow]) -> Iterator[tuple[ThingRow, str]]:
    for mention in entry.content.mentions:
        for code in mention.codes:
            thing = things.get(fold(code))
            if thing is None or thing.cls != "person":
                continue
            for fact in facts(mention.field, mention.scope, (thing.kind, thing.cls)):
                if fact in (EXCLUDED, FIT):
                    yield thing, fact
