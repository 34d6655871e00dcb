"""Reading the ledger back: entries with all their versions, things and where they are named, what people read out."""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, text

from lotwalk.ledger.model import ThingRow, Version
from lotwalk.ledger.names import select_listed
from lotwalk.ledger.record import parse
from lotwalk.store.tables import MADE_OR_NAMED, ROLE_NAMES, in_roles
from lotwalk.values.codes import fold

_LIVE = "NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.seq)"
_MAKES = in_roles("u", *MADE_OR_NAMED)
_MOST_MATCHES = 50


@dataclass(frozen=True, slots=True)
class Mentioned:
    """One entry in force that names a thing, with the role in which it does."""

    version: Version
    role: str


def find_thing(connection: Connection, code: str) -> ThingRow | None:
    """Return the thing of this code, however it is cased, or None."""
    row = connection.execute(
        text("SELECT id, code, kind, cls, type FROM thing WHERE fold = :fold"), {"fold": fold(code)}
    ).first()
    return ThingRow(*row) if row else None


def things_of(connection: Connection, keys: Sequence[int]) -> list[ThingRow]:
    """Return the things of these database keys, by code."""
    sql = "SELECT t.id, t.code, t.kind, t.cls, t.type FROM {listed} JOIN thing t ON t.id = j.value"
    return _by_code(select_listed(connection, sql, list(keys), "bigint"))


def is_void(connection: Connection, thing: ThingRow) -> bool:
    """Return whether entries once made or registered the thing, and none in force does any more."""
    return bool(void_among(connection, [thing.id]))


def void_among(connection: Connection, things: Sequence[int]) -> set[int]:
    """Return those of the things (database keys) that entries once made or registered, and none in force does."""
    sql = (
        "SELECT u.thing, min(CASE WHEN a.seq IS NULL THEN 0 ELSE 1 END) FROM {listed}"
        f" JOIN use u ON u.thing = j.value AND {_MAKES}"
        " LEFT JOIN entry a ON a.amends = (u.node >> 1) GROUP BY u.thing"
    )
    return {thing for thing, amended in select_listed(connection, sql, list(things), "bigint") if amended}


def makers(connection: Connection, things: Sequence[int]) -> dict[int, Version]:
    """Return, for things (database keys), the entry in force that made or registered each; void ones are left out."""
    sql = (
        f"SELECT u.thing, e.record FROM {{listed}} JOIN use u ON u.thing = j.value AND {_MAKES}"
        f" JOIN entry e ON e.seq = (u.node >> 1) WHERE {_LIVE} ORDER BY e.seq"
    )
    return {thing: parse(record) for thing, record in select_listed(connection, sql, list(things), "bigint")}


def past_makers(connection: Connection, thing: ThingRow) -> list[int]:
    """Return the entries (the number of each one's first version) of which any version made or registered the thing."""
    rows = connection.execute(
        text(
            "SELECT DISTINCT e.first FROM use u JOIN entry e ON e.seq = (u.node >> 1)"
            f" WHERE u.thing = :id AND {_MAKES} ORDER BY e.first"
        ),
        {"id": thing.id},
    )
    return [row[0] for row in rows]


def versions(connection: Connection, number: int) -> list[Version]:
    """Return every version of entry `E<number>`, the oldest first; an empty list when there is none."""
    rows = connection.execute(
        text("SELECT record, digest FROM entry WHERE first = :number ORDER BY seq"), {"number": number}
    )
    return [parse(row[0], bytes(row[1])) for row in rows]


def mentions(connection: Connection, thing: ThingRow) -> list[Mentioned]:
    """Return the entries in force that name a thing, by time."""
    sql = (
        f"SELECT e.record, u.role FROM {{listed}} JOIN use u ON u.thing = j.value AND {in_roles('u', *ROLE_NAMES)}"
        f" JOIN entry e ON e.seq = (u.node >> 1) WHERE {_LIVE} ORDER BY u.at_from, u.at_to, e.seq"
    )
    rows = select_listed(connection, sql, [thing.id], "bigint")
    return [Mentioned(parse(record), ROLE_NAMES[role]) for record, role in rows]


