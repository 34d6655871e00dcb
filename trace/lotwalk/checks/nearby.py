"""The book as the checks read it, as far as it bears on a few entries: what a check finds of those, it finds here."""

from collections.abc import Collection, Iterable, Mapping
from functools import cached_property
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from lotwalk.checks.records import Records, by_time
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.entry import Entry
from lotwalk.ledger.model import ThingRow
from lotwalk.ledger.read.entries import Contact, contacts_at, entries_at
from lotwalk.ledger.read.nearby import nearby, versions_in_force
from lotwalk.ledger.read.things import counted_of, find_things, things_used
from lotwalk.ledger.read.uses import makers_at
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role
from lotwalk.values.units import Units

_TELLING = ("held", "released", "excluded", "fit", "gone", "back", "tested")
"""The facts that a kind of record tells of a thing for good, or until another takes them back."""
_WEIGHED = (Role.TOOK, Role.MADE, Role.HANDLED)


class Nearby(Records):
    """Records of the entries that bear on some, by the numbers of their first versions.

    `own` are those entries. A history is read from a little before them on, so what a check says of other entries may
    be wrong here.
    """

    def __init__(
        self,
        connection: Connection,
        kinds: Kinds,
        rules: RuleSet,
        units: Units,
        place: ZoneInfo,
        now: int,
        numbers: Collection[int],
    ) -> None:
        super().__init__(connection, kinds, rules, units, place, now)
        seqs = versions_in_force(connection, numbers)
        self.own = sorted(entries_at(connection, kinds, seqs), key=by_time)
        people = {code for entry in self.own for code in entry.by}
        self._seqs = seqs
        self._kept = {name for fact in _TELLING for name in kinds.telling(fact)}
        more = nearby(connection, seqs, people, self._kept) - seqs
        self._entries = sorted([*self.own, *entries_at(connection, kinds, more)], key=by_time)
        self._made: dict[int, Entry] = {}
        self._asked: set[int] = set()

    @cached_property
    def all(self) -> list[Entry]:
        """The entries, by time."""
        return self._entries

    @property
    def followed(self) -> list[Entry]:
        """Return the records' own entries, by time."""
        return self.own

    def of_kinds(self, names: Iterable[str]) -> list[Entry]:
        """Return those of these kinds of record, by time."""
        wanted = set(names)
        # What others of them say of lots and items is not asked for, and costs time to read.
        return [
            one for one in self._entries if one.kind in wanted and (one.kind in self._kept or one.seq in self._seqs)
        ]

    @cached_property
    def things(self) -> Mapping[str, ThingRow]:
        """The things that these entries name, by their folded codes."""
        people = find_things(self.connection, {code for entry in self.own for code in entry.by})
        used = things_used(self.connection, [entry.seq for entry in self._entries])
        return {**people, **{fold(thing.code): thing for thing in used}}

    def thing(self, code: str) -> ThingRow | None:
        """Return the thing of this code, or None."""
        return self.things.get(fold(code)) or find_things(self.connection, [code]).get(fold(code))

    def maker(self, code: str) -> Entry | None:
        """Return the entry in force that made or registered a thing, or None."""
        thing = self.thing(code)
        if thing is None:
            return None
        if thing.id not in self._asked:
            # Asked for all at once the first time, since a sheet names hundreds.
            keys = {one.id for one in self.things.values()} if not self._asked else set()
            keys.add(thing.id)
            made = makers_at(self.connection, keys)
            entries = {one.seq: one for one in entries_at(self.connection, self.kinds, set(made.values()))}
            self._made.update((key, entries[seq]) for key, seq in made.items() if seq in entries)
            self._asked |= keys
        return self._made.get(thing.id)

    def contacts(self) -> list[Contact]:
        """Return the uses of items in contact."""
        return contacts_at(self.connection, [entry.seq for entry in self._entries])

    def weighed(self) -> list[str]:
        """Return the codes of the lots with an amount of their own that `own` made, took of, or worked on in place."""
        codes = {use.code for entry in self.own for use in entry.version.uses if use.role in _WEIGHED}
        things = [thing for code in codes if (thing := self.things.get(fold(code)))]
        counted = counted_of(self.connection, {thing.id for thing in things})
        return [thing.code for thing in things if thing.id in counted]
