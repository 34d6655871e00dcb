"""On and in what lots stand, within one transaction: by the ledger's entries in force, and by those of the batch."""

import json
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache

from sqlalchemy import Connection

from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Condition, Field
from lotwalk.ledger.bearing.facts import BECOMES, CARRIES, CONTAINS, FILLED, VACATED
from lotwalk.ledger.bearing.model import Bearer, Moment, carried, moment_of, said, stored_said
from lotwalk.ledger.model import Pending, ThingRow, UseRow
from lotwalk.ledger.read.bearing import contacts_within, renamed, worked_on_with
from lotwalk.ledger.write.names import Names
from lotwalk.ledger.write.standing import Standing
from lotwalk.values.roles import Role


class Ground:
    """Answers what a lot stands on. `amended` are the versions that the batch replaces."""

    def __init__(
        self, connection: Connection, kinds: Kinds, names: Names, standing: Standing, amended: Collection[int]
    ) -> None:
        self.connection = connection
        self.kinds = kinds
        self.names = names
        self.standing = standing
        self.amended = amended
        self._carried: dict[int, list[Bearer]] = defaultdict(list)
        self._carried_now: dict[int, list[Bearer]] = defaultdict(list)
        self._emptied_now: dict[int, list[Moment]] = defaultdict(list)
        self._became_now: list[tuple[int, ThingRow, Moment]] = []
        self._became: dict[int, list[tuple[ThingRow, Moment]]] | None = None
        self._was: dict[int, list[int]] = {}
        self._read: set[int] = set()

    def see(self, pendings: Iterable[Pending]) -> None:
        """Take note of what the entries of the batch say."""
        emptying, becoming = (set(self.kinds.telling(fact)) for fact in (VACATED, BECOMES))
        carrying = {*self.kinds.telling(CARRIES), *self.kinds.telling(FILLED)}
        for pending in pendings:
            name = pending.checked.kind.name
            if name in emptying:
                for use in pending.uses:
                    if in_contact(use):
                        self._emptied_now[use.thing.id].append(moment_of(pending))
            for lot, later in carried(said(pending), self.kinds, self.names) if name in carrying else ():
                self._carried_now[lot.id] += later
            if name in becoming:
                self._became_now += became(pending)
                self._became = None

    def fetch(self, lots: Collection[ThingRow]) -> None:
        """Read what the ledger says of what many lots stand on."""
        asked = [lot for lot in lots if lot.id not in self._read]
        if not asked:
            return
        self.standing.fetch(asked)
        self._read.update(lot.id for lot in asked)
        carrying = {*self.kinds.telling(CARRIES), *self.kinds.telling(FILLED)}
        fresh = {lot.id for lot in asked if lot.id not in self.names.new}
        if not fresh or not carrying:
            return
        later = (CARRIES, FILLED)
        items = tuple(kind for kind in self.kinds.things if any(tells_of(self.kinds, kind, fact) for fact in later))
        for seq, record, group in worked_on_with(self.connection, fresh, carrying, items):
            if seq not in self.amended:
                for lot, bearers in carried(stored_said(json.loads(record), group), self.kinds, self.names):
                    if lot.id in fresh:
                        self._carried[lot.id] += bearers

    def under(self, lot: ThingRow, at: Moment) -> list[Bearer]:
        """Return what a lot stands on and in when something happens, whether or not it was emptied by then."""
        self.fetch([lot])
        later = (*self._carried[lot.id], *self._carried_now[lot.id])
        found = [*self.standing.under(lot), *(one for one in later if not at.surely_before(one.since))]
        known = {one.item.id for one in found}
        for bearer in found:
            for item, when in self._became_of(bearer.item.id):
                if item.id not in known and not when.surely_before(bearer.since) and not at.surely_before(when):
                    known.add(item.id)
                    found.append(bearer._replace(item=item, before=(*bearer.before, bearer.item.id)))
        return found

    def emptied(self, wanted: Sequence[tuple[Bearer, Moment]]) -> dict[int, list[Moment]]:
        """Return when the items in which lots stood were emptied until some moment each, by their database keys."""
        held = [(bearer, at) for bearer, at in wanted if bearer.fact == CONTAINS]
        found: dict[int, list[Moment]] = defaultdict(list)
        spans: set[tuple[int, int, int]] = set()
        for bearer, at in held:
            for item in (bearer.item.id, *bearer.before):
                found[item] = list(self._emptied_now.get(item, ()))
                if item not in self.names.new:
                    spans.add((item, bearer.since.start, at.end))
        for use in contacts_within(self.connection, sorted(spans), self.kinds.telling(VACATED)):
            if use.seq not in self.amended:
                found[use.thing].append(Moment(use.start, use.end, use.group, use.line))
        return found

    def successors(self, items: Iterable[int]) -> Iterator[tuple[int, ThingRow]]:
        """Yield what items (database keys) became, at first or at last, each with the one that it was."""
        for item in items:
            seen, left = {item}, [item]
            while left:
                for after, _ in self._became_of(left.pop()):
                    if after.id not in seen:
                        seen.add(after.id)
                        left.append(after.id)
                        yield item, after

    def _became_of(self, item: int) -> Sequence[tuple[ThingRow, Moment]]:
        if self._became is None:
            self._became = defaultdict(list)
            for one in renamed(self.connection, self.kinds.telling(BECOMES)):
                if one.seq not in self.amended:
                    when = Moment(one.start, one.end, one.group, one.line)
                    self._became[one.before].append((one.after, when))
            for before, after, when in self._became_now:
                self._became[before].append((after, when))
            self._was = defaultdict(list)
            for before, after in self.successors(list(self._became)):
                self._was[after.id].append(before)
        return self._became.get(item, ())

    def predecessors(self, item: int) -> Sequence[int]:
        """Return what became an item (database key), at first or at last: whatever stood on that stands on it."""
        self._became_of(item)
        return self._was.get(item, ())

    def emptied_now(self, item: int) -> Sequence[Moment]:
        """Return when the batch empties an item (database key)."""
        return self._emptied_now.get(item, ())


@lru_cache(maxsize=1_000)
def tells_of(kinds: Kinds, thing_kind: str, fact: str) -> bool:
    """Return whether a fact can be told of such a thing by some field of some kind of record."""

    def holds(when: Condition) -> bool:
        wanted = when.get("thing") if isinstance(when, Mapping) else None
        return wanted is None or kinds.thing_matches(
            thing_kind, [one for one in (wanted if isinstance(wanted, list) else [wanted]) if one]
        )

    def in_fields(fields: Iterable[Field]) -> bool:
        return any(
            (
                kinds.thing_matches(thing_kind, field.things)
                and any(one.name == fact and holds(one.when) for one in field.facts)
            )
            or in_fields(field.fields.values())
            for field in fields
        )

    return any(in_fields(kinds[name].fields.values()) for name in kinds.telling(fact))


def in_contact(use: UseRow) -> bool:
    """Return whether a use is of an item in contact; what waits for its verdict is so either way."""
    return use.role in (None, Role.TOUCHED, Role.CLEARED) and use.thing.cls == "item"


def became(pending: Pending) -> Iterator[tuple[int, ThingRow, Moment]]:
    """Yield each item (database key) of an entry with what it became, and when."""
    after = [use.thing for use in pending.uses if use.role is Role.NAMES]
    keys = {thing.id for thing in after}
    for use in pending.uses:
        if use.role is Role.TOUCHED and use.thing.id not in keys:
            yield from ((use.thing.id, thing, moment_of(pending)) for thing in after)
