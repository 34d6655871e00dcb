"""Whom to call on a bad day, in the order in which it matters, and whom somebody has called already."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from sqlalchemy import Connection

from lotwalk.balance.model import total
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.read.things import keys_of
from lotwalk.ledger.read.uses import makers, versions_using
from lotwalk.recall.model import Delivered, Recall
from lotwalk.values.roles import Role

TOLD = "told"
"""What a kind of record tells of a customer who was called in a recall."""

_REACHED = "reached"
_YES = ("yes", "y", "true")


@dataclass(frozen=True, slots=True)
class Call:
    """A customer to call: the business, the person and the number as far as the book knows them, and what they got.

    `level` is the closest of what they got; `amounts` are by unit, of what gives an amount; `last` is when the newest
    delivery was, as written. `told` are the calls that stand in the book about what was asked, each entry (`E12`) with
    whether somebody was reached (None: not said).
    """

    customer: str
    name: str
    contact: str
    phone: str
    level: int
    deliveries: tuple[str, ...]
    lots: tuple[str, ...]
    amounts: dict[str, Decimal]
    last: str
    told: tuple[tuple[str, bool | None], ...]


def calls(connection: Connection, kinds: Kinds, scope: Recall) -> list[Call]:
    """Return whom to call: the closest level first, and in it who got most of what is in scope.

    Named is whom to call for a recall where the customer's record says so, else whom the farm deals with.
    """
    of: dict[str, list[Delivered]] = defaultdict(list)
    for one in scope.deliveries:
        if one.customer:
            of[one.customer].append(one)
    fields = _records(connection, sorted(of))
    told = _told(connection, kinds, sorted(of), {one.code for one in scope.asked})
    found = [_call(code, of[code], fields.get(code, {}), told.get(code, ()), scope.levels) for code in of]
    return sorted(found, key=_order)


def _order(call: Call) -> tuple[int, Decimal, Decimal, int, str]:
    grams, pieces = call.amounts.get("g", Decimal(0)), call.amounts.get("count", Decimal(0))
    return call.level, -grams, -pieces, -len(call.deliveries), call.customer


def _call(
    code: str,
    deliveries: Sequence[Delivered],
    fields: dict[str, str],
    told: Sequence[tuple[str, bool | None]],
    levels: dict[str, int],
) -> Call:
    amounts: dict[str, list[Decimal]] = defaultdict(list)
    for item in (item for one in deliveries for item in one.items):
        if item.amount is not None and item.unit is not None:
            amounts[item.unit].append(Decimal(item.amount))
    lots = sorted({item.lot for one in deliveries for item in one.items})
    return Call(
        customer=code,
        name=fields.get("name", ""),
        contact=fields.get("recall_contact") or fields.get("contact") or "",
        phone=fields.get("recall_phone") or fields.get("phone") or "",
        level=min(levels.get(name, 5) for name in (*lots, *(one.code for one in deliveries))),
        deliveries=tuple(one.code for one in deliveries),
        lots=tuple(lots),
        amounts={unit: total(listed) for unit, listed in sorted(amounts.items())},
        last=max(deliveries, key=lambda one: one.start).at,
        told=tuple(told),
    )


def _records(connection: Connection, codes: Sequence[str]) -> dict[str, dict[str, str]]:
    things = keys_of(connection, codes)
    return {
        things[key]: {name: str(value) for name, value in version.fields.items()}
        for key, version in makers(connection, list(things)).items()
    }


def _told(
    connection: Connection, kinds: Kinds, codes: Sequence[str], asked: set[str]
) -> dict[str, list[tuple[str, bool | None]]]:
    """The calls about what was asked that stand in the book, by customer and time."""
    things = keys_of(connection, codes)
    out: dict[str, list[tuple[str, bool | None]]] = defaultdict(list)
    for key, _, version in versions_using(connection, things, [Role.TO], kinds.telling(TOLD)):
        if asked & {use.code for use in version.uses}:
            reached = version.fields.get(_REACHED)
            out[things[key]].append((version.name, None if reached is None else str(reached).casefold() in _YES))
    return out
