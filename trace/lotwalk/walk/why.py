"""One path of a walk, as short as its level allows: how a thing came to be reached, entry by entry."""

import heapq
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import IN_PLACE, IN_PLACE_RANK, Touch, step


@dataclass(frozen=True, slots=True)
class Hop:
    """One entry on a path: the use through which the path came into it, and the one through which it went on."""

    came: Touch
    went: Touch


def path(frontier: Frontier, thing: int, starts: set[int] | None = None) -> list[Hop]:
    """Return the hops from a start to a reached thing, in the direction of the walk; empty when it was not reached.

    Of all paths one of the lowest level is taken, and of those one with the fewest entries. `starts` are the things
    (database keys) that the path may start from; all that the walk started from if nothing is said.
    """
    leaving: dict[int, list[Touch]] = defaultdict(list)
    for touch in frontier.left:
        leaving[touch.node].append(touch)
    left: dict[int, set[Touch]] = defaultdict(set)
    for touch in frontier.came:
        left[touch.thing].add(touch)
    came: dict[int, tuple[Touch, Touch | None]] = {}
    queue: list[tuple[int, int, int, Touch, Touch | None]] = []
    for key in [key for key in frontier.started if starts is None or abs(key) in starts]:
        for touch in frontier.started.get(key, ()):
            heapq.heappush(queue, (step(0, frontier.things[key], touch.role), 0, touch.node, touch, None))
    best: tuple[int, int, Touch] | None = None
    while queue:
        rank, hops, node, touch, before = heapq.heappop(queue)
        left.get(touch.thing, set()).discard(touch)
        if node in came:
            continue
        came[node] = (touch, before)
        for out in leaving[node]:
            at_thing = step(rank, frontier.things[out.thing], out.role)
            if abs(out.thing) == thing and (best is None or (at_thing, hops) < best[:2]):
                best = (at_thing, hops, out)
            for other in list(_following(left, out)):
                next_level = max(at_thing, IN_PLACE_RANK) if other.role in IN_PLACE else at_thing
                heapq.heappush(queue, (next_level, hops + 1, other.node, other, out))
    return _back(came, best[2]) if best else []


def _following(left: dict[int, set[Touch]], out: Touch) -> Iterator[Touch]:
    """The uses of the same thing to which the walk goes on from one through which it leaves."""
    for other in left.get(out.thing, ()):
        if other.node != out.node and out.leads_to(other):
            yield other


def _back(came: dict[int, tuple[Touch, Touch | None]], last: Touch) -> list[Hop]:
    hops: list[Hop] = []
    went: Touch | None = last
    while went is not None:
        touch, before = came[went.node]
        hops.append(Hop(touch, went))
        went = before
    return hops[::-1]
