"""What a path through an item rests on: what stood on it, and why no cleaning between two entries cuts the path."""

from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import Connection

from lotwalk.kinds.library import Kinds
from lotwalk.kinds.roles import facts
from lotwalk.ledger.entry import content_of
from lotwalk.ledger.model import Version
from lotwalk.ledger.read.breaks import judged_of
from lotwalk.ledger.read.things import find_thing
from lotwalk.ledger.read.uses import makers
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role
from lotwalk.walk.model import Doubt, Thing

_BEARS = "bears"


@dataclass(frozen=True, slots=True)
class Attempt:
    """A cleaning or a water test that could have cut a path and did not.

    `cleared`: it counts, but nothing says that it came between; or it is not `believed`.
    """

    version: Version
    cleared: bool
    believed: bool


@dataclass(frozen=True, slots=True)
class Stood:
    """A lot that stood on an item, since the entry that made it."""

    lot: str
    since: Version


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


def stood_on(connection: Connection, kinds: Kinds, item: str, version: Version) -> tuple[Stood, ...]:
    """Return the lots of an entry that stood on an item from their making on."""
    lots = [use.code for use in version.uses if use.role in (Role.TOOK, Role.HANDLED, Role.TENDED)]
    keys = {thing.id: thing.code for lot in dict.fromkeys(lots) if (thing := find_thing(connection, lot))}
    return tuple(
        Stood(keys[key], maker)
        for key, maker in sorted(makers(connection, list(keys)).items(), key=lambda pair: keys[pair[0]])
        if maker.number != version.number and _bears(connection, kinds, maker, item)
    )


def _bears(connection: Connection, kinds: Kinds, maker: Version, item: str) -> bool:
    if not any(fold(use.code) == fold(item) for use in maker.uses):
        return False
    thing = find_thing(connection, item)
    kind = (thing.kind, thing.cls) if thing else None
    return any(
        _BEARS in facts(mention.field, mention.scope, kind)
        for mention in content_of(maker, kinds).mentions
        if any(fold(code) == fold(item) for code in mention.codes)
    )
