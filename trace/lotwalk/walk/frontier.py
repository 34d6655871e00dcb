"""The walk, level by level: which nodes lead to which, exactly as the design defines it.

Through an item or a water source, `f` follows `e` exactly when f's time overlaps [e's start, N(e)], save where an
attested sheet orders the two, or a clean break between them; those pairs are tested one by one. What a thing has
already been scanned for is kept as covered windows, so each use is read once.
"""

import json
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
    Start,
    Thing,
    Touch,
    merged,
    step,
    uncovered,
)
from lotwalk.walk.statements import Statements

_LEVELS = 6
_TOOK, _DREW, _MADE = 1, 2, 6

Crossing = tuple[Touch, int]
"""A use through which the walk leaves a node, and how far it reaches: N forward, P back."""


class Frontier:
    """One walk in one direction. After `run`, `levels` has each node's level and `found` each thing's uses."""

    def __init__(self, connection: Connection, direction: str, doubt: Doubt) -> None:
        self.connection = connection
        self.forward = direction == FORWARD
        self.doubt = doubt
        self.statements = Statements(connection.dialect.name, doubt)
        self.things: dict[int, Thing] = {}
        self.levels: dict[int, int] = {}
        self.found: dict[int, dict[Touch, int]] = defaultdict(dict)
        self.made: dict[int, list[int]] = defaultdict(list)
        """Forward: what a node made. Back: what it took. With `users`, the ingredient walk's edges."""
        self.users: dict[int, list[int]] = defaultdict(list)
        """Forward: the nodes that took a lot. Back: the nodes that made it."""
        self.reach: dict[int, dict[Touch, int]] = defaultdict(dict)
        """For each thing, the uses through which the walk left a node, each with how far it reaches (N or P)."""
        self.entered: dict[int, set[Touch]] = defaultdict(set)
        """For each thing, the uses through which the walk came to a node (or started)."""
        self.started: dict[int, set[Touch]] = defaultdict(set)
        """For each thing started from, the uses that the walk started with."""
        self.start_nodes: list[int] = []
        """The nodes that the walk started from by an ingredient use."""
        self._nodes: list[list[int]] = [[] for _ in range(_LEVELS)]
        self._crossings: list[list[Crossing]] = [[] for _ in range(_LEVELS)]
        self._covered: dict[int, list[tuple[int, int]]] = {}
        self._crossed: dict[int, list[Crossing]] = defaultdict(list)
        self._waiting: dict[int, list[Touch]] = defaultdict(list)
        self._sheet_breaks: dict[tuple[int, int, int], list[Touch]] = {}
        self._lots_done: dict[int, int] = {}
        self._leave = self.statements.sinks_of() if self.forward else self.statements.sources_of()
        self._lots = self.statements.lot_sources() if self.forward else self.statements.lot_sinks()
        self._items = self.statements.item_sources() if self.forward else self.statements.item_sinks()

    def run(self, starts: Iterable[Start]) -> None:
        """Walk from the starts until nothing new is reached."""
        self._begin(list(starts))
        for level in range(_LEVELS):
            while self._nodes[level] or self._crossings[level]:
                nodes = {node for node in self._nodes[level] if node not in self.levels}
                self._nodes[level] = []
                self._expand(level, nodes)
                crossings, self._crossings[level] = self._crossings[level], []
                self._cross_lots(level, [c for c in crossings if self.things[c[0].thing].cls == "lot"])
                self._cross_items(level, [c for c in crossings if self.things[c[0].thing].cls != "lot"])

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
            rows = self.rows(_things(self.connection.dialect.name), ids=missing)
            for row in rows:
                self.things[row[0]] = Thing(*row[:5], *map(bool, row[5:]))

    def whole(self, node: int) -> int:
        """Return the node as it walks: a disbelieved entry's two parts are one again, since nothing passed."""
        return node & ~1 if self.doubt.of(node >> 1) else node

    def _begin(self, starts: list[Start]) -> None:
        self.load_things(start.thing for start in starts)
        named = [start for start in starts if self.things[start.thing].cls in ("person", "place")]
        other = [start for start in starts if self.things[start.thing].cls not in ("person", "place")]
        levels: dict[int, list[Start]] = defaultdict(list)
        for start in starts:
            levels[start.thing].append(start)
        sinks, sources = self.statements.ends()
        for chosen, roles in ((other, sources if self.forward else sinks), (named, "k.role IN (12, 13)")):
            if not chosen or (named is chosen and not self.forward):
                continue
            windows = [[start.thing, *(start.window or (-EVER, EVER))] for start in chosen]
            for row in self.rows(self.statements.starts(roles), things=windows):
                touch = Touch(*row)
                node = self.whole(touch.node)
                self.entered[touch.thing].add(touch._replace(node=node))
                self.started[touch.thing].add(touch._replace(node=node))
                self._nodes[self._first_level(touch, levels[touch.thing])].append(node)
                if touch.role in ((_TOOK, _DREW) if self.forward else (_MADE,)):
                    self.start_nodes.append(node)

    def _first_level(self, touch: Touch, starts: Iterable[Start]) -> int:
        """The lowest level at which a use starts the walk: of all starts whose window it overlaps."""
        first = step(0, self.things[touch.thing], touch.role)
        levels = (
            first
            if start.level is None
            else max(start.level, IN_PLACE_LEVEL)
            if touch.role in IN_PLACE
            else start.level
            for start in starts
            if start.window is None or (touch.end >= start.window[0] and touch.start <= start.window[1])
        )
        return min(levels)

    def _expand(self, level: int, nodes: set[int]) -> None:
        if not nodes:
            return
        self.levels.update(dict.fromkeys(nodes, level))
        both = sorted(nodes | {node | 1 for node in nodes if self.doubt.of(node >> 1)})
        rows = self.rows(self._leave, nodes=both)
        self.load_things(row[2] for row in rows)
        limit = min if self.forward else max
        open_end = EVER if self.forward else -EVER
        for row in rows:
            touch = Touch(self.whole(row[0]), *row[1:8])
            breaks = [end for end in row[8:] if end is not None]
            next_level = step(level, self.things[touch.thing], touch.role)
            self.found[touch.thing][touch] = next_level
            reach = limit(breaks) if breaks else open_end
            self.reach[touch.thing][touch] = reach
            self._crossings[next_level].append((touch, reach))
            if touch.role in ((_MADE,) if self.forward else (_TOOK, _DREW)):
                self.made[touch.node].append(touch.thing)

    def _cross_lots(self, level: int, crossings: list[Crossing]) -> None:
        wanted = []
        for touch, _ in crossings:
            made = self.forward and touch.role == _MADE
            edge = -EVER if made else touch.start if self.forward else -touch.end
            if self._lots_done.get(touch.thing, EVER) <= edge:
                continue
            wanted.append([touch.thing, touch.start, touch.end, touch.group, touch.line, int(made)])
            if made or touch.group == 0:
                self._lots_done[touch.thing] = edge
        if not wanted:
            return
        ingredient = _TOOK if self.forward else _MADE
        for row in self.rows(self._lots, crossings=wanted):
            touch = Touch(*row)
            self._accept(level, touch)
            if touch.role == ingredient:
                self.users[touch.thing].append(self.whole(touch.node))

    def _cross_items(self, level: int, crossings: list[Crossing]) -> None:
        windows: list[list[int]] = []
        for touch, limit in crossings:
            window = (touch.start, limit) if self.forward else (limit, touch.end)
            covered = self._covered.get(touch.thing, [])
            new = uncovered(window, covered)
            if new:
                windows.extend([touch.thing, low, high] for low, high in new)
                self._covered[touch.thing] = merged([*covered, *new])
            self._crossed[touch.thing].append((touch, limit))
        if windows:
            for row in self.rows(self._items, windows=windows):
                touch = Touch(*row)
                if touch.group == 0:
                    self._accept(level, touch)
                else:
                    self._waiting[touch.thing].append(touch)
        for thing in {touch.thing for touch, _ in crossings}:
            self._settle_waiting(level, thing)

    def _settle_waiting(self, level: int, thing: int) -> None:
        left = []
        for touch in self._waiting.pop(thing, []):
            if self._follows(touch):
                self._accept(level, touch)
            else:
                left.append(touch)
        if left:
            self._waiting[thing] = left

    def _accept(self, level: int, touch: Touch) -> None:
        node = self.whole(touch.node)
        self.entered[touch.thing].add(touch._replace(node=node))
        if node not in self.levels:
            self._nodes[max(level, IN_PLACE_LEVEL) if touch.role in IN_PLACE else level].append(node)

    def _follows(self, other: Touch) -> bool:
        """Whether a use in an attested sheet is led to (or, back, leads) by any use already crossed."""
        return any(self.leads(one, limit, other) for one, limit in self._crossed[other.thing])

    def leads(self, one: Touch, limit: int, other: Touch) -> bool:
        """Whether the walk goes on from a use that reaches to `limit` to another use of the same thing, exactly."""
        first, second = (one, other) if self.forward else (other, one)
        in_time = other.start <= limit if self.forward else other.end >= limit
        if not in_time or first.start > second.end or second.surely_before(first):
            return False
        return not any(first.surely_before(c) and c.surely_before(second) for c in self.breaks_by(other))

    def breaks_by(self, other: Touch) -> list[Touch]:
        """The clean breaks that stand in the attested sheet of a use, overlap its time, and come on the side walked
        from. `reach` does not know them, since they are surely on that side by their line alone."""
        if other.group == 0 or self.things[other.thing].cls == "lot":
            return []
        key = (other.thing, other.node, other.role)
        if key not in self._sheet_breaks:
            rows = self.rows(
                self.statements.sheet_breaks(),
                thing=other.thing,
                grp=other.group,
                low=other.start,
                high=other.end,
            )
            breaks = [Touch(*row) for row in rows]
            self._sheet_breaks[key] = [
                one for one in breaks if (one.line < other.line if self.forward else one.line > other.line)
            ]
        return self._sheet_breaks[key]


def _things(dialect: str) -> TextClause:
    table = (
        "json_each(:ids) j CROSS JOIN thing t ON t.id = j.value"
        if dialect == "sqlite"
        else "json_array_elements_text(CAST(:ids AS json)) AS j(value) JOIN thing t ON t.id = CAST(j.value AS bigint)"
    )
    return text(f"SELECT t.id, t.code, t.kind, t.cls, t.type, t.bought, t.farm_wide, t.counted FROM {table}")
