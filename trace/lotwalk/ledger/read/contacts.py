"""What an item was used for before something happened to it, and what was done with it later."""

from collections.abc import Collection, Sequence

from sqlalchemy import Connection

from lotwalk.store.sql import SOURCES, of_role, select_rows, seq_of, texts, use_in_force, within
from lotwalk.values.order import LONG
from lotwalk.values.roles import Role

_TOUCHED = of_role("u", Role.TOUCHED)


def later_than(connection: Connection, spans: Sequence[tuple[int, int]], kinds: Collection[str]) -> set[int]:
    """Return the items that entries of some kinds touched at some second or later, also such as a batch amends.

    The items come as (database key, second).
    """
    parts = [
        f"SELECT u.thing FROM {{listed}} CROSS JOIN use u ON u.thing = {{0}} AND {condition} AND {_TOUCHED}"
        f" AND u.at_to >= {{1}} CROSS JOIN entry e ON e.seq = {seq_of()} AND e.kind IN {texts(kinds)}"
        for condition in (f"{within(SOURCES)} AND u.at_from >= {{1}} - {LONG}", f"u.at_to - u.at_from > {LONG}")
    ]
    return {row[0] for row in select_rows(connection, " UNION ".join(parts), spans)}


def last_uses(
    connection: Connection, spans: Sequence[tuple[int, int]], without: Collection[str]
) -> list[tuple[int, int | None]]:
    """Return when the last use of each item began that was over before some second; None where there was none.

    The items come as (database key, second). Entries of the kinds `without`, and such as touch nothing, are no use.
    """
    sql = (
        f"SELECT {{0}}, (SELECT u.at_from FROM use u CROSS JOIN entry e ON e.seq = {seq_of()} AND e.kind NOT IN"
        f" {texts(without)} WHERE u.thing = {{0}} AND {within(SOURCES)} AND {_TOUCHED} AND u.at_from < {{1}}"
        f" AND u.at_to < {{1}} AND {use_in_force()} ORDER BY u.at_from DESC LIMIT 1) FROM {{listed}}"
    )
    return [(thing, start) for thing, start in select_rows(connection, sql, spans)]
