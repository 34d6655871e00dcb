"""What the balances show to be wrong, as values to be shown by a check.

A lot is only called missing when it could be at a customer and nobody has spoken of it for longer than it keeps; or
when it was counted and the count is short. A bag of seed that is still in use is neither.
"""

from collections.abc import Collection, Iterator, Sequence
from decimal import Decimal

from sqlalchemy import Connection

from lotwalk.balance.limits import ACCOUNTED, DEVIATIONS, SHELF_LIFE, Limits
from lotwalk.balance.model import LotBalance, Sums, less, total
from lotwalk.balance.movements import deliverable, last_named
from lotwalk.balance.reckoning import balance
from lotwalk.balance.slips import pack_sizes, returns
from lotwalk.balance.yields import Implausible, implausible
from lotwalk.finding import Finding, finding
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.read.things import all_lots
from lotwalk.values.units import Units

_WHOLE = Decimal(100)
_ROUNDING = Decimal("1e-7")
"""Per cent. So much may fractions of a pound, kept to fifteen figures, add up to."""

_ARITHMETIC = "the arithmetic of the lot's own entries"


def findings(connection: Connection, kinds: Kinds, limits: Limits, units: Units, now: int) -> list[Finding]:
    """Return what is wrong with the balance of any lot in the book at a time (epoch seconds), by the lots' age."""
    lots = balance(connection, all_lots(connection), kinds).lots
    found = [
        *_of_lots(connection, lots, kinds, limits, units, now),
        *(_of_harvest(one, limits, units) for one in implausible(lots, limits)),
    ]
    return [*found, *pack_sizes(connection, kinds, units), *returns(connection, kinds, units)]


def of_lots(
    connection: Connection, codes: Collection[str], kinds: Kinds, limits: Limits, units: Units, now: int
) -> list[Finding]:
    """Return what is wrong with the balance of these lots, each by itself, at a time (epoch seconds)."""
    return _of_lots(connection, balance(connection, codes, kinds).lots, kinds, limits, units, now)


def _of_lots(
    connection: Connection, lots: Sequence[LotBalance], kinds: Kinds, limits: Limits, units: Units, now: int
) -> list[Finding]:
    short = [lot for lot in lots if _short(lot, limits)]
    quiet: set[str] = set()
    if limits.shelf_life is not None:
        named = last_named(connection, [lot.code for lot in short])
        quiet = {code for code, last in named.items() if last + limits.shelf_life < now}
    sold = deliverable(kinds)
    return [one for lot in lots for one in _of_lot(lot, limits, units, sold, quiet)]


