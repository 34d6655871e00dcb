"""What each of many candidates reaches, from one walk forward of them all.

The walk's own relation is rebuilt in memory as a graph that stays linear in the uses: the uses that may follow are
chained by their end, and a use that gives points into the chain at the first that may follow it. Then every candidate
is one bit, which is handed down from what it starts from to all that follows; or, where candidates are many, every
thing is one bit, handed up.
"""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence

from lotwalk.recall.traceforward.reachability import Parts, turned
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import EVER, MADE, Start, Touch
from lotwalk.walk.packed import Packed

_FEW_PAIRS = 32
"""Pairs of uses that are looked at one by one, sooner than strung in a chain."""
_FEW = 16
"""One candidate to so many things is few. Handing candidates down is quick, and to turn the table then is slow."""

_ROOM = 1 << 28
"""Bits held at once, of candidates times parts of the graph: 32 MB. More candidates are taken in turns."""


_Row = tuple[int, int, int, int, int]


class _Columns:
    """What of the walk's uses says which follow which, where no sheet orders them."""

    def __init__(self, uses: Packed) -> None:
        self._columns = [uses.column(name) for name in ("node", "role", "start", "end", "bound")]
        self._groups = uses.column("group")

    def on_sheets(self, places: Iterable[int]) -> bool:
        return any(self._groups[place] for place in places)

    def rows(self, places: Sequence[int]) -> list[_Row]:
        """Return node, role, start, end and bound of the uses at these places."""
        nodes, roles, starts, ends, bounds = self._columns
        return [(nodes[place], roles[place], starts[place], ends[place], bounds[place]) for place in places]


