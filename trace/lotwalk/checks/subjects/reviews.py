"""Records that a supervisor has not read, week by week."""

from collections import defaultdict
from collections.abc import Iterator
from datetime import date, timedelta

from lotwalk.checks.records import Records
from lotwalk.finding import Cause, Due, Finding, finding
from lotwalk.judge.words import listed, many
from lotwalk.ledger.entry import Entry
from lotwalk.values.codes import entry_number
from lotwalk.values.times import DAY

WITHIN = "records.reviewed_within"
OF = "records.reviewed_of"

_WHO = "21 CFR 112.161(b): a supervisor or responsible party reviews"


def findings(records: Records) -> Iterator[Finding]:
    """Yield each week with records that nobody read in time, and each review by somebody who is no supervisor."""
    within = records.seconds(WITHIN)
    if within is None:
        return
    reviews = _Reviews(records)
    for week, entries in sorted(_by_week(records).items()):
        monday = date.fromisoformat(week)
        sunday = (monday + timedelta(days=6)).isoformat()
        if records.ends(sunday) + within >= records.now:
            continue
        unread = [record for record in entries if not reviews.cover(record, records.date(record.end))]
        if unread:
            titles = sorted({records.kind(record).title.lower() for record in unread})
            yield finding(
                "not-reviewed",
                (week,),
                about=tuple(record.name for record in unread),
                text=f"Nobody reviewed {len(unread)} of the {len(entries)} records of {week} to {sunday} that ask for"
                f" it ({', '.join(titles)}).",
                do=f"Have a supervisor read them, and record a review from {week} until {sunday}.",
                basis=records.basis(OF),
                span=(records.begins(week), records.ends(sunday)),
                cause=Cause(
                    ("not-reviewed", week),
                    "Nobody reviewed records of a week that ask for it.",
                    "Have a supervisor read them, and record a review from the Monday until the Sunday.",
                    tuple(record.name for record in unread),
                    f"{len(unread)} of {len(entries)}.",
                    alone=True,
                ),
            )
    for review in records.entries_telling("reviews"):
        if not any(_supervises(records, person) for person in review.by):
            yield finding(
                "reviewed-by",
                (review.name,),
                about=(review.name, *review.by),
                text=f"{review.name} ({review.at}) is a review by {listed(list(review.by))}, not put down as a"
                " supervisor.",
                do="Have a supervisor read the records too, or amend that person's position.",
                basis=_WHO,
                span=review.span,
                closers=(review.name,),
            )


def dues(records: Records) -> Iterator[Due]:
    """Yield the day by which each week with records still unread must be reviewed."""
    within = records.seconds(WITHIN)
    if within is None:
        return
    reviews = _Reviews(records)
    for week, entries in sorted(_by_week(records).items()):
        sunday = (date.fromisoformat(week) + timedelta(days=6)).isoformat()
        unread = [record for record in entries if not reviews.cover(record, records.date(record.end))]
        if unread and records.ends(sunday) + within >= records.now:
            yield Due(
                records.date(records.ends(sunday) + within),
                (f"week of {week}",),
                f"{len(unread)} {many([one.name for one in unread], 'record', 'records')} of the week of {week} to"
                f" {sunday} {many([one.name for one in unread], 'waits', 'wait')} for a supervisor",
                f"Read them, and record a review from {week} until {sunday}.",
                records.basis(OF),
            )


def _by_week(records: Records) -> dict[str, list[Entry]]:
    """The entries that ask for a review, by the Monday of their week."""
    asked = records.rules.words(OF)
    kinds = [
        name
        for name in records.kinds.names
        if name in asked or any(rule.startswith(one) for rule in records.kinds[name].asked for one in asked)
    ]
    found: dict[str, list[Entry]] = defaultdict(list)
    for record in records.of_kinds(kinds):
        day = date.fromisoformat(records.date(record.end))
        found[(day - timedelta(days=day.weekday())).isoformat()].append(record)
    return found


class _Reviews:
    """What the reviews cover: spans of days, each with the time of the review, and single entries."""

    def __init__(self, records: Records) -> None:
        self.spans: list[tuple[str, str, int]] = []
        self.entries: set[int] = set()
        for review in records.entries_telling("reviews"):
            first, last = review.values.get("from"), review.values.get("until")
            if first and last:
                self.spans.append((str(first), str(last), review.end))
            named = review.values.get("entries")
            for code in named if isinstance(named, list) else ():
                self.entries.add(entry_number(str(code)) or 0)

    def cover(self, record: Entry, day: str) -> bool:
        """Whether a review that was not before the entry's day covers it."""
        if record.number in self.entries:
            return True
        return any(first <= day <= last and end + DAY >= record.start for first, last, end in self.spans)


def _supervises(records: Records, person: str) -> bool:
    maker = records.maker(person)
    return maker is not None and maker.values.get("position") == "supervisor"
