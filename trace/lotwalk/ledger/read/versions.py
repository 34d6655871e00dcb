"""Entries and their versions: by number, by kind, by time."""

from collections.abc import Collection, Iterable, Iterator, Sequence

from sqlalchemy import Connection, text

from lotwalk.ledger.model import Version
from lotwalk.ledger.record import parse
from lotwalk.store.sql import in_force, in_roles, select_keys, select_listed, seq_of, texts
from lotwalk.values.roles import Role


def versions(connection: Connection, number: int) -> list[Version]:
    """Return every version of entry `E<number>`, the oldest first; an empty list when there is none."""
    rows = connection.execute(
        text("SELECT record, digest FROM entry WHERE first = :number ORDER BY seq"), {"number": number}
    )
    return [parse(*row) for row in rows]


def all_versions(connection: Connection, firsts: Sequence[int]) -> dict[int, list[Version]]:
    """Return every version of these entries, by the number of the first, the oldest first."""
    sql = "SELECT e.first, e.record, e.digest FROM {listed} JOIN entry e ON e.first = j.value ORDER BY e.seq"
    out: dict[int, list[Version]] = {}
    for first, *stored in select_keys(connection, sql, firsts):
        out.setdefault(first, []).append(parse(*stored))
    return out


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
    where = [in_force()]
    where += [] if void else ["e.void = 0"]
    where += ["e.kind = :kind"] if kind else []
    where += ["e.at_to >= :start"] if start is not None else []
    where += ["e.at_from <= :end"] if end is not None else []
    sql = f"SELECT e.record, e.digest FROM entry e WHERE {' AND '.join(where)} ORDER BY e.at_from, e.at_to, e.seq"
    if limit is not None:
        sql += " LIMIT :limit"
    parameters = {"kind": kind, "start": start, "end": end, "limit": limit}
    used = {name: value for name, value in parameters.items() if f":{name}" in sql}
    # For this statement alone: set on the connection, the option would hold for all that is read after it.
    for row in connection.execute(text(sql), used, execution_options={"yield_per": 1000}):
        yield parse(*row)


def settings_entry(connection: Connection, kinds: Iterable[str]) -> Version:
    """Return the newest entry of those kinds of record that set the farm's settings. A ledger starts with one."""
    return max((one for kind in kinds for one in entries(connection, kind)), key=lambda one: one.seq)


def by_seq(connection: Connection, seqs: Collection[int]) -> dict[int, Version]:
    """Return these versions, by their numbers."""
    sql = "SELECT e.seq, e.record, e.digest FROM {listed} JOIN entry e ON e.seq = j.value"
    return {seq: parse(*stored) for seq, *stored in select_keys(connection, sql, set(seqs))}


def in_force_of(connection: Connection, numbers: Collection[int]) -> list[Version]:
    """Return the versions in force of these entries; a void one stands among them."""
    sql = f"SELECT e.record, e.digest FROM {{listed}} JOIN entry e ON e.first = j.value WHERE {in_force()}"
    return [parse(*row) for row in select_keys(connection, sql, set(numbers))]


def of_kinds(connection: Connection, kinds: Sequence[str], *, amended: bool = False) -> Iterator[Version]:
    """Yield the entries in force of these kinds, by time; with `amended` those versions instead that were replaced.

    Void ones are left out.
    """
    live = f"NOT {in_force()}" if amended else in_force()
    sql = (
        f"SELECT e.record, e.digest FROM {{listed}} JOIN entry e ON e.kind = j.value AND e.void = 0 WHERE {live}"
        " ORDER BY e.at_from, e.seq"
    )
    for row in select_listed(connection, sql, list(kinds)):
        yield parse(*row)


def amendments_after(connection: Connection, seq: int) -> list[Version]:
    """Return the versions recorded after another (`seq`) that replace one, in the order of the ledger."""
    rows = connection.execute(
        text("SELECT e.record, e.digest FROM entry e WHERE e.amends IS NOT NULL AND e.seq > :seq ORDER BY e.seq"),
        {"seq": seq},
    )
    return [parse(*row) for row in rows]


