"""Counts of bacteria over several samples of water: their geometric mean and a high percentile."""

import math
import statistics
from collections.abc import Sequence

NINETIETH = 1.282
"""The number of standard deviations above the mean at which nine tenths of a normal distribution lie below."""


def geometric_mean(counts: Sequence[float]) -> float:
    """Return the geometric mean, 10^mean(log10 x), in the unit of the counts.

    A sample in which nothing was found stands at the detection limit (UK SI 2013/1675, schedule 5), so every
    count is above zero. Raises ValueError when one is not, or when there are none.
    """
    return float(10 ** statistics.fmean(_logs(counts)))


def ninetieth_percentile(counts: Sequence[float]) -> float:
    """Return the count that one sample in ten exceeds, in the unit of the counts, from two samples or more.

    It is the antilog of mean + 1.282 s, with s the sample deviation (n - 1) of the logarithms. Raises ValueError
    when there are too few counts or one is not above zero.
    """
    logs = _logs(counts)
    if len(logs) < 2:
        raise ValueError("a percentile needs two counts or more")
    return threshold_value(10 ** statistics.fmean(logs), statistics.stdev(logs))


def threshold_value(mean: float, log_deviation: float) -> float:
    """Return the statistical threshold value for a geometric mean and a standard deviation of log10 counts."""
    return float(10 ** (math.log10(mean) + NINETIETH * log_deviation))


def _logs(counts: Sequence[float]) -> list[float]:
    if not counts or min(counts) <= 0:
        raise ValueError("counts must be above zero; one below detection stands at the detection limit")
    return [math.log10(count) for count in counts]
