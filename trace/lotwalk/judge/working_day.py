"""The farm's working day. It ends in the small hours, so that a night shift is one day."""

from datetime import date, datetime, time, timedelta

from lotwalk.judge.case import Case, dates
from lotwalk.ledger.entry import Entry

DAY_ENDS = "sanitising.day_ends"

_HOUR = 4
"""Where the rule set in force names no hour: the book may hold one from before there was such a number."""


def working_day(case: Case, entry: Entry) -> date | None:
    """Return the working day in which an entry lies; None where it may lie in either of two.

    Who writes a date and no hour means the working day of that date.
    """
    if ":" not in entry.at:
        first, last = dates(entry)
        return date.fromisoformat(first) if first == last else None
    first_day, last_day = (_day_of(case, entry, second) for second in entry.span)
    return first_day if first_day == last_day else None


def last_second(case: Case, entry: Entry, day: date) -> int:
    """Return the last second (since 1970) of a working day, by the clock of the entry."""
    ends = datetime.combine(day, time()) + timedelta(days=1) + _night(case)
    return int(ends.replace(tzinfo=entry.zone).timestamp()) - 1


def _day_of(case: Case, entry: Entry, second: int) -> date:
    # By the clock on the wall, so that the night on which it is put forward or back is like any other.
    shown = datetime.fromtimestamp(second, entry.zone).replace(tzinfo=None)
    return (shown - _night(case)).date()


def _night(case: Case) -> timedelta:
    hour = case.rules.number(DAY_ENDS)
    return timedelta(hours=_HOUR if hour is None else float(hour))
