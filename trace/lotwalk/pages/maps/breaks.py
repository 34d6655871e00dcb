"""The clean breaks at which a walk stopped."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from operator import itemgetter

from sqlalchemy import Connection

from lotwalk.ledger.read.breaks import breaks_of
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
    ends: dict[tuple[int, int], tuple[int, Bar]] = {}
    for one in breaks_of(connection, things):
        if not frontier.doubt.of(one.seq):
            bar = Bar(one.number, one.kind, one.start, one.end)
            key, found = (one.thing, one.end if frontier.forward else one.start), (one.node, bar)
            ends[key] = min(ends.get(key, found), found, key=itemgetter(0))
    for number, (low, high) in stretches.items():
        stopped = ends.get((stops[number].thing.id, high if frontier.forward else low))
        if stopped:
            yield number, stopped[1]
