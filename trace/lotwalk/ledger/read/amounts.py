"""The uses that moved some of a lot, for many lots in one statement."""

from collections.abc import Collection, Sequence
from typing import NamedTuple

from sqlalchemy import Connection

from lotwalk.store.sql import NAMED, SINKS, first_part, in_force, in_roles, of_role, select_keys, seq_of, texts, within
from lotwalk.values.roles import Role


class Moved(NamedTuple):
    """One use of a lot (database key) by an entry in force, with its amount in the canonical unit."""

    thing: int
    number: int
    seq: int
    kind: str
    role: Role
    start: int
    end: int
    group: int
    line: int
    amount: str | None
    unit: str | None


def moved(connection: Connection, lots: Collection[int], telling: Sequence[str]) -> list[Moved]:
    """Return the uses in force of lots (database keys) that took or made some of them.

    Of the kinds of record in `telling` also any other use with an amount. Amounts stand on an entry's first part only.
    """
    told = f"u.amount IS NOT NULL AND e.kind IN {texts(telling)}"
    parts = (
        (in_roles("u", Role.TOOK), "1 = 1"),
        (within(SINKS), f"({of_role('u', Role.MADE)} OR ({told}))"),
        (within(NAMED), told),
    )
    sql = " UNION ALL ".join(
        "SELECT u.thing, e.first, e.seq, e.kind, u.role, u.at_from, u.at_to, u.grp, u.line, u.amount, u.unit"
        f" FROM {{listed}} JOIN use u ON u.thing = j.value AND {condition} AND {first_part()}"
        f" JOIN entry e ON e.seq = {seq_of()} WHERE {chosen} AND {in_force()}"
        for condition, chosen in parts
    )
    return [
        Moved(thing, number, seq, kind, Role(role), start, end, group, line, amount, unit)
        for thing, number, seq, kind, role, start, end, group, line, amount, unit in select_keys(connection, sql, lots)
    ]
