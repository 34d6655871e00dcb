"""Lots weighed up by the rules of the book: their balances, what they are held against, and where they went on to."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from sqlalchemy import Connection

from lotwalk.balance.limits import Limits, Rules
from lotwalk.balance.model import Balance, LotBalance
from lotwalk.balance.onward import Onward, onward
from lotwalk.balance.reckoning import balance
from lotwalk.kinds.library import Kinds
from lotwalk.values.codes import expand


@dataclass(frozen=True, slots=True)
class Weighing:
    """The balances of lots and of all together, and the limits that they are held against.

    `further` holds, by the codes of lots that were to be followed, every lot with some of it inside.
    """

    found: Balance
    limits: Limits
    further: Mapping[str, tuple[Onward, ...]]

    @property
    def balanced(self) -> bool:
        """Whether every lot balances within the tolerance."""
        return all(map(self.balances, self.found.lots))

    def balances(self, lot: LotBalance) -> bool:
        """Return whether one lot balances within the tolerance."""
        return lot.reckoned.within(self.limits.accounted)


def weigh(
    connection: Connection, kinds: Kinds, words: Iterable[str], rules: Rules, *, follow: bool = False
) -> Weighing:
    """Return the balances of lots, by codes and ranges of codes (`P-1..P-9`); with `follow` also where they went on to.

    Raises NotUnderstood for a code that is not in the book or names no lot.
    """
    found = balance(connection, [code for word in words for code in expand(word)], kinds)
    further = {lot.code: onward(connection, lot.code, kinds) for lot in found.lots} if follow else {}
    return Weighing(found, Limits.of(rules), further)
