"""The entries of a log with all their versions: also the void ones, and those that an amendment moved out of it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from lotwalk.errors import NotUnderstood
from lotwalk.ledger.model import ThingRow, Version
from lotwalk.ledger.read.versions import all_versions, numbers_in

_AT_ONCE = 500


@dataclass(frozen=True, slots=True)
class Period:
    """The first and the last day of a log, None where it is open, as dates and in epoch seconds."""

    since: date | None
    until: date | None
    start: int | None
    end: int | None

    @classmethod
    def of(cls, since: date | None, until: date | None, zone: ZoneInfo) -> "Period":
        """Return the period between two days of the farm, both included. Raises NotUnderstood if it runs backwards."""
        if since and until and until < since:
            raise NotUnderstood(f"the period from {since} to {until} ends before it starts", "the earlier day first")
        start = int(datetime.combine(since, time(), zone).timestamp()) if since else None
        # A repeated last hour counts both times.
        end = int(datetime.combine(until, time(23, 59, 59, fold=1), zone).timestamp()) if until else None
        return cls(since, until, start, end)

    def holds(self, version: Version) -> bool:
        """Return whether a version's time overlaps the period."""
        return (self.start is None or version.end >= self.start) and (self.end is None or version.start <= self.end)

    def __str__(self) -> str:
        if self.since and self.until:
            return f"{self.since} to {self.until}" if self.since < self.until else str(self.since)
        if self.since:
            return f"from {self.since}"
        return f"until {self.until}" if self.until else "all that is recorded"


def entry_numbers(
    connection: Connection, kinds: Sequence[str], period: Period, thing: ThingRow | None = None
) -> list[int]:
    """Return the numbers of the entries of these kinds of which some version falls into the period, by time.

    With a thing, only those of which some version names it.
    """
    return numbers_in(connection, kinds, period.start, period.end, thing.id if thing else None)


def histories(connection: Connection, numbers: Sequence[int]) -> Iterator[list[Version]]:
    """Yield all versions of each entry, the oldest first."""
    for start in range(0, len(numbers), _AT_ONCE):
        some = numbers[start : start + _AT_ONCE]
        found: Mapping[int, list[Version]] = all_versions(connection, some)
        for number in some:
            yield found[number]