def referring_to(connection: Connection, number: int) -> list[Version]:
    """Return the entries in force that name entry `E<number>`."""
    sql = (
        "SELECT e.record, e.digest FROM {listed} JOIN ref r ON r.first = j.value JOIN entry e ON e.seq = r.seq"
        f" WHERE {in_force()}"
    )
    return [parse(*row) for row in select_keys(connection, sql, [number])]


def size(connection: Connection) -> int:
    """Return how many entries the ledger has, their amendments among them."""
    return connection.execute(text("SELECT max(seq) FROM entry")).scalar() or 0


def last_recorded(connection: Connection) -> int:
    """Return when the newest entry was recorded, in epoch seconds; 0 for an empty ledger."""
    return connection.execute(text("SELECT recorded_at FROM entry ORDER BY seq DESC LIMIT 1")).scalar() or 0


def first_recorded(connection: Connection) -> dict[int, int]:
    """Return when each entry was first recorded (epoch seconds), by its number: an amendment does not make it late."""
    rows = connection.execute(text("SELECT first, min(recorded_at) FROM entry GROUP BY first"))
    return dict(map(tuple, rows))


def void_entries(connection: Connection, start: int | None, end: int | None) -> int:
    """Return how many entries of a time (seconds; None: open) were taken back, by the time that they gave."""
    inside = {"start": (start, " AND e.at_to >= :start"), "end": (end, " AND e.at_from <= :end")}
    asked = {name: (second, words) for name, (second, words) in inside.items() if second is not None}
    where = "".join(words for _, words in asked.values())
    sql = f"SELECT count(*) FROM entry e WHERE e.void = 1 AND {in_force()}{where}"
    return int(connection.execute(text(sql), {name: second for name, (second, _) in asked.items()}).scalar_one())


def first_digest(connection: Connection) -> bytes:
    """Return the digest of the ledger's first entry."""
    return bytes(connection.execute(text("SELECT digest FROM entry WHERE seq = 1")).scalar_one())


def alike(connection: Connection) -> list[list[int]]:
    """Return the numbers of entries in force that are alike in kind, time, people and fields, group by group."""
    sql = (
        f"SELECT e.alike, e.first FROM entry e WHERE e.void = 0 AND {in_force()}"
        " AND e.alike IN (SELECT alike FROM entry GROUP BY alike HAVING count(*) > 1) ORDER BY e.seq"
    )
    groups: dict[str, list[int]] = {}
    for same, number in connection.execute(text(sql)):
        groups.setdefault(same, []).append(number)
    return [numbers for numbers in groups.values() if len(numbers) > 1]


def numbers_in(
    connection: Connection, kinds: Sequence[str], start: int | None, end: int | None, thing: int | None = None
) -> list[int]:
    """Return the numbers of the entries of these kinds of which some version falls into a time (seconds), by time.

    With a thing (database key), only those of which some version names it.
    """
    inside = "" if start is None else " AND v.at_to >= :start"
    inside += "" if end is None else " AND v.at_from <= :end"
    where = [f"e.kind IN {texts(kinds)}", in_force()]
    where += [f"EXISTS (SELECT 1 FROM entry v WHERE v.first = e.first{inside})"] if inside else []
    if thing is not None:
        naming = f"SELECT n.first FROM use u JOIN entry n ON n.seq = {seq_of()}"
        where.append(f"e.first IN ({naming} WHERE u.thing = :thing AND {in_roles('u', *Role)})")
    sql = f"SELECT e.first FROM entry e WHERE {' AND '.join(where)} ORDER BY e.at_from, e.at_to, e.first"
    parameters = {"start": start, "end": end, "thing": thing}
    used = {name: value for name, value in parameters.items() if value is not None}
    return [row[0] for row in connection.execute(text(sql), used)]
