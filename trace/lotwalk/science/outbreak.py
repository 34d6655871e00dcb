"""Exposure and illness in a 2x2 table: attack rates, relative risk, odds ratio, Fisher's exact test.

This is what investigators of an outbreak do with the answers of those who ate together (Principles of Epidemiology in
Public Health Practice, CDC, lesson 6; from memory). A small risk of chance names no cause and clears none.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from statistics import NormalDist
from typing import TypeAlias

LEVEL = 0.95
"""The confidence level of an interval, if nothing is said."""

ADDED = "a cell is zero, so 0.5 was added to each cell for the interval"
"""Said of an interval that Haldane and Anscombe's correction made possible."""

_Error: TypeAlias = Callable[[float, float, float, float], tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Table:
    """How many of the exposed and of the others fell ill, and how many did not. Raises ValueError below zero."""

    exposed_ill: int
    exposed_well: int
    others_ill: int
    others_well: int

    def __post_init__(self) -> None:
        if min(self.cells) < 0:
            raise ValueError("a count of people or deliveries is at least 0")

    @property
    def cells(self) -> tuple[int, int, int, int]:
        """The four counts, exposed first, ill first."""
        return self.exposed_ill, self.exposed_well, self.others_ill, self.others_well


@dataclass(frozen=True, slots=True)
class Ratio:
    """A ratio of two risks or odds with its interval. None where there is none, or no finite one: `note` says why."""

    value: float | None
    low: float | None
    high: float | None
    note: str = ""


def attack_rate(ill: int, well: int) -> float | None:
    """Return the share of a group that fell ill, 0 to 1, or None for a group of nobody."""
    return ill / (ill + well) if ill + well else None


def relative_risk(table: Table, level: float = LEVEL) -> Ratio:
    """Return the attack rate of the exposed over that of the others, with its interval at a confidence level.

    The interval is that of the log method (Katz and others 1978, Biometrics 34; from memory): the standard error of
    ln RR is sqrt(1/a - 1/(a+b) + 1/c - 1/(c+d)). With a zero cell 0.5 is added to each cell for the interval, never
    for the ratio, and the note says so. An infinite ratio is None.
    """
    if missing := _no_comparison(table):
        return Ratio(None, None, None, missing)
    a, b, c, d = table.cells
    value = (a * (c + d)) / (c * (a + b)) if c else None
    low, high = _interval(table, _risk_error, level)
    return Ratio(value, low, high, _notes(table, value))


def odds_ratio(table: Table, level: float = LEVEL) -> Ratio:
    """Return the odds of illness of the exposed over those of the others, ad/bc, with its interval.

    The interval is that of the log method (Woolf 1955, Annals of Human Genetics 19; from memory): the standard error
    of ln OR is sqrt(1/a + 1/b + 1/c + 1/d). Zero cells and infinite ratios are treated as in `relative_risk`.
    """
    missing = _no_comparison(table)
    if not missing and not table.exposed_well + table.others_well:
        missing = "all fell ill, so there is nothing to compare"
    if missing:
        return Ratio(None, None, None, missing)
    a, b, c, d = table.cells
    value = (a * d) / (b * c) if b * c else None
    low, high = _interval(table, _odds_error, level)
    return Ratio(value, low, high, _notes(table, value))


def fisher(table: Table) -> Fraction:
    """Return the two-sided p-value of Fisher's exact test, exactly.

    It is the probability, with the four margins as they are and exposure without effect, of a table no more probable
    than this one (R. A. Fisher, Statistical Methods for Research Workers; from memory). Counted in whole numbers,
    so that it neither rounds nor underflows, whatever the counts.
    """
    a, b, c, d = table.cells
    exposed, others, ill = a + b, c + d, a + c
    first, last = max(0, ill - others), min(exposed, ill)
    # How many ways there are to have x ill among the exposed; each follows from the one before.
    ways = math.comb(exposed, first) * math.comb(others, ill - first)
    counted = []
    for x in range(first, last + 1):
        counted.append(ways)
        ways = ways * (exposed - x) * (ill - x) // ((x + 1) * (others - ill + x + 1))
    seen = counted[a - first]
    return Fraction(sum(one for one in counted if one <= seen), math.comb(exposed + others, ill))


def wilson(count: int, of: int, level: float = LEVEL) -> tuple[float, float]:
    """Return Wilson's interval of a proportion, 0 to 1 (AOAC appendix F, table A7).

    Raises ValueError when `count` is not among `of`, or there are none.
    """
    if not 0 <= count <= of or not of:
        raise ValueError("a proportion is a count out of one or more")
    z = _deviations(level)
    share, part = count / of, z * z / of
    middle = (share + part / 2) / (1 + part)
    half = z * math.sqrt(share * (1 - share) / of + part / of / 4) / (1 + part)
    # At the ends the interval reaches 0 or 1 exactly; what the arithmetic leaves over is no probability.
    return (0.0 if count == 0 else middle - half), (1.0 if count == of else middle + half)


def _no_comparison(table: Table) -> str:
    a, b, c, d = table.cells
    if not a + b:
        return "none was exposed, so there is nothing to compare"
    if not c + d:
        return "all were exposed, so there is nothing to compare"
    return "" if a + c else "none fell ill, so there is nothing to compare"


def _notes(table: Table, value: float | None) -> str:
    infinite = "" if value is not None else "infinite: none of the others fell ill"
    if value is None and table.others_ill:
        infinite = "infinite: all of the exposed fell ill"
    return "; ".join(note for note in (infinite, ADDED if 0 in table.cells else "") if note)


def _interval(table: Table, error: _Error, level: float) -> tuple[float, float]:
    more = 0.5 if 0 in table.cells else 0.0
    a, b, c, d = (cell + more for cell in table.cells)
    middle, deviation = error(a, b, c, d)
    z = _deviations(level)
    return math.exp(middle - z * deviation), math.exp(middle + z * deviation)


def _risk_error(a: float, b: float, c: float, d: float) -> tuple[float, float]:
    """The logarithm of the relative risk, and its standard error."""
    # b / (a (a + b)) is 1/a - 1/(a+b), without taking one near number from another.
    return math.log(a * (c + d) / (c * (a + b))), math.sqrt(b / (a * (a + b)) + d / (c * (c + d)))


def _odds_error(a: float, b: float, c: float, d: float) -> tuple[float, float]:
    """The logarithm of the odds ratio, and its standard error."""
    return math.log(a * d / (b * c)), math.sqrt(1 / a + 1 / b + 1 / c + 1 / d)


def _deviations(level: float) -> float:
    if not 0 < level < 1:
        raise ValueError("a confidence level lies between 0 and 1")
    return NormalDist().inv_cdf((1 + level) / 2)
