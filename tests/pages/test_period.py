"""Which entries a log of a period holds."""

import pytest

from lotwalk.errors import NotUnderstood


def test_both_days_of_a_period_are_inside_in_the_farms_own_time(start):
    farm = start(timezone="America/New_York").at("2026-03-12 20:00")
    times = ("2026-03-03 23:59", "2026-03-04 00:00", "2026-03-05 23:59", "2026-03-06 00:00")
    numbers = [farm.wash(at=at) for at in times]
    pdf = farm.print("2026-03-04", "2026-03-05")
    assert [f"E{number} " in pdf.text for number in numbers] == [False, True, True, False]
    assert pdf.summary.entries == 2


def test_an_entry_that_reaches_into_the_period_is_inside(farm):
    farm.wash(at="2026-03-01 23:00..2026-03-02 01:00")
    assert farm.print("2026-03-02", "2026-03-02").summary.entries == 1
    assert farm.print("2026-03-01", "2026-03-01").summary.entries == 1


@pytest.mark.parametrize(
    ("since", "until", "told", "count"),
    [
        (None, None, "all that is recorded", 2),
        ("2026-03-02", None, "from 2026-03-02", 1),
        (None, "2026-03-01", "until 2026-03-01", 1),
        ("2026-03-02", "2026-03-02", "Period: 2026-03-02.", 1),
        ("2026-03-01", "2026-03-02", "2026-03-01 to 2026-03-02", 2),
    ],
)
def test_a_period_may_be_open_at_either_end(farm, since, until, told, count):
    farm.wash(at="2026-03-01 10:00")
    farm.wash(at="2026-03-02 10:00")
    pdf = farm.print(since, until)
    assert told in pdf.text
    assert pdf.summary.entries == count


def test_an_entry_that_an_amendment_moved_out_of_the_period_is_still_told(farm):
    number = farm.wash(at="2026-03-02 10:00")
    farm.book.ledger.amend(number, {"at": "2026-03-01 10:00"}, because="wrong day", by=["TO"])
    pdf = farm.print("2026-03-02", "2026-03-02")
    assert "2026-03-02 10:00" in pdf.struck()
    assert "2026-03-01 10:00" in pdf.text
    assert "outside this period" in pdf.text


def test_void_entries_and_other_kinds(farm):
    farm.book.ledger.void(farm.wash(at="2026-03-02 10:00"), because="twice", by=["TO"])
    pdf = farm.print()
    assert pdf.summary.entries == pdf.summary.void == 1
    assert "Solution" not in pdf.pages[0]


def test_a_period_that_runs_backwards_is_refused(farm):
    with pytest.raises(NotUnderstood, match="ends before it starts"):
        farm.print("2026-03-02", "2026-03-01")


def test_an_empty_log_says_that_nothing_was_recorded(farm):
    farm.wash(at="2026-03-02 10:00")
    pdf = farm.print("2026-02-01", "2026-02-28")
    assert "No washing and no sanitising was recorded in this period." in pdf.text
    assert pdf.summary.entries == 0
    assert pdf.summary.pages == len(pdf.pages) == 1
    assert "Reviewed by" in pdf.text
