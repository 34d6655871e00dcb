"""When a well is tested next: US 21 CFR 112.44(b), from memory (four at first, then yearly, back to four)."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lotwalk.science.sampling_plan import next_test

DAY = date(2026, 3, 2)


def days(*good):
    """Tests every 80 days, with whether each was good."""
    return [(DAY + timedelta(days=80 * number), one) for number, one in enumerate(good)]


def test_never_tested():
    assert next_test([], 4, 1) is None


@pytest.mark.parametrize(
    ("good", "wait", "passed", "yearly"),
    [
        ((True,), 91, 1, False),
        ((True, True, True), 91, 3, False),
        ((True, True, True, True), 365, 4, True),
        ((True, True, True, True, True), 365, 4, True),
        # A failing yearly test returns to four.
        ((True, True, True, True, False), 0, 0, False),
        ((True, True, True, True, False, True), 91, 1, False),
        ((True, True, True, True, False, True, True, True, True), 365, 4, True),
        # All four must pass.
        ((True, True, False, True, True), 91, 2, False),
    ],
)
def test_the_next_test(good, wait, passed, yearly):
    stands = next_test(days(*good), 4, 1)
    assert stands.by == days(*good)[-1][0] + timedelta(days=wait)
    assert (stands.passed, stands.yearly, stands.failed) == (passed, yearly, not good[-1])


def test_four_tests_over_three_years_are_no_first_year():
    spread = [(DAY + timedelta(days=300 * number), True) for number in range(4)]
    assert not next_test(spread, 4, 1).yearly


@given(st.lists(st.tuples(st.integers(0, 2000).map(lambda n: DAY + timedelta(days=n)), st.booleans()), min_size=1))
def test_the_order_of_writing_does_not_matter_and_a_failure_never_lengthens_the_wait(tests):
    stands = next_test(tests, 4, 1)
    assert stands == next_test(tests[::-1], 4, 1)
    worse = next_test([*tests, (max(day for day, _ in tests) + timedelta(days=1), False)], 4, 1)
    assert worse.failed and not worse.yearly
