"""The walk, rank by rank: which nodes lead to which, exactly as the design defines it.

The walk leaves a node by a use and comes to the next by another use of the same thing. Through an item or a water
source, `f` follows `e` exactly when f's time overlaps [e's start, N(e)], save where an attested sheet orders the two,
or a clean break between them; such uses wait and are tested one by one. What a thing has been scanned for is kept, so
that each use is read once.

Walking back is walking forward with all times and lines negated (see `statements`), so there is one walk here.
"""

import json
from bisect import bisect_left, insort
from collections import defaultdict
from collections.abc import Iterable, Sequence
from contextlib import closing
from typing import Any

from sqlalchemy import Connection, TextClause

from lotwalk.store.nodes import beside, seq_of, whole
from lotwalk.values.roles import Role
from lotwalk.walk.model import (
    EVER,
    FORWARD,
    IN_PLACE,
    IN_PLACE_RANK,
    MADE,
    SHARED,
    STEPS,
    Doubt,
    Start,
    Thing,
    Touch,
    merged,
    rank_of,
    step,
)
from lotwalk.walk.packed import Packed
from lotwalk.walk.statements import statements

_RANKS = 6
_TAKEN = (int(Role.TOOK), int(Role.DREW))

_Row = Sequence[int]
"""A row in the order of Touch's fields."""

_ANY, _AS_BATH, _NOT_AS_BATH, _AS_BOTH = 0, 1, 2, 3
"""Which uses of a window's thing are read: of a mix, those in which loads share it, those in which not, or both."""


