"""Reads what moved lots, for many lots in a handful of statements.

Which entries delivered, disposed of, sampled, brought back or counted a lot stands in their kind files. Where a fact
hangs on nothing that the entry says, it is known by the kind of record alone, and no entry is read for it.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from sqlalchemy import Connection, text

from lotwalk.balance.model import Movement
from lotwalk.errors import NotUnderstood
from lotwalk.kinds.annotations import BALANCE_FACTS
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Field
from lotwalk.kinds.roles import facts
from lotwalk.ledger.names import select_listed
from lotwalk.ledger.record import parse
from lotwalk.ledger.stored_entry import content_of
from lotwalk.store.tables import ROLE_NAMES
from lotwalk.values.codes import fold

FACTS = frozenset((*BALANCE_FACTS, "finished"))
"""What the balance goes by."""

_LOT = "lot"
_COLUMNS = "u.thing, e.first, e.seq, e.kind, u.role, u.at_from, u.at_to, u.grp, u.line, u.amount, u.unit"


@dataclass(frozen=True, slots=True)
class Lot:
    """A lot: its key in the database, its code, kind and type of thing, and whether it was bought."""

    id: int
    code: str
    kind: str
    type: str | None
    bought: bool


def find_lots(connection: Connection, codes: Iterable[str]) -> list[Lot]:
    """Return the lots of these codes, in their order and each once.

    Raises NotUnderstood for a code that is not in the book, and for what is no lot with an amount of its own.
    """
    wanted = {fold(code): code for code in codes}
    sql = "SELECT t.fold, t.id, t.code, t.kind, t.type, t.cls, t.bought, t.counted"
    sql += " FROM {listed} JOIN thing t ON t.fold = j.value"
    rows = {row[0]: row[1:] for row in select_listed(connection, sql, list(wanted))}
    lots = []
    for folded, code in wanted.items():
        if folded not in rows:
            raise NotUnderstood(f"{code} is not in the book", f'a code; `lotwalk show "{code}"` looks for it')
        key, name, kind, type_, cls, bought, counted = rows[folded]
        if cls != _LOT or not counted:
            raise NotUnderstood(f"{name} is a {kind.replace('-', ' ')}, which has no amount", "the code of a lot")
        lots.append(Lot(key, name, kind, type_, bool(bought)))
    return lots


def all_lots(connection: Connection) -> list[str]:
    """Return the codes of all lots that have an amount of their own."""
    rows = connection.execute(text(f"SELECT code FROM thing WHERE cls = '{_LOT}' AND counted = 1 ORDER BY id"))
    return [row[0] for row in rows]


def once_made(connection: Connection, lots: Sequence[Lot]) -> set[int]:
    """Return the keys of those lots that some version of an entry made, in force or not."""
    sql = "SELECT DISTINCT u.thing FROM {listed} JOIN use u ON u.thing = j.value AND u.role BETWEEN 3 AND 8"
    rows = select_listed(connection, f"{sql} WHERE u.role = 6", [lot.id for lot in lots], "bigint") if lots else ()
    return {row[0] for row in rows}


def movements(connection: Connection, kinds: Kinds, lots: Sequence[Lot]) -> dict[int, list[Movement]]:
    """Return, by the lot's key, the entries in force that made, took, brought back or counted it, by time."""
    telling = _Telling(kinds)
    found: dict[int, list[Movement]] = defaultdict(list)
    unsure: list[tuple[int, int]] = []
    for thing, *row, amount, unit in _rows(connection, telling.kinds_that_tell, [lot.id for lot in lots]):
        first, seq, kind, role, start, end, group, line = row
        name = ROLE_NAMES[role]
        told = telling.surely(kind, name)
        exact = None if amount is None else Decimal(amount)
        moved = Movement(first, seq, kind, name, start, end, group, line, exact, unit, told or frozenset())
        if told is None:
            unsure.append((thing, len(found[thing])))
        found[thing].append(moved)
    _ask_entries(connection, kinds, {lot.id: lot for lot in lots}, found, unsure)
    return {lot.id: sorted(found[lot.id], key=_by_time) for lot in lots}


