"""Which entries in force made a thing, took it or name it, and what else they used."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from sqlalchemy import Connection, text

from lotwalk.ledger.model import ThingRow, Version
from lotwalk.ledger.record import parse, written_at
from lotwalk.store.nodes import parts_of
from lotwalk.store.sql import (
    first_node,
    in_force,
    in_roles,
    of_role,
    role_parts,
    select_keys,
    select_rows,
    seq_of,
    texts,
    use_in_force,
)
from lotwalk.values.roles import MAKES, Role


@dataclass(frozen=True, slots=True)
class Mentioned:
    """One entry in force that names a thing, with the role in which it does."""

    version: Version
    role: Role


class StoredUse(NamedTuple):
    """One use of a thing by an entry in force. `thing` is its key in the database, `node` the entry's or its part's.

    `start` and `end` are the entry's first and last second, `number` the one by which people name it, `kind` its kind.
    """

    thing: int
    node: int
    role: Role
    start: int
    end: int
    number: int
    kind: str
    assumed: bool


class Using(NamedTuple):
    """An entry in force (its version) that uses a thing (database key): its first and last second, and its kind."""

    thing: int
    seq: int
    start: int
    end: int
    kind: str


class Named(NamedTuple):
    """What a version of an entry uses, in which role, and the first second of its time."""

    role: Role
    thing: ThingRow
    start: int


class InUse(NamedTuple):
    """What a node uses: the thing's key, in which role, and whether it was only assumed."""

    node: int
    role: Role
    thing: int
    assumed: bool


class Beside(NamedTuple):
    """A thing (key) and another that the same entry in force uses, with the other's role and amount in it."""

    thing: int
    node: int
    start: int
    end: int
    role: Role
    other: int
    code: str
    kind: str
    cls: str
    amount: str | None
    unit: str | None


class Making(NamedTuple):
    """The entry in force that made or registered a thing: its kind, when (as written), and its first second."""

    kind: str
    at: str
    start: int


def makers(connection: Connection, things: Collection[int]) -> dict[int, Version]:
    """Return, for things (database keys), the entry in force that made or registered each; void ones are left out."""
    return {thing: parse(*stored) for thing, _, *stored in _made(connection, things, "e.record, e.digest")}


def makings(connection: Connection, things: Collection[int]) -> dict[int, Making]:
    """Return of the same entries only what and when they are: of hundreds that takes a third of the time."""
    rows = _made(connection, things, "e.kind, e.at_from, e.record, e.digest")
    return {thing: Making(kind, written_at(*stored), start) for thing, _, kind, start, *stored in rows}


def makers_at(connection: Connection, things: Collection[int]) -> dict[int, int]:
    """Return of the same entries only the versions."""
    return {thing: seq for thing, seq, _ in _made(connection, things, "e.first")}


def _made(connection: Connection, things: Collection[int], columns: str) -> Sequence[Any]:
    """The things, each with the version in force that made or registered it, and columns of that; the newest last.

    Each index is asked by itself. A product is named by a thousand packings, and to have SQLite look in one index or
    another makes it note all of those first.
    """
    parts = [
        f"SELECT u.thing, e.seq, {columns} FROM {{listed}} JOIN use u ON u.thing = j.value AND {part}"
        f" JOIN entry e ON e.seq = {seq_of()} WHERE {in_force()}"
        for part in role_parts("u", *MAKES)
    ]
    return select_keys(connection, f"{' UNION ALL '.join(parts)} ORDER BY 2", things)


def uses_of_version(connection: Connection, seq: int) -> list[Named]:
    """Return what a version of an entry uses, in force or not."""
    sql = (
        "SELECT u.role, u.at_from, t.id, t.code, t.kind, t.cls, t.type FROM {listed} JOIN use u ON u.node = j.value"
        " JOIN thing t ON t.id = u.thing"
    )
    rows = select_keys(connection, sql, parts_of(seq))
    return [Named(Role.read(role, thing[3]), ThingRow(*thing), start) for role, start, *thing in rows]


def past_makers(connection: Connection, thing: ThingRow) -> list[int]:
    """Return the numbers of the entries of which any version, in force or not, made or registered the thing."""
    sql = (
        f"SELECT DISTINCT e.first FROM {{listed}} JOIN use u ON u.thing = j.value AND {in_roles('u', *MAKES)}"
        f" JOIN entry e ON e.seq = {seq_of()} ORDER BY e.first"
    )
    return [row[0] for row in select_keys(connection, sql, [thing.id])]


