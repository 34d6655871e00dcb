"""Things by their codes, inside one transaction: those in the database, and those that the batch makes."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import cache
from typing import Any

from sqlalchemy import Connection, TextClause, text, update

from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import ThingRow
from lotwalk.store.engine import insert_rows
from lotwalk.store.tables import MADE_OR_NAMED, in_roles
from lotwalk.store.tables import thing as thing_table
from lotwalk.values.codes import fold


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


@cache
def _statement(sql: str, dialect: str, kind: str) -> TextClause:
    ordered = sql if dialect == "sqlite" else sql.replace("CROSS JOIN", "JOIN")
    return text(ordered.format(listed=listed(dialect, kind)))


_LIVE = "NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = (u.node >> 1))"
_COLUMNS = "t.id, t.code, t.kind, t.cls, t.type"


class Names:
    """The things known so far. `new` and `retyped` hold those to be stored with the batch."""

    def __init__(self, connection: Connection, kinds: Kinds) -> None:
        self.connection = connection
        self.kinds = kinds
        self.new: dict[int, ThingRow] = {}
        self.retyped: dict[int, ThingRow] = {}
        self._known: dict[str, ThingRow | None] = {}
        self._made: set[int] = set()
        self._next = (connection.execute(text("SELECT max(id) FROM thing")).scalar() or 0) + 1

    def fetch(self, codes: Iterable[str]) -> None:
        """Read many codes at once, so that a sheet does not ask for them one by one."""
        missing = sorted({folded for code in codes if (folded := fold(code)) not in self._known})
        if not missing:
            return
        self._known.update(dict.fromkeys(missing))
        sql = f"SELECT {_COLUMNS}, t.fold FROM {{listed}} JOIN thing t ON t.fold = j.value"
        for *row, folded in select_listed(self.connection, sql, missing):
            self._known[folded] = ThingRow(*row)

    def find(self, code: str) -> ThingRow | None:
        """Return the thing of this code, or None."""
        folded = fold(code)
        if folded not in self._known:
            self.fetch([code])
        return self._known[folded]

    def in_force(self, thing: ThingRow, besides: int | None = None) -> bool:
        """Return whether an entry in force makes or registers the thing (other than the version `besides`)."""
        if thing.id in self._made:
            return True
        rows = self.connection.execute(
            text(f"SELECT u.node >> 1 FROM use u WHERE u.thing = :id AND {in_roles('u', *MADE_OR_NAMED)} AND {_LIVE}"),
            {"id": thing.id},
        )
        return any(row[0] != besides for row in rows)

    def make(self, code: str, kind: str, type_: str | None) -> ThingRow:
        """Return the thing that an entry makes: a new one, or the one that had this code, with the type it has now."""
        thing = self.find(code)
        if thing is None:
            thing = ThingRow(self._next, code, kind, self.kinds.things[kind].cls, type_)
            self._next += 1
            self.new[thing.id] = thing
        elif thing.type != type_:
            thing = replace(thing, type=type_)
            (self.new if thing.id in self.new else self.retyped)[thing.id] = thing
        self._known[fold(code)] = thing
        self._made.add(thing.id)
        return thing

    def insert(self) -> None:
        """Store the new things, and the types that changed."""
        if self.new:
            rows = [tuple(self._row(thing).values()) for thing in self.new.values()]
            insert_rows(self.connection, thing_table, rows)
        for thing in self.retyped.values():
            row = self._row(thing)
            changed = {name: row[name] for name in ("type", "farm_wide")}
            self.connection.execute(update(thing_table).where(thing_table.c.id == thing.id).values(changed))

    def _row(self, thing: ThingRow) -> dict[str, object]:
        """The columns of a thing in their order."""
        kind = self.kinds.things[thing.kind]
        return {
            "id": thing.id,
            "code": thing.code,
            "fold": fold(thing.code),
            "kind": thing.kind,
            "cls": thing.cls,
            "type": thing.type,
            "bought": int(kind.bought),
            "farm_wide": int(kind.farm_wide or thing.type in kind.farm_wide_types),
            "counted": int(kind.counted),
        }
