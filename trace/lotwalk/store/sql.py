"""The words of SQL that every reader of a ledger shares: the version in force, an entry's uses, a list of values.

A use stands under a node, `2 * seq + part`: part 1 holds the items that failed in an entry beside others that passed,
and walks as an entry of its own. An entry that was made void has no uses, so a reader that comes by a use need not ask
for it; a reader of `entry` alone must.
"""

import json
from collections.abc import Collection, Sequence
from functools import cache
from typing import Any

from sqlalchemy import Connection, TextClause, text

from lotwalk.values.roles import Role

SOURCES = "role <= 4"
SINKS = "role BETWEEN 3 AND 8"
BREAKS = "role >= 7 AND role <= 8"
NAMED = "role >= 9"
"""The conditions of the partial indexes of `use`. SQLite uses such an index only where it finds its very words."""

_PARTS = ((Role.TOOK, Role.TOUCHED, SOURCES), (Role.TENDED, Role.CLEARED_WATER, SINKS), (Role.ABOUT, Role.NAMES, NAMED))


def in_force(entry: str = "e") -> str:
    """Return the condition that nothing amends an entry (the alias of its table)."""
    return f"NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = {entry}.seq)"


def use_in_force(use: str = "u") -> str:
    """Return the condition that nothing amends the entry of a use (the alias of its table)."""
    return f"NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = {seq_of(use)})"


def seq_of(use: str = "u") -> str:
    """Return the SQL for the entry of a use: the number of its version."""
    return f"({use}.node >> 1)"


def first_node(entry: str = "e") -> str:
    """Return the SQL for the node of an entry's first part (the alias of the entry's table)."""
    return f"2 * {entry}.seq"


def nodes_of(entry: str = "e") -> str:
    """Return SQL for the nodes that an entry can have (the alias of its table), for IN: its uses are found by them."""
    return f"({first_node(entry)}, {first_node(entry)} + 1)"


def first_part(use: str = "u") -> str:
    """Return the condition that a use stands on its entry's first part, which alone holds amounts."""
    return f"{use}.node % 2 = 0"


def within(condition: str, use: str = "u") -> str:
    """Return the condition of a partial index for a use (the alias of its table)."""
    return condition.replace("role", f"{use}.role")


def in_roles(use: str, *roles: Role) -> str:
    """Return the condition that a use (the alias of its table) has one of these roles.

    It repeats the indexes' own conditions. Without them, looking up the uses of a thing reads the whole table.
    """
    return f"({' OR '.join(role_parts(use, *roles))})"


def role_parts(use: str, *roles: Role) -> list[str]:
    """Return the same condition in parts, one for each partial index of `use` that it needs, for a UNION of them.

    Clean breaks have an index of their own. It serves where no other sink is asked for.
    """
    parts = []
    for low, high, condition in _PARTS:
        chosen = [number for number in _numbers(roles) if low <= number <= high]
        if chosen:
            condition = BREAKS if condition == SINKS and min(chosen) >= Role.CLEARED else condition
            parts.append(f"{within(condition, use)} AND {use}.role IN ({', '.join(map(str, chosen))})")
    return parts


def of_role(use: str, *roles: Role) -> str:
    """Return the condition that a use which was found by its node has one of these roles: no index is wanted."""
    numbers = _numbers(roles)
    listed = ", ".join(map(str, numbers))
    return f"{use}.role = {listed}" if len(numbers) == 1 else f"{use}.role IN ({listed})"


def _numbers(roles: Collection[Role]) -> list[int]:
    return sorted({role.stored for role in roles})


def texts(values: Collection[str]) -> str:
    """Return names that the kind files hold, such as those of kinds of record, as a list for IN. None fits `()`."""
    quoted = ", ".join("'" + value + "'" for value in values)
    return f"({quoted or 'NULL'})"


def listed(dialect: str, kind: str = "text") -> str:
    """Return SQL for a table `j(value)` with one row for each element of the JSON array `:listed`."""
    if dialect == "sqlite":
        return "json_each(:listed) j"
    return f"(SELECT CAST(value AS {kind}) FROM json_array_elements_text(CAST(:listed AS json))) AS j(value)"


def select_listed(connection: Connection, sql: str, values: Sequence[object], kind: str = "text") -> Sequence[Any]:
    """Run `sql`, in which `{listed}` stands for the table of the given values.

    `CROSS JOIN table ON ...` keeps SQLite to the order written; on PostgreSQL it is a plain join.
    """
    statement = _statement(sql, connection.dialect.name, kind)
    return connection.execute(statement, {"listed": json.dumps(list(values))}).all()


def select_keys(connection: Connection, sql: str, keys: Collection[int]) -> Sequence[Any]:
    """Run `sql` as `select_listed` does, for numbers: keys of things, versions, nodes. Nothing is asked for none."""
    return select_listed(connection, sql, sorted(keys), "bigint") if keys else ()


def select_rows(connection: Connection, sql: str, rows: Sequence[Sequence[int]]) -> Sequence[Any]:
    """Run `sql`, in which `{listed}` stands for a table of rows of numbers, and `{0}`, `{1}` for the numbers of a row.

    Nothing is asked for none.
    """
    if not rows:
        return ()
    statement = _statement_of_rows(sql, connection.dialect.name, len(rows[0]))
    return connection.execute(statement, {"listed": json.dumps([list(row) for row in rows])}).all()


@cache
def _statement_of_rows(sql: str, dialect: str, width: int) -> TextClause:
    if dialect == "sqlite":
        table, part = "json_each(:listed) j", "json_extract(j.value, '$[{}]')"
    else:
        table, part = "json_array_elements(CAST(:listed AS json)) AS j(value)", "CAST(j.value ->> {} AS bigint)"
    ordered = sql if dialect == "sqlite" else sql.replace("CROSS JOIN", "JOIN")
    return text(ordered.format(*(part.format(place) for place in range(width)), listed=table))


@cache
def _statement(sql: str, dialect: str, kind: str) -> TextClause:
    ordered = sql if dialect == "sqlite" else sql.replace("CROSS JOIN", "JOIN")
    return text(ordered.format(listed=listed(dialect, kind)))
