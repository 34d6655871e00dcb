"""Counts of bacteria: published geometric means and the threshold value."""

import pytest

from lotwalk.science.counts import geometric_mean, ninetieth_percentile, threshold_value


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
