"""What goes into a mass balance and what comes out of it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from lotwalk.values import order
from lotwalk.values.roles import Role
from lotwalk.values.unit_table import WIDE

NOTHING = Decimal(0)
_CENT = Decimal("0.01")


def total(amounts: Iterable[Decimal]) -> Decimal:
    """Return the sum of amounts, exactly: sixty figures hold any farm's."""
    out = NOTHING
    for amount in amounts:
        out = WIDE.add(out, amount)
    return out


def less(amount: Decimal, other: Decimal) -> Decimal:
    """Return the one amount less the other, exactly."""
    return WIDE.subtract(amount, other)


def written(amount: Decimal | None) -> str | None:
    """Return an amount as JSON has it: a decimal as text, without trailing zeros."""
    if amount is None:
        return None
    return format(amount.normalize(WIDE), "f") if amount else "0"


@dataclass(frozen=True, slots=True)
class Movement:
    """One entry in force, as it concerns one lot: it made, took, brought back or counted some of it.

    `number` is the one by which people name it, `seq` its version. `amount` is in `unit`, None where the entry says
    none. `facts` are what the kind of record tells of the lot (`delivered`, `counted`, ...).
    """

    number: int
    seq: int
    kind: str
    role: Role
    start: int
    end: int
    group: int
    line: int
    amount: Decimal | None
    unit: str | None
    facts: frozenset[str] = frozenset()

    @property
    def name(self) -> str:
        """The entry's name, such as `E12`."""
        return f"E{self.number}"

    def later_than(self, other: "Movement") -> bool:
        """Return whether this comes after the other; where the order is unknown, whether its time ends later.

        So of one morning's delivery and a count dated that day the count is the later, and of two dates alone neither.
        """
        if order.surely_before(self, other):
            return False
        return order.surely_before(other, self) or self.end > other.end


@dataclass(frozen=True, slots=True)
class Taking:
    """Some of a lot that went out by one entry.

    `to` is delivered, disposed, sampled or used. `rest`: the entry gave no amount and finished the lot, so `amount` is
    reckoned as all that was left. An `amount` of None is not known. `facts` as in `Movement`.
    """

    entry: str
    seq: int
    kind: str
    start: int
    to: str
    amount: Decimal | None
    rest: bool
    facts: frozenset[str]


@dataclass(frozen=True, slots=True)
class Sums:
    """made + returned = used + delivered + disposed + sampled + on_hand + unaccounted, all in one unit.

    `made` is None where nobody said how much, and then `unaccounted` is too. `on_hand` is None where it was never
    counted, and then reckoned as nothing. `used` is by kind of record.
    """

    made: Decimal | None
    returned: Decimal
    used: Mapping[str, Decimal]
    delivered: Decimal
    disposed: Decimal
    sampled: Decimal
    on_hand: Decimal | None

    @property
    def came_in(self) -> Decimal | None:
        """Made and returned."""
        return None if self.made is None else total((self.made, self.returned))

    @property
    def taken(self) -> Decimal:
        """Used, delivered, disposed of and sampled."""
        return total((*self.used.values(), self.delivered, self.disposed, self.sampled))

    @property
    def unaccounted(self) -> Decimal | None:
        """What is missing; below zero where more was found than there can have been."""
        if self.came_in is None:
            return None
        return less(self.came_in, total((self.taken, self.on_hand or NOTHING)))

    @property
    def percent(self) -> Decimal | None:
        """The percentage of what came in that is accounted for; None where that cannot be told."""
        if self.came_in is None or self.unaccounted is None:
            return None
        found = less(self.came_in, self.unaccounted)
        if not self.came_in:
            return None if found else Decimal(100)
        return WIDE.divide(WIDE.multiply(found, Decimal(100)), self.came_in)

    def with_growing(self, growing: Decimal) -> "Sums":
        """Return the sums with so much more on hand: what still grows is not missing, though nobody counts it."""
        return replace(self, on_hand=total((self.on_hand or NOTHING, growing))) if growing else self

    def within(self, tolerance: tuple[Decimal, Decimal]) -> bool:
        """Return whether the percentage is known and lies in a range, and no less than nothing is on hand."""
        possible = self.on_hand is None or self.on_hand >= 0
        return possible and self.percent is not None and tolerance[0] <= self.percent <= tolerance[1]

    def json(self) -> dict[str, Any]:
        """Return the sums as JSON: amounts as text, exactly; the percentage with two decimals."""
        percent = None if self.percent is None else self.percent.quantize(_CENT, context=WIDE)
        return {
            "made": written(self.made),
            "used": {kind: written(amount) for kind, amount in self.used.items()},
            "delivered": written(self.delivered),
            "disposed": written(self.disposed),
            "sampled": written(self.sampled),
            "returned": written(self.returned),
            "on_hand": written(self.on_hand),
            "unaccounted": written(self.unaccounted),
            "accounted_percent": written(percent),
        }


