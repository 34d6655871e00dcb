"""Counts of bacteria over several samples of water: their geometric mean and a high percentile."""

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from lotwalk.science.students_t import quantile

NINETIETH = 1.282
"""The number of standard deviations above the mean at which nine tenths of a normal distribution lie below."""

_MOST = 300.0


@dataclass(frozen=True, slots=True)
class Level:
    """A number worked out from samples, and the interval in which its true value lies with 95 % confidence."""

    value: float
    low: float
    high: float


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


def mean_level(counts: Sequence[float]) -> Level:
    """Return the geometric mean of two counts or more with its 95 % confidence interval.

    The interval is the antilog of mean -+ t s / sqrt(n), with Student's t for n - 1 degrees of freedom, as if
    the logarithms of the counts were normally distributed. Raises ValueError as `ninetieth_percentile` does.
    """
    mean, deviation, number = _moments(counts)
    reach = quantile(0.975, number - 1) * deviation / math.sqrt(number)
    return Level(10**mean, _antilog(mean - reach), _antilog(mean + reach))


def threshold_level(counts: Sequence[float]) -> Level:
    """Return the statistical threshold value of two counts or more with its 95 % confidence interval.

    The interval is the antilog of mean + k s, with k = t' / sqrt(n) and t' the noncentral t for n - 1 degrees of
    freedom and the shift 1.282 sqrt(n) (two-sided limits of a normal quantile; Hahn and Meeker, Statistical Intervals,
    1991; from memory). Raises ValueError as `ninetieth_percentile` does.
    """
    mean, deviation, number = _moments(counts)
    root = math.sqrt(number)
    low, high = (quantile(p, number - 1, NINETIETH * root) / root for p in (0.025, 0.975))
    ends = (_antilog(mean + k * deviation) for k in (low, high))
    return Level(threshold_value(10**mean, deviation), *ends)


def _antilog(exponent: float) -> float:
    """10 to a power, as far as a float reaches: two counts far apart leave the upper end open."""
    return float(10 ** min(exponent, _MOST))


def _moments(counts: Sequence[float]) -> tuple[float, float, int]:
    logs = _logs(counts)
    if len(logs) < 2:
        raise ValueError("an interval needs two counts or more")
    return statistics.fmean(logs), statistics.stdev(logs), len(logs)


def _logs(counts: Sequence[float]) -> list[float]:
    if not counts or min(counts) <= 0:
        raise ValueError("counts must be above zero; one below detection stands at the detection limit")
    return [math.log10(count) for count in counts]
