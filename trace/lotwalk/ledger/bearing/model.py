"""What an entry says of what lots stand on, taken from its uses alone: the same for a stored one and for a new one."""

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Kind
from lotwalk.kinds.roles import facts
from lotwalk.ledger.model import Pending, ThingRow
from lotwalk.ledger.names import Names
from lotwalk.values.order import surely_before
from lotwalk.values.roles import Role

BEARS, CONTAINS = "bears", "contains"
"""The facts of an item that what the entry makes stands on it, until that is finished; or in it, until it is emptied
too."""


class Moment(NamedTuple):
    """When something happened: the first and last second, and the line of an attested sheet (`group`, or 0)."""

    start: int
    end: int
    group: int
    line: int

    def surely_before(self, other: "Moment") -> bool:
        """Return whether this surely came before the other."""
        return surely_before(self, other)


class Made(NamedTuple):
    """What a maker used, as far as it matters here: (code, path of the field) of each item touched, and its fields."""

    kind: str
    at: Moment
    touched: tuple[tuple[str, str], ...]
    fields: Mapping[str, Any]


class Bearer(NamedTuple):
    """An item that bears a lot, since when, and by which fact; that is empty where the kind of record tells neither."""

    item: ThingRow
    since: Moment
    fact: str


def moment_of(pending: Pending) -> Moment:
    """Return when an entry on its way in happened."""
    return Moment(pending.checked.at.start, pending.checked.at.end, pending.group, pending.line)


def bearers(made: Made, kinds: Kinds, names: Names) -> list[Bearer]:
    """Return the items on and in which stands what an entry made.

    What it touched because something that it took stood there bears nothing of what it made. A grower's own kind may
    say of none of its fields which items bear: then all that they name do.
    """
    kind = kinds[made.kind]
    says = any(kind.name in kinds.telling(fact) for fact in (BEARS, CONTAINS))
    found = []
    for code, path in made.touched:
        field, item = kind.field_at(path), names.find(code)
        if field is None or item is None or follows(kind, path, item, kinds):
            continue
        told = facts(field, made.fields, (item.kind, item.cls)) if says else ()
        fact = next((one for one in (BEARS, CONTAINS) if one in told), "")
        if fact or not says:
            found.append(Bearer(item, made.at, fact))
    return found


def follows(kind: Kind, path: str, thing: ThingRow, kinds: Kinds) -> bool:
    """Return whether the use of a thing follows from what stands on what, since the field can name no such thing."""
    field = kind.field_at(path)
    return field is not None and bool(field.things) and not kinds.thing_matches(thing.kind, field.things)


def touched(uses: Iterable[tuple[Role | None, str, str]]) -> tuple[tuple[str, str], ...]:
    """Return the code and path of what is touched among uses, given as (role, code, path)."""
    return tuple((code, path) for role, code, path in uses if role is Role.TOUCHED)
