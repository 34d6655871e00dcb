"""Things by their codes, their kinds and their database keys."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, text

from lotwalk.ledger.model import ThingRow
from lotwalk.store.nodes import parts_of
from lotwalk.store.sql import in_roles, of_role, select_keys, select_listed, use_in_force
from lotwalk.values.codes import fold
from lotwalk.values.roles import MAKES, Role

_COLUMNS = "t.id, t.code, t.kind, t.cls, t.type"


@dataclass(frozen=True, slots=True)
class Lot:
    """A lot with an amount of its own: its key in the database, code, kind and type of thing, whether it was bought."""

    id: int
    code: str
    kind: str
    type: str | None
    bought: bool


def find_thing(connection: Connection, code: str) -> ThingRow | None:
    """Return the thing of this code, however it is cased, or None."""
    return find_things(connection, [code]).get(fold(code))


def find_things(connection: Connection, codes: Iterable[str]) -> dict[str, ThingRow]:
    """Return the things of these codes by their folded codes; what is not in the book is left out."""
    sql = f"SELECT t.fold, {_COLUMNS} FROM {{listed}} JOIN thing t ON t.fold = j.value"
    rows = select_listed(connection, sql, sorted({fold(code) for code in codes}))
    return {folded: ThingRow(*row) for folded, *row in rows}


def keys_of(connection: Connection, codes: Iterable[str]) -> dict[int, str]:
    """Return the database keys of the things of these codes, each with its code as it is stored."""
    return {thing.id: thing.code for thing in find_things(connection, codes).values()}


def find_lots(connection: Connection, codes: Iterable[str]) -> dict[str, Lot | ThingRow]:
    """Return what these codes name, by their folded codes: lots with an amount of their own as such, else the thing."""
    sql = f"SELECT t.fold, {_COLUMNS}, t.bought, t.counted FROM {{listed}} JOIN thing t ON t.fold = j.value"
    found: dict[str, Lot | ThingRow] = {}
    for folded, key, code, kind, cls, type_, bought, counted in select_listed(
        connection, sql, sorted({fold(code) for code in codes})
    ):
        lot = cls == "lot" and counted
        found[folded] = Lot(key, code, kind, type_, bool(bought)) if lot else ThingRow(key, code, kind, cls, type_)
    return found


def all_lots(connection: Connection) -> list[str]:
    """Return the codes of all lots that have an amount of their own, in the order in which they came into the book."""
    rows = connection.execute(text("SELECT code FROM thing WHERE cls = 'lot' AND counted = 1 ORDER BY id"))
    return [row[0] for row in rows]


def bought_of_type(connection: Connection, type_: str) -> list[str]:
    """Return the codes of what was bought and is of a type, such as a sanitiser, the newest first."""
    rows = connection.execute(
        text("SELECT code FROM thing WHERE type = :type AND bought = 1 ORDER BY id DESC"), {"type": type_}
    )
    return [row[0] for row in rows]


def counted_of(connection: Connection, things: Collection[int]) -> set[int]:
    """Return those of the things (database keys) that are lots with an amount of their own."""
    sql = "SELECT t.id FROM {listed} JOIN thing t ON t.id = j.value AND t.counted = 1"
    return {row[0] for row in select_keys(connection, sql, things)}


def things_of(connection: Connection, keys: Collection[int]) -> list[ThingRow]:
    """Return the things of these database keys, by code."""
    sql = f"SELECT {_COLUMNS} FROM {{listed}} JOIN thing t ON t.id = j.value"
    return _by_code(select_keys(connection, sql, keys))


def things_used(connection: Connection, seqs: Collection[int]) -> list[ThingRow]:
    """Return the things that entries use, by the versions (`seq`)."""
    sql = (
        f"SELECT DISTINCT {_COLUMNS} FROM {{listed}} JOIN use u ON u.node = j.value AND {of_role('u', *Role)}"
        " JOIN thing t ON t.id = u.thing"
    )
    return _by_code(select_keys(connection, sql, [node for seq in seqs for node in parts_of(seq)]))


def things_holding(connection: Connection, pattern: str, most: int) -> list[ThingRow]:
    """Return things with a text inside of their folded codes, the newest first.

    `pattern` is the text for LIKE, `!` before what would stand for anything.
    """
    where = "t.fold LIKE :words ESCAPE '!' ORDER BY t.id DESC LIMIT :most"
    rows = connection.execute(
        text(f"SELECT {_COLUMNS} FROM thing t WHERE {where}"), {"words": f"%{pattern}%", "most": most}
    )
    return [ThingRow(*row) for row in rows]


def is_void(connection: Connection, thing: ThingRow) -> bool:
    """Return whether entries once made or registered the thing, and none in force does any more."""
    return bool(void_among(connection, [thing.id]))


def void_among(connection: Connection, things: Collection[int]) -> set[int]:
    """Return those of the things (database keys) that entries once made or registered, and none in force does."""
    sql = (
        f"SELECT u.thing, max(CASE WHEN {use_in_force()} THEN 1 ELSE 0 END) FROM {{listed}}"
        f" JOIN use u ON u.thing = j.value AND {in_roles('u', *MAKES)} GROUP BY u.thing"
    )
    return {thing for thing, made in select_keys(connection, sql, things) if not made}


def thing_codes(connection: Connection, kind: str | None = None) -> list[ThingRow]:
    """Return the things of a kind, or all of them, by code."""
    where = "WHERE t.kind = :kind" if kind else ""
    rows = connection.execute(text(f"SELECT {_COLUMNS} FROM thing t {where}"), {"kind": kind} if kind else {})
    return _by_code(rows.all())


def _by_code(rows: Sequence[Any]) -> list[ThingRow]:
    # Sorted here, since databases sort text by the customs of their country.
    return sorted((ThingRow(*row) for row in rows), key=lambda thing: fold(thing.code))
