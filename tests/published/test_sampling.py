"""Sampling: published chances of accepting and of finding a lot with a share of bad units."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom

from lotwalk.science.sampling import acceptance, detection, samples_needed


@pytest.mark.parametrize(
    ("samples", "percent", "accepted"),
    [
        # FAO 444, table 3.2: c = 0, n = 60.
        (60, 1, 54.7),
        (60, 5, 4.6),
        (60, 10, 0.18),
        # FAO 444: c = 0, n = 10.
        (10, 1, 90.4),
        (10, 2, 81.7),
        (10, 5, 59.9),
        (10, 10, 34.9),
        (10, 20, 10.7),
    ],
)
def test_chances_of_acceptance_of_fao_444(samples, percent, accepted):
    # Printed to three figures, or to two decimals.
    assert 100 * acceptance(percent / 100, samples) == pytest.approx(accepted, abs=0.05 if accepted > 1 else 0.005)


@pytest.mark.parametrize(("percent", "found"), [(1, 63), (2, 87), (5, 99.4)])
def test_chances_of_detection_of_food_microbiology_table_11_1(percent, found):
    assert 100 * detection(percent / 100, 100) == pytest.approx(found, abs=0.5 if found < 99 else 0.05)


@pytest.mark.parametrize(("confidence", "samples"), [(0.95, 299), (0.99, 459)])
def test_samples_that_find_one_in_a_hundred(confidence, samples):
    # The well-known 299 and 459 of sampling without a permitted defect; they follow from 1 - 0.99^n.
    assert samples_needed(0.01, confidence) == samples


@given(st.floats(1e-4, 1), st.integers(0, 2000))
def test_acceptance_and_detection_are_what_the_binomial_says(share, samples):
    assert acceptance(share, samples) == pytest.approx(binom.pmf(0, samples, share), abs=1e-12)
    assert detection(share, samples) == pytest.approx(binom.sf(0, samples, share), abs=1e-12)


@given(st.floats(1e-4, 1), st.floats(0.001, 0.9999))
def test_the_samples_needed_are_enough_and_one_fewer_is_not(share, confidence):
    needed = samples_needed(share, confidence)
    assert detection(share, needed) >= confidence
    assert needed == 1 or detection(share, needed - 1) < confidence


def test_a_share_too_small_for_a_float_next_to_one_is_still_found():
    assert detection(1e-18, 10**6) == pytest.approx(1e-12)


def test_what_is_no_share_is_refused():
    for share, samples in ((-0.1, 5), (1.1, 5), (0.1, -1)):
        for chance in (acceptance, detection):
            with pytest.raises(ValueError, match="between 0 and 1"):
                chance(share, samples)
    for share, confidence in ((0, 0.9), (0.1, 1), (0.1, 0), (1.5, 0.9)):
        with pytest.raises(ValueError, match="between 0 and 1"):
            samples_needed(share, confidence)
    assert samples_needed(1, 0.99) == 1
    assert (acceptance(0, 9), detection(0, 9), acceptance(1, 9), detection(1, 9)) == (1, 0, 0, 1)
