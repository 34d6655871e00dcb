"""Whether the tables, indexes and triggers of a ledger are those that Lotwalk makes, and putting back an index."""

import re
from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import Connection, Index, Table, UniqueConstraint, inspect, text
from sqlalchemy.engine import Inspector

from lotwalk.store.engine import HEAD, version_of
from lotwalk.store.tables import metadata

_MEND = "`lotwalk migrate` puts it back"

_TRIGGERS = (
    "SELECT 'trigger', name, tbl_name, 'DROP TRIGGER ' || name FROM sqlite_master WHERE type = 'trigger' ORDER BY name"
)
_POSTGRESQL_STRANGERS = (
    "SELECT 'trigger', t.tgname, c.relname, 'DROP TRIGGER ' || t.tgname || ' ON ' || c.relname"
    " FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid"
    " WHERE NOT t.tgisinternal AND c.relnamespace = current_schema()::regnamespace"
    " UNION ALL SELECT 'rule', r.rulename, c.relname, 'DROP RULE ' || r.rulename || ' ON ' || c.relname"
    " FROM pg_rewrite r JOIN pg_class c ON c.oid = r.ev_class"
    " WHERE c.relkind = 'r' AND c.relnamespace = current_schema()::regnamespace"
    " UNION ALL SELECT 'row security', c.relname, c.relname,"
    " 'ALTER TABLE ' || c.relname || ' DISABLE ROW LEVEL SECURITY'"
    " FROM pg_class c WHERE c.relrowsecurity AND c.relnamespace = current_schema()::regnamespace"
)

ADDED = {"0002": [("thing", "bath")]}
"""The columns that came with each migration after the first."""


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that is not as Lotwalk makes it, in words with how to mend it. `index`: the one to be put back."""

    text: str
    index: Index | None = None


def differences(connection: Connection) -> list[Difference]:
    """Return what of the ledger's tables, indexes and triggers is missing, changed or not Lotwalk's own."""
    inspector = inspect(connection)
    later = _later(version_of(connection))
    known = set(inspector.get_table_names())
    found: list[Difference] = []
    for table in metadata.sorted_tables:
        if table.name not in known:
            found.append(Difference(f"the table {table.name} is missing; take the ledger from a backup"))
            continue
        found += _of_table(inspector, table, later)
        found += _of_indexes(connection, inspector, table)
    return found + _strangers(connection)


def mend(connection: Connection) -> list[str]:
    """Put back the indexes that are missing or changed, and return which. No entry is touched."""
    broken = [one.index for one in differences(connection) if one.index is not None]
    for index in broken:
        connection.execute(text(f"DROP INDEX IF EXISTS {index.name}"))
        index.create(connection)
    return [f"the index {index.name}" for index in broken]


def _later(version: str | None) -> Collection[tuple[str, str]]:
    """The columns that a ledger which stands at a migration cannot have yet."""
    return {column for migration, columns in ADDED.items() if (version or HEAD) < migration for column in columns}


def _of_table(inspector: Inspector, table: Table, later: Collection[tuple[str, str]]) -> list[Difference]:
    columns = {column["name"] for column in inspector.get_columns(table.name)}
    key = tuple(inspector.get_pk_constraint(table.name)["constrained_columns"])
    unique = {tuple(one["column_names"]) for one in inspector.get_unique_constraints(table.name)}
    wanted = {
        tuple(column.name for column in one.columns) for one in table.constraints if isinstance(one, UniqueConstraint)
    }
    wanted_columns = {one.name for one in table.columns if (table.name, one.name) not in later}
    same = columns == wanted_columns and key == tuple(column.name for column in table.primary_key)
    if same and wanted <= unique:
        return []
    return [Difference(f"the table {table.name} has not the columns and keys that Lotwalk gave it; take a backup")]


def _of_indexes(connection: Connection, inspector: Inspector, table: Table) -> list[Difference]:
    there = {one["name"]: one for one in inspector.get_indexes(table.name)}
    option = f"{connection.dialect.name}_where"
    found = []
    for index in sorted(table.indexes, key=lambda one: str(one.name)):
        stored = there.get(str(index.name))
        if stored is None:
            found.append(Difference(f"the index {index.name} of the table {table.name} is missing; {_MEND}", index))
            continue
        wanted = index.dialect_options[connection.dialect.name]["where"]
        condition = stored.get("dialect_options", {}).get(option)
        same = list(stored["column_names"]) == [column.name for column in index.columns]
        same &= bool(stored["unique"]) == bool(index.unique)
        same &= _in_words(wanted) == _in_words(condition)
        if not same:
            found.append(Difference(f"the index {index.name} is not as Lotwalk made it; {_MEND}", index))
    return found


def _in_words(condition: object) -> str:
    """A condition in one spelling. PostgreSQL writes it in brackets of its own, and `BETWEEN` in two parts."""
    plain = re.sub(r"::\w+|[()]", "", "" if condition is None else str(condition)).lower()
    return " ".join(re.sub(r"(\w+) between (\S+) and ", r"\1 >= \2 and \1 <= ", plain).split())


def _strangers(connection: Connection) -> list[Difference]:
    """What stands on the tables and may change what is recorded or read: triggers, rules, policies."""
    ours = set(metadata.tables)
    sqlite = connection.dialect.name == "sqlite"
    # SQLite keeps a table's name as it was spelled where a trigger was made.
    rows = connection.execute(text(_TRIGGERS)) if sqlite else connection.execute(text(_POSTGRESQL_STRANGERS))
    return [
        Difference(
            f"a {what} named {name} stands on the table {table.lower()}. Lotwalk makes none, and it may change what is"
            f" recorded or read: keep a copy of the ledger, find out who put it there, and remove it ({remove})"
        )
        for what, name, table, remove in rows
        if table.lower() in ours
    ]
