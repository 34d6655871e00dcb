"""Entries in force as judges and checks see them, many at once."""

from collections.abc import Collection, Sequence
from functools import partial
from typing import Any

from sqlalchemy import Connection, text

from lotwalk.kinds.library import Kinds
from lotwalk.ledger.entry import Entry, StoredText
from lotwalk.ledger.evidence_model import Registration
from lotwalk.ledger.record import parse
from lotwalk.store.nodes import parts_of
from lotwalk.store.sql import in_force, in_roles, of_role, select_keys, seq_of
from lotwalk.values.roles import MAKES, Role

_ROW = (
    "e.seq, e.first, e.kind, e.at_from, e.at_to, CASE WHEN s.in_order = 1 THEN s.id ELSE 0 END, e.line, e.recorded_at,"
    " e.record, e.digest"
)


def entries_of(connection: Connection, kinds: Kinds, kind: str) -> list[Entry]:
    """Return the entries in force of a kind of record; void ones are left out."""
    sql = (
        f"SELECT {_ROW} FROM entry e LEFT JOIN sheet s ON s.id = e.sheet"
        f" WHERE {in_force()} AND e.void = 0 AND e.kind = :kind"
    )
    return [_entry(row, kinds) for row in connection.execute(text(sql), {"kind": kind})]


def entries_at(connection: Connection, kinds: Kinds, seqs: Collection[int]) -> list[Entry]:
    """Return entries by the versions (`seq`) that are in force; void ones are left out."""
    sql = (
        f"SELECT {_ROW} FROM {{listed}} JOIN entry e ON e.seq = j.value AND e.void = 0"
        " LEFT JOIN sheet s ON s.id = e.sheet"
    )
    return [_entry(row, kinds) for row in select_keys(connection, sql, seqs)]


def registrations(connection: Connection, kinds: Kinds, thing: int) -> list[Registration]:
    """Return every version of the entries that made or registered a thing (database key), in the order of the ledger.

    One that says no more of it, since it is void or gave another code, stands there without its entry.
    """
    making = text(
        f"SELECT e.seq, e.first FROM use u JOIN entry e ON e.seq = {seq_of()}"
        f" WHERE u.thing = :thing AND {in_roles('u', *MAKES)}"
    )
    made = {row[0]: row[1] for row in connection.execute(making, {"thing": thing})}
    sql = (
        f"SELECT {_ROW} FROM {{listed}} JOIN entry e ON e.first = j.value LEFT JOIN sheet s ON s.id = e.sheet"
        " ORDER BY e.seq"
    )
    versions = [_entry(row, kinds) for row in select_keys(connection, sql, set(made.values()))]
    return [Registration(one.number, one.recorded_at, one if one.seq in made else None) for one in versions]


def _entry(row: Sequence[Any], kinds: Kinds) -> Entry:
    seq, number, kind, start, end, group, line, recorded_at, *stored = row
    return Entry(seq, number, kind, start, end, group, line, recorded_at, StoredText(partial(parse, *stored), kinds))


def kinds_in_use(connection: Connection) -> list[str]:
    """Return the kinds of record of which there are entries, in alphabetical order."""
    return sorted(connection.execute(text("SELECT DISTINCT kind FROM entry")).scalars())


def all_makers(connection: Connection) -> dict[int, tuple[str, int]]:
    """Return the kind and the version of the entry in force that made or registered each thing, by its key."""
    sql = (
        f"SELECT u.thing, e.kind, e.seq FROM use u JOIN entry e ON e.seq = {seq_of()}"
        f" WHERE {in_roles('u', *MAKES)} AND {in_force()} ORDER BY e.seq"
    )
    return {thing: (kind, seq) for thing, kind, seq in connection.execute(text(sql))}


Contact = tuple[int, int, bool, bool]
"""A use of an item in contact: its key, the entry's version, whether it cleared it, whether it was only assumed."""

_ITEM = " JOIN thing t ON t.id = u.thing AND t.cls = 'item'"


def contacts(connection: Connection) -> list[Contact]:
    """Return every use in force of an item in contact."""
    sql = (
        f"SELECT u.thing, {seq_of()}, u.role, u.assumed FROM use u JOIN entry e ON e.seq = {seq_of()}{_ITEM}"
        f" WHERE {in_roles('u', Role.TOUCHED, Role.CLEARED)} AND {in_force()}"
    )
    return [_contact(row) for row in connection.execute(text(sql))]


def contacts_at(connection: Connection, seqs: Collection[int]) -> list[Contact]:
    """Return the uses of items in contact of entries by the versions (`seq`) that are in force."""
    sql = (
        f"SELECT u.thing, {seq_of()}, u.role, u.assumed FROM {{listed}} JOIN use u ON u.node = j.value"
        f" AND {of_role('u', Role.TOUCHED, Role.CLEARED)}{_ITEM}"
    )
    return [_contact(row) for row in select_keys(connection, sql, [node for seq in seqs for node in parts_of(seq)])]


def _contact(row: Sequence[Any]) -> Contact:
    thing, seq, role, assumed = row
    return thing, seq, role == Role.CLEARED, bool(assumed)
