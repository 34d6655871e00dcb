"""What a scope would be if something were documented that is not: clean breaks supposed where the book has none."""

from collections import defaultdict, deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from lotwalk.recall.asking.asked import DELIVERY
from lotwalk.store.nodes import seq_of
from lotwalk.values.roles import Role
from lotwalk.values.times import DAY
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import Touch

_SHORT = 3_600
"""Seconds. A cleaning written to the hour or better orders itself among the day's uses."""


@dataclass(frozen=True, slots=True)
class Supposition:
    """A clean break that papers might show.

    `what` is `passed` (a cleaning that did not count), `hour` (one whose hour is not written) or `daily` (none is on
    record). `entry` is its entry's version, 0 where there is none.
    """

    what: str
    entry: int
    things: tuple[int, ...]
    cuts: Mapping[int, Sequence[Touch]]


@dataclass(frozen=True, slots=True)
class Narrowing:
    """A supposition, and how many deliveries would leave the scope if it held."""

    supposition: Supposition
    out: int


def narrowings(frontier: Frontier, failed: Iterable[int], breaks: Iterable[Touch], most: int = 10) -> list[Narrowing]:
    """Return what would take most deliveries out of the scope of a walk forward, the best first.

    `failed` are versions of entries that were judged and cleared nothing, or not all; `breaks` the clean breaks of the
    items in scope.
    """
    scope = _Scope(frontier)
    whole = scope.deliveries({})
    found = []
    for supposition in (*_passed(frontier, set(failed)), *_hours(breaks), *_daily(frontier)):
        out = len(whole) - len(scope.deliveries(supposition.cuts))
        if out:
            found.append(Narrowing(supposition, out))
    found.sort(key=lambda one: (-one.out, len(one.supposition.things), one.supposition.entry))
    return found[:most]


def _passed(frontier: Frontier, failed: set[int]) -> Iterable[Supposition]:
    """The cleanings in scope that did not count, each as if it had."""
    cuts: dict[int, dict[int, list[Touch]]] = defaultdict(lambda: defaultdict(list))
    for touch in frontier.left:
        if touch.role == Role.TOUCHED and seq_of(touch.node) in failed and frontier.things[touch.thing].cls == "item":
            cuts[seq_of(touch.node)][touch.thing].append(touch)
    return [Supposition("passed", seq, tuple(things), things) for seq, things in cuts.items()]


def _hours(breaks: Iterable[Touch]) -> Iterable[Supposition]:
    """The clean breaks without an hour, each as if it had stood after all else of its time."""
    cuts: dict[int, dict[int, list[Touch]]] = defaultdict(lambda: defaultdict(list))
    for touch in breaks:
        if touch.end - touch.start > _SHORT and touch.role == Role.CLEARED:
            cuts[seq_of(touch.node)][touch.thing].append(touch._replace(start=touch.end, group=0))
    return [Supposition("hour", seq, tuple(things), things) for seq, things in cuts.items()]


def _daily(frontier: Frontier) -> Iterable[Supposition]:
    """Each item in scope, as if it had been cleaned at the end of every day of use."""
    days_of: dict[int, set[int]] = defaultdict(set)
    for touch in frontier.left:
        if frontier.things[touch.thing].cls == "item":
            days_of[touch.thing].add(touch.end // DAY)
    for thing, days in days_of.items():
        if len(days) > 1:
            ends = [Touch(0, Role.CLEARED, thing, day * DAY + DAY - 1, day * DAY + DAY - 1, 0, 0) for day in days]
            yield Supposition("daily", 0, (thing,), {thing: ends})


class _Scope:
    """The walk's relation in memory, searched again under a supposition."""

    def __init__(self, frontier: Frontier) -> None:
        self.frontier = frontier
        self.leaving: dict[int, list[Touch]] = defaultdict(list)
        for touch in frontier.left:
            self.leaving[touch.node].append(touch)
        self.by_end: dict[int, list[Touch]] = defaultdict(list)
        for touch in sorted(set(frontier.came), key=lambda touch: touch.end):
            self.by_end[touch.thing].append(touch)

    def deliveries(self, cuts: Mapping[int, Sequence[Touch]]) -> set[int]:
        """Return the deliveries reached when the items in `cuts` were cleared so."""
        cleared = {(touch.node, thing) for thing, touches in cuts.items() for touch in touches if touch.node}
        seen: set[int] = set()
        found: set[int] = set()
        queue: deque[int] = deque()
        for thing, started in self.frontier.started.items():
            queue.extend(touch.node for touch in started if (touch.node, thing) not in cleared)
        while queue:
            node = queue.popleft()
            if node in seen:
                continue
            seen.add(node)
            for out in self.leaving[node]:
                if self.frontier.things[out.thing].kind == DELIVERY:
                    found.add(out.thing)
                queue.extend(self._following(out, cuts.get(out.thing, ()), cleared, seen))
        return found

    def _following(
        self, out: Touch, cuts: Sequence[Touch], cleared: set[tuple[int, int]], seen: set[int]
    ) -> Iterable[int]:
        if cuts:
            # The item's own supposed break is nearer than any on record where it comes surely after this use.
            out = out._replace(bound=min([out.bound, *(cut.end for cut in cuts if out.surely_before(cut))]))
        for other in self.by_end.get(out.thing, ()):
            if other.node in seen or other.node == out.node or (other.node, other.thing) in cleared:
                continue
            if out.leads_to(other) and not any(out.surely_before(cut) and cut.surely_before(other) for cut in cuts):
                yield other.node
