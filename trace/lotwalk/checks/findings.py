"""All findings and all that is due, with what a corrective action has closed."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from lotwalk.checks.records import Records
from lotwalk.finding import SEVERITIES, Due, Finding
from lotwalk.ledger.entry import Entry
from lotwalk.values.codes import entry_number, fold
from lotwalk.values.times import DAY

Check = Callable[[Records], Iterable[Finding]]
"""A check: what it finds in the book."""

Look = Callable[[Records], Iterable[Due]]
"""A look ahead: what must be done, and by when."""


@dataclass(frozen=True, slots=True)
class Standing:
    """A finding and what was done about it: the corrective actions that name it, and the one that closed it.

    `undecided` are the lots of one that is open of which an action about its cause has still to say what became.
    """

    finding: Finding
    actions: tuple[str, ...] = ()
    closed_by: str = ""
    undecided: tuple[str, ...] = ()

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
    """Corrective actions by what they name, folded: finding ids, causes, entries, codes."""

    def __init__(self, records: Records) -> None:
        self._records = records
        self._named: dict[str, list[_Action]] = {}
        for name in records.kinds.telling("mended"):
            fields = [field for field in records.kinds[name].fields.values() if "finding" in field.things]
            for record in records.of_kinds([name]):
                listed = [record.values.get(field.name) for field in fields]
                codes = [
                    code
                    for one in listed
                    for code in ([one] if isinstance(one, str) else one if isinstance(one, list) else ())
                ]
                action = _Action(record, _closed(record, records), frozenset(fold(str(code)) for code in codes))
                for code in action.named:
                    self._named.setdefault(code, []).append(action)

    def standing(self, finding: Finding) -> Standing:
        """Return a finding with what was done about it.

        An action that names its cause closes it once every lot that the finding concerns is named beside the cause:
        what became of one batch says nothing of another.
        """
        since = finding.span[0] if finding.span else None
        # What names the thing and not the finding must not be older than what it is to mend.
        named = [one for code in finding.closers for one in self._naming(code) if one.not_before(since)]
        direct = [*self._naming(finding.id), *named]
        by_cause = self._by_cause(finding)
        actions = tuple(dict.fromkeys(one.record.name for one in (*direct, *by_cause)))
        changed = max((self._amended.get(code, 0) for code in finding.about), default=0)
        # What was closed before it happened is a slip of the pen.
        first = "" if since is None else self._records.date(since)
        closing = [one for one in direct if one.closes(first, changed)]
        if closing:
            return Standing(finding, actions, closing[0].record.name)
        lots = self._lots(finding)
        for one in by_cause:
            if one.closes(first, changed):
                lots = [code for code in lots if fold(code) not in one.named]
                if not lots:
                    return Standing(finding, actions, one.record.name)
        return Standing(finding, actions, undecided=tuple(lots))

    def _naming(self, code: str) -> list["_Action"]:
        return self._named.get(fold(code), [])

    def _by_cause(self, finding: Finding) -> list["_Action"]:
        """The actions about a finding's cause as last written when all that the finding is of was in the book."""
        if not finding.cause or finding.cause.id == finding.id:
            return []
        known = max((entry_number(code) or 0 for code in finding.about), default=0)
        return [one for one in self._naming(finding.cause.id) if one.record.seq > known]

    def _lots(self, finding: Finding) -> list[str]:
        """The lots that a finding concerns beside those that belong to its cause."""
        if not finding.cause or finding.cause.id == finding.id:
            return []
        own = finding.cause.about
        things = {code: self._records.thing(code) for code in finding.about if code not in own}
        return [code for code, thing in things.items() if thing and thing.cls == "lot"]

    @cached_property
    def _amended(self) -> dict[str, int]:
        """The entries that people amended, by name, with the number of the version in force.

        What was closed before that was another finding.
        """
        return {one.name: one.seq for one in self._records.all if one.version.amended_by}


@dataclass(frozen=True, slots=True)
class _Action:
    """A corrective action: its entry, the day on which it was closed or nothing, and all that it names, folded."""

    record: Entry
    closed: str
    named: frozenset[str]

    def not_before(self, since: int | None) -> bool:
        """Whether it was not over before a second."""
        return since is None or self.record.end >= since

    def closes(self, first: str, changed: int) -> bool:
        """Whether it closes what began on a day and was last amended by a version."""
        return bool(self.closed) and self.closed >= first and self.record.seq > changed


def _closed(record: Entry, records: Records) -> str:
    """The day on which the action was done and verified, or nothing. A day yet to come is an intention."""
    closed = record.values.get("closed")
    done = isinstance(closed, str) and closed <= records.date(max(record.recorded_at, record.end))
    return str(closed) if done else ""