def _rows(connection: Connection, telling: Sequence[str], things: list[int]) -> Sequence[Any]:
    listed = ", ".join(f"'{name}'" for name in telling) or "NULL"
    told = f"u.amount IS NOT NULL AND e.kind IN ({listed})"
    # One part for each partial index of `use`. Amounts stand on an entry's first part only.
    parts = (
        ("u.role <= 4", "u.role = 1"),
        ("u.role BETWEEN 3 AND 8", f"(u.role = 6 OR ({told}))"),
        ("u.role >= 9", told),
    )
    sql = " UNION ALL ".join(
        f"SELECT {_COLUMNS} FROM {{listed}} JOIN use u ON u.thing = j.value AND {within} AND u.node % 2 = 0"
        f" JOIN entry e ON e.seq = (u.node >> 1)"
        f" WHERE {chosen} AND NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.seq)"
        for within, chosen in parts
    )
    return select_listed(connection, sql, things, "bigint")


def _by_time(moved: Movement) -> tuple[int, int, int]:
    return moved.end, moved.start, moved.entry


class _Telling:
    """What each kind of record tells of the lots that it names."""

    def __init__(self, kinds: Kinds) -> None:
        self.kinds = kinds
        self.kinds_that_tell = sorted({name for fact in FACTS for name in kinds.telling(fact)})
        self._surely: dict[tuple[str, str], frozenset[str] | None] = {}

    def surely(self, kind: str, role: str) -> frozenset[str] | None:
        """Return what is told of every lot in this role, or None where that hangs on the field or on the entry."""
        if kind not in self.kinds_that_tell:
            return frozenset()
        if (kind, role) not in self._surely:
            fields = [field for field in _fields(self.kinds[kind].fields.values()) if self._names_lots(field, role)]
            told = {frozenset(fact.name for fact in field.facts) & FACTS for field in fields}
            hangs = any(fact.when is not None for field in fields for fact in field.facts if fact.name in FACTS)
            self._surely[kind, role] = None if hangs or len(told) != 1 else told.pop()
        return self._surely[kind, role]

    def _names_lots(self, field: Field, role: str) -> bool:
        lots = {name for name, thing in self.kinds.things.items() if thing.cls == _LOT} | {_LOT}
        return any(case.role == role for case in field.roles) and (
            bool(lots & set(field.things)) or field.makes is not None
        )


def _fields(fields: Iterable[Field]) -> Iterator[Field]:
    for field in fields:
        yield field
        yield from _fields(field.fields.values())


def _ask_entries(
    connection: Connection,
    kinds: Kinds,
    lots: dict[int, Lot],
    found: dict[int, list[Movement]],
    unsure: list[tuple[int, int]],
) -> None:
    """Fill in the facts that hang on what the entries say."""
    seqs = sorted({found[thing][place].seq for thing, place in unsure})
    sql = "SELECT e.seq, e.record FROM {listed} JOIN entry e ON e.seq = j.value"
    kind_of = {lot.code: lot.kind for lot in lots.values()}
    told: dict[tuple[int, str, str], frozenset[str]] = {}
    for seq, record in select_listed(connection, sql, seqs, "bigint") if seqs else ():
        version = parse(record)
        mentions = {mention.path: mention for mention in content_of(version, kinds).mentions}
        for use in version.uses:
            code, mention = str(use["code"]), mentions.get(str(use["field"]))
            if mention and code in kind_of:
                names = facts(mention.field, mention.scope, (kind_of[code], _LOT))
                told[seq, str(use["role"]), code] = frozenset(names) & FACTS
    for thing, place in unsure:
        moved = found[thing][place]
        found[thing][place] = replace(moved, facts=told.get((moved.seq, moved.role, lots[thing].code), frozenset()))


def deliverable(kinds: Kinds) -> frozenset[str]:
    """Return the kinds of thing that some kind of record can say was delivered."""
    named = {
        name
        for kind in kinds.telling("delivered")
        for field in _fields(kinds[kind].fields.values())
        if any(fact.name == "delivered" for fact in field.facts)
        for name in field.things
    }
    return frozenset(name for name, thing in kinds.things.items() if thing.cls == _LOT and named & {name, _LOT})


def last_named(connection: Connection, codes: Sequence[str]) -> dict[str, int]:
    """Return, by the lot's code, the last second of the latest entry in force that names it in any role."""
    parts = [
        f"SELECT t.code, max(u.at_to) FROM {{listed}} JOIN thing t ON t.fold = j.value JOIN use u ON u.thing = t.id"
        f" AND {within} WHERE NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = (u.node >> 1)) GROUP BY t.code"
        for within in ("u.role <= 4", "u.role BETWEEN 3 AND 8", "u.role >= 9")
    ]
    latest: dict[str, int] = {}
    for code, last in select_listed(connection, " UNION ALL ".join(parts), [fold(code) for code in codes]):
        latest[code] = max(last, latest.get(code, last))
    return latest
