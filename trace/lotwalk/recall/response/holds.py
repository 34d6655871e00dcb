"""What of a recall's scope is still on the farm: how much of each lot, where, and whether it is on hold already."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from sqlalchemy import Connection

from lotwalk.balance.model import Balance, LotBalance
from lotwalk.balance.movements import deliverable, last_named
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.roles import facts
from lotwalk.ledger.entry import content_of
from lotwalk.ledger.model import Version
from lotwalk.ledger.read.things import find_things, keys_of
from lotwalk.ledger.read.uses import versions_using
from lotwalk.ledger.read.versions import last_recorded
from lotwalk.recall.model import Recall
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role

HELD, RELEASED = "held", "released"
_COMMON_PLACE = "place"
_IN_PLACE = (Role.MADE, Role.HANDLED, Role.TENDED)


@dataclass(frozen=True, slots=True)
class Hold:
    """A lot that is, or may be, still on the farm.

    `amount` is in `unit`: what the latest count left where it was `counted`, else all that nothing accounts for; None
    where nobody wrote down how much there was. `where` is the place that the book last put it in, `held` the entry
    (`E12`) by which it is on hold already. `growing`: it still stands where it was sown.
    """

    code: str
    kind: str
    level: int
    amount: Decimal | None
    unit: str | None
    counted: bool
    where: str | None
    held: str | None
    growing: bool = False


@dataclass(frozen=True, slots=True)
class Holds:
    """The lots to hold, the closest level first. `old` are lots of which some is unaccounted for, not named for longer
    than they keep."""

    lots: tuple[Hold, ...]
    old: tuple[str, ...]


def holds(connection: Connection, kinds: Kinds, scope: Recall, found: Balance, shelf_life: int) -> Holds:
    """Return what of the scope is still on the farm, by its balance.

    A lot that was counted tells for itself. Of the others those count that could be sold or were bought, and that the
    book named within the shelf life (seconds) before the latest that it has of this scope, or that still grow; the rest
    is `old`.
    """
    sold = deliverable(kinds)
    left = {lot.code: lot for lot in found.lots if _is_left(lot, sold)}
    unsure = [code for code, lot in left.items() if lot.sums.on_hand is None and not lot.bought and not lot.growing]
    named = last_named(connection, unsure)
    latest = _latest(connection, scope, named.values())
    old = {code for code in unsure if named.get(code, 0) + shelf_life < latest}
    here = [lot for code, lot in left.items() if code not in old]
    codes = [lot.code for lot in here]
    held, where = _held(connection, kinds, codes), _where(connection, codes)
    lots = [
        Hold(
            code=lot.code,
            kind=lot.kind,
            level=scope.levels.get(lot.code, 1),
            amount=lot.sums.unaccounted if lot.sums.on_hand is None else lot.sums.on_hand,
            unit=lot.unit,
            counted=lot.sums.on_hand is not None,
            where=where.get(lot.code),
            held=held.get(lot.code),
            growing=bool(lot.growing),
        )
        for lot in here
    ]
    return Holds(tuple(sorted(lots, key=lambda one: (one.level, one.code))), tuple(sorted(old)))


def _latest(connection: Connection, scope: Recall, named: Iterable[int]) -> int:
    """The time of the latest that the book has of a scope, or that of its newest entry where that is earlier.

    A year that was mistyped must not make everything old, and neither must a sheet that was typed months later.
    """
    recorded = last_recorded(connection)
    asked = [one.at for one in scope.asked if one.at is not None]
    return min(recorded, max([*asked, *(one.start for one in scope.deliveries), *named], default=recorded))


def _is_left(lot: LotBalance, sold: Collection[str]) -> bool:
    if lot.void:
        return False
    if lot.sums.on_hand is not None:
        return lot.sums.on_hand > 0
    likely = lot.kind in sold or lot.bought
    return likely and (lot.sums.unaccounted is None or lot.sums.unaccounted > 0)


def _held(connection: Connection, kinds: Kinds, codes: Sequence[str]) -> dict[str, str]:
    """The entry by which each lot is on hold; those released since are left out."""
    telling = sorted({*kinds.telling(HELD), *kinds.telling(RELEASED)})
    things = {thing.id: thing for thing in find_things(connection, codes).values()}
    named = versions_using(connection, things, [Role.TOOK, Role.ABOUT], telling)
    told = [(things[key].code, things[key].kind, things[key].cls, version) for key, _, version in named]
    out: dict[str, str] = {}
    for code, kind, cls, version in sorted(told, key=lambda row: (row[3].end, row[3].start, row[3].number)):
        for mention in content_of(version, kinds).mentions:
            if any(fold(one) == fold(code) for one in mention.codes):
                names = facts(mention.field, mention.scope, (kind, cls))
                if RELEASED in names:
                    out.pop(code, None)
                elif HELD in names:
                    out[code] = version.name
    return out


def _where(connection: Connection, codes: Sequence[str]) -> dict[str, str]:
    """The place in which the book last had each lot: where it was put, or where it was made or worked on."""
    things = keys_of(connection, codes)
    named = versions_using(connection, things, [*_IN_PLACE, Role.ABOUT])
    told = [(things[key], role, version) for key, role, version in named]
    out: dict[str, str] = {}
    for code, role, version in sorted(told, key=lambda row: (row[2].end, row[2].start, row[2].number)):
        if place := _put(version, role):
            out[code] = place
    return out


def _put(version: Version, role: Role) -> str | None:
    """Where an entry puts a lot; its own place where it worked on the lot there."""
    places = {use.field: use.code for use in version.uses if use.role is Role.PLACE}
    put = [code for field, code in places.items() if field != _COMMON_PLACE]
    return put[0] if put else places.get(_COMMON_PLACE) if role in _IN_PLACE else None
