"""Counts of bacteria: published geometric means and the threshold value."""

import math

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy import stats

from lotwalk.science.counts import (
    geometric_mean,
    mean_level,
    ninetieth_percentile,
    threshold_level,
    threshold_value,
)
from lotwalk.science.students_t import quantile


@pytest.mark.parametrize(
    ("counts", "mean"),
    [
        # Drinking Water, example 6.4.
        ((12, 28, 37, 25), 23.6),
        # A note on geometric means by the Montana Department of Environmental Quality.
        ((10, 100, 300, 15, 4), 28.25),
    ],
)
def test_geometric_means(counts, mean):
    assert geometric_mean(counts) == pytest.approx(mean, rel=0.001)


def test_threshold_value_of_the_2015_us_criteria():
    # Geometric mean 126 and threshold 410 per 100 mL belong together at a log10 deviation of 0.4.
    assert threshold_value(126, 0.4) == pytest.approx(410, abs=1)


def test_one_in_ten_lies_above_the_ninetieth_percentile_of_a_symmetric_set():
    # Logs 0, 1, 2 have mean 1 and sample deviation 1, so the percentile is 10^2.282.
    assert ninetieth_percentile((1, 10, 100)) == pytest.approx(10**2.282)


@pytest.mark.parametrize("counts", [(), (0, 5), (-1, 3)])
def test_a_count_of_zero_is_refused(counts):
    with pytest.raises(ValueError, match="above zero"):
        geometric_mean(counts)


@pytest.mark.parametrize("counts", [(12, 28, 37, 25), (10, 100, 300, 15, 4), (1, 1, 1, 4, 1, 1), (3, 90)])
def test_intervals_as_scipy_gives_them(counts):
    logs, number = np.log10(counts), len(counts)
    mean, deviation, root = logs.mean(), logs.std(ddof=1), math.sqrt(number)
    known = mean_level(counts)
    low, high = stats.t.interval(0.95, number - 1, mean, deviation / root)
    assert np.log10([known.value, known.low, known.high]) == pytest.approx((mean, low, high), rel=1e-5)
    known = threshold_level(counts)
    low, high = (mean + stats.nct.ppf(p, number - 1, 1.282 * root) / root * deviation for p in (0.025, 0.975))
    assert known.value == ninetieth_percentile(counts)
    assert np.log10([known.low, known.high]) == pytest.approx((low, high), rel=1e-4)


@given(st.floats(0.01, 0.99), st.integers(1, 60), st.floats(-3, 12))
@example(0.015625, 1, -2.0)
@example(0.99, 1, 12.0)
@example(0.01, 1, -3.0)
def test_quantiles_of_t_as_scipy_gives_them(p, freedom, shift):
    assert stats.nct.cdf(quantile(p, freedom, shift), freedom, shift) == pytest.approx(p, abs=1e-5)


def test_two_counts_far_apart_leave_the_upper_end_open():
    assert threshold_level((1, 1e12)).high > 1e200


def test_one_count_has_no_interval():
    with pytest.raises(ValueError, match="two counts"):
        mean_level((5,))
    with pytest.raises(ValueError, match="probability"):
        quantile(1.0, 4)
