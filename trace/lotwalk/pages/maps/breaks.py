"""The clean breaks at which a walk stopped."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from operator import itemgetter

from sqlalchemy import Connection

from lotwalk.ledger.names import select_listed
from lotwalk.pages.maps.stops import Stop
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import EVER


@dataclass(frozen=True, slots=True)
class Bar:
    """An entry that cleared a thing: the number people name it by, its kind, its first and last second."""

    entry: int
    kind: str
    start: int
    end: int


def bars_of(connection: Connection, frontier: Frontier, stops: Sequence[Stop]) -> Iterator[tuple[int, Bar]]:
    """Yield the place of each stop that the walk went no further through, with the clean break that stopped it.

    Walking forward it is the one at the end of the stop's stretch, walking back the one at its start.
    """
    stretches = {number: stop.stretch for number, stop in enumerate(stops) if stop.stretch}
    things = {stops[number].thing.id for number, (low, high) in stretches.items() if low > -EVER or high < EVER}
    sql = (
        "SELECT u.thing, u.node, u.at_from, u.at_to, e.first, e.kind FROM {listed} JOIN use u ON u.thing = j.value"
        " AND u.role >= 7 AND u.role <= 8 JOIN entry e ON e.seq = (u.node >> 1)"
        " WHERE NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.seq)"
    )
    ends: dict[tuple[int, int], tuple[int, Bar]] = {}
    for thing, node, start, end, first, kind in select_listed(connection, sql, sorted(things), "bigint"):
        if not frontier.doubt.of(node >> 1):
            key, found = (thing, end if frontier.forward else start), (node, Bar(first, kind, start, end))
            ends[key] = min(ends.get(key, found), found, key=itemgetter(0))
    for number, (low, high) in stretches.items():
        bar = ends.get((stops[number].thing.id, high if frontier.forward else low))
        if bar:
            yield number, bar[1]
