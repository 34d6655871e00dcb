"""What a book knows of one thing."""

from dataclasses import dataclass

from sqlalchemy import Connection

from lotwalk.checks.subjects.water.levels import WaterLevel
from lotwalk.ledger.model import ThingRow, Version
from lotwalk.ledger.read.things import is_void
from lotwalk.ledger.read.uses import Mentioned, makers, mentions, past_makers
from lotwalk.ledger.read.versions import all_versions
from lotwalk.recall.asking.asked import ReadAs
from lotwalk.recall.asking.sought import Sought
from lotwalk.values.roles import Role


@dataclass(frozen=True, slots=True)
class Known:
    """A thing, with the entry that made or registered it (None: none in force does) and every one that names it.

    `mentions` are the entries in force by time, each once a role. Where it is `void`, `voided` are the newest versions
    of the entries that made it once. `level` is what the tests of a water source come to, `read_as` tells which words
    were read as its code, where it was not asked for by that.
    """

    thing: ThingRow
    read_as: ReadAs | None
    void: bool
    voided: tuple[Version, ...]
    record: Version | None
    mentions: tuple[Mentioned, ...]
    level: WaterLevel | None


def known_of(connection: Connection, named: Sought, level: WaterLevel | None) -> Known:
    """Return what the book knows of a thing. `level` is what its tests come to, where it is a water source."""
    thing = named.thing
    void = is_void(connection, thing)
    past = all_versions(connection, past_makers(connection, thing)).values() if void else ()
    # What fails beside what passes stands twice in the ledger; a person reads one entry.
    once: dict[tuple[str, Role], Mentioned] = {}
    for one in mentions(connection, thing):
        once.setdefault((one.version.name, one.role), one)
    return Known(
        thing=thing,
        read_as=named.read_as,
        void=void,
        voided=tuple(found[-1] for found in past if found[-1].void),
        record=makers(connection, [thing.id]).get(thing.id),
        mentions=tuple(once.values()),
        level=level,
    )
