"""All findings and all that is due, with what a corrective action has closed."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from lotwalk.checks.records import Records
from lotwalk.finding import SEVERITIES, Due, Finding
from lotwalk.ledger.entry import Entry
from lotwalk.values.codes import fold
from lotwalk.values.times import DAY

Check = Callable[[Records], Iterable[Finding]]
"""A check: what it finds in the book."""

Look = Callable[[Records], Iterable[Due]]
"""A look ahead: what must be done, and by when."""


@dataclass(frozen=True, slots=True)
class Standing:
    """A finding and what was done about it: the corrective actions that name it, and the one that closed it."""

    finding: Finding
    actions: tuple[str, ...] = ()
    closed_by: str = ""

    @property
    def open(self) -> bool:
        """Whether no corrective action has closed it."""
        return not self.closed_by

    def json(self) -> dict[str, object]:
        """Return it as JSON."""
        return {**self.finding.json(), "actions": list(self.actions), "closed_by": self.closed_by or None}


def find(records: Records, checks: Sequence[Check]) -> list[Standing]:
    """Return every finding of these checks, the gravest first and then by time, with what was done about each.

    A finding is never dropped: one that a closed corrective action names stays, with that action's entry.
    """
    found: dict[str, Finding] = {}
    for check in checks:
        for finding in check(records):
            found.setdefault(finding.id, finding)
    actions = _Actions(records)
    ordered = sorted(found.values(), key=lambda one: (SEVERITIES.index(one.severity), one.span or (0, 0), one.id))
    return [actions.standing(finding) for finding in ordered]


def within(standing: Iterable[Standing], start: int | None, end: int | None, now: int) -> Iterator[Standing]:
    """Yield those that concern a period (its first and last second; None: open). One without a time is of today."""
    for one in standing:
        first, last = one.finding.span or (now, now)
        if (start is None or last >= start) and (end is None or first <= end):
            yield one


def due(records: Records, looks: Sequence[Look], days: int) -> list[Due]:
    """Return what must be done within so many days from today, and what is overdue, by day."""
    until = records.date(records.now + days * DAY)
    ahead = {one for look in looks for one in look(records) if one.by <= until}
    return sorted(ahead, key=lambda one: (one.by, one.about, one.text))


class _Actions:
    """Corrective actions by what they name, folded: finding ids, entries, codes."""

    def __init__(self, records: Records) -> None:
        self._records = records
        self._named: dict[str, list[tuple[Entry, str]]] = {}
        for name in records.kinds.telling("mended"):
            fields = [field for field in records.kinds[name].fields.values() if "finding" in field.things]
            for record in records.of_kinds([name]):
                closed = _closed(record, records)
                for field in fields:
                    listed = record.values.get(field.name)
                    for code in [listed] if isinstance(listed, str) else listed if isinstance(listed, list) else ():
                        self._named.setdefault(fold(str(code)), []).append((record, closed))

    def _first_day(self, since: int | None) -> str:
        """What was closed before it happened is a slip of the pen."""
        return "" if since is None else self._records.date(since)

    def standing(self, finding: Finding) -> Standing:
        since = finding.span[0] if finding.span else None
        naming = list(self._named.get(fold(finding.id), ()))
        for code in finding.closers:
            # What names the thing and not the finding must not be older than what it is to mend.
            naming += [
                (record, closed)
                for record, closed in self._named.get(fold(code), ())
                if since is None or record.end >= since
            ]
        actions = tuple(dict.fromkeys(record.name for record, _ in naming))
        changed = max((self._amended.get(code, 0) for code in finding.about), default=0)
        first = self._first_day(since)
        closing = (record.name for record, closed in naming if closed and closed >= first and record.seq > changed)
        return Standing(finding, actions, next(closing, ""))

    @cached_property
    def _amended(self) -> dict[str, int]:
        """The entries that people amended, by name, with the number of the version in force.

        What was closed before that was another finding.
        """
        return {one.name: one.seq for one in self._records.all if one.version.amended_by}


def _closed(record: Entry, records: Records) -> str:
    """The day on which the action was done and verified, or nothing. A day yet to come is an intention."""
    closed = record.values.get("closed")
    done = isinstance(closed, str) and closed <= records.date(max(record.recorded_at, record.end))
    return str(closed) if done else ""
