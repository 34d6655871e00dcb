"""A tally of rows: a sum over all their columns, and one more a row, once from a table and once from its indexes.

A row that an index has lost, or has otherwise than its table, makes the two differ. One pass over the table serves all
of its indexes.
"""

import json
import re
from collections.abc import Collection, Iterator, Sequence
from contextlib import contextmanager

from sqlalchemy import Connection, Index, text

from lotwalk.store.tables import use

_WALKED = ("use_in", "use_out", "use_clear", "use_long")
"""The indexes by which a walk goes from one thing to the next."""
_WEIGHTS = (3, 5, 7, 11, 13, 17, 19)
"""Small odd numbers, one a column, so that sums over ten million rows stay within 64 bits."""


def differing(connection: Connection, things: Collection[int] | None = None) -> str | None:
    """Return the name of an index that has other uses than its table, or None where all agree.

    With things (database keys), on SQLite, only their uses are held against each other, and only in the indexes of the
    walk: there the uses of an entry are read from the table itself. PostgreSQL may read them by any index. The index by
    which a version is known to be amended is looked at as well.
    """
    if connection.dialect.name != "sqlite":
        things = None
    indexes = [one for one in use.indexes if things is None or one.name in _WALKED]
    for index, expected in zip(indexes, _of_table(connection, indexes, things), strict=True):
        if _of_index(connection, index, things) != expected:
            return str(index.name)
    return None if _amendments_agree(connection) else "entry_amends"


def nodes_agree(connection: Connection, nodes: Collection[int]) -> bool:
    """Return whether as much is found of these nodes by looking for each as by going through the table.

    In SQLite the rows of `use` stand in the order of their keys, also where the search for one branches: a key that is
    wrong there leads every search past it astray, and a pass over all rows does not notice. PostgreSQL has none.
    """
    if connection.dialect.name != "sqlite" or not nodes:
        return True
    columns = " + ".join(f"u.{column.name} * {weight}" for column, weight in zip(use.columns, _WEIGHTS, strict=False))
    told = f"SELECT coalesce(sum(1 + {columns}), 0) FROM"
    searched = f"{told} json_each(:things) j CROSS JOIN use u ON u.node = j.value"
    passed = f"{told} use u NOT INDEXED WHERE +u.node IN (SELECT j.value FROM json_each(:things) j)"
    return _numbers(connection, searched, nodes, indexed=True) == _numbers(connection, passed, nodes, indexed=False)


def _of_table(connection: Connection, indexes: Collection[Index], things: Collection[int] | None) -> Sequence[int]:
    sums = ", ".join(f"coalesce(sum({_sum(one)}) FILTER (WHERE {_where(one)}), 0)" for one in indexes)
    # `+` keeps SQLite from answering out of an index, which would then be held against itself.
    chosen = "" if things is None else " WHERE +u.thing IN (SELECT j.value FROM json_each(:things) j)"
    return _numbers(connection, f"SELECT {sums} FROM use u{_no_index(connection)}{chosen}", things, indexed=False)


def _of_index(connection: Connection, index: Index, things: Collection[int] | None) -> int:
    if connection.dialect.name != "sqlite":
        # No other index has this order, and sorting is made dear.
        order = ", ".join(f"v.{column.name}" for column in index.columns)
        uses = f"(SELECT * FROM use v WHERE {_where(index, 'v')} ORDER BY {order}) u WHERE"
    elif things is None:
        uses = f"use u INDEXED BY {index.name} WHERE"
    else:
        uses = f"json_each(:things) j CROSS JOIN use u INDEXED BY {index.name} ON u.thing = j.value AND"
    sql = f"SELECT coalesce(sum({_sum(index)}), 0) FROM {uses} {_where(index)}"
    (total,) = _numbers(connection, sql, things, indexed=True)
    return total


def _amendments_agree(connection: Connection) -> bool:
    told = "SELECT coalesce(sum(e.amends * 3 + e.seq * 5), 0) FROM entry e"
    found = _numbers(connection, f"{told} WHERE e.amends > 0", None, indexed=True)
    return found == _numbers(connection, f"{told}{_no_index(connection)} WHERE +e.amends > 0", None, indexed=False)


def _numbers(connection: Connection, sql: str, things: Collection[int] | None, *, indexed: bool) -> Sequence[int]:
    values = {} if things is None else {"things": json.dumps(sorted(things))}
    with _held(connection, indexed):
        return [int(number) for number in connection.execute(text(sql), values).one()]


@contextmanager
def _held(connection: Connection, indexed: bool) -> Iterator[None]:
    """Hold PostgreSQL's planner to the indexes, or to the table alone; afterwards it is as free as it was."""
    if connection.dialect.name == "sqlite":
        yield
        return
    inside = connection.begin_nested()
    for way in ("seqscan", "bitmapscan", "sort") if indexed else ("indexscan", "indexonlyscan", "bitmapscan"):
        connection.execute(text(f"SET LOCAL enable_{way} = off"))
    yield
    inside.rollback()


def _no_index(connection: Connection) -> str:
    return " NOT INDEXED" if connection.dialect.name == "sqlite" else ""


def _where(index: Index, alias: str = "u") -> str:
    """The condition of a partial index, in its very words, for a use (the alias of its table)."""
    return re.sub(r"\b(role|at_to|at_from)\b", rf"{alias}.\1", str(index.dialect_options["sqlite"]["where"]))


def _sum(index: Index) -> str:
    """The columns that an index has, the table's key among them, each with a weight of its own; and one."""
    has = {column.name for column in (*index.columns, *use.primary_key)}
    columns = [column.name for column in use.columns if column.name in has]
    return " + ".join(["1", *(f"u.{name} * {weight}" for name, weight in zip(columns, _WEIGHTS, strict=False))])
