"""The limits of a rule set that the balance goes by."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Protocol

from lotwalk.values.units import Amount

ACCOUNTED = "recall.accounted"
SHELF_LIFE = "recall.shelf_life"
DEVIATIONS = "harvest.most_deviations"
HISTORY = "harvest.least_history"
SPREAD = "harvest.least_spread"

_EXACT = (Decimal(100), Decimal(100))


class Cited(Protocol):
    """One limit of a rule set: its value, as written, and where it is published."""

    @property
    def value(self) -> object:
        """What it was read as."""

    @property
    def written(self) -> str:
        """The text of the value."""

    @property
    def source(self) -> str:
        """Where it is published."""


class Rules(Protocol):
    """A rule set."""

    @property
    def limits(self) -> Mapping[str, Cited]:
        """The limits by their section and name."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What a balance is held against.

    `accounted` is the range of percentages that counts as balanced; without a rule only 100 % does. `shelf_life` is in
    seconds. The rest is for the yield of a harvest: how many deviations above the median are too many, from how many
    earlier harvests on, and the least deviation as a part of the median (None: not looked at). `basis` tells the rule
    behind each, with its source.
    """

    accounted: tuple[Decimal, Decimal]
    shelf_life: int | None
    deviations: Decimal | None
    history: int
    spread: Decimal
    basis: Mapping[str, str]

    @classmethod
    def of(cls, rules: Rules) -> "Limits":
        """Return the limits of a rule set; what it takes away is not looked at."""
        accounted = _value(rules, ACCOUNTED)
        life, spread = _value(rules, SHELF_LIFE), _value(rules, SPREAD)
        deviations, history = _value(rules, DEVIATIONS), _value(rules, HISTORY)
        return cls(
            accounted=(accounted[0].value, accounted[1].value) if isinstance(accounted, tuple) else _EXACT,
            shelf_life=int(life.value) if isinstance(life, Amount) else None,
            deviations=deviations if isinstance(deviations, Decimal) else None,
            history=int(history) if isinstance(history, Decimal) else 1,
            spread=spread.value / 100 if isinstance(spread, Amount) else Decimal(0),
            basis={key: f"{key} {rules.limits[key].written}, {rules.limits[key].source}" for key in rules.limits},
        )


def _value(rules: Rules, key: str) -> object:
    limit = rules.limits.get(key)
    return limit.value if limit else None
