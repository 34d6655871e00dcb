"""Clean breaks, and what was judged: entries that let an item or a water source start afresh, or could have."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from typing import Any, NamedTuple

from sqlalchemy import Connection, text

from lotwalk.ledger.model import Version
from lotwalk.ledger.read.versions import all_versions
from lotwalk.ledger.record import parse
from lotwalk.store.nodes import seq_of as seq_of_node
from lotwalk.store.sql import (
    BREAKS,
    SOURCES,
    in_force,
    in_roles,
    nodes_of,
    of_role,
    select_keys,
    select_rows,
    seq_of,
    use_in_force,
    within,
)
from lotwalk.values.order import LONG
from lotwalk.values.roles import Role

CLEARS = (Role.CLEARED, Role.CLEARED_WATER)
_JUDGED = (Role.TOUCHED, *CLEARS, Role.ABOUT)
_BREAK = "u.thing, u.node, u.role, u.at_from, u.at_to, u.grp, u.line, u.assumed, e.first, e.kind"
_LIKE_UNSHOWN = '%"kind":"unshown"%'
"""How the text of an entry looks whose verdict may hold such a reason. What people wrote has its quotes escaped."""


class Break(NamedTuple):
    """A clean break in force of a thing (database key): its entry's version, number and kind, and its place in time."""

    thing: int
    node: int
    role: Role
    start: int
    end: int
    group: int
    line: int
    assumed: int
    number: int
    kind: str

    @property
    def seq(self) -> int:
        """The number of the entry's version."""
        return seq_of_node(self.node)


def breaks_of(connection: Connection, things: Collection[int]) -> list[Break]:
    """Return the clean breaks in force of items and water sources (database keys)."""
    sql = (
        f"SELECT {_BREAK} FROM {{listed}} JOIN use u ON u.thing = j.value AND {within(BREAKS)}"
        f" JOIN entry e ON e.seq = {seq_of()} WHERE {in_force()}"
    )
    return [_break(row) for row in select_keys(connection, sql, things)]


def _break(row: Sequence[Any]) -> Break:
    thing, node, role, *rest = row
    return Break(thing, node, Role(role), *rest)


def breaks_at(
    connection: Connection, ends: Collection[tuple[int, int]], begins: Collection[tuple[int, int]]
) -> list[int]:
    """Return the clean breaks in force that end, or begin, at these seconds, given as (thing, second).

    Each by the version of its entry. All breaks of a thing between the first of its seconds and the last are read at
    once, from the index alone: asking for thousands of seconds one by one takes ten times as long.
    """
    seconds: dict[int, list[int]] = defaultdict(list)
    for thing, second in (*ends, *begins):
        seconds[thing].append(second)
    sql = (
        f"SELECT u.node, u.thing, u.at_from, u.at_to FROM {{listed}} CROSS JOIN use u ON u.thing = {{0}}"
        f" AND {within(BREAKS)} AND u.at_from BETWEEN {{1}} AND {{2}}"
    )
    rows = select_rows(connection, sql, [(thing, min(some) - LONG, max(some)) for thing, some in seconds.items()])
    found = [
        seq_of_node(node)
        for node, thing, start, end in rows
        if ((thing, end) in ends and end - start <= LONG) or (thing, start) in begins
    ]
    # Many of them are of one entry, so it is asked afterwards which are in force.
    sql = f"SELECT e.seq FROM {{listed}} JOIN entry e ON e.seq = j.value WHERE {in_force()}"
    live = {row[0] for row in select_keys(connection, sql, set(found))}
    return [seq for seq in found if seq in live]


def breaks_recorded_after(connection: Connection, seq: int, until: int) -> dict[int, int]:
    """Return the clean breaks in force that were recorded after a version (`seq`) and may be of a time before another.

    By version, with the number of the entry. `until` is in epoch seconds.
    """
    rows = connection.execute(
        text(
            f"SELECT DISTINCT e.seq, e.first FROM entry e JOIN use u ON u.node IN {nodes_of()}"
            f" AND {of_role('u', *CLEARS)}"
            f" WHERE e.seq > :seq AND e.judged > 0 AND e.at_from <= :until AND {in_force()}"
        ),
        {"seq": seq, "until": until},
    )
    return dict(map(tuple, rows))


def passed_all_along(connection: Connection, versions: Mapping[int, int], seq: int) -> set[int]:
    """Return those of the versions whose entries say and pass now what they did when another (`seq`) was recorded.

    `versions` are in force, each with the number of its entry. They were filed anew since a verdict has another reason
    by now, or a judge has learned; what passes in them failed in none in between.
    """
    kept = set()
    for history in all_versions(connection, list(dict.fromkeys(versions.values()))).values():
        now, then = history[-1], [one for one in history[:-1] if one.seq > seq]
        then += [one for one in history if one.seq <= seq][-1:]
        passed = set(now.judged.passed)
        if (
            any(one.seq <= seq for one in then)
            and all(_says(one) == _says(now) for one in then)
            and all(passed <= set(one.judged.passed) for one in then)
        ):
            kept.add(now.seq)
    return kept