class Frontier:
    """One walk in one direction. After `run`: the nodes walked through, and the uses by which it left and came.

    With `spells` both ends of them are looked up on the way, not only the one that bounds the walk. With `named` no
    use is walked that was only assumed.
    """

    def __init__(
        self, connection: Connection, direction: str, doubt: Doubt, *, spells: bool = False, named: bool = False
    ) -> None:
        self.connection = connection
        self.forward = direction == FORWARD
        self.doubt = doubt
        self.statements = statements(connection.dialect.name, self.forward, doubt, named=named)
        self.things: dict[int, Thing] = {}
        self.ranks: dict[int, int] = {}
        """Each node walked through, with its rank."""
        self.lowest: dict[int, int] = {}
        """Each thing reached, with the lowest rank at which it was."""
        self.left = Packed()
        """The uses by which the walk left nodes; `bound` is N (walking back, -P)."""
        self.came = Packed()
        """The uses by which the walk came to nodes, or found them come to already."""
        self.started: dict[int, set[Touch]] = defaultdict(set)
        """For each thing started from, the uses that the walk started with."""
        self.takes = _TAKEN if self.forward else (MADE,)
        """The roles in which an ingredient walk comes to a node."""
        self.gives = (MADE,) if self.forward else _TAKEN
        """The roles in which an ingredient walk leaves a node."""
        self._leave = self.statements.leave_with_spells if spells else self.statements.leave
        self._thing_ranks: dict[int, int] = {}
        self._lots: set[int] = set()
        self._baths: set[int] = set()
        self._long: set[int] = set()
        self._nodes: list[list[int]] = [[] for _ in range(_RANKS)]
        self._crossings: list[list[_Row]] = [[] for _ in range(_RANKS)]
        self._scanned: dict[tuple[int, int], int] = {}
        self._waiting: dict[int, list[tuple[int, int, _Row]]] = {}
        self._longest: dict[int, int] = {}

    def run(self, starts: Iterable[Start]) -> None:
        """Walk from the starts until nothing new is reached."""
        self._begin(list(starts))
        for rank in range(_RANKS):
            while self._nodes[rank] or self._crossings[rank]:
                nodes = {node for node in self._nodes[rank] if node not in self.ranks}
                self._nodes[rank] = []
                if nodes:
                    self._expand(rank, nodes)
                crossings, self._crossings[rank] = self._crossings[rank], []
                self._cross(rank, crossings)

    def rows(self, statement: TextClause, **parameters: object) -> list[Any]:
        """Return all rows of one of the walk's statements; lists go in as JSON."""
        values = {name: json.dumps(value) if isinstance(value, list) else value for name, value in parameters.items()}
        if ":doubted" in statement.text:
            values["doubted"] = json.dumps(sorted(self.doubt.entries))
        with closing(self.connection.execute(statement, values)) as result:
            # Of the driver's own rows, since wrapping half a million of them costs more than reading them.
            return list(result.cursor.fetchall())

    def load_things(self, ids: Iterable[int]) -> None:
        """Read what the walk must know of these things."""
        missing = [one for one in dict.fromkeys(ids) if one not in self.things]
        if missing:
            for *row, bought, wide, counted, bath, long in self.rows(self.statements.things, things=missing):
                thing = self.things[row[0]] = Thing(*row, *map(bool, (bought, wide, counted, bath)))
                self._thing_ranks[thing.id] = rank_of(thing)
                if thing.bath:
                    self._baths.add(thing.id)
                    self.things[-thing.id] = thing.as_bath
                    self._thing_ranks[-thing.id] = rank_of(thing.as_bath)
                if thing.cls == "lot":
                    self._lots.add(thing.id)
                if long:
                    self._long.add(thing.id)

    def whole(self, node: int) -> int:
        """Return the node as it walks: a disbelieved entry's two parts are one again, since nothing passed."""
        return whole(node) if self.doubt.of(seq_of(node)) else node

    def _apart(self, rows: list[_Row]) -> list[_Row]:
        """The rows, those by which a mix is shared under the key of the bath. Their things must have been read."""
        if not self._baths:
            return rows
        baths = self._baths
        return [(*row[:2], -row[2], *row[3:]) if row[1] == SHARED and row[2] in baths else row for row in rows]

    def _whole(self, rows: list[_Row]) -> list[_Row]:
        return [(self.whole(row[0]), *row[1:]) for row in rows] if self.doubt.any else rows

    def _begin(self, starts: Sequence[Start]) -> None:
        self.load_things(start.thing for start in starts)
        alike: dict[tuple[bool, int | None], dict[int, list[tuple[int, int]]]] = defaultdict(lambda: defaultdict(list))
        for start in starts:
            named = self.things[start.thing].cls in ("person", "place")
            alike[named, start.rank][start.thing].append(start.window or (-EVER, EVER))
        for (named, rank), windows_of in alike.items():
            if named and not self.forward:
                continue
            windows = [
                [thing, *window, _AS_BOTH if thing in self._baths else _ANY]
                for thing, windows in windows_of.items()
                for window in merged(windows)
            ]
            rows = self.rows(self.statements.scan_named, windows=windows) if named else self._scan(windows)
            self.came.add(rows)
            for touch in map(Touch._make, rows):
                self.started[touch.thing].add(touch)
                first = step(0, self.things[touch.thing], touch.role) if rank is None else _into(rank, touch.role)
                self._nodes[first].append(touch.node)

    def _expand(self, rank: int, nodes: set[int]) -> None:
        """Read the uses by which the walk leaves these nodes, and put each at the rank of its thing."""
        self.ranks.update(dict.fromkeys(nodes, rank))
        parts = nodes | {beside(node) for node in nodes if self.doubt.of(seq_of(node))} if self.doubt.any else nodes
        rows = self._whole(self.rows(self._leave, nodes=sorted(parts)))
        self.load_things(row[2] for row in rows)
        rows = self._apart(rows)
        self.left.add(rows)
        ranks, steps, lowest, crossings = self._thing_ranks, STEPS[rank], self.lowest, self._crossings
        for row in rows:
            thing = row[2]
            reached = steps[ranks[thing]]
            if row[1] in IN_PLACE:
                reached = max(reached, IN_PLACE_RANK)
            if reached < lowest.get(abs(thing), _RANKS):
                lowest[abs(thing)] = reached
            crossings[reached].append(row)

    def _cross(self, rank: int, crossings: Sequence[_Row]) -> None:
        """Go on from uses by which the walk left nodes to the other uses of their things."""
        rows = self._read(crossings)
        # Back through a lot, everything that gave to it was read, however late; its making alone needs no test.
        tested = () if self.forward else self._lots
        sure = []
        for row in rows:
            if (row[5] or row[2] in tested) and row[1] != MADE:
                self._wait(row)
            else:
                sure.append(row)
        self._come(rank, sure)
        if self._waiting:
            for row in crossings:
                if self._waiting.get(row[2]):
                    self._settle(rank, Touch._make(row))

    def _read(self, crossings: Sequence[_Row]) -> list[_Row]:
        """Read what follows these uses and was not read for an earlier use of the same thing."""
        lots: list[int] = []
        windows: list[list[int]] = []
        for _, role, thing, start, _, _, _, _, bound, _ in crossings:
            # What made a lot leads to every use of it: a clock slip must not cut its ancestry.
            always = thing in self._lots and (role == MADE or not self.forward)
            low = -EVER if always else start
            known = self._scanned.get((thing, bound))
            if known is not None and known <= low:
                continue
            self._scanned[thing, bound] = low
            if always:
                lots.append(thing)
            else:
                high = bound if known is None else known - 1
                which = _AS_BATH if thing < 0 else _NOT_AS_BATH if thing in self._baths else _ANY
                window = [low, high] if self.forward else [-high, -low]
                windows.append([abs(thing), *window, which])
        rows = list(self._whole(self.rows(self.statements.scan_all, things=lots))) if lots else []
        return rows + self._scan(windows)

    def _scan(self, windows: list[list[int]]) -> list[_Row]:
        """Read the uses that overlap windows (thing, first and last second, which of its uses)."""
        rows = list(self.rows(self.statements.scan, windows=windows)) if windows else []
        if long := [window for window in windows if window[0] in self._long]:
            rows += self.rows(self.statements.scan_long, windows=long)
        return self._apart(self._whole(rows))

    def _wait(self, row: _Row) -> None:
        thing, start, end = row[2:5]
        insort(self._waiting.setdefault(thing, []), (start, end, row))
        self._longest[thing] = max(self._longest.get(thing, 0), end - start)

    def _settle(self, rank: int, one: Touch) -> None:
        """Test the waiting uses that may follow one by which the walk left a node."""
        held = self._waiting[one.thing]
        first = -EVER if one.role == MADE else one.start - self._longest[one.thing]
        low, high = bisect_left(held, (first,)), bisect_left(held, (one.bound + 1,))
        follows = [one.leads_to(Touch._make(row)) for _, _, row in held[low:high]]
        self._come(rank, [row for (_, _, row), found in zip(held[low:high], follows, strict=True) if found])
        held[low:high] = [waiting for waiting, found in zip(held[low:high], follows, strict=True) if not found]

    def _come(self, rank: int, rows: Sequence[_Row]) -> None:
        self.came.add(rows)
        if rank >= IN_PLACE_RANK:
            self._nodes[rank].extend(row[0] for row in rows)
            return
        for row in rows:
            self._nodes[_into(rank, row[1])].append(row[0])


def _into(rank: int, role: int) -> int:
    """The rank of a node that a path of some rank comes to."""
    return max(rank, IN_PLACE_RANK) if role in IN_PLACE else rank