def taking(connection: Connection, lots: Collection[int]) -> list[tuple[Version, int]]:
    """Return every version, in force or not, that took one of these lots, each with its attested sheet or 0."""
    sql = (
        f"SELECT DISTINCT e.seq, u.grp, e.record, e.digest FROM {{listed}} JOIN use u ON u.thing = j.value"
        f" AND {in_roles('u', Role.TOOK)} JOIN entry e ON e.seq = {seq_of()} ORDER BY e.seq"
    )
    return [(parse(*stored), group) for _, group, *stored in select_keys(connection, sql, lots)]


def once_made(connection: Connection, things: Collection[int]) -> set[int]:
    """Return those of the things (database keys) that some version of an entry made as a lot, in force or not."""
    sql = f"SELECT DISTINCT u.thing FROM {{listed}} JOIN use u ON u.thing = j.value AND {in_roles('u', Role.MADE)}"
    return {row[0] for row in select_keys(connection, sql, things)}


def mentions(connection: Connection, thing: ThingRow) -> list[Mentioned]:
    """Return the entries in force that name a thing, by time."""
    return [Mentioned(version, role) for _, role, version in versions_using(connection, [thing.id], tuple(Role))]


def versions_using(
    connection: Connection,
    things: Collection[int],
    roles: Collection[Role],
    kinds: Sequence[str] | None = None,
    *,
    past: bool = False,
) -> list[tuple[int, Role, Version]]:
    """Return the entries in force that use things (database keys) in some roles, by time: (key, role, entry).

    With `kinds` only those of these kinds of record; with `past` the versions that were amended stand among them.
    """
    chosen = "" if kinds is None else f" AND e.kind IN {texts(kinds)}"
    live = "" if past else f" WHERE {in_force()}"
    sql = (
        "SELECT u.thing, u.role, t.cls, e.seq, e.record, e.digest FROM {listed}"
        f" CROSS JOIN use u ON u.thing = j.value AND {in_roles('u', *roles)} CROSS JOIN thing t ON t.id = u.thing"
        f" CROSS JOIN entry e ON e.seq = {seq_of()}{chosen}{live}"
        " ORDER BY u.at_from, u.at_to, e.seq"
    )
    read: dict[int, Version] = {}
    found = []
    for thing, number, cls, seq, *stored in select_keys(connection, sql, things):
        if (role := Role.read(number, cls)) not in roles:
            continue
        # One entry may use many of them: its text is read once.
        version = read.get(seq)
        if version is None:
            version = read[seq] = parse(*stored)
        found.append((thing, role, version))
    return found


def uses_of(connection: Connection, things: Collection[int], roles: Collection[Role]) -> list[StoredUse]:
    """Return the uses in force of things (database keys) in some roles."""
    sql = (
        "SELECT u.thing, u.node, u.role, t.cls, u.at_from, u.at_to, e.first, e.kind, u.assumed FROM {listed}"
        f" CROSS JOIN use u ON u.thing = j.value AND {in_roles('u', *roles)} CROSS JOIN thing t ON t.id = u.thing"
        f" CROSS JOIN entry e ON e.seq = {seq_of()} WHERE {in_force()}"
    )
    return [
        StoredUse(thing, node, role, start, end, number, kind, bool(assumed))
        for thing, node, stored, cls, start, end, number, kind, assumed in select_keys(connection, sql, things)
        if (role := Role.read(stored, cls)) in roles
    ]


def using(connection: Connection, things: Collection[int], roles: Collection[Role], kinds: Sequence[str]) -> set[Using]:
    """Return which entries in force of some kinds of record use things (database keys) in some roles.

    Most uses are by entries of other kinds, so nothing is asked of a use that does not stand in the index.
    """
    parts = [
        f"SELECT u.thing, {seq_of()}, u.at_from, u.at_to, e.kind, u.role, t.cls FROM {{listed}}"
        f" CROSS JOIN use u ON u.thing = j.value AND {part}"
        f" CROSS JOIN entry e ON e.seq = {seq_of()} AND e.kind IN {texts(kinds)}"
        f" CROSS JOIN thing t ON t.id = u.thing WHERE {in_force()}"
        for part in role_parts("u", *roles)
    ]
    rows = select_keys(connection, " UNION ALL ".join(parts), things)
    return {Using(*use) for *use, stored, cls in rows if Role.read(stored, cls) in roles}