@dataclass(frozen=True, slots=True)
class LotBalance:
    """The balance of one lot, in the unit that its maker fixed.

    `counted` is the latest count, None if there was none. `unmeasured` are entries that took from it and do not say
    how much; `unlike` those whose amount is in another unit, and so in none of the sums. `makers` are the versions of
    the entries that made it. `void`: it was made by an entry that is void now. `standing`: it was sown, and no entry in
    force finished it, so that what is left of it still grows as far as the book knows.
    """

    code: str
    kind: str
    type: str | None
    bought: bool
    void: bool
    unit: str | None
    sums: Sums
    counted: Decimal | None
    takings: tuple[Taking, ...]
    unmeasured: tuple[str, ...]
    unlike: tuple[str, ...]
    makers: tuple[int, ...]
    standing: bool = False

    @property
    def growing(self) -> Decimal:
        """How much of it still grows: of a standing lot that nobody counted, all that nothing else accounts for."""
        if not self.standing or self.sums.on_hand is not None:
            return NOTHING
        return max(NOTHING, self.sums.unaccounted or NOTHING)

    @property
    def reckoned(self) -> Sums:
        """The sums with what still grows as on hand: what is unaccounted for in them is missing."""
        return self.sums.with_growing(self.growing)

    def json(self) -> dict[str, Any]:
        """Return the lot's balance as JSON."""
        return {
            "code": self.code,
            "kind": self.kind,
            "bought": self.bought,
            "void": self.void,
            "unit": self.unit,
            **self.sums.json(),
            "counted": written(self.counted),
            "unmeasured": list(self.unmeasured),
            "other_unit": list(self.unlike),
        }


@dataclass(frozen=True, slots=True)
class ScopeTotal:
    """The balance of all lots of a scope that are kept in one unit, bought lots and those made here apart.

    Nothing is counted twice: a lot counts without what was used to make another lot of the scope, which is counted as
    that other lot. `lots` are those that it is the total of. `growing` is how much of them still grows.
    """

    unit: str
    bought: bool
    lots: tuple[str, ...]
    sums: Sums
    growing: Decimal = NOTHING

    @property
    def reckoned(self) -> Sums:
        """The sums with what still grows as on hand."""
        return self.sums.with_growing(self.growing)

    def json(self) -> dict[str, Any]:
        """Return the total as JSON; `growing` is a part of what is unaccounted for."""
        head = {"unit": self.unit, "bought": self.bought, "lots": len(self.lots)}
        return head | self.sums.json() | {"growing": written(self.growing)}


@dataclass(frozen=True, slots=True)
class Balance:
    """The balances of several lots, and of all of them. `left_out` are lots of unknown amount, in no total."""

    lots: tuple[LotBalance, ...]
    totals: tuple[ScopeTotal, ...]
    left_out: tuple[str, ...]

    def json(self) -> dict[str, Any]:
        """Return the balance as JSON."""
        return {
            "lots": [lot.json() for lot in self.lots],
            "totals": [one.json() for one in self.totals],
            "left_out": list(self.left_out),
        }
