"""Where a lot went on to: every lot with some of it inside, and how much of that was delivered.

A blend is shared out in proportion to what went in: 6 kg of H-1 and 4 kg of H-2 make a lot of which each part, and so
each delivery, is 60 % H-1; what was lost on the way is lost in the same proportion. Amounts are compared within one
unit. What went in without an amount, such as packaging, concerns the whole lot, and so does each unit where there are
several: a share is never made smaller than the records show.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from sqlalchemy import Connection

from lotwalk.balance.model import LotBalance, written
from lotwalk.balance.movements import find_lots
from lotwalk.balance.reckoning import balance
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.read.things import counted_of
from lotwalk.ledger.read.uses import Beside, beside
from lotwalk.values.roles import Role
from lotwalk.values.unit_table import ARITHMETIC


@dataclass(frozen=True, slots=True)
class Onward:
    """A lot with some of the asked lot in it.

    `share` is the part of it that is of the asked lot, 0 to 1; `made`, `delivered` and `on_hand` are that share of the
    lot's own, in its unit, to fifteen figures.
    """

    code: str
    kind: str
    unit: str | None
    share: Fraction
    made: Decimal | None
    delivered: Decimal
    on_hand: Decimal | None

    def json(self) -> dict[str, object]:
        """Return it as JSON; the share with fifteen figures."""
        return {
            "code": self.code,
            "kind": self.kind,
            "unit": self.unit,
            "share": written(_part(Decimal(1), self.share)),
            "made": written(self.made),
            "delivered": written(self.delivered),
            "on_hand": written(self.on_hand),
        }


def onward(connection: Connection, code: str, kinds: Kinds) -> tuple[Onward, ...]:
    """Return every lot that was made of a lot, through any number of steps, with the share of it in each.

    Raises NotUnderstood when the code is not that of a lot.
    """
    asked = find_lots(connection, [code])[0]
    found: dict[int, str] = {}
    fresh = {asked.id}
    while fresh:
        made = _counted(connection, beside(connection, fresh, [Role.TOOK], [Role.MADE]))
        fresh = made.keys() - found.keys() - {asked.id}
        found |= made
    inputs = _counted(connection, beside(connection, found, [Role.MADE], [Role.TOOK]))
    lots = {lot.code: lot for lot in balance(connection, [asked.code, *found.values(), *inputs.values()], kinds).lots}
    shares = _shares(asked.code, [lots[name] for name in found.values()], _inputs(lots.values()))
    return tuple(_onward(lots[name], share) for name, share in sorted(shares.items()) if name != asked.code)


def _counted(connection: Connection, uses: Sequence[Beside]) -> dict[int, str]:
    """The lots with an amount of their own among the others, by key, each with its code."""
    codes = {one.other: one.code for one in uses}
    return {key: codes[key] for key in counted_of(connection, codes)}


_Inputs = Mapping[int, Mapping[str, Fraction]]


def _inputs(lots: Iterable[LotBalance]) -> _Inputs:
    """For each entry, the part that each lot it took is of what it made."""
    taken: dict[int, list[tuple[LotBalance, Decimal | None]]] = defaultdict(list)
    for lot in lots:
        for taking in lot.takings:
            taken[taking.seq].append((lot, taking.amount))
    return {seq: _parts(of_entry) for seq, of_entry in taken.items()}


def _parts(taken: Sequence[tuple[LotBalance, Decimal | None]]) -> dict[str, Fraction]:
    in_unit: dict[str | None, Fraction] = defaultdict(Fraction)
    for lot, amount in taken:
        in_unit[lot.unit] += Fraction(amount or 0)
    return {
        lot.code: Fraction(amount) / in_unit[lot.unit] if amount is not None and in_unit[lot.unit] else Fraction(1)
        for lot, amount in taken
    }


def _shares(asked: str, lots: Sequence[LotBalance], inputs: _Inputs) -> dict[str, Fraction]:
    """The share of the asked lot in each lot, those first that are made of others already shared out."""
    shares = {asked: Fraction(1)}
    makers = {lot.code: lot.makers for lot in lots}
    waiting = {lot.code for lot in lots if lot.code != asked}
    while waiting:
        ready = [code for code in waiting if not _made_of(code, makers, inputs) & waiting - {code}]
        # Lots that are made of each other in a circle (an amended slip) are taken together, and in full.
        for code in ready or waiting:
            parts = [inputs.get(seq, {}) for seq in makers[code]]
            held = sum(
                (part * shares.get(name, 0) for entry in parts for name, part in entry.items()),
                Fraction(0),
            )
            shares[code] = min(held, Fraction(1)) if ready else Fraction(1)
        waiting -= set(ready or waiting)
    return shares


def _made_of(code: str, makers: Mapping[str, Sequence[int]], inputs: _Inputs) -> set[str]:
    return {name for seq in makers[code] for name in inputs.get(seq, {})}


def _onward(lot: LotBalance, share: Fraction) -> Onward:
    sums = lot.sums
    made = None if sums.made is None else _part(sums.made, share)
    on_hand = None if sums.on_hand is None else _part(sums.on_hand, share)
    return Onward(lot.code, lot.kind, lot.unit, share, made, _part(sums.delivered, share), on_hand)


def _part(amount: Decimal, share: Fraction) -> Decimal:
    """A share of an amount; an amount may have more figures than are shown, a share has no last one."""
    whole = Fraction(amount) * share
    return ARITHMETIC.divide(Decimal(whole.numerator), Decimal(whole.denominator))