def uses_within(
    connection: Connection, spans: Sequence[tuple[int, int, int]], *roles: Role
) -> list[tuple[int, StoredUse]]:
    """Return the uses in force in some roles that overlap spans (thing's key, first and last second).

    Each with the place of the span in the list.
    """
    sql = (
        "SELECT {0}, u.thing, u.node, u.role, u.at_from, u.at_to, e.first, e.kind, u.assumed FROM {listed}"
        f" CROSS JOIN use u ON u.thing = {{1}} AND {in_roles('u', *roles)} AND u.at_to >= {{2}} AND u.at_from <= {{3}}"
        f" CROSS JOIN entry e ON e.seq = {seq_of()} WHERE {in_force()}"
    )
    rows = select_rows(connection, sql, [(place, *span) for place, span in enumerate(spans)])
    return [
        (place, StoredUse(thing, node, Role(role), start, end, number, kind, bool(assumed)))
        for place, thing, node, role, start, end, number, kind, assumed in rows
    ]


def beside(
    connection: Connection, things: Collection[int], roles: Collection[Role], others: Collection[Role]
) -> list[Beside]:
    """Return what the entries in force that use things (database keys) in some roles use in other roles, by code.

    So the customer and the lots of a delivery, or what a lot was made of.
    """
    sql = (
        "SELECT u.thing, u.node, u.at_from, u.at_to, o.role, o.thing, t.code, t.kind, t.cls, o.amount, o.unit"
        f" FROM {{listed}} CROSS JOIN use u ON u.thing = j.value AND {in_roles('u', *roles)}"
        f" CROSS JOIN use o ON o.node = u.node AND {of_role('o', *others)} CROSS JOIN thing t ON t.id = o.thing"
        f" WHERE {use_in_force()} ORDER BY u.thing, t.code"
    )
    return [
        Beside(thing, node, start, end, role, other, code, kind, cls, amount, unit)
        for thing, node, start, end, stored, other, code, kind, cls, amount, unit in select_keys(
            connection, sql, things
        )
        if (role := Role.read(stored, cls)) in others
    ]


def used_in(connection: Connection, nodes: Collection[int], roles: Collection[Role]) -> list[InUse]:
    """Return what these nodes use in some roles."""
    sql = (
        "SELECT u.node, u.role, u.thing, u.assumed, t.cls FROM {listed} JOIN use u ON u.node = j.value"
        f" AND {of_role('u', *roles)} JOIN thing t ON t.id = u.thing"
    )
    found = (
        InUse(node, Role.read(stored, cls), thing, bool(assumed))
        for node, stored, thing, assumed, cls in select_keys(connection, sql, nodes)
    )
    return [use for use in found if use.role in roles]


def used_at(connection: Connection, nodes: Collection[int], roles: Collection[Role]) -> list[tuple[int, int]]:
    """Return what these nodes use in some roles, as (node, thing's database key)."""
    sql = (
        f"SELECT u.node, u.thing, u.role, t.cls FROM {{listed}} JOIN use u ON u.node = j.value"
        f" AND {of_role('u', *roles)} JOIN thing t ON t.id = u.thing"
    )
    rows = select_keys(connection, sql, nodes)
    return [(node, thing) for node, thing, stored, cls in rows if Role.read(stored, cls) in roles]


def made_between(connection: Connection, kinds: Collection[str], thing_kind: str, start: int, end: int) -> set[int]:
    """Return the things of a kind (database keys) that entries in force made in a time (first and last second).

    `kinds` are the kinds of record that make them.
    """
    sql = text(
        f"SELECT m.thing FROM entry e JOIN use m ON m.node = {first_node()}"
        f" AND {of_role('m', Role.MADE)} JOIN thing t ON t.id = m.thing AND t.kind = :made"
        f" WHERE e.kind = :kind AND e.at_from BETWEEN :start AND :end AND {in_force()}"
    )
    found: set[int] = set()
    for kind in kinds:
        rows = connection.execute(sql, {"made": thing_kind, "kind": kind, "start": start, "end": end})
        found |= {row[0] for row in rows}
    return found


def last_named(connection: Connection, things: Collection[int]) -> dict[int, int]:
    """Return, by the thing's key, the last second of the latest entry in force that names it in any role."""
    parts = [
        f"SELECT u.thing, max(u.at_to) FROM {{listed}} JOIN use u ON u.thing = j.value AND {part}"
        f" WHERE {use_in_force()} GROUP BY u.thing"
        for part in role_parts("u", *Role)
    ]
    latest: dict[int, int] = {}
    for thing, last in select_keys(connection, " UNION ALL ".join(parts), things):
        latest[thing] = max(last, latest.get(thing, last))
    return latest