class Scope:
    """The things that starts reach, after a walk forward from them all. Things are named by their database keys."""

    def __init__(self, frontier: Frontier) -> None:
        self._frontier = frontier
        self._index = {node: number for number, node in enumerate(frontier.ranks)}
        self._edges: list[list[int]] = [[] for _ in self._index]
        self._left, came = frontier.left.by_thing(), frontier.came.by_thing()
        self._gives = frontier.left.column("node")
        giving, taking = _Columns(frontier.left), _Columns(frontier.came)
        for thing, places in self._left.items():
            taken = came.get(thing, ())
            if len(places) * len(taken) <= _FEW_PAIRS and not (giving.on_sheets(places) or taking.on_sheets(taken)):
                self._pair_few(giving.rows(places), taking.rows(taken))
            else:
                self._connect(set(frontier.left.at(places)), set(frontier.came.at(taken)))
        self._parts = Parts(self._edges)
        self._edges = []

    def reached(self, causes: Sequence[Sequence[Start]], things: Sequence[int]) -> list[int]:
        """Return for each cause, which is one start or several, what of `things` it reaches: bit n for things[n].

        Every start must be among those of the walk.
        """
        return self._up(causes, things) if len(causes) * _FEW > len(things) else self._down(causes, things)

    def _up(self, causes: Sequence[Sequence[Start]], things: Sequence[int]) -> list[int]:
        """For many causes: each thing is one bit, handed up to all that lead to it."""
        nodes = [self._nodes(starts) for starts in causes]
        turn = max(1, _ROOM // max(1, self._parts.count))
        out = [0] * len(causes)
        for first in range(0, len(things), turn):
            bits = [0] * self._parts.count
            for number, thing in enumerate(things[first : first + turn]):
                for place in self._places(thing):
                    bits[self._part(self._gives[place])] |= 1 << number
            self._parts.hand_up(bits)
            for number, started in enumerate(nodes):
                found = 0
                for node in started:
                    found |= bits[self._part(node)]
                out[number] |= found << first
        return out

    def _down(self, causes: Sequence[Sequence[Start]], things: Sequence[int]) -> list[int]:
        """For few causes: each is one bit, handed down to all that follows."""
        turn = max(1, _ROOM // max(1, self._parts.count))
        out: list[int] = []
        for first in range(0, len(causes), turn):
            some = causes[first : first + turn]
            bits = [0] * self._parts.count
            for number, starts in enumerate(some):
                for node in self._nodes(starts):
                    bits[self._part(node)] |= 1 << number
            self._parts.hand_down(bits)
            out += turned([self._at(thing, bits) for thing in things], len(some))
        return out

    def _nodes(self, starts: Iterable[Start]) -> set[int]:
        nodes = set()
        for start in starts:
            low, high = start.window or (-EVER, EVER)
            for key in (start.thing, -start.thing):
                for touch in self._frontier.started.get(key, ()):
                    if touch.end >= low and touch.start <= high:
                        nodes.add(touch.node)
        return nodes

    def _places(self, thing: int) -> Iterator[int]:
        """Where the uses stand by which the walk gave to a thing; of a mix, also those by which it is shared."""
        yield from self._left.get(thing, ())
        yield from self._left.get(-thing, ())

    def _at(self, thing: int, bits: Sequence[int]) -> int:
        """The candidates that reach a thing."""
        found = 0
        for place in self._places(thing):
            found |= bits[self._part(self._gives[place])]
        return found

    def _part(self, node: int) -> int:
        return self._parts.of[self._index[node]]

    def _pair_few(self, givers: Iterable[_Row], takers: Sequence[_Row]) -> None:
        """Add the edges through one thing that few uses touch, none of them on an attested sheet."""
        for node, role, start, _, bound in givers:
            low = -EVER if role == MADE else start
            self._edges[self._index[node]] += [
                self._index[other] for other, _, begun, ended, _ in takers if low <= ended and begun <= bound
            ]

    def _connect(self, givers: Iterable[Touch], came: Iterable[Touch]) -> None:
        """Add the edges through one thing, from the uses that give to it to those that take from it."""
        takers = sorted(came, key=lambda touch: touch.end)
        ordered = [touch for touch in takers if touch.after_break]
        if ordered:
            takers = [touch for touch in takers if not touch.after_break]
            self._pair(sorted(givers, key=lambda touch: touch.start), ordered)
        by_bound: dict[int, list[Touch]] = defaultdict(list)
        for touch in givers:
            # What made a lot leads to every use of it, whatever the clocks say.
            by_bound[touch.bound].append(touch._replace(start=-EVER, group=0) if touch.role == MADE else touch)
        ends = [touch.end for touch in takers]
        longest = max((touch.end - touch.start for touch in takers), default=0)
        for bound, alike in by_bound.items():
            first = bisect_left(ends, min(touch.start for touch in alike))
            some = takers[first : bisect_right(ends, bound + longest)]
            self._chain(alike, [touch for touch in some if touch.start <= bound])

    def _pair(self, givers: Sequence[Touch], ordered: Iterable[Touch]) -> None:
        """One by one: uses after a clean break on their own sheet. Only what gave near their time can lead to them."""
        starts = [touch.start for touch in givers]
        longest = max(touch.end - touch.start for touch in givers)
        for other in ordered:
            near = givers[bisect_left(starts, other.bound - longest) : bisect_right(starts, other.end)]
            for touch in near:
                if touch.leads_to(other):
                    self._edges[self._index[touch.node]].append(self._index[other.node])

    def _chain(self, givers: Sequence[Touch], takers: Sequence[Touch]) -> None:
        """Let each giver lead to the takers from the first on that may follow it. Takers come by their end."""
        if len(givers) == 1:
            to = [self._index[other.node] for other in takers if givers[0].leads_to(other)]
            self._edges[self._index[givers[0].node]].extend(to)
            return
        ends = [touch.end for touch in takers]
        base = len(self._edges)
        for following, touch in enumerate(takers, base + 1):
            node = self._index[touch.node]
            self._edges.append([node, following] if following < base + len(takers) else [node])
        earlier = _Earlier(takers) if any(touch.group for touch in givers) else None
        for giver in givers:
            position = bisect_left(ends, giver.start)
            edges = self._edges[self._index[giver.node]]
            if earlier and giver.group:
                past = earlier.last(giver)
                edges.extend(self._index[other.node] for other in takers[position:past] if giver.leads_to(other))
                position = max(position, past)
            if position < len(takers):
                edges.append(base + position)


class _Earlier:
    """Where in a chain the uses on earlier lines of an attested sheet stand, which its later lines do not lead to."""

    def __init__(self, takers: Sequence[Touch]) -> None:
        on_sheet: dict[int, list[tuple[int, int]]] = defaultdict(list)
        for number, touch in enumerate(takers):
            if touch.group:
                on_sheet[touch.group].append((touch.line, number))
        self._lines: dict[int, list[int]] = {}
        self._past: dict[int, list[int]] = {}
        for group, found in on_sheet.items():
            found.sort()
            self._lines[group] = [line for line, _ in found]
            past, highest = [0], 0
            for _, number in found:
                highest = max(highest, number + 1)
                past.append(highest)
            self._past[group] = past

    def last(self, giver: Touch) -> int:
        """Return the place in the chain past all uses on earlier lines of the giver's sheet."""
        if giver.group not in self._lines:
            return 0
        return self._past[giver.group][bisect_left(self._lines[giver.group], giver.line)]
