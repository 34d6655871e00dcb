"""What the ledger's rows say of what stands on what: who emptied an item, what bore a lot, what became of a mat."""

from collections.abc import Collection, Sequence
from typing import NamedTuple

from sqlalchemy import Connection, text

from lotwalk.ledger.model import ThingRow
from lotwalk.store.sql import (
    BREAKS,
    SOURCES,
    first_node,
    in_force,
    in_roles,
    of_role,
    select_keys,
    select_rows,
    seq_of,
    texts,
    use_in_force,
    within,
)
from lotwalk.values.order import LONG
from lotwalk.values.roles import Role

_GROUP = "CASE WHEN s.in_order = 1 THEN s.id ELSE 0 END"
EVER = 1 << 62
"""Seconds. Stands for an open end of time."""


class ItemUse(NamedTuple):
    """One use of an item (database key), in contact, by an entry in force: its version, its kind and its moment."""

    thing: int
    seq: int
    kind: str
    start: int
    end: int
    group: int
    line: int


class Renamed(NamedTuple):
    """An item (database key) that became another, by which version of an entry in force, and when."""

    before: int
    after: ThingRow
    seq: int
    start: int
    end: int
    group: int
    line: int


def contacts_within(
    connection: Connection, spans: Sequence[tuple[int, int, int]], kinds: Collection[str]
) -> list[ItemUse]:
    """Return the uses in force, by entries of some kinds, in which items were touched or cleared in spans of time.

    A span is an item's database key, and a first and a last second that such a use overlaps.
    """
    parts = [
        "SELECT u.thing, e.seq, e.kind, u.at_from, u.at_to, u.grp, u.line FROM {listed}"
        f" CROSS JOIN use u ON u.thing = {{0}} AND {within(condition)} AND {of_role('u', role)}"
        f" AND u.at_from BETWEEN {{1}} - {LONG} AND {{2}} AND u.at_to >= {{1}}"
        f" CROSS JOIN entry e ON e.seq = {seq_of()} AND e.kind IN {texts(kinds)} WHERE {in_force()}"
        for condition, role in ((SOURCES, Role.TOUCHED), (BREAKS, Role.CLEARED))
    ]
    return [ItemUse(*row) for row in select_rows(connection, " UNION ".join(parts), spans)]


def worked_on_with(
    connection: Connection, lots: Collection[int], kinds: Collection[str], items: Collection[str]
) -> list[tuple[int, str, int]]:
    """Return the entries in force, of some kinds, that tend or handle one of the lots and touch items of some kinds.

    Each as its version, its text, and its attested sheet or 0.
    """
    sql = (
        f"SELECT DISTINCT e.seq, e.record, {_GROUP} FROM {{listed}} CROSS JOIN use u ON u.thing = j.value"
        f" AND {in_roles('u', Role.TENDED, Role.HANDLED)} CROSS JOIN entry e ON e.seq = {seq_of()}"
        f" AND e.kind IN {texts(kinds)} LEFT JOIN sheet s ON s.id = e.sheet WHERE {in_force()}"
        f" AND EXISTS (SELECT 1 FROM use i JOIN thing t ON t.id = i.thing AND t.kind IN {texts(items)}"
        f" WHERE i.node = u.node AND {of_role('i', Role.TOUCHED)})"
    )
    return [(seq, record, group) for seq, record, group in select_keys(connection, sql, lots)]


def renamed(connection: Connection, kinds: Collection[str]) -> list[Renamed]:
    """Return which items became which others by the entries in force of some kinds: cut up, or with a new tag."""
    sql = (
        "SELECT o.thing, t.id, t.code, t.kind, t.cls, t.type, e.seq, o.at_from, o.at_to, o.grp, o.line FROM entry e"
        f" JOIN use n ON n.node = {first_node()} AND {of_role('n', Role.NAMES)} JOIN thing t ON t.id = n.thing"
        f" JOIN use o ON o.node = n.node AND {of_role('o', Role.TOUCHED)} AND NOT EXISTS (SELECT 1 FROM use m"
        f" WHERE m.node = o.node AND m.thing = o.thing AND {of_role('m', Role.NAMES)})"
        f" WHERE e.kind IN {texts(kinds)} AND {in_force()}"
    )
    return [Renamed(row[0], ThingRow(*row[1:6]), *row[6:]) for row in connection.execute(text(sql))]


