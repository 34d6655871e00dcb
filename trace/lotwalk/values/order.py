"""What is known of the order of two things that happened."""

from typing import Protocol

LONG = 90_000
"""Seconds. What is longer than a day (25 hours, for the day on which summer time ends) went on from day to day."""


class Placed(Protocol):
    """What has a first and a last second, the attested sheet on which it stands (or 0), and its line there."""

    @property
    def start(self) -> int:
        """The first second."""

    @property
    def end(self) -> int:
        """The last second."""

    @property
    def group(self) -> int:
        """The attested sheet, or 0."""

    @property
    def line(self) -> int:
        """The line on that sheet."""


def surely_before(one: Placed, other: Placed) -> bool:
    """Return whether the one surely comes before the other.

    It does when it ends before the other starts, or when the times overlap, both stand on one sheet that attests its
    order, neither is longer than a day, and the one stands on the earlier line. What went on for days was done before
    the next line and after it.
    """
    if one.end < other.start:
        return True
    overlap = one.start <= other.end
    ordered = one.group != 0 and one.group == other.group and max(length(one), length(other)) <= LONG
    return overlap and ordered and one.line < other.line


def length(one: Placed) -> int:
    """Return the seconds from the first to the last."""
    return one.end - one.start
