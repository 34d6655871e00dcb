"""The entries that bear on some others: little of the book, however large it is.

What happened to a thing a year ago says nothing of whether it is clean today, so of a thing's history only the part
right before the entries is read. What a kind tells of a thing for good, as a hold does, is read whole.
"""

from collections.abc import Collection

from sqlalchemy import Connection

from lotwalk.store.nodes import parts_of
from lotwalk.store.sql import in_force, in_roles, of_role, select_keys, select_listed, select_rows, seq_of, texts
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role

_BEFORE = 16
"""So many contacts of an item are read before the first of the entries, and the cleanings among them."""
_TELLING = (Role.TOUCHED, Role.CLEARED, Role.CLEARED_WATER, Role.ABOUT, Role.FROM, Role.TO, Role.NAMES)
_CONTACT = (Role.TOUCHED, Role.CLEARED)


def versions_in_force(connection: Connection, numbers: Collection[int]) -> set[int]:
    """Return the versions in force, by `seq`, of entries by their first numbers; void ones are left out."""
    sql = f"SELECT e.seq FROM {{listed}} JOIN entry e ON e.first = j.value WHERE {in_force()} AND e.void = 0"
    return {row[0] for row in select_keys(connection, sql, numbers)}


def nearby(
    connection: Connection, seqs: Collection[int], people: Collection[str], telling: Collection[str]
) -> set[int]:
    """Return the versions in force that bear on these: the entries of the kinds `telling` that name a thing of theirs,
    or one of the people, and the contacts of their items right before them."""
    used = _used(connection, seqs)
    folded = sorted({fold(code) for code in people})
    listed = select_listed(connection, "SELECT t.id FROM {listed} JOIN thing t ON t.fold = j.value", folded)
    things = {thing for thing, *_ in used} | {row[0] for row in listed}
    sql = (
        f"SELECT DISTINCT e.seq FROM {{listed}} JOIN use u ON u.thing = j.value AND {in_roles('u', *_TELLING)}"
        f" JOIN entry e ON e.seq = {seq_of()} AND e.kind IN {texts(telling)} WHERE {in_force()}"
    )
    found = {row[0] for row in select_keys(connection, sql, things)}
    return found | _contacts_before(connection, used) | set(seqs)


def _used(connection: Connection, seqs: Collection[int]) -> list[tuple[int, str, int, int, int]]:
    """Every use of these versions: the thing, its class, the role, the first and the last second."""
    sql = (
        "SELECT u.thing, t.cls, u.role, u.at_from, u.at_to FROM {listed} JOIN use u ON u.node = j.value"
        f" AND {of_role('u', *Role)} JOIN thing t ON t.id = u.thing"
    )
    return [tuple(row) for row in select_keys(connection, sql, [node for seq in seqs for node in parts_of(seq)])]


def _contacts_before(connection: Connection, used: Collection[tuple[int, str, int, int, int]]) -> set[int]:
    spans: dict[int, tuple[int, int]] = {}
    for thing, cls, role, start, end in used:
        if cls == "item" and role in _CONTACT:
            first, last = spans.get(thing, (start, end))
            spans[thing] = (min(first, start), max(last, end))
    sql = (
        f"SELECT DISTINCT {seq_of()} FROM {{listed}} JOIN use u ON u.thing = {{0}} AND {in_roles('u', *_CONTACT)}"
        " AND u.at_from <= {2} AND u.at_from >= coalesce((SELECT b.at_from FROM use b WHERE b.thing = {0}"
        f" AND {in_roles('b', Role.TOUCHED)} AND b.at_from < {{1}} ORDER BY b.at_from DESC"
        f" LIMIT 1 OFFSET {_BEFORE}), 0)"
        f" JOIN entry e ON e.seq = {seq_of()} WHERE {in_force()}"
    )
    return {row[0] for row in select_rows(connection, sql, [(t, *span) for t, span in spans.items()])}
