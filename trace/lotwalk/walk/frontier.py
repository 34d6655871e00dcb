"""The walk, level by level: which nodes lead to which, exactly as the design defines it.

The walk leaves a node by a use and comes to the next by another use of the same thing. Through an item or a water
source, `f` follows `e` exactly when f's time overlaps [e's start, N(e)], save where an attested sheet orders the two,
or a clean break between them; such uses wait and are tested one by one. What a thing has been scanned for is kept, so
that each use is read once.

Walking back is walking forward with all times and lines negated (see `statements`), so there is one walk here.
"""

import json
from array import array
from bisect import bisect_left, insort
from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any

from sqlalchemy import Connection, TextClause, text

from lotwalk.walk.model import (
    EVER,
    FORWARD,
    IN_PLACE,
    IN_PLACE_LEVEL,
    Doubt,
    Spell,
    Start,
    Thing,
    Touch,
    merged,
    spell_of,
    step,
)
from lotwalk.walk.packed import packed
from lotwalk.walk.statements import statements

_LEVELS = 6
_TOOK, _DREW, _MADE = 1, 2, 6

_Row = Sequence[int]
"""A row in the order of Touch's fields."""


class Frontier:
    """One walk in one direction. After `run`: the nodes walked through, and the uses by which it left and came.

    With `spells` those of the items and water sources reached are looked up on the way.
    """

    def __init__(self, connection: Connection, direction: str, doubt: Doubt, *, spells: bool = False) -> None:
        self.connection = connection
        self.forward = direction == FORWARD
        self.doubt = doubt
        self.statements = statements(connection.dialect.name, self.forward, doubt)
        self.things: dict[int, Thing] = {}
        self.levels: dict[int, int] = {}
        """Each node walked through, with its level."""
        self.lowest: dict[int, int] = {}
        """Each thing reached, with the lowest level at which it was."""
        self.surely: set[int] = set()
        """The things reached by a use that is not assumed."""
        self.left: dict[int, array[int]] = defaultdict(packed)
        """For each thing, the uses by which the walk left a node; `bound` is N (walking back, -P)."""
        self.came: dict[int, array[int]] = defaultdict(packed)
        """For each thing, the uses by which the walk came to a node, or found it come to already."""
        self.started: dict[int, set[Touch]] = defaultdict(set)
        """For each thing started from, the uses that the walk started with."""
        self.spells: dict[int, set[Spell]] = defaultdict(set)
        self.takes = (_TOOK, _DREW) if self.forward else (_MADE,)
        """The roles in which an ingredient walk comes to a node."""
        self.gives = (_MADE,) if self.forward else (_TOOK, _DREW)
        """The roles in which an ingredient walk leaves a node."""
        self._spelling = spells
        self._nodes: list[list[int]] = [[] for _ in range(_LEVELS)]
        self._crossings: list[list[_Row]] = [[] for _ in range(_LEVELS)]
        self._scanned: dict[tuple[int, int], int] = {}
        self._waiting: dict[int, list[tuple[int, int, _Row]]] = {}
        self._longest: dict[int, int] = {}

    def run(self, starts: Iterable[Start]) -> None:
        """Walk from the starts until nothing new is reached."""
        self._begin(list(starts))
        for level in range(_LEVELS):
            while self._nodes[level] or self._crossings[level]:
                nodes = {node for node in self._nodes[level] if node not in self.levels}
                self._nodes[level] = []
                if nodes:
                    self._expand(level, nodes)
                crossings, self._crossings[level] = self._crossings[level], []
                self._cross(level, crossings)

    def rows(self, statement: TextClause, **parameters: object) -> Sequence[Any]:
        """Return all rows of one of the walk's statements; lists go in as JSON."""
        values = {name: json.dumps(value) if isinstance(value, list) else value for name, value in parameters.items()}
        if ":doubted" in statement.text:
            values["doubted"] = json.dumps(sorted(self.doubt.entries))
        return self.connection.execute(statement, values).all()

    def load_things(self, ids: Iterable[int]) -> None:
        """Read what the walk must know of these things."""
        missing = [one for one in dict.fromkeys(ids) if one not in self.things]
        if missing:
            for row in self.rows(_things(self.connection.dialect.name), ids=missing):
                self.things[row[0]] = Thing(*row[:5], *map(bool, row[5:]))

    def whole(self, node: int) -> int:
        """Return the node as it walks: a disbelieved entry's two parts are one again, since nothing passed."""
        return node & ~1 if self.doubt.of(node >> 1) else node

    def _whole(self, rows: Sequence[_Row]) -> Sequence[_Row]:
        return [(self.whole(row[0]), *row[1:]) for row in rows] if self.doubt.any else rows

    def _begin(self, starts: Sequence[Start]) -> None:
        self.load_things(start.thing for start in starts)
        alike: dict[tuple[bool, int | None], dict[int, list[tuple[int, int]]]] = defaultdict(lambda: defaultdict(list))
        for start in starts:
            named = self.things[start.thing].cls in ("person", "place")
            alike[named, start.level][start.thing].append(start.window or (-EVER, EVER))
        for (named, level), windows_of in alike.items():
            if named and not self.forward:
                continue
            windows = [[thing, *window] for thing, windows in windows_of.items() for window in merged(windows)]
            statement = self.statements.scan_named if named else self.statements.scan
            for row in self._whole(self.rows(statement, windows=windows)):
                touch = Touch(*row)
                self.started[touch.thing].add(touch)
                self.came[touch.thing].extend(row)
                first = step(0, self.things[touch.thing], touch.role) if level is None else _into(level, touch.role)
                self._nodes[first].append(touch.node)

    def _expand(self, level: int, nodes: set[int]) -> None:
        """Read the uses by which the walk leaves these nodes, and put each at the level of its thing."""
        self.levels.update(dict.fromkeys(nodes, level))
        parts = nodes | {node | 1 for node in nodes if self.doubt.of(node >> 1)} if self.doubt.any else nodes
        leave = self.statements.leave_with_spells if self._spelling else self.statements.leave
        rows = self.rows(leave, nodes=sorted(parts))
        self.load_things(row[2] for row in rows)
        width = len(Touch._fields)
        for full in self._whole(rows):
            row = full[:width]
            role, thing = row[1], row[2]
            reached = step(level, self.things[thing], role)
            if reached < self.lowest.get(thing, _LEVELS):
                self.lowest[thing] = reached
            if not row[7]:
                self.surely.add(thing)
            self.left[thing].extend(row)
            self._crossings[reached].append(row)
            if self._spelling and full[width] is not None:
                self.spells[thing].add(spell_of(Touch(*row), full[width], full[width + 1], self.doubt))

    def _cross(self, level: int, crossings: Sequence[_Row]) -> None:
        """Go on from uses by which the walk left nodes to the other uses of their things."""
        windows = [window for row in crossings if (window := self._unscanned(row))]
        if windows:
            for row in self._whole(self.rows(self.statements.scan, windows=windows)):
                role, thing, start, end, group = row[1:6]
                # Back through a lot, everything that gave to it was read, however late; its making alone needs no test.
                if role != _MADE and (group or (not self.forward and self.things[thing].cls == "lot")):
                    insort(self._waiting.setdefault(thing, []), (start, end, row))
                    self._longest[thing] = max(self._longest.get(thing, 0), end - start)
                else:
                    self._come(level, row)
        if self._waiting:
            for row in crossings:
                if row[2] in self._waiting:
                    self._settle(level, Touch(*row))

    def _unscanned(self, row: _Row) -> list[int] | None:
        """The window in which to look for what follows a use, less what was scanned for an earlier use."""
        _, role, thing, start, *_, bound, _ = row
        if (role == _MADE or not self.forward) and self.things[thing].cls == "lot":
            start = -EVER  # what made a lot leads to every use of it: a clock slip must not cut its ancestry
        known = self._scanned.get((thing, bound))
        if known is not None and known <= start:
            return None
        self._scanned[thing, bound] = start
        end = bound if known is None else known - 1
        return [thing, start, end] if self.forward else [thing, -end, -start]

    def _settle(self, level: int, one: Touch) -> None:
        """Test the waiting uses that may follow one by which the walk left a node."""
        held = self._waiting[one.thing]
        first = -EVER if one.role == _MADE else one.start - self._longest[one.thing]
        low, high = bisect_left(held, (first,)), bisect_left(held, (one.bound + 1,))
        left = []
        for waiting in held[low:high]:
            if one.leads_to(Touch(*waiting[2])):
                self._come(level, waiting[2])
            else:
                left.append(waiting)
        held[low:high] = left

    def _come(self, level: int, row: _Row) -> None:
        node, role, thing = row[:3]
        self.came[thing].extend(row)
        if node not in self.levels:
            self._nodes[_into(level, role)].append(node)


def _into(level: int, role: int) -> int:
    """The level of a node that a path at some level comes to."""
    return max(level, IN_PLACE_LEVEL) if role in IN_PLACE else level


def _things(dialect: str) -> TextClause:
    table = (
        "json_each(:ids) j CROSS JOIN thing t ON t.id = j.value"
        if dialect == "sqlite"
        else "json_array_elements_text(CAST(:ids AS json)) AS j(value) JOIN thing t ON t.id = CAST(j.value AS bigint)"
    )
    return text(f"SELECT t.id, t.code, t.kind, t.cls, t.type, t.bought, t.farm_wide, t.counted FROM {table}")
