"""What the ledger's rows say of what stood on racks and was kept at places."""

from collections.abc import Collection, Sequence
from typing import NamedTuple

from sqlalchemy import Connection

from lotwalk.ledger.model import ThingRow
from lotwalk.store.sql import (
    NAMED,
    SINKS,
    SOURCES,
    in_force,
    in_roles,
    of_role,
    role_parts,
    select_keys,
    select_rows,
    seq_of,
    texts,
    use_in_force,
    within,
)
from lotwalk.values.roles import Role

_THING = "t.id, t.code, t.kind, t.cls, t.type"


class Dealing(NamedTuple):
    """A use of a lot (database key) by an entry in force: the version, its kind, the role, when, and how much.

    `assumed`: nobody said so; the lot was taken to be there.
    """

    lot: int
    seq: int
    kind: str
    role: Role
    start: int
    end: int
    group: int
    line: int
    amount: str | None
    assumed: bool


def brought(connection: Connection, until: Sequence[tuple[int, int]]) -> list[tuple[int, int, ThingRow]]:
    """Return what entries in force made, worked on or moved that touched a rack or say a place, up to some second.

    `until` holds racks and places (database keys), each with that second. Each is found as (rack or place, version,
    thing).
    """
    touched = (within(SOURCES), of_role("u", Role.TOUCHED), (Role.MADE, Role.TENDED, Role.HANDLED))
    placed = (within(NAMED), of_role("u", Role.PLACE), (Role.MADE, Role.ABOUT, Role.TENDED, Role.HANDLED))
    parts = [
        f"SELECT DISTINCT u.thing, e.seq, {_THING} FROM {{listed}} CROSS JOIN use u ON u.thing = {{0}} AND {index}"
        f" AND {role} AND u.at_from <= {{1}} CROSS JOIN entry e ON e.seq = {seq_of()}"
        f" CROSS JOIN use o ON o.node = u.node AND {of_role('o', *others)} CROSS JOIN thing t ON t.id = o.thing"
        f" AND t.cls IN ('lot', 'item') WHERE {in_force()}"
        for index, role, others in (touched, placed)
    ]
    rows = select_rows(connection, " UNION ".join(parts), until)
    return [(keeper, seq, ThingRow(*thing)) for keeper, seq, *thing in rows]


def registered_with(connection: Connection, things: Collection[int]) -> list[tuple[int, ThingRow]]:
    """Return what entries in force registered that name one of the things (database keys), each with that thing."""
    sql = (
        f"SELECT u.thing, {_THING} FROM {{listed}} JOIN use u ON u.thing = j.value AND {in_roles('u', Role.ABOUT)}"
        f" JOIN entry e ON e.seq = {seq_of()} JOIN use n ON n.node = u.node AND {of_role('n', Role.NAMES)}"
        f" JOIN thing t ON t.id = n.thing WHERE {in_force()}"
    )
    return [(thing, ThingRow(*row)) for thing, *row in select_keys(connection, sql, things)]


def naming_at_places(connection: Connection, things: Collection[int]) -> set[int]:
    """Return the entries in force (versions) that only name one of the things (database keys), and say a place."""
    sql = (
        f"SELECT DISTINCT e.seq FROM {{listed}} JOIN use u ON u.thing = j.value AND {in_roles('u', Role.ABOUT)}"
        f" JOIN entry e ON e.seq = {seq_of()} JOIN use p ON p.node = u.node AND {of_role('p', Role.PLACE)}"
        f" WHERE {in_force()}"
    )
    return {row[0] for row in select_keys(connection, sql, things)}


def dealings(connection: Connection, lots: Collection[int]) -> list[Dealing]:
    """Return what entries in force did with lots (database keys): made, took, worked on or only named them."""
    sql = " UNION ALL ".join(
        f"SELECT u.thing, e.seq, e.kind, u.role, u.at_from, u.at_to, u.grp, u.line, u.amount, u.assumed FROM {{listed}}"
        f" JOIN use u ON u.thing = j.value AND {part} JOIN entry e ON e.seq = {seq_of()} WHERE {in_force()}"
        for part in role_parts("u", Role.TOOK, Role.HANDLED, Role.TENDED, Role.MADE, Role.ABOUT)
    )
    return [
        Dealing(lot, seq, kind, Role(role), start, end, group, line, amount, bool(assumed))
        for lot, seq, kind, role, start, end, group, line, amount, assumed in select_keys(connection, sql, lots)
    ]


def last_taken(connection: Connection, lots: Sequence[tuple[int, int]]) -> list[int]:
    """Return, for each lot, when it was taken last before some second, or else made: the first second of that.

    The lots come as (database key, second); those of which there is neither are left out.
    """
    taken = f"{within(SOURCES)} AND {of_role('u', Role.TOOK)}"
    made = f"{within(SINKS)} AND {of_role('u', Role.MADE)}"
    parts = [
        f"(SELECT u.at_from FROM use u WHERE u.thing = {{0}} AND {part} AND u.at_from < {{1}} AND u.at_to < {{1}}"
        f" AND {use_in_force()} ORDER BY u.at_from DESC LIMIT 1)"
        for part in (taken, made)
    ]
    sql = f"SELECT COALESCE({', '.join(parts)}) FROM {{listed}}"
    return [row[0] for row in select_rows(connection, sql, lots) if row[0] is not None]


def ended_since(connection: Connection, kinds: Collection[str], second: int) -> set[int]:
    """Return the entries in force (versions) of some kinds that end at or after a second."""
    sql = (
        f"SELECT e.seq FROM {{listed}} JOIN entry e ON e.kind IN {texts(kinds)} AND e.at_to >= {{0}}"
        f" WHERE e.void = 0 AND {in_force()}"
    )
    return {row[0] for row in select_rows(connection, sql, [(second,)])}
