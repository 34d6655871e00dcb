"""What each of many candidates reaches, from one walk forward of them all.

The walk's own relation is rebuilt in memory as a graph that stays linear in the uses: the uses that may follow are
chained by their end, and a use that gives points into the chain at the first that may follow it. Strongly connected
parts are then one, and what they reach is handed up as one set of bits each.
"""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable

from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import EVER, Start, Touch


class Scope:
    """The things that any start reaches, after a walk forward. Things are named by their database keys."""

    def __init__(self, frontier: Frontier) -> None:
        self._frontier = frontier
        self._index = {node: number for number, node in enumerate(frontier.levels)}
        self._edges: list[list[int]] = [[] for _ in self._index]
        self._bits: dict[int, int] = {thing: 1 << number for number, thing in enumerate(frontier.found)}
        self._things = list(frontier.found)
        for thing in frontier.found:
            self._connect(thing)
        self._reach = _reach(self._edges, self._own())

    def reached_from(self, start: Start) -> set[int]:
        """Return the things reached from a start that was among those of the walk."""
        low, high = start.window or (-EVER, EVER)
        bits = 0
        for touch in self._frontier.entered.get(start.thing, ()):
            if touch.end >= low and touch.start <= high:
                bits |= self._reach[self._index[touch.node]]
        return self._decode(bits)

    def _decode(self, bits: int) -> set[int]:
        found = set()
        while bits:
            lowest = bits & -bits
            found.add(self._things[lowest.bit_length() - 1])
            bits ^= lowest
        return found

    def _own(self) -> list[int]:
        own = [0] * len(self._edges)
        for thing, touches in self._frontier.found.items():
            for touch in touches:
                own[self._index[touch.node]] |= self._bits[thing]
        return own

    def _connect(self, thing: int) -> None:
        """Add the edges through one thing."""
        reach = self._frontier.reach[thing]
        entered = self._frontier.entered.get(thing, set())
        ordered = {touch for touch in entered if touch.group and self._is_ordered(touch, reach)}
        lot = self._frontier.things[thing].cls == "lot"
        plain = sorted(entered - ordered, key=lambda touch: touch.end)
        by_limit: dict[int, list[Touch]] = defaultdict(list)
        for touch, limit in reach.items():
            # What made a lot leads to every use of it, whatever the clocks say.
            made = lot and touch.role == 6
            by_limit[EVER if lot else limit].append(touch._replace(start=-EVER) if made else touch)
            for other in ordered:
                if made or self._frontier.leads(touch, limit, other):
                    self._edges[self._index[touch.node]].append(self._index[other.node])
        for limit, givers in by_limit.items():
            self._chain(givers, [touch for touch in plain if touch.start <= limit])

    def _is_ordered(self, touch: Touch, reach: Iterable[Touch]) -> bool:
        """Whether an attested sheet says more of this use than its time does."""
        if self._frontier.things[touch.thing].cls != "lot" and self._frontier.breaks_by(touch):
            return True
        return any(other.group == touch.group and touch.line < other.line for other in reach)

    def _chain(self, givers: list[Touch], takers: list[Touch]) -> None:
        ends = [touch.end for touch in takers]
        first = bisect_left(ends, min(giver.start for giver in givers))
        base = len(self._edges) - first
        for number in range(first, len(takers)):
            following = [base + number + 1] if number + 1 < len(takers) else []
            self._edges.append([self._index[takers[number].node], *following])
        for giver in givers:
            position = bisect_left(ends, giver.start)
            if position < len(takers):
                self._edges[self._index[giver.node]].append(base + position)


def _reach(edges: list[list[int]], own: list[int]) -> list[int]:
    """Return what each node reaches: its own bits and those of all it leads to (Tarjan's algorithm, iterative)."""
    count = len(edges)
    order = [0] * count
    low = [0] * count
    on_stack = [False] * count
    bits = [*own, *[0] * (count - len(own))]
    stack: list[int] = []
    clock = 0
    for root in range(count):
        if order[root]:
            continue
        work = [(root, 0)]
        while work:
            node, position = work.pop()
            if not order[node]:
                clock += 1
                order[node] = low[node] = clock
                stack.append(node)
                on_stack[node] = True
            descended = False
            for number in range(position, len(edges[node])):
                target = edges[node][number]
                if not order[target]:
                    work += [(node, number), (target, 0)]
                    descended = True
                    break
                if on_stack[target]:
                    low[node] = min(low[node], low[target])
                else:
                    bits[node] |= bits[target]
            if descended:
                continue
            if low[node] == order[node]:
                _close(node, stack, on_stack, bits)
    return bits


def _close(node: int, stack: list[int], on_stack: list[bool], bits: list[int]) -> None:
    """Pop one strongly connected part off the stack and give all of it the same bits."""
    part = []
    while True:
        member = stack.pop()
        on_stack[member] = False
        part.append(member)
        if member == node:
            break
    together = 0
    for member in part:
        together |= bits[member]
    for member in part:
        bits[member] = together
