"""Things by their codes, inside one transaction: those in the database, and those that the batch makes."""

from collections.abc import Iterable
from dataclasses import replace

from sqlalchemy import Connection, text, update

from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import ThingRow
from lotwalk.store.engine import insert_rows
from lotwalk.store.sql import in_roles, select_listed, seq_of, use_in_force
from lotwalk.store.tables import thing as thing_table
from lotwalk.values.codes import fold
from lotwalk.values.roles import MAKES

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

    def is_bath(self, code: str) -> bool:
        """Return whether things are dipped in what has this code."""
        thing = self.find(code)
        return thing is not None and self.kinds.things[thing.kind].bath

    def in_force(self, thing: ThingRow, besides: int | None = None) -> bool:
        """Return whether an entry in force makes or registers the thing (other than the version `besides`)."""
        if thing.id in self._made:
            return True
        rows = self.connection.execute(
            text(f"SELECT {seq_of()} FROM use u WHERE u.thing = :id AND {in_roles('u', *MAKES)} AND {use_in_force()}"),
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
            "bath": int(kind.bath),
        }
