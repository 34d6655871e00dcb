"""What stood on an item, for whoever tells of it: under whichever code the item had then."""

from typing import NamedTuple

from sqlalchemy import Connection

from lotwalk.kinds.library import Kinds
from lotwalk.ledger.bearing.facts import BEARS, CARRIES, FILLED
from lotwalk.ledger.bearing.ground import Ground
from lotwalk.ledger.bearing.model import Moment, Said, bearers, carried
from lotwalk.ledger.model import ThingRow, Version
from lotwalk.ledger.read.uses import versions_using
from lotwalk.ledger.write.names import Names
from lotwalk.ledger.write.standing import Standing
from lotwalk.values.roles import Role


class Came(NamedTuple):
    """A lot that came to stand on an item, and the entry in force by which it did."""

    lot: str
    by: Version


def came_onto(connection: Connection, kinds: Kinds, item: ThingRow) -> list[Came]:
    """Return each lot that came to stand on an item, by time; whether it still does is not said.

    What stood on a mat that was cut up or got a new tag stands on what became of it.
    """
    names = Names(connection, kinds)
    ground = Ground(connection, kinds, names, Standing(connection, names, kinds), ())
    keys = {item.id, *ground.predecessors(item.id)}
    telling = [name for fact in (BEARS, CARRIES, FILLED) for name in kinds.telling(fact)]
    versions = {version.seq: version for _, _, version in versions_using(connection, keys, [Role.TOUCHED], telling)}
    found: list[Came] = []
    for version in versions.values():
        uses = tuple((use.role, use.code, use.field) for use in version.uses)
        entry = Said(version.kind, Moment(version.start, version.end, 0, version.line), version.fields, uses)
        lots = version.codes(Role.MADE)
        if lots and any(one.item.id in keys and one.fact == BEARS for one in bearers(entry, kinds, names)):
            found += [Came(lot, version) for lot in lots]
        for lot, under in carried(entry, kinds, names):
            if any(one.item.id in keys for one in under):
                found.append(Came(lot.code, version))
    return found
