"""Records that a supervisor has not read, week by week, and those that were changed after somebody read them."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

from lotwalk.checks.records import Records
from lotwalk.finding import Cause, Due, Finding, finding
from lotwalk.judge.words import listed, many
from lotwalk.ledger.entry import Entry
from lotwalk.ledger.model import Version
from lotwalk.ledger.read.versions import all_versions
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
    reviews = records.share(Reviews)
    for week in reviews.weeks:
        if records.ends(week.sunday) + within >= records.now:
            continue
        if week.unread:
            titles = sorted({records.kind(record).title.lower() for record in week.unread})
            yield finding(
                "not-reviewed",
                (week.monday,),
                about=tuple(record.name for record in week.unread),
                text=f"Nobody reviewed {len(week.unread)} of the {len(week.entries)} records of {week.monday} to"
                f" {week.sunday} that ask for it ({', '.join(titles)}).",
                do=f"Have a supervisor read them, and record a review from {week.monday} until {week.sunday}.",
                basis=records.basis(OF),
                span=(records.begins(week.monday), records.ends(week.sunday)),
                cause=Cause(
                    ("not-reviewed", week.monday),
                    "Nobody reviewed records of a week that ask for it.",
                    "Have a supervisor read them, and record a review from the Monday until the Sunday.",
                    tuple(record.name for record in week.unread),
                    f"{len(week.unread)} of {len(week.entries)}.",
                    alone=True,
                ),
            )
    yield from _changed(records, reviews)
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
    for week in records.share(Reviews).weeks:
        until = records.ends(week.sunday) + within
        if week.unread and until >= records.now:
            names = [one.name for one in week.unread]
            yield Due(
                records.date(until),
                (f"week of {week.monday}",),
                f"{len(names)} {many(names, 'record', 'records')} of the week of {week.monday} to"
                f" {week.sunday} {many(names, 'waits', 'wait')} for a supervisor",
                f"Read them, and record a review from {week.monday} until {week.sunday}.",
                records.basis(OF),
            )


def _changed(records: Records, reviews: "Reviews") -> Iterator[Finding]:
    """Yield each record that somebody changed after the last review of it."""
    for one in reviews.changed:
        name, by = one.record.name, listed(list(one.version.amended_by))
        when = records.clock(one.version.recorded_at)
        yield finding(
            "changed-after-review",
            (name,),
            about=(name, one.review.name),
            text=f"{name} ({one.record.at}) was changed on {when} by {by}, after its review {one.review.name} of"
            f" {records.clock(one.review.end)}.",
            do=f"Have a supervisor read {name} again, and record a review that names it.",
            basis=_WHO,
            span=one.record.span,
            closers=(name,),
        )


@dataclass(frozen=True, slots=True)
class Week:
    """The records of one week that ask for a review, from its Monday (ISO) on, and those of them that nobody read."""

    monday: str
    entries: tuple[Entry, ...]
    unread: tuple[Entry, ...]

    @property
    def sunday(self) -> str:
        """Its last day."""
        return (date.fromisoformat(self.monday) + timedelta(days=6)).isoformat()


@dataclass(frozen=True, slots=True)
class Changed:
    """A record that was changed after the last review of it: the version that changed it, and that review."""

    record: Entry
    version: Version
    review: Entry


class Reviews:
    """What was reviewed of the records that ask for it, and when."""

    def __init__(self, records: Records) -> None:
        self._records = records
        self.all = records.entries_telling("reviews")

    @cached_property
    def weeks(self) -> tuple[Week, ...]:
        """The weeks with records that ask for a review, by time."""
        return tuple(
            Week(monday, tuple(entries), tuple(one for one in entries if not self.of(one)))
            for monday, entries in sorted(self._by_week.items())
        )

    @cached_property
    def changed(self) -> tuple[Changed, ...]:
        """What a person changed after its last review, by time. What the program judged again is not meant."""
        read = {one.number: one for week in self.weeks for one in week.entries if one.version.amends}
        histories = all_versions(self._records.connection, list(read))
        found = []
        for number, record in read.items():
            by_people = [one for one in histories[number] if one.amended_by]
            reviews = self.of(record)
            if reviews and by_people:
                last = max(reviews, key=lambda one: one.end)
                if by_people[-1].recorded_at > last.end:
                    found.append(Changed(record, by_people[-1], last))
        return tuple(found)

    def of(self, record: Entry) -> list[Entry]:
        """Return the reviews of a record: those that name it, and those of its day that were not before it."""
        day = self._records.date(record.end)
        return [
            one
            for one, first, last, named in self._told
            if record.number in named or (first <= day <= last and one.end + DAY >= record.start)
        ]

    @cached_property
    def _told(self) -> list[tuple[Entry, str, str, frozenset[int]]]:
        """Each review with its first and last day and the numbers of the entries that it names."""
        told = []
        for review in self.all:
            first, last, named = (review.values.get(name) for name in ("from", "until", "entries"))
            numbers = frozenset(entry_number(str(code)) or 0 for code in named) if isinstance(named, list) else ()
            days = (str(first), str(last)) if first and last else ("", "")
            told.append((review, *days, frozenset(numbers)))
        return told

    @cached_property
    def _by_week(self) -> dict[str, list[Entry]]:
        """The entries that ask for a review, by the Monday of their week."""
        records = self._records
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


def _supervises(records: Records, person: str) -> bool:
    maker = records.maker(person)
    return maker is not None and maker.values.get("position") == "supervisor"
