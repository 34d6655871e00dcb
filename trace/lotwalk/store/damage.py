"""Whether the database says the same everywhere: its pages hold together, and each index has the rows of its table.

An answer is read from indexes. One that lost a row makes a list shorter, and nothing else tells of it, since the log is
hashed from the tables.
"""

from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import Connection, text

from lotwalk.store.tables import metadata
from lotwalk.store.tally import differing, nodes_agree

READ = ("use", "thing", "entry")
"""The tables that a walk reads."""

_OF_INDEX = ("missing from index", "wrong # of entries in index", "non-unique entry in index")
"""How SQLite says that a table is in order and an index of it is not."""
_PLACE = "*** in database main ***"


@dataclass(frozen=True, slots=True)
class Damage:
    """What is damaged, in words. `of_index`: no more than an index, which can be made again from its table."""

    text: str
    of_index: bool


def damage(connection: Connection, tables: Collection[str] = ()) -> Damage | None:
    """Return the worst damage in the whole of these tables and their indexes; without names, of the database.

    SQLite looks through all pages. PostgreSQL keeps no such check of its own; there the tally of all uses is held
    against their indexes.
    """
    if connection.dialect.name != "sqlite":
        return damage_of(connection)
    checks = [f"PRAGMA integrity_check('{name}')" for name in tables] or ["PRAGMA integrity_check"]
    found = [str(row[0]) for check in checks for row in connection.execute(text(check)) if row[0] != "ok"]
    worst = min(found, key=_is_of_index, default=None)
    return Damage(" ".join(worst.replace(_PLACE, "").split()), _is_of_index(worst)) if worst else None


def damage_of(
    connection: Connection, things: Collection[int] | None = None, nodes: Collection[int] = ()
) -> Damage | None:
    """Return where the indexes have other uses of these things (database keys) than the tables; without them, of all.

    And where other uses of these nodes are found by looking for each than by going through the table. It costs one
    pass over the tables, two with nodes, and of the indexes only what is read of these things.
    """
    if not nodes_agree(connection, nodes):
        return Damage("the table use has not its rows where they are looked for", False)
    index = differing(connection, things)
    return Damage(f"the index {index} has not the rows that its table has", True) if index else None


def make_again(connection: Connection) -> None:
    """Make every index of the ledger again from its table."""
    for table in metadata.sorted_tables:
        connection.execute(text(f"REINDEX {'' if connection.dialect.name == 'sqlite' else 'TABLE '}{table.name}"))


def _is_of_index(told: str) -> bool:
    return any(words in told for words in _OF_INDEX)
