"""Whether the tables, indexes and triggers of a ledger are those that Lotwalk makes, and putting back an index."""

from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import Connection, Engine, Index, Table, UniqueConstraint, inspect, text
from sqlalchemy.engine import Inspector

from lotwalk.store.engine import HEAD, version_of, writing
from lotwalk.store.tables import metadata

_MEND = "`lotwalk migrate` puts it back"

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
    return found + _triggers(connection)


def mend(engine: Engine) -> list[str]:
    """Put back the indexes that are missing or changed, and return their names. No entry is touched."""
    with writing(engine) as connection:
        broken = [one.index for one in differences(connection) if one.index is not None]
        for index in broken:
            connection.execute(text(f"DROP INDEX IF EXISTS {index.name}"))
            index.create(connection)
    return [str(index.name) for index in broken]


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
        same &= (wanted is None) == (condition is None)
        if connection.dialect.name == "sqlite" and wanted is not None and condition is not None:
            # PostgreSQL writes a condition in words of its own.
            same &= " ".join(str(condition).split()) == " ".join(str(wanted).split())
        if not same:
            found.append(Difference(f"the index {index.name} is not as Lotwalk made it; {_MEND}", index))
    return found


def _triggers(connection: Connection) -> list[Difference]:
    if connection.dialect.name == "sqlite":
        sql = "SELECT name, tbl_name FROM sqlite_master WHERE type = 'trigger'"
    else:
        sql = (
            "SELECT t.tgname, c.relname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid"
            " WHERE NOT t.tgisinternal AND c.relnamespace = current_schema()::regnamespace"
        )
    ours = set(metadata.tables)
    return [
        Difference(
            f"a trigger named {name} stands on the table {table}. Lotwalk makes none, and it may change what is"
            f" recorded: keep a copy of the ledger, find out who put it there, and remove it (DROP TRIGGER {name})"
        )
        for name, table in connection.execute(text(sql))
        if table in ours
    ]
