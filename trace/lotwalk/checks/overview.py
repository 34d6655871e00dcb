"""All checks of a book at once: the findings asked for, and what must be done in the days ahead."""

from collections.abc import Collection
from dataclasses import dataclass

from lotwalk.checks.by_subject import CHECKS, LOOKS
from lotwalk.checks.causes import Joined, join
from lotwalk.checks.findings import Standing, due, find, within
from lotwalk.checks.records import Records
from lotwalk.checks.subjects.record_keeping import KEPT, kept_longer
from lotwalk.errors import NotUnderstood
from lotwalk.finding import SEVERITIES, Due, sought


@dataclass(frozen=True, slots=True)
class Overview:
    """The findings asked for, the gravest first and then by time: those that are open, and those that were closed.

    `causes` are the same findings by what they come of, each of one cause. `kept` is how many entries are older than
    they must be kept, `kept_by` the rule.
    """

    open: tuple[Standing, ...]
    closed: tuple[Standing, ...]
    causes: tuple[Joined, ...]
    kept: int
    kept_by: str


@dataclass(frozen=True, slots=True)
class Ahead:
    """What must be done within so many `days` of `today` (`2026-03-02`), and what is overdue, by day."""

    due: tuple[Due, ...]
    today: str
    days: int

    @property
    def overdue(self) -> list[Due]:
        """What should have been done before today."""
        return [one for one in self.due if one.by < self.today]


def look_over(records: Records, start: int | None, end: int | None, only: Collection[str] = ()) -> Overview:
    """Return what the checks find that concerns a period (its first and last second; None: open).

    `only` keeps findings by their name, their cause, their check or their severity. Raises NotUnderstood for a word
    that is none and names no check.
    """
    found = list(within(find(records, CHECKS), start, end, records.now))
    known = {word for one in found for word in _words_for(one)} | set(SEVERITIES) | set(sought())
    for word in only:
        if word not in known:
            expected = f"{', '.join(SEVERITIES)}, the name of a finding or a cause, or a check: `lotwalk check --names`"
            raise NotUnderstood(f"--only {word} names no check, and nothing that was found", expected)
    chosen = [one for one in found if not only or _words_for(one) & set(only)]
    return Overview(
        open=tuple(one for one in chosen if one.open),
        closed=tuple(one for one in chosen if not one.open),
        causes=tuple(join(chosen, records)),
        kept=kept_longer(records),
        kept_by=records.basis(KEPT),
    )


def look_ahead(records: Records, days: int) -> Ahead:
    """Return what must be done within so many days, and what is overdue."""
    return Ahead(tuple(due(records, LOOKS, days)), records.today, days)


def _words_for(one: Standing) -> set[str]:
    """The words by which a finding may be asked for."""
    finding = one.finding
    return {finding.id, finding.check, finding.comes_of, finding.severity}