def entries(
    connection: Connection,
    kind: str | None = None,
    *,
    start: int | None = None,
    end: int | None = None,
    limit: int | None = None,
    void: bool = False,
) -> Iterator[Version]:
    """Yield the entries in force whose time overlaps `start` to `end` (epoch seconds), by time.

    With `void` the void ones stand among them.
    """
    where = [_LIVE]
    where += [] if void else ["e.void = 0"]
    where += ["e.kind = :kind"] if kind else []
    where += ["e.at_to >= :start"] if start is not None else []
    where += ["e.at_from <= :end"] if end is not None else []
    sql = f"SELECT e.record FROM entry e WHERE {' AND '.join(where)} ORDER BY e.at_from, e.at_to, e.seq"
    if limit is not None:
        sql += " LIMIT :limit"
    parameters = {"kind": kind, "start": start, "end": end, "limit": limit}
    used = {name: value for name, value in parameters.items() if f":{name}" in sql}
    # For this statement alone: set on the connection, the option would hold for all that is read after it.
    for row in connection.execute(text(sql), used, execution_options={"yield_per": 1000}):
        yield parse(row[0])


def thing_codes(connection: Connection, kind: str | None = None) -> list[ThingRow]:
    """Return the things of a kind, or all of them, by code."""
    where = "WHERE kind = :kind" if kind else ""
    rows = connection.execute(
        text(f"SELECT id, code, kind, cls, type FROM thing {where}"), {"kind": kind} if kind else {}
    )
    return _by_code(rows.all())


def _by_code(rows: Sequence[Any]) -> list[ThingRow]:
    # Sorted here, since databases sort text by the customs of their country.
    return sorted((ThingRow(*row) for row in rows), key=lambda thing: fold(thing.code))


def read_out(connection: Connection, words: str) -> Sequence[tuple[Version, str]]:
    """Return entries in force of which a field holds these words, with the field: what a label or a paper says.

    People read out a supplier's lot, a printed code, a best-before date or a document number.
    """
    # SQLite folds the case of ASCII letters alone: any one letter will do here in place of others, and what was found
    # is looked at below.
    inside = json.dumps(words, ensure_ascii=False)[1:-1]
    for wild in "!%_":
        inside = inside.replace(wild, f"!{wild}")
    inside = "".join(letter if letter.isascii() else "_" for letter in inside)
    rows = connection.execute(
        text(
            "SELECT e.record FROM entry e WHERE lower(e.record) LIKE lower(:words) ESCAPE '!' AND e.void = 0"
            f" AND {_LIVE} ORDER BY e.at_from DESC, e.seq DESC LIMIT 500"
        ),
        {"words": f"%{inside}%"},
    )
    found: list[tuple[Version, str]] = []
    for row in rows:
        version = parse(row[0])
        field = _field_holding(version.fields, words.casefold())
        if field:
            found.append((version, field))
        if len(found) == _MOST_MATCHES:
            break
    return found


def _field_holding(value: object, words: str, name: str = "") -> str:
    if isinstance(value, str):
        return name if words in value.casefold() else ""
    inner = (
        value.items() if isinstance(value, dict) else ((name, one) for one in value) if isinstance(value, list) else ()
    )
    for key, one in inner:
        if field := _field_holding(one, words, str(key)):
            return field
    return ""


def all_versions(connection: Connection, firsts: Sequence[int]) -> dict[int, list[Version]]:
    """Return every version of these entries, by the number of the first, the oldest first."""
    sql = "SELECT e.first, e.record FROM {listed} JOIN entry e ON e.first = j.value ORDER BY e.seq"
    out: dict[int, list[Version]] = {}
    for first, record in select_listed(connection, sql, list(firsts), "bigint"):
        out.setdefault(first, []).append(parse(record))
    return out
