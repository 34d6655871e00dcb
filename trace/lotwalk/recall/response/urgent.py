"""What to do first in a recall: what to hold and whom to call before anybody knows the cause.

That is what lies closest, and all that a cause reaches in which a test found a germ, or somebody who was to be kept
away, however far that is. It never shrinks because a level is wide.
"""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from sqlalchemy import Connection

from lotwalk.balance.model import total
from lotwalk.balance.reckoning import balance
from lotwalk.kinds.library import Kinds
from lotwalk.recall.model import Candidate, Delivered, Recall
from lotwalk.recall.response.calls import Call, calls
from lotwalk.recall.response.holds import Hold, Holds, holds
from lotwalk.recall.response.package_marks import BARE, Bag
from lotwalk.recall.traceforward.levels import only

CLOSEST, NEXT = 1, 2
"""The level by which to call where none is asked for, and the one of which it is told how much it would add."""

Amounts = Mapping[str, Decimal]
"""How much, by unit (g, mL or count)."""


@dataclass(frozen=True, slots=True)
class FirstCall:
    """A customer to call, with how much they got of what was asked about, and of all how much is in date.

    Of `in_date` only what gives an amount is counted; `dated` are the deliveries with something in date.
    """

    call: Call
    asked: Amounts
    in_date: Amounts
    dated: int


@dataclass(frozen=True, slots=True)
class Reach:
    """How much a cause reaches: lots, deliveries, how many of those have something in date, and customers."""

    code: str
    lots: int
    deliveries: int
    dated: int
    customers: int


@dataclass(frozen=True, slots=True)
class Urgent:
    """What to do first. `on` is the day as of which things are in date, `level` the one by which to call.

    `scope` is what `calls` and `holds` are of, `reaches` the causes that add to it: those that a test or an absence
    points to, and the one that was chosen. `further_holds` are the lots on hand, and `further_dated` the deliveries
    with something in date, that the next level adds. `dated` gives how many deliveries have something in date, by
    level, each with those before it.
    """

    on: date
    level: int
    scope: Recall
    calls: tuple[FirstCall, ...]
    holds: Holds
    reaches: tuple[Reach, ...]
    further_holds: tuple[Hold, ...]
    further_dated: int
    dated: Mapping[int, int]

    @property
    def found(self) -> tuple[str, ...]:
        """The codes of the causes that add to the scope."""
        return tuple(one.code for one in self.reaches)


def urgent(
    connection: Connection,
    kinds: Kinds,
    found: Recall,
    asked: Collection[str],
    bags: Mapping[str, Bag],
    on: date,
    level: int,
    shelf_life: int,
    chosen: Collection[Candidate] = (),
) -> Urgent:
    """Return what to do first. `asked` are the lots asked about, `bags` what stands on the packages of all lots.

    `shelf_life` (seconds) is how long things keep of which nothing else is known. `chosen` are the rows of a cause to
    call by, which is added to those that were found.
    """
    causes = [*(one for one in found.candidates if _found(one, found) and one not in chosen), *chosen]
    first = _codes(found, level, causes)
    scope, wider = only(found, first), only(found, _codes(found, max(level, NEXT), causes))
    here = holds(connection, kinds, wider, balance(connection, wider.lots, kinds), shelf_life)
    dated = {one.code for one in found.deliveries if any(in_date(bags, item.lot, on) for item in one.items)}
    of: dict[str, list[Delivered]] = defaultdict(list)
    for one in scope.deliveries:
        of[one.customer or ""].append(one)
    lots = set(asked)
    told = [
        FirstCall(
            call,
            _amounts(of[call.customer], lambda lot: lot in lots),
            _amounts(of[call.customer], lambda lot: in_date(bags, lot, on)),
            sum(one.code in dated for one in of[call.customer]),
        )
        for call in calls(connection, kinds, scope)
    ]
    return Urgent(
        on=on,
        level=level,
        scope=scope,
        calls=tuple(sorted(told, key=_order)),
        holds=Holds(tuple(one for one in here.lots if one.code in first), here.old),
        reaches=tuple(_reach(code, causes, dated) for code in dict.fromkeys(one.thing.code for one in causes)),
        further_holds=tuple(one for one in here.lots if one.code not in first),
        further_dated=sum(1 for one in wider.deliveries if one.code not in first and one.code in dated),
        dated={one.level: sum(1 for code in dated if found.levels.get(code, 5) <= one.level) for one in found.totals},
    )


def in_date(bags: Mapping[str, Bag], lot: str, on: date) -> bool:
    """Return whether a lot is in date on a day. What has no date, or none that can be read, counts as in date."""
    try:
        return date.fromisoformat(bags.get(lot, BARE).best_before) >= on
    except ValueError:
        return True


def _found(one: Candidate, found: Recall) -> bool:
    away = {person.person for person in found.kept_away if person.candidate}
    return one.positive or (one.thing.cls == "person" and one.thing.code in away)


def _reach(code: str, causes: Iterable[Candidate], dated: Collection[str]) -> Reach:
    rows = [one for one in causes if one.thing.code == code]
    deliveries = {other for one in rows for other in one.deliveries}
    return Reach(
        code,
        len({other for one in rows for other in one.lots}),
        len(deliveries),
        len(deliveries.intersection(dated)),
        len({other for one in rows for other in one.customers}),
    )


def _codes(found: Recall, level: int, causes: Iterable[Candidate]) -> set[str]:
    """The lots and deliveries of a level or closer, and all that the causes reach."""
    codes = {code for code, own in found.levels.items() if own <= level}
    for one in causes:
        codes.update((one.thing.code, *one.lots, *one.deliveries))
    return codes


def _amounts(deliveries: Iterable[Delivered], counts: Callable[[str], bool]) -> Amounts:
    amounts: dict[str, list[Decimal]] = defaultdict(list)
    for item in (item for one in deliveries for item in one.items if counts(item.lot)):
        if item.amount is not None and item.unit is not None:
            amounts[item.unit].append(Decimal(item.amount))
    return {unit: total(some) for unit, some in sorted(amounts.items())}


def _order(one: FirstCall) -> tuple[bool, int, Decimal, Decimal, int, str]:
    """Who got what was asked about comes first; then by level, by how much is in date, and by how many deliveries."""
    grams, pieces = one.in_date.get("g", Decimal(0)), one.in_date.get("count", Decimal(0))
    return not one.asked, one.call.level, -grams, -pieces, -one.dated, one.call.customer
