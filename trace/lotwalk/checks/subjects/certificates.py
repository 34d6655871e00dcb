"""The papers on file: what each vouches for, and from when to when."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from lotwalk.checks.records import Records
from lotwalk.ledger.entry import Entry
from lotwalk.values.roles import Role
from lotwalk.values.times import DAY


@dataclass(frozen=True, slots=True)
class Paper:
    """One paper, for one thing that it covers. `issued` and `expires` are dates (ISO); no last day is an empty text."""

    code: str
    record: Entry
    covers: str
    type: str
    issued: str
    expires: str
    result: str
    test: str

    def holds_on(self, day: str) -> bool:
        """Return whether the paper is in force on a day (ISO)."""
        return self.issued <= day and (not self.expires or day <= self.expires)


def papers(records: Records, *, every: int | None = None) -> Iterator[Paper]:
    """Yield the papers that vouch for a thing, by the time of their entries.

    A paper without a date of its own holds from the day of its entry. Without a last day it holds for `every` seconds,
    or for good.
    """
    for told in records.telling("covered"):
        issued = str(told.scope.get("issued") or records.date(told.record.start))
        expires = str(told.scope.get("expires") or "")
        if not expires and every is not None:
            expires = (date.fromisoformat(issued) + timedelta(days=every // DAY)).isoformat()
        yield Paper(
            code=_named(told.record),
            record=told.record,
            covers=told.code,
            type=str(told.scope.get("type") or ""),
            issued=issued,
            expires=expires,
            result=str(told.scope.get("result") or ""),
            test=str(told.scope.get("method") or ""),
        )


def _named(record: Entry) -> str:
    """The code that the entry gave the paper, or the entry's own."""
    named = (use.code for use in record.version.uses if use.role in (Role.NAMES, Role.MADE))
    return next(named, record.name)
