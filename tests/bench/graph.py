"""The same questions put to networkx: the ledger read into memory as a graph, and the graph searched.

Entries are vertices, and so is each moment at which something was used. Through an item or a water source the moments
of its uses are strung in order of time, cut where it was cleaned; uses at one moment lead to each other. Through a lot
one vertex will do, since nothing here takes from a lot before all has gone into it. The graph is linear in the uses.
"""

import sqlite3
from bisect import bisect_right
from collections.abc import Iterable
from itertools import count, groupby
from operator import itemgetter
from pathlib import Path

import networkx as nx
from tests.bench.plain import EVER, Found, Plain, Window

_USES = (
    "SELECT k.thing, k.at_from, k.at_to, k.role, k.node FROM use k WHERE k.role <= 8"
    " AND NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = k.node >> 1) ORDER BY k.thing, k.at_from"
)
_Use = tuple[int, int, int, int, int]


class Graph:
    """A ledger's uses as a networkx graph. Entries are its positive vertices, moments its negative ones."""

    def __init__(self, path: Path) -> None:
        self._graph: nx.DiGraph[int] = nx.DiGraph()
        self._uses: dict[int, list[_Use]] = {}
        self._breaks: dict[int, list[tuple[int, int]]] = {}
        self._moments = count(-1, -1)
        connection = sqlite3.connect(path)
        for thing, rows in groupby(connection.execute(_USES), itemgetter(0)):
            self._add(thing, list(rows))
        self._codes: dict[int, str] = dict(connection.execute("SELECT id, code FROM thing"))
        connection.close()
        self._of_node: dict[int, list[_Use]] = {}
        for uses in self._uses.values():
            for use in uses:
                self._of_node.setdefault(use[4], []).append(use)

    def forward(self, starts: Iterable[Window]) -> Found:
        """As `Plain.forward`."""
        return self._found(self._search(self._started(starts, sinks=False), forward=True), range(3, 9))

    def back(self, starts: Iterable[Window]) -> Found:
        """As `Plain.back`."""
        return self._found(self._search(self._started(starts, sinks=True), forward=False), range(1, 5))

    def _found(self, nodes: set[int], roles: range) -> Found:
        uses = [use for node in nodes for use in self._of_node[node] if use[3] in roles]
        codes = frozenset(self._codes[use[0]] for use in uses)
        return Found(frozenset(node >> 1 for node in nodes), codes, frozenset(map(self._spell, uses)))

    def _search(self, starts: set[int], *, forward: bool) -> set[int]:
        graph = self._graph
        graph.add_edges_from((0, node) if forward else (node, 0) for node in starts)
        found = nx.descendants(graph, 0) if forward else nx.ancestors(graph, 0)
        graph.remove_node(0)
        return {node for node in found if node > 0}

    def _started(self, starts: Iterable[Window], *, sinks: bool) -> set[int]:
        roles = range(3, 9) if sinks else range(1, 5)
        return {
            use[4]
            for one in starts
            for use in self._uses.get(one.thing, ())
            if use[3] in roles and use[1] <= one.high and use[2] >= one.low
        }

    def _spell(self, use: _Use) -> Window:
        thing, start, end, role, _ = use
        breaks = self._breaks.get(thing, []) if role in (2, 4, 7, 8) else []
        # A cleaning begins its spell itself.
        before = [start] if role in (7, 8) else [at for at, until in breaks if until < start]
        after = breaks[bisect_right(breaks, (end, EVER)) :]
        return Window(thing, before[-1] if before else -EVER, after[0][1] if after else EVER)

    def _add(self, thing: int, uses: list[_Use]) -> None:
        self._uses[thing] = uses
        sinks = [use[1] for use in uses if use[3] >= 3]
        sources = [use[1] for use in uses if use[3] <= 4]
        edges = self._graph.add_edges_from
        cleared = [(use[1], use[2]) for use in uses if use[3] in (7, 8)]
        if not cleared and (not sinks or not sources or max(sinks) <= min(sources)):
            moment = next(self._moments)
            edges((use[4], moment) for use in uses if use[3] >= 3)
            edges((moment, use[4]) for use in uses if use[3] <= 4)
            return
        self._breaks[thing] = cleared
        before: int | None = None
        for _, held in groupby(uses, itemgetter(1)):
            now = list(held)
            came = next(self._moments)
            # What was there before a cleaning does not go on beyond its moment.
            goes = next(self._moments) if any(use[3] in (7, 8) for use in now) else came
            if before is not None:
                edges([(before, came)])
            edges((came, use[4]) for use in now if use[3] <= 4)
            edges((use[4], moment) for use in now if use[3] >= 3 for moment in {came, goes})
            before = goes


def scope(of: Plain | Graph, delivery: int) -> Found:
    """A recall's widest scope from one delivery: back to every cause, and forward from all of them in their spells."""
    return of.forward([*of.back([Window(delivery)]).windows, Window(delivery)])
