"""Reads what moved lots, for many lots in a handful of statements.

Which entries delivered, disposed of, sampled, brought back or counted a lot stands in their kind files. Where a fact
hangs on nothing that the entry says, it is known by the kind of record alone, and no entry is read for it.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from sqlalchemy import Connection

from lotwalk.balance.model import Movement
from lotwalk.errors import NotUnderstood
from lotwalk.kinds.facts import BALANCE_FACTS
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Field
from lotwalk.kinds.roles import facts
from lotwalk.ledger.bearing.facts import FINISHED, ON
from lotwalk.ledger.entry import content_of
from lotwalk.ledger.read import things, uses
from lotwalk.ledger.read.amounts import moved
from lotwalk.ledger.read.things import Lot
from lotwalk.ledger.read.versions import by_seq
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role

FACTS = frozenset((*BALANCE_FACTS, FINISHED))
"""What the balance goes by."""

_LOT = "lot"


def find_lots(connection: Connection, codes: Iterable[str]) -> list[Lot]:
    """Return the lots of these codes, in their order and each once.

    Raises NotUnderstood for a code that is not in the book, and for what is no lot with an amount of its own.
    """
    wanted = {fold(code): code for code in codes}
    found = things.find_lots(connection, wanted.values())
    lots = []
    for folded, code in wanted.items():
        lot = found.get(folded)
        if lot is None:
            raise NotUnderstood(f"{code} is not in the book", f'a code; `lotwalk show "{code}"` looks for it')
        if not isinstance(lot, Lot):
            what = f"{lot.code} is a {lot.kind.replace('-', ' ')}, which has no amount"
            raise NotUnderstood(what, "the code of a lot")
        lots.append(lot)
    return lots


def movements(connection: Connection, kinds: Kinds, lots: Sequence[Lot]) -> dict[int, list[Movement]]:
    """Return, by the lot's key, the entries in force that made, took, brought back or counted it, by time."""
    telling = _Telling(kinds)
    found: dict[int, list[Movement]] = defaultdict(list)
    unsure: list[tuple[int, int]] = []
    for one in moved(connection, [lot.id for lot in lots], telling.kinds_that_tell):
        told = telling.surely(one.kind, one.role)
        exact = None if one.amount is None else Decimal(one.amount)
        place = (one.number, one.seq, one.kind, one.role, one.start, one.end, one.group, one.line)
        if told is None:
            unsure.append((one.thing, len(found[one.thing])))
        found[one.thing].append(Movement(*place, exact, one.unit, told or frozenset()))
    _ask_entries(connection, kinds, {lot.id: lot for lot in lots}, found, unsure)
    return {lot.id: sorted(found[lot.id], key=_by_time) for lot in lots}


def _by_time(moved: Movement) -> tuple[int, int, int]:
    return moved.end, moved.start, moved.number


class _Telling:
    """What each kind of record tells of the lots that it names."""

    def __init__(self, kinds: Kinds) -> None:
        self.kinds = kinds
        self.kinds_that_tell = sorted({name for fact in FACTS for name in kinds.telling(fact)})
        self._surely: dict[tuple[str, Role], frozenset[str] | None] = {}

    def surely(self, kind: str, role: Role) -> frozenset[str] | None:
        """Return what is told of every lot in this role, or None where that hangs on the field or on the entry."""
        if kind not in self.kinds_that_tell:
            return frozenset()
        if (kind, role) not in self._surely:
            fields = [field for field in _fields(self.kinds[kind].fields.values()) if self._names_lots(field, role)]
            told = {frozenset(fact.name for fact in field.facts) & FACTS for field in fields}
            hangs = any(fact.when is not None for field in fields for fact in field.facts if fact.name in FACTS)
            self._surely[kind, role] = None if hangs or len(told) != 1 else told.pop()
        return self._surely[kind, role]

    def _names_lots(self, field: Field, role: Role) -> bool:
        lots = {name for name, thing in self.kinds.things.items() if thing.cls == _LOT} | {_LOT}
        return any(case.role is role for case in field.roles) and (
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
    kind_of = {lot.code: lot.kind for lot in lots.values()}
    told: dict[tuple[int, Role, str], frozenset[str]] = {}
    for seq, version in by_seq(connection, seqs).items():
        mentions = {mention.path: mention for mention in content_of(version, kinds).mentions}
        left = {use.code for use in version.uses if use.role is Role.HANDLED and not use.field.startswith(ON)}
        for use in version.uses:
            code, mention = use.code, mentions.get(use.field)
            if mention and code in kind_of:
                names = facts(mention.field, mention.scope, (kind_of[code], _LOT))
                # What an entry handles beside taking it was left, whatever it does not say.
                told[seq, use.role, code] = frozenset(names) & FACTS - ({FINISHED} if code in left else set())
    for thing, place in unsure:
        one = found[thing][place]
        found[thing][place] = replace(one, facts=told.get((one.seq, one.role, lots[thing].code), frozenset()))


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


def wrapping(kinds: Kinds) -> frozenset[str]:
    """Return the kinds of thing that are bought and that no kind of record can say was delivered.

    What a delivery took of them went around what it delivered.
    """
    sold = deliverable(kinds)
    return frozenset(name for name, thing in kinds.things.items() if thing.bought and name not in sold)


def last_named(connection: Connection, codes: Sequence[str]) -> dict[str, int]:
    """Return, by the lot's code, the last second of the latest entry in force that names it in any role."""
    keys = things.keys_of(connection, codes)
    return {keys[key]: last for key, last in uses.last_named(connection, keys).items()}
