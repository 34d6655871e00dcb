"""The things of a walk as a map has them: a lot once, an item or a water source once a stretch between cleanings."""

from bisect import bisect_left, bisect_right
from collections import defaultdict, deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from lotwalk.values.roles import Role
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import EVER, LEVEL_OF, MADE, Thing, Touch

_INGREDIENTS = (Role.TOOK, Role.DREW)


@dataclass(slots=True)
class Stop:
    """A thing in a map. `start` and `end` are the first and last second of its uses here.

    `stretch` is the time between clean breaks in which the walk met an item or a water source (open ends as EVER), and
    None for a lot. `uses` are its nodes with its roles, by which alike things are told. `assumed`: nobody named it.
    """

    thing: Thing
    level: int
    stretch: tuple[int, int] | None
    start: int = EVER
    end: int = -EVER
    assumed: bool = False
    uses: set[tuple[int, int]] = field(default_factory=set)

    def meet(self, touch: Touch, leaving: bool) -> None:
        """Take in one use; only where the walk is `leaving` by it is it known whether it was assumed."""
        self.start, self.end = min(self.start, touch.start), max(self.end, touch.end)
        self.uses.add((touch.node, touch.role))
        if leaving and not touch.assumed:
            self.assumed = False


@dataclass(slots=True)
class Act:
    """An entry in a map: the stops it took from and those it gave to (places in the list), each with its role."""

    sources: dict[int, int] = field(default_factory=dict)
    sinks: dict[int, int] = field(default_factory=dict)

    def pairs(self) -> Iterator[tuple[int, int, bool]]:
        """Yield what is joined by a line: from, to, and whether something of the one went into the other.

        Where the entry made a lot, that lot stands for the entry: what was used meets in it, and not each with each.
        """
        made = [sink for sink, role in self.sinks.items() if role == MADE]
        for hub in made:
            for source, role in self.sources.items():
                if source != hub:
                    yield source, hub, role in _INGREDIENTS
        if made:
            for sink in self.sinks:
                if sink not in made:
                    yield made[0], sink, False
            return
        for source in self.sources:
            for sink in self.sinks:
                if source != sink:
                    yield source, sink, False


@dataclass(slots=True)
class Walked:
    """What a walk went through: the stops, and the acts by their node."""

    stops: list[Stop]
    acts: dict[int, Act]

    def depths(self, starts: Iterable[int], forward: bool) -> list[int]:
        """Return how many lines away from the starts each stop is: to the right walking forward, else to the left."""
        onward: dict[int, list[int]] = defaultdict(list)
        for act in self.acts.values():
            for source, sink, _ in act.pairs():
                onward[source if forward else sink].append(sink if forward else source)
        depths = dict.fromkeys(starts, 0)
        queue = deque(depths)
        while queue:
            one = queue.popleft()
            for other in onward[one]:
                if other not in depths:
                    depths[other] = depths[one] + 1
                    queue.append(other)
        farthest = max(depths.values(), default=0) + 1
        way = 1 if forward else -1
        return [way * depths.get(number, farthest) for number in range(len(self.stops))]


def stops_of(frontier: Frontier) -> Walked:
    """Return the stops and acts of a walk that has been run, whichever way it went, in the order of time."""
    left = [_real(touch, frontier.forward) for touch in frontier.left]
    came = [_real(touch, frontier.forward) for touch in frontier.came]
    finder = _Finder(frontier, left, came)
    acts: dict[int, Act] = defaultdict(Act)
    for touches, sinks in ((came, not frontier.forward), (left, frontier.forward)):
        for touch in touches:
            if touch.node in frontier.ranks:
                number = finder.number(touch)
                act = acts[touch.node]
                (act.sinks if sinks else act.sources)[number] = touch.role
                finder.stops[number].meet(touch, touches is left)
    return Walked(finder.stops, dict(acts))


def _real(touch: Touch, forward: bool) -> Touch:
    """A use with its own time, and as `bound` the end (walking back, the start) of the stretch it stands in."""
    return touch if forward else touch._replace(start=-touch.end, end=-touch.start, bound=-touch.bound)


class _Finder:
    """Finds the stop of a use. What bounds the walk at a use of an item or a water source names the stretch."""

    def __init__(self, frontier: Frontier, left: Sequence[Touch], came: Iterable[Touch]) -> None:
        self.stops: list[Stop] = []
        self._frontier = frontier
        self._numbers: dict[tuple[int, int], int] = {}
        self._far: dict[int, dict[int, int]] = defaultdict(dict)
        """For each thing, by its stretches' bounds, how far from it the farthest use stands."""
        for touch in left:
            if frontier.things[touch.thing].cls != "lot":
                self._widen(touch, touch.bound)
        for touch in came:
            if touch.thing in frontier.started and touch.thing not in self._far:
                self._widen(touch, EVER if frontier.forward else -EVER)
        self._bounds = {thing: sorted(found) for thing, found in self._far.items()}

    def _widen(self, touch: Touch, bound: int) -> None:
        found = self._far[touch.thing]
        if self._frontier.forward:
            found[bound] = min(found.get(bound, EVER), touch.start)
        else:
            found[bound] = max(found.get(bound, -EVER), touch.end)

    def number(self, touch: Touch) -> int:
        """Return the place of the use's stop, made when it is first met."""
        thing = self._frontier.things[touch.thing]
        bound = 0 if thing.cls == "lot" else self._bound(touch)
        key = (touch.thing, bound)
        if key not in self._numbers:
            self._numbers[key] = len(self.stops)
            level = LEVEL_OF[self._frontier.lowest.get(abs(touch.thing), 0)]
            assumed = touch.thing not in self._frontier.started
            self.stops.append(Stop(thing, level, self._stretch(thing, bound), assumed=assumed))
        return self._numbers[key]

    def _bound(self, touch: Touch) -> int:
        """The bound of the nearest stretch that the use can belong to."""
        bounds = self._bounds[touch.thing]
        place = bisect_left(bounds, touch.start) if self._frontier.forward else bisect_right(bounds, touch.end) - 1
        return bounds[min(max(place, 0), len(bounds) - 1)]

    def _stretch(self, thing: Thing, bound: int) -> tuple[int, int] | None:
        if thing.cls == "lot":
            return None
        far = self._far[thing.id][bound]
        return (far, bound) if self._frontier.forward else (bound, far)
