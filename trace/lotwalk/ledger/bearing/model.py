"""What an entry says of what lots stand on, taken from its uses alone: the same for a stored one and for a new one."""

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Kind
from lotwalk.kinds.roles import facts
from lotwalk.ledger.bearing.facts import BEARS, CARRIES, CONTAINS, FILLED, ON
from lotwalk.ledger.model import Pending, ThingRow
from lotwalk.ledger.write.names import Names
from lotwalk.values.order import surely_before
from lotwalk.values.roles import Role

_WORKED_ON = (Role.TENDED, Role.HANDLED)


class Moment(NamedTuple):
    """When something happened: the first and last second, and the line of an attested sheet (`group`, or 0)."""

    start: int
    end: int
    group: int
    line: int

    def surely_before(self, other: "Moment") -> bool:
        """Return whether this surely came before the other."""
        return surely_before(self, other)


AT_LAST = Moment(1 << 62, 1 << 62, 0, 0)
"""After all that was ever written down."""


class Said(NamedTuple):
    """What an entry says of what stands on what. `uses` are (role, code, path of the field)."""

    kind: str
    at: Moment
    fields: Mapping[str, Any]
    uses: tuple[tuple[Role | None, str, str], ...]

    def touched(self) -> Iterator[tuple[str, str]]:
        """Yield each item that it touches, as (code, path of the field)."""
        return ((code, path) for role, code, path in self.uses if role is Role.TOUCHED)


class Bearer(NamedTuple):
    """An item that bears a lot, since when, and by which fact; that is empty where the kind of record tells neither.

    `before` are the items, by their database keys, that were cut up or got a new tag to become this one.
    """

    item: ThingRow
    since: Moment
    fact: str
    before: tuple[int, ...] = ()


def moment_of(pending: Pending) -> Moment:
    """Return when an entry on its way in happened."""
    return Moment(pending.checked.at.start, pending.checked.at.end, pending.group, pending.line)


def said(pending: Pending) -> Said:
    """Return what an entry on its way in says."""
    uses = tuple((use.role, use.thing.code, use.field) for use in pending.uses)
    return Said(pending.checked.kind.name, moment_of(pending), pending.checked.values, uses)


def stored_said(record: Mapping[str, Any], group: int) -> Said:
    """Return what a stored entry says, from its hashed text; `group` is its attested sheet, or 0."""
    line = record["sheet"]["line"] if "sheet" in record else 0
    uses = tuple((Role.named(use["role"]), use["code"], use["field"]) for use in record["uses"])
    return Said(record["kind"], Moment(record["from"], record["to"], group, line), record["fields"], uses)


def bearers(made: Said, kinds: Kinds, names: Names) -> list[Bearer]:
    """Return the items on and in which stands what an entry made.

    What it touched because something that it took stood there bears nothing of what it made. A grower's own kind may
    say of none of its fields which items bear: then all that they name do.
    """
    says = any(made.kind in kinds.telling(fact) for fact in (BEARS, CONTAINS))
    return [
        Bearer(item, made.at, next((one for one in (BEARS, CONTAINS) if one in told), ""))
        for item, told in _told(made, kinds, names)
        if not says or BEARS in told or CONTAINS in told
    ]


def carried(entry: Said, kinds: Kinds, names: Names) -> list[tuple[ThingRow, list[Bearer]]]:
    """Return the lots that an entry tends or handles, each with what it stands on or in from then on.

    Where an entry is about several, it is not said which of them stands on what it names; but it says what all were
    put into.
    """
    lots = {
        lot.id: lot
        for role, code, path in entry.uses
        if role in _WORKED_ON and not path.startswith(ON) and (lot := names.find(code))
    }
    told = list(_told(entry, kinds, names)) if lots else []
    later = [Bearer(item, entry.at, CONTAINS) for item, facts_of in told if FILLED in facts_of]
    if len(lots) == 1:
        later += [Bearer(item, entry.at, BEARS) for item, facts_of in told if CARRIES in facts_of]
    return [(lot, later) for lot in lots.values()] if later else []


def _told(entry: Said, kinds: Kinds, names: Names) -> Iterator[tuple[ThingRow, list[str]]]:
    """Each item that an entry touches by a field that names it, and what is told of it there."""
    kind = kinds[entry.kind]
    for code, path in entry.touched():
        field, item = kind.field_at(path), names.find(code)
        if field and item and not follows(kind, path, item, kinds):
            yield item, facts(field, entry.fields, (item.kind, item.cls))


def follows(kind: Kind, path: str, thing: ThingRow, kinds: Kinds) -> bool:
    """Return whether the use of a thing follows from what stands on what, since the field can name no such thing."""
    field = kind.field_at(path)
    if field is None or not field.things or field.makes:
        return False
    return not kinds.thing_matches(thing.kind, field.things)
