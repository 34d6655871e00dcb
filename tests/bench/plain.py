"""The walk written straight onto `sqlite3`, level by level: what the public interface is measured against.

It answers what is reached, in which spells, and through which entries, by the design's definition, for books in which
no sheet attests its order and no use is longer than a day. It knows no levels, links, silence or distrust.
"""

import json
import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

EVER = 1 << 62
_DAY = 90_000
_LIVE = "NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = k.node >> 1)"
_BREAKS = "FROM use c INDEXED BY use_clear WHERE c.thing = k.thing AND c.role >= 7 AND c.role <= 8 AND " + (
    "NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = c.node >> 1)"
)
_FIRST_AFTER = f"(SELECT c.at_to {_BREAKS} AND c.at_from > k.at_to ORDER BY c.at_from LIMIT 1)"
_NEXT = f"coalesce((SELECT min(c.at_to) {_BREAKS} AND c.at_from > k.at_to AND c.at_from <= {_FIRST_AFTER}), {EVER})"
_LAST = f"coalesce((SELECT c.at_from {_BREAKS} AND c.at_to < k.at_from ORDER BY c.at_from DESC LIMIT 1), -{EVER})"


@dataclass(frozen=True, slots=True)
class Window:
    """A thing (its key), and the time in which uses of it count."""

    thing: int
    low: int = -EVER
    high: int = EVER


@dataclass(frozen=True, slots=True)
class Found:
    """The entries (their numbers) walked through, the codes of the things reached, and in which spells.

    `windows` are the things by their keys, items and water in each of their spells.
    """

    entries: frozenset[int]
    codes: frozenset[str]
    windows: frozenset[Window]


class Plain:
    """A ledger's file, opened with nothing but `sqlite3`."""

    def __init__(self, path: Path) -> None:
        self.connection = sqlite3.connect(path)

    def close(self) -> None:
        self.connection.close()

    def key(self, code: str) -> int:
        return int(self.connection.execute("SELECT id FROM thing WHERE code = ?", (code,)).fetchone()[0])

    def forward(self, starts: Iterable[Window]) -> Found:
        """Everything reached from the uses of things as sources, in their windows."""
        leave = (
            f"SELECT k.thing, k.role, k.at_from, k.at_from, CASE WHEN k.role IN (4, 7, 8) THEN {_NEXT} ELSE {EVER} END,"
            f" CASE k.role WHEN 4 THEN {_LAST} WHEN 7 THEN k.at_from WHEN 8 THEN k.at_from ELSE -{EVER} END"
            " FROM json_each(?) j CROSS JOIN use k ON k.node = j.value WHERE k.role BETWEEN 3 AND 8"
        )
        nodes, rows = self._walk(starts, leave, "use_in", "k.role <= 4", 6)
        return self._found(nodes, {Window(row[0], row[5], row[4]) for row in rows})

    def back(self, starts: Iterable[Window]) -> Found:
        """Everything that can have reached the uses of things as sinks, in their windows."""
        leave = (
            f"SELECT k.thing, k.role, k.at_from, -k.at_to, CASE WHEN k.role IN (2, 4) THEN -{_LAST} ELSE {EVER} END,"
            f" CASE WHEN k.role IN (2, 4) THEN {_NEXT} ELSE {EVER} END"
            " FROM json_each(?) j CROSS JOIN use k ON k.node = j.value WHERE k.role <= 4"
        )
        nodes, rows = self._walk(starts, leave, "use_out", "k.role BETWEEN 3 AND 8", 0)
        return self._found(nodes, {Window(row[0], -row[4], row[5]) for row in rows})

    def _found(self, nodes: set[int], windows: set[Window]) -> Found:
        run = self.connection.execute
        entries = json.dumps(sorted({node >> 1 for node in nodes}))
        names = run("SELECT e.first FROM json_each(?) j CROSS JOIN entry e ON e.seq = j.value", (entries,))
        things = json.dumps(sorted({one.thing for one in windows}))
        codes = run("SELECT t.code FROM json_each(?) j CROSS JOIN thing t ON t.id = j.value", (things,))
        return Found(frozenset(row[0] for row in names), frozenset(row[0] for row in codes), frozenset(windows))

    def _walk(
        self, starts: Iterable[Window], leave: str, index: str, coming: str, always: int
    ) -> tuple[set[int], list[tuple[int, ...]]]:
        """Level by level. Walking back all times are negated. `always` is the role that leads to uses at any time."""
        back = index == "use_out"
        scan = (
            f"SELECT k.node FROM json_each(?) j CROSS JOIN use k INDEXED BY {index} ON k.thing = j.value ->> 0"
            f" AND {coming} AND k.at_from BETWEEN (j.value ->> 1) - {_DAY} AND j.value ->> 2"
            f" AND k.at_to >= j.value ->> 1 WHERE {_LIVE}"
        )
        # Back through a lot its making counts at any time, and all else where it may come before.
        made = (
            f"SELECT k.node FROM json_each(?) j CROSS JOIN use k INDEXED BY {index} ON k.thing = j.value"
            f" AND {coming} AND k.role = 6 WHERE {_LIVE}"
        )
        lots: set[int] = set()
        run = self.connection.execute
        nodes: set[int] = set()
        all_rows: list[tuple[int, ...]] = []
        scanned: dict[tuple[int, int], int] = {}
        windows = [[one.thing, one.low, one.high] for one in starts]
        while windows:
            fresh = {row[0] for row in run(scan, (json.dumps(windows),))}
            fresh |= {row[0] for row in run(made, (json.dumps(list(lots)),))} if lots else set()
            fresh -= nodes
            lots = set()
            nodes |= fresh
            rows = run(leave, (json.dumps(list(fresh)),)).fetchall()
            all_rows += rows
            windows = []
            for row in rows:
                thing, role, _, start, bound, _ = row
                low = -EVER if role == always else start
                known = scanned.get((thing, bound))
                if back and known is None and role in (1, 3):
                    lots.add(thing)
                if known is None or low < known:
                    scanned[thing, bound] = low
                    high = bound if known is None else known - 1
                    windows.append([thing, -high, -low] if back else [thing, low, high])
        return nodes, all_rows
