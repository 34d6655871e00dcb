"""Findings by what they come of: one failed well is one cause, however many batches drew of it."""

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from lotwalk.checks.findings import Standing
from lotwalk.checks.records import Records
from lotwalk.finding import SEVERITIES, Cause, Severity
from lotwalk.judge.words import listed, many, ranges
from lotwalk.values.codes import entry_number

_MOST = 8
"""So many codes, or runs of them, are named in a sentence; of more it is told how many there are."""
_DETAILS = 3
"""So many details of one cause are told."""
_NUMBER = re.compile(r"(\d+)")


@dataclass(frozen=True, slots=True)
class Joined:
    """All findings of one cause, named for it, by time: those that are open and those that were closed.

    `text` is what happened, `detail` what is so of this cause alone, and `concerns` what it touches, as far as that is
    open; `do` is what to do once. All are sentences. A finding that came alone may be told in its own words.
    `undecided` are the lots of which nobody has said yet what became of them, `about` what belongs to the cause itself.
    """

    id: str
    text: str
    detail: str
    concerns: str
    do: str
    open: tuple[Standing, ...]
    closed: tuple[Standing, ...]
    undecided: tuple[str, ...]
    about: tuple[str, ...] = ()

    @property
    def all(self) -> tuple[Standing, ...]:
        """Its findings."""
        return self.open + self.closed

    @property
    def severity(self) -> Severity:
        """The worst of those that are open, or of all once none is."""
        return min((one.finding.severity for one in self.open or self.closed), key=SEVERITIES.index)

    @property
    def actions(self) -> tuple[str, ...]:
        """The corrective actions that have something open in hand."""
        return tuple(dict.fromkeys(name for one in self.open for name in one.actions))

    def json(self) -> dict[str, object]:
        """Return it as JSON, with the names of its findings."""
        return {
            "id": self.id,
            "severity": self.severity,
            "text": " ".join(filter(None, (self.text, self.detail))),
            "concerns": self.concerns,
            "do": self.do,
            "findings": [one.finding.id for one in self.open],
            "closed": [one.finding.id for one in self.closed],
            "undecided": list(self.undecided),
            "actions": list(self.actions),
        }


def join(standing: Iterable[Standing], records: Records) -> list[Joined]:
    """Return the causes of these findings, the gravest first and then by time. Each finding is of one cause."""
    by_cause: dict[str, list[Standing]] = defaultdict(list)
    for one in standing:
        by_cause[one.finding.comes_of].append(one)
    joined = [_joined(name, found, records) for name, found in by_cause.items()]
    return sorted(joined, key=lambda one: (SEVERITIES.index(one.severity), _start(one), one.id))


def _start(one: Joined) -> int:
    return min(standing.finding.span[0] if standing.finding.span else 0 for standing in one.open or one.closed)


def _joined(name: str, found: Sequence[Standing], records: Records) -> Joined:
    ordered = sorted(found, key=lambda one: (one.finding.span or (0, 0), one.finding.id))
    left = tuple(one for one in ordered if one.open)
    closed = tuple(one for one in ordered if not one.open)
    undecided = tuple(sorted({code for one in left for code in one.undecided}, key=by_number))
    # The first in the order of checks speaks for the cause where several words for it were given.
    first, cause = found[0].finding, found[0].finding.cause
    if cause is None or (len(ordered) == 1 and not cause.alone):
        return Joined(name, first.text, "", "", first.do, left, closed, undecided)
    concerns = "" if name == first.id else _concerns(left or closed, cause, undecided, records)
    return Joined(name, cause.text, _details(left or closed), concerns, cause.do, left, closed, undecided, cause.about)


def _details(found: Sequence[Standing]) -> str:
    """What is so of this cause alone, as its findings tell it: mostly all of them alike."""
    told = list(dict.fromkeys(cause.detail for one in found if (cause := one.finding.cause) and cause.detail))
    more = [f"And {len(told) - _DETAILS} more."] if len(told) > _DETAILS else []
    return " ".join(told[:_DETAILS] + more)


def _concerns(found: Sequence[Standing], cause: Cause, undecided: Sequence[str], records: Records) -> str:
    """What findings of one cause name beside the cause: entries and lots, or things where there are neither."""
    about = dict.fromkeys(code for one in found for code in one.finding.about if code not in cause.about)
    entries = [code for code in about if entry_number(code)]
    others = sorted((code for code in about if not entry_number(code)), key=by_number)
    told = []
    if cause.each:
        told.append(f"{len(found)} {cause.each}{'' if len(found) == 1 else 's'}, {_days(found, records)}")
    elif entries and not undecided:
        told.append(f"{_named(entries, 'entry', 'entries')}, {_days(found, records)}")
    if undecided:
        told.append(f"To decide on: {_named(undecided, 'lot', 'lots')}")
    elif others and not told:
        told.append(listed(others))
    return f"{'. '.join(told)}." if told else ""


def _named(codes: Sequence[str], one: str, more: str) -> str:
    """Name codes, with their number where they cannot be counted at a glance."""
    ordered = sorted(codes, key=by_number)
    named = ranges(ordered)
    if len(named) > _MOST:
        named = named[: _MOST // 2]
    rest = len(ordered) - ordered.index(named[-1].rpartition("..")[2]) - 1
    text = f"{', '.join(named)}{f' and {rest} more' if rest else ''}"
    return f"{text} ({len(codes)} {many(codes, one, more)})" if rest or len(codes) > len(named) else text


def _days(found: Sequence[Standing], records: Records) -> str:
    spans = [one.finding.span or (records.now, records.now) for one in found]
    first, last = records.date(min(span[0] for span in spans)), records.date(max(span[1] for span in spans))
    return first if first == last else f"{first} to {last}"


def by_number(code: str) -> tuple[tuple[str, int], ...]:
    """Return the key by which people count codes: T-99 before T-100."""
    parts = _NUMBER.split(code)
    return tuple((word, int(number or 0)) for word, number in zip(parts[::2], [*parts[1::2], ""], strict=True))
