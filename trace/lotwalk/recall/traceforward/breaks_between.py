"""What a path through an item rests on: what stood on it, and why no cleaning between two entries cuts the path."""

from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import Connection

from lotwalk.kinds.library import Kinds
from lotwalk.ledger.bearing.told import Came, came_onto
from lotwalk.ledger.model import Version
from lotwalk.ledger.read.breaks import judged_of
from lotwalk.ledger.read.things import find_thing
from lotwalk.values.roles import Role
from lotwalk.walk.model import Doubt, Thing


@dataclass(frozen=True, slots=True)
class Attempt:
    """A cleaning or a water test that could have cut a path and did not.

    `cleared`: it counts, but nothing says that it came between; or it is not `believed`.
    """

    version: Version
    cleared: bool
    believed: bool


def attempts(
    connection: Connection, thing: Thing, start: int, end: int, besides: Collection[int], doubt: Doubt
) -> tuple[Attempt, ...]:
    """Return the judged entries in force that concern a thing in a time (first and last second), by time.

    `besides` are versions (seq) that are left out: those between which the path runs.
    """
    found = []
    for version in judged_of(connection, thing.id, start, end):
        cleared = thing.code in version.judged.passed
        if (cleared or thing.code in version.judged.failed) and version.seq not in besides:
            found.append(Attempt(version, cleared, not doubt.of(version.seq)))
    return tuple(sorted(found, key=lambda one: (one.version.start, one.version.number)))


def stood_on(connection: Connection, kinds: Kinds, item: str, version: Version) -> tuple[Came, ...]:
    """Return the lots of an entry that had come to stand on an item before, each once, by their codes."""
    thing = find_thing(connection, item)
    lots = {use.code for use in version.uses if use.role in (Role.TOOK, Role.HANDLED, Role.TENDED)}
    came = came_onto(connection, kinds, thing) if thing and lots else []
    before = {one.lot: one for one in came if one.lot in lots and one.by.number != version.number}
    return tuple(before[lot] for lot in sorted(before))