def using_since(connection: Connection, things: Sequence[tuple[int, int]]) -> set[int]:
    """Return the entries in force (versions) that took, handled or touched things since some second.

    The things come as (database key, second).
    """
    sql = (
        f"SELECT DISTINCT e.seq FROM {{listed}} CROSS JOIN use u ON u.thing = {{0}} AND {within(SOURCES)}"
        f" AND {of_role('u', Role.TOOK, Role.HANDLED, Role.TOUCHED)} AND u.at_from >= {{1}}"
        f" CROSS JOIN entry e ON e.seq = {seq_of()} WHERE {in_force()}"
    )
    reach = [(thing, max(since - LONG, -EVER)) for thing, since in things]
    return {row[0] for row in select_rows(connection, sql, reach)}


def of_kinds_in_force(connection: Connection, kinds: Collection[str]) -> list[int]:
    """Return the entries in force (versions) of some kinds, by time."""
    sql = f"SELECT e.seq FROM entry e WHERE e.kind IN {texts(kinds)} AND e.void = 0 AND {in_force()}"
    return [row[0] for row in connection.execute(text(f"{sql} ORDER BY e.at_from, e.at_to, e.seq"))]


def last_breaks(connection: Connection, items: Sequence[tuple[int, int]]) -> dict[int, int]:
    """Return the first second of the latest clean break in force of each item that ended before some second.

    The items come as (database key, second); those that have none are left out.
    """
    sql = (
        f"SELECT {{0}}, (SELECT c.at_from FROM use c WHERE c.thing = {{0}} AND {within(BREAKS, 'c')}"
        f" AND {of_role('c', Role.CLEARED)}"
        f" AND c.at_from < {{1}} AND c.at_to < {{1}} AND {use_in_force('c')} ORDER BY c.at_from DESC LIMIT 1)"
        " FROM {listed}"
    )
    return {item: start for item, start in select_rows(connection, sql, items) if start is not None}


def texts_of(connection: Connection, seqs: Collection[int]) -> list[tuple[str, int]]:
    """Return the text of each of these versions, with its attested sheet or 0."""
    sql = (
        f"SELECT e.record, {_GROUP} FROM {{listed}} JOIN entry e ON e.seq = j.value LEFT JOIN sheet s ON s.id = e.sheet"
    )
    return [(record, group) for record, group in select_keys(connection, sql, seqs)]


def touching(connection: Connection, kinds: Collection[str]) -> list[int]:
    """Return the entries in force (versions) that touch things of some kinds, by time."""
    sql = (
        f"SELECT DISTINCT e.seq, e.at_from, e.at_to FROM thing t JOIN use u ON u.thing = t.id AND {within(SOURCES)}"
        f" AND {of_role('u', Role.TOUCHED)} JOIN entry e ON e.seq = {seq_of()} WHERE t.kind IN {texts(kinds)}"
        f" AND {in_force()} ORDER BY e.at_from, e.at_to, e.seq"
    )
    return [row[0] for row in connection.execute(text(sql))]


def unshared(connection: Connection) -> set[int]:
    """Return the entries in force (versions) that handle a mix in which things are dipped, and do not share it."""
    sql = (
        "SELECT e.seq FROM thing t JOIN use u ON u.thing = t.id AND"
        f" {in_roles('u', Role.HANDLED)} JOIN entry e ON e.seq = {seq_of()} WHERE t.bath = 1 AND {in_force()}"
        " AND NOT EXISTS (SELECT 1 FROM use s WHERE s.node = u.node AND s.thing = u.thing"
        f" AND {of_role('s', Role.SHARED)})"
    )
    return {row[0] for row in connection.execute(text(sql))}
