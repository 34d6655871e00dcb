"""What the ledger's rows say of what stands on what: who emptied an item, and when."""

from collections.abc import Collection, Sequence
from typing import NamedTuple

from sqlalchemy import Connection

from lotwalk.store.sql import BREAKS, SOURCES, in_force, select_rows, seq_of, texts, within
from lotwalk.store.tables import LONG
from lotwalk.values.roles import Role


class ItemUse(NamedTuple):
    """One use of an item (database key), in contact, by an entry in force: its version, its kind and its moment."""

    thing: int
    seq: int
    kind: str
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
        f" CROSS JOIN use u ON u.thing = {{0}} AND {within(condition)} AND u.role = {role}"
        f" AND u.at_from BETWEEN {{1}} - {LONG} AND {{2}} AND u.at_to >= {{1}}"
        f" CROSS JOIN entry e ON e.seq = {seq_of()} AND e.kind IN {texts(kinds)} WHERE {in_force()}"
        for condition, role in ((SOURCES, int(Role.TOUCHED)), (BREAKS, int(Role.CLEARED)))
    ]
    return [ItemUse(*row) for row in select_rows(connection, " UNION ".join(parts), spans)]
