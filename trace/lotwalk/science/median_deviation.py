"""How far a value lies above earlier ones of its like, by their median and median absolute deviation.

The median absolute deviation is the median of the distances from the median. A wild value among the earlier ones hardly
moves either, as it would the mean and the standard deviation. Outliers are commonly called so from five of these
deviations on (3.5 / 0.6745, Iglewicz and Hoaglin, How to Detect and Handle Outliers, 1993; from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from statistics import median


@dataclass(frozen=True, slots=True)
class Spread:
    """The median of some values and their median absolute deviation, both in the unit of the values."""

    median: Decimal
    deviation: Decimal

    def most(self, deviations: Decimal, least_deviation: Decimal) -> Decimal:
        """Return the median plus so many deviations, each counted as at least this much of the median (0.05: 5 %).

        The least keeps a handful of values that are all alike from calling every other value wild.
        """
        return self.median + deviations * max(self.deviation, least_deviation * self.median)


def spread(values: Sequence[Decimal]) -> Spread:
    """Return the spread of one or more values. Raises ValueError (statistics.StatisticsError) for none."""
    middle = median(values)
    return Spread(middle, median([abs(value - middle) for value in values]))
