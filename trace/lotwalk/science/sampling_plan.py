"""When untreated ground water is to be tested next: four times at first, then yearly, and back to four after a failure.

The plan of US 21 CFR 112.44(b), from memory; the numbers come from the rule set.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

YEAR = 365
"""Days."""


@dataclass(frozen=True, slots=True)
class NextTest:
    """By which day the next test is due, and where the source stands in its plan.

    `passed` of `needed` tests of the first year were good since the plan began or a test failed; `yearly` once they
    all were; `failed` when the latest test was not good, so that the water waits for its cause to be mended.
    """

    by: date
    passed: int
    needed: int
    yearly: bool
    failed: bool


def next_test(tests: Sequence[tuple[date, bool]], first_year: int, each_year: int) -> NextTest | None:
    """Return when a source is to be tested next, after tests (day, and whether it was good) in any order.

    The tests of the first year are spread over it: with four, one every 91 days. Only tests that follow each other
    within a year belong to one first year. Returns None when nothing was tested: the first test is due before the water
    is used. Raises ValueError for a plan with less than one test.
    """
    if first_year < 1 or each_year < 1:
        raise ValueError("one test a year or more")
    run: list[date] = []
    yearly = failed = False
    last: date | None = None
    for day, good in sorted(tests):
        last, failed = day, not good
        if not good:
            run, yearly = [], False
        elif not yearly:
            run = [*(earlier for earlier in run if (day - earlier).days <= YEAR), day]
            yearly = len(run) >= first_year
    if last is None:
        return None
    wait = 0 if failed else YEAR // (each_year if yearly else first_year)
    return NextTest(last + timedelta(days=wait), len(run), first_year, yearly, failed)