def _of_lot(
    lot: LotBalance, limits: Limits, units: Units, sold: Collection[str], quiet: Collection[str]
) -> Iterator[Finding]:
    sums, most = lot.sums, max(limits.accounted[1], _WHOLE)
    if lot.unlike:
        yield finding(
            "other-unit",
            (lot.code,),
            about=(lot.code, *lot.unlike),
            text=f"{lot.code} is kept in {lot.unit}, and {_entries(lot.unlike)} in another unit, which no balance can"
            " hold.",
            do="Amend the amount there, or the unit in which the lot was made.",
            basis=_ARITHMETIC,
        )
    if sums.came_in is None or lot.unit is None:
        return
    if _over(sums.delivered, sums):
        yield finding(
            "over-delivered",
            (lot.code,),
            about=(lot.code, *_by(lot, "delivered")),
            text=f"More of {lot.code} was delivered than there was: {_show(sums.delivered, lot, units)} out of"
            f" {_show(sums.came_in, lot, units)}, {_show(less(sums.delivered, sums.came_in), lot, units)} too much.",
            do="Find what was delivered under its code and where that came from, and amend the slip.",
            basis=_ARITHMETIC,
        )
    elif _over(sums.taken, sums, most):
        yield finding(
            "overdrawn",
            (lot.code,),
            about=(lot.code, *(taking.entry for taking in lot.takings)),
            text=f"More was taken of {lot.code} than there was: {_show(sums.taken, lot, units)} out of"
            f" {_show(sums.came_in, lot, units)}, {_show(less(sums.taken, sums.came_in), lot, units)} too much.",
            do="Find the entry that named it for another lot, or a wrong weight, and amend it.",
            basis=limits.basis.get(ACCOUNTED, _ARITHMETIC),
        )
    elif sums.on_hand is not None and _over(total((sums.taken, sums.on_hand)), sums, most):
        yield finding(
            "overcounted",
            (lot.code,),
            about=(lot.code,),
            text=f"More of {lot.code} was found than there can be: {_show(sums.on_hand, lot, units)} on hand and"
            f" {_show(sums.taken, lot, units)} taken, out of {_show(sums.came_in, lot, units)}.",
            do="Count it again, and look for an entry that is missing.",
            basis=limits.basis.get(ACCOUNTED, _ARITHMETIC),
        )
    if sums.on_hand is not None and sums.on_hand < 0:
        yield finding(
            "counted-short",
            (lot.code,),
            about=(lot.code,),
            text=f"More was taken of {lot.code} since it was counted than was found then.",
            do="Count it again, and look whether the count or an entry since then is wrong.",
            basis=_ARITHMETIC,
        )
    counted = sums.on_hand is not None and not lot.unmeasured
    if lot.growing and lot.code in quiet:
        yield finding(
            "unaccounted",
            (lot.code,),
            about=(lot.code,),
            text=f"{_show(lot.growing, lot, units)} of {lot.code} should still stand where they were sown, and"
            " nothing was written of them for longer than what is cut keeps.",
            do="Look whether they do, and record the harvest or the disposal if they do not.",
            basis=limits.basis.get(SHELF_LIFE, _ARITHMETIC),
        )
    elif _short(lot, limits) and (counted or (lot.kind in sold and lot.code in quiet)):
        yield finding(
            "unaccounted",
            (lot.code,),
            about=(lot.code, *lot.unmeasured),
            text=f"{_show(sums.unaccounted or Decimal(0), lot, units)} of {lot.code} are not accounted for, out of"
            f" {_show(sums.came_in, lot, units)}; {_silent(lot)}.",
            do="Find out where they went and record it, or count what is left.",
            basis=limits.basis.get(ACCOUNTED, _ARITHMETIC),
            severity="major" if lot.kind in sold and not lot.unmeasured else "minor",
        )


def _short(lot: LotBalance, limits: Limits) -> bool:
    """Whether too little is accounted for, as far as the lot's unit tells."""
    percent = lot.sums.percent
    return percent is not None and percent < limits.accounted[0] and not lot.unlike


def _silent(lot: LotBalance) -> str:
    if not lot.unmeasured:
        return "nothing says that they were sold, thrown out or counted"
    return f"{', '.join(lot.unmeasured)} took some and {'does' if len(lot.unmeasured) == 1 else 'do'} not say how much"


def _over(amount: Decimal, sums: Sums, most: Decimal = _WHOLE) -> bool:
    """Whether an amount is more than so many per cent of what came in."""
    return sums.came_in is not None and amount * 100 > sums.came_in * (most + _ROUNDING)


def _of_harvest(one: Implausible, limits: Limits, units: Units) -> Finding:
    cut = one.harvest

    def show(amount: Decimal) -> str:
        return units.show(amount, cut.unit)

    return finding(
        "yield",
        (cut.lot,),
        about=(cut.lot, *cut.batches, cut.entry),
        text=f"{cut.lot} came to {show(cut.per_tray)} a tray ({show(cut.amount)} from {cut.trays:f}). The median of"
        f" this farm's latest {one.earlier} earlier harvests of {' and '.join(cut.crop)} is"
        f" {show(one.spread.median)}, their"
        f" median absolute deviation {show(one.spread.deviation)}; above {show(one.most)} is more than is plausible.",
        do="Check the weight, the number of trays and which batches it was cut from.",
        basis=limits.basis.get(DEVIATIONS, ""),
    )


def _by(lot: LotBalance, way: str) -> tuple[str, ...]:
    return tuple(taking.entry for taking in lot.takings if taking.to == way)


def _entries(names: Sequence[str]) -> str:
    return f"{', '.join(names)} {'gives' if len(names) == 1 else 'give'} an amount"


def _show(amount: Decimal, lot: LotBalance, units: Units) -> str:
    return units.show(amount, lot.unit) if lot.unit else f"{amount:f}"