def _says(version: Version) -> object:
    files = [file.digest for file in version.files]
    return version.void, version.at, version.by, version.place, version.fields, files


def last_break(connection: Connection, thing: int, before: int) -> Break | None:
    """Return the clean break in force of an item (database key) that ends latest before a time, or None."""
    found = [one for one in breaks_of(connection, [thing]) if one.role is Role.CLEARED and one.end < before]
    return max(found, key=lambda one: (one.end, one.number), default=None)


def judged_of(connection: Connection, thing: int, start: int, end: int) -> list[Version]:
    """Return the judged entries in force that concern a thing (database key) in a time (first and last second)."""
    rows = connection.execute(
        text(
            f"SELECT DISTINCT e.seq, e.record, e.digest FROM use u JOIN entry e ON e.seq = {seq_of()} AND e.judged > 0"
            f" WHERE u.thing = :thing AND {in_roles('u', *_JUDGED)} AND u.at_to >= :start AND u.at_from <= :end"
            f" AND {in_force()}"
        ),
        {"thing": thing, "start": start, "end": end},
    )
    return [parse(*stored) for _, *stored in rows]


def judged_of_kind(connection: Connection, kind: str) -> list[int]:
    """Return the entries in force (versions) of a kind of record that were judged."""
    rows = connection.execute(
        text(f"SELECT e.seq FROM entry e WHERE e.kind = :kind AND e.judged > 0 AND {in_force()}"), {"kind": kind}
    )
    return [row[0] for row in rows]


def judged_among(connection: Connection, seqs: Collection[int]) -> list[int]:
    """Return those of the versions that were judged."""
    sql = "SELECT e.seq FROM {listed} JOIN entry e ON e.seq = j.value WHERE e.judged > 0"
    return [row[0] for row in select_keys(connection, sql, seqs)]


def source_uses(connection: Connection, spells: Sequence[tuple[int, int, int]]) -> dict[int, tuple[int, int, int]]:
    """Return, by the place of each spell (thing's key, first and last second), how often the thing gave in it.

    With the first second of that and the last. Spells in which it never gave are left out.
    """
    sql = (
        f"SELECT {{0}}, count(*), min(u.at_from), max(u.at_to) FROM {{listed}} CROSS JOIN use u ON u.thing = {{1}}"
        f" AND {within(SOURCES)} AND u.at_to >= {{2}} AND u.at_from <= {{3}} WHERE {use_in_force()} GROUP BY {{0}}"
    )
    rows = [(place, *spell) for place, spell in enumerate(spells)]
    return {place: (count, first, last) for place, count, first, last in select_rows(connection, sql, rows)}


def judged_by_older(connection: Connection, judge: int) -> list[int]:
    """Return the entries in force (versions) that a judge of a lower number judged, by time."""
    rows = connection.execute(
        text(
            f"SELECT e.seq FROM entry e WHERE e.judged > 0 AND e.judged < :judge AND {in_force()}"
            " ORDER BY e.at_from, e.at_to, e.seq"
        ),
        {"judge": judge},
    )
    return [row[0] for row in rows]


def unshown_verdicts(connection: Connection, among: Collection[int] | None = None) -> set[int]:
    """Return the entries in force (versions) that passed something without its temperature or pH, where it needs them.

    With `among` only those of these versions.
    """
    where = f"e.judged > 0 AND e.record LIKE '{_LIKE_UNSHOWN}' AND {in_force()}"
    if among is None:
        rows: Sequence[Any] = connection.execute(
            text(f"SELECT e.seq, e.record, e.digest FROM entry e WHERE {where}")
        ).all()
    else:
        sql = f"SELECT e.seq, e.record, e.digest FROM {{listed}} JOIN entry e ON e.seq = j.value WHERE {where}"
        rows = select_keys(connection, sql, among)
    judged = {seq: parse(*stored).judged for seq, *stored in rows}
    return {seq for seq, one in judged.items() if any(one.because("unshown", code) for code in one.passed)}


def relying_on(connection: Connection, lot: int) -> list[int]:
    """Return the judged entries in force (versions) that took a lot (database key), or what was made of it."""
    sql = (
        f"SELECT DISTINCT e.seq, m.thing FROM {{listed}} JOIN use u ON u.thing = j.value AND {in_roles('u', Role.TOOK)}"
        f" JOIN entry e ON e.seq = {seq_of()} LEFT JOIN use m ON m.node = u.node AND {of_role('m', Role.MADE)}"
        f" WHERE {in_force()}"
    )
    lots, fresh, seqs = {lot}, {lot}, set[int]()
    while fresh:
        rows = select_keys(connection, sql, fresh)
        seqs |= {row[0] for row in rows}
        fresh = {row[1] for row in rows if row[1] is not None} - lots
        lots |= fresh
    return judged_among(connection, seqs)
