"""The mass balance of lots, and of a scope of them.

made + returned = used + delivered + disposed + sampled + on_hand + unaccounted. The maker fixes the unit. On hand is
what the latest count found, less what was taken since, plus what came back since; never counted is not known, and then
all that is left stands as unaccounted. Of what was sown and not finished since, that still grows, and is told so. An
entry that finishes a lot and gives no amount took all that was left of it.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from decimal import Decimal

from sqlalchemy import Connection

from lotwalk.balance.model import (
    NOTHING,
    Balance,
    LotBalance,
    Movement,
    ScopeTotal,
    Sums,
    Taking,
    less,
    total,
)
from lotwalk.balance.movements import find_lots, movements
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.read.things import Lot
from lotwalk.ledger.read.uses import once_made
from lotwalk.values.roles import Role

_USED = "used"
_BEARS = "bears"
"""What a kind of record tells of what the lot that it makes stands on."""
_WENT = ("delivered", "disposed", "sampled")


def balance(connection: Connection, codes: Iterable[str], kinds: Kinds) -> Balance:
    """Return the balances of lots and of all of them together, from the entries in force.

    Raises NotUnderstood for a code that is not in the book or names no lot.
    """
    lots = find_lots(connection, codes)
    moved = movements(connection, kinds, lots)
    unmade = [lot for lot in lots if not any(one.role is Role.MADE for one in moved[lot.id])]
    void = once_made(connection, [lot.id for lot in unmade])
    sowing = frozenset(kinds.telling(_BEARS))
    balances = tuple(reckon(lot, moved[lot.id], void=lot.id in void, sowing=sowing) for lot in lots)
    made_here = {seq for lot in balances for seq in lot.makers}
    totals = [
        _total(unit, bought, [lot for lot in balances if (lot.unit, lot.bought) == (unit, bought)], made_here)
        for unit, bought in sorted({(lot.unit, lot.bought) for lot in balances if lot.unit and _known(lot)}, key=_order)
    ]
    return Balance(balances, tuple(totals), tuple(lot.code for lot in balances if not _known(lot)))


def _order(total_of: tuple[str, bool]) -> tuple[bool, bool, str]:
    """What was made here and weighed comes first: it is what customers have; trays by the piece may still grow."""
    unit, bought = total_of
    return bought, unit == "count", unit


def reckon(lot: Lot, moved: Sequence[Movement], *, void: bool = False, sowing: Collection[str] = ()) -> LotBalance:
    """Return the balance of one lot from all that moved it, by time.

    `void`: the entry that made it is void. `sowing` are the kinds of record by which a lot comes to stand on something.
    """
    unit = next((one.unit for one in _makers_first(moved) if one.unit), None)
    like = [one for one in moved if one.unit in (None, unit)]
    measured = [one for one in like if one.amount is not None]
    made = [one.amount for one in measured if one.role is Role.MADE and one.amount is not None]
    brought = [one for one in measured if "returned" in one.facts]
    counts = [one for one in measured if "counted" in one.facts]
    sums_made = total(made) if made else None
    out = [(one, way) for one in like if (way := _way(one))]
    rest = next((one for one, _ in reversed(out) if one.amount is None and "finished" in one.facts), None)
    left = _left(rest, sums_made, [one for one, _ in out], brought, counts) if rest else None
    takings = [
        Taking(one.name, one.seq, one.kind, one.start, way, left if one is rest else one.amount, one is rest, one.facts)
        for one, way in out
    ]
    count = _latest(counts)
    return LotBalance(
        code=lot.code,
        kind=lot.kind,
        type=lot.type,
        bought=lot.bought,
        void=void,
        unit=unit,
        sums=_sums(sums_made, _sum(brought), takings, _on_hand(count, out, takings, brought)),
        counted=count.amount if count else None,
        takings=tuple(takings),
        unmeasured=() if left is not None else tuple(one.entry for one in takings if one.amount is None),
        unlike=tuple(one.name for one in moved if one not in like),
        makers=tuple(one.seq for one in moved if one.role is Role.MADE),
        standing=any(one.role is Role.MADE and one.kind in sowing for one in moved)
        and not any("finished" in one.facts for one in moved),
    )


def _makers_first(moved: Sequence[Movement]) -> list[Movement]:
    return sorted(moved, key=lambda one: one.role is not Role.MADE)


def _way(moved: Movement) -> str | None:
    """Which way some of the lot went by this entry; None where none of it left."""
    if "regrown" in moved.facts:
        return None
    return next((way for way in _WENT if way in moved.facts), _USED if moved.role is Role.TOOK else None)


def _left(
    rest: Movement,
    made: Decimal | None,
    out: Sequence[Movement],
    brought: Sequence[Movement],
    counts: Sequence[Movement],
) -> Decimal | None:
    """What was left when an entry took the rest: since the last count before it, or of all that was made."""
    count = _latest([one for one in counts if not one.later_than(rest)])
    start = count.amount if count else made
    if start is None:
        return None

    def between(one: Movement) -> bool:
        return one is not rest and not one.later_than(rest) and (count is None or one.later_than(count))

    came = _sum(one for one in brought if between(one))
    went = _sum(one for one in out if between(one))
    return max(NOTHING, less(total((start, came)), went))


def _on_hand(
    count: Movement | None,
    out: Sequence[tuple[Movement, str]],
    takings: Sequence[Taking],
    brought: Sequence[Movement],
) -> Decimal | None:
    if count is None or count.amount is None:
        return None
    went = [
        taking.amount
        for (one, _), taking in zip(out, takings, strict=True)
        if taking.amount is not None and one.later_than(count)
    ]
    came = _sum(one for one in brought if one.later_than(count))
    return less(total((count.amount, came)), total(went))


def _latest(counts: Collection[Movement]) -> Movement | None:
    latest: Movement | None = None
    for count in counts:
        if latest is None or not latest.later_than(count):
            latest = count
    return latest


def _sum(moved: Iterable[Movement]) -> Decimal:
    return total(one.amount for one in moved if one.amount is not None)


def _sums(made: Decimal | None, returned: Decimal, takings: Iterable[Taking], on_hand: Decimal | None) -> Sums:
    ways: dict[str, Decimal] = dict.fromkeys(_WENT, NOTHING)
    used: dict[str, Decimal] = defaultdict(Decimal)
    for one in takings:
        if one.amount is None:
            continue
        if one.to == _USED:
            used[one.kind] = total((used[one.kind], one.amount))
        else:
            ways[one.to] = total((ways[one.to], one.amount))
    return Sums(made, returned, dict(sorted(used.items())), **ways, on_hand=on_hand)


def _known(lot: LotBalance) -> bool:
    return lot.sums.made is not None


def _total(unit: str, bought: bool, lots: Sequence[LotBalance], made_here: Collection[int]) -> ScopeTotal:
    """The sum over lots, each without what an entry used to make another lot of the scope."""
    known = [lot for lot in lots if _known(lot)]
    inside = total(
        one.amount
        for lot in known
        for one in lot.takings
        if one.to == _USED and one.seq in made_here and one.amount is not None
    )
    outside = [one for lot in known for one in lot.takings if one.to != _USED or one.seq not in made_here]
    counted = [lot.sums.on_hand for lot in known if lot.sums.on_hand is not None]
    sums = _sums(
        less(total(lot.sums.made for lot in known if lot.sums.made is not None), inside),
        total(lot.sums.returned for lot in known),
        outside,
        total(counted) if counted else None,
    )
    growing = total(lot.growing for lot in known)
    return ScopeTotal(unit, bought, tuple(lot.code for lot in known), sums, growing)
