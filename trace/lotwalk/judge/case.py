"""What a judge has before it: the entry, the codes to be judged, the evidence; and what it finds."""

import re
from collections.abc import Sequence
from datetime import UTC, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from lotwalk.judge.acts import Act, now, write
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.kinds.model import Value
from lotwalk.ledger.entry import Content, Entry, NewText
from lotwalk.ledger.evidence_model import Evidence
from lotwalk.ledger.verdict import Reason, ReasonKind, Verdict
from lotwalk.values.codes import fold
from lotwalk.values.units import Amount

LONGEST_BREAK = 90_000
"""Seconds: an entry of at most one day can clear, and a day can have 25 hours."""

_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
_UTC = ZoneInfo("UTC")


class Case:
    """One entry before a judge, with the reasons found so far and the entries that they rest on."""

    def __init__(self, entry: Entry, codes: Sequence[str], evidence: Evidence, rules: RuleSet) -> None:
        self.entry = entry
        self.codes = tuple(codes)
        self.evidence = evidence
        self.rules = rules
        self._reasons: list[Reason] = []
        self._rests: set[int] = set()
        self._acts: list[tuple[Act, tuple[str, ...]]] = []
        self._asks: list[str] = []

    def fails(self, text: str, do: "str | Act", codes: Sequence[str] = ()) -> None:
        """Fail the codes (none named: all of them), for a reason and with the act that mends it.

        An act in plain text is one of writing something down.
        """
        act = do if isinstance(do, Act) else write(do)
        whom = () if tuple(codes) == self.codes else tuple(codes)
        self._acts.append((act, whom or self.codes))
        self._add(Reason(whom, text, act.told(whom), "break", act.until, act.later))

    def residue(self, text: str, do: str, codes: Sequence[str] = ()) -> None:
        """Take note that too much of the sanitiser may be left. That fails nothing."""
        self._add(self._reason("residue", text, do, codes))

    def unshown(self, text: str, do: str, codes: Sequence[str] = ()) -> None:
        """Take note that nobody wrote whether the mix was warm enough, or of the right pH. That fails nothing."""
        self._add(self._reason("unshown", text, do, codes))

    def notes(self, text: str, do: str, codes: Sequence[str] = ()) -> None:
        """Take note of something that fails nothing."""
        self._add(self._reason("note", text, do, codes))

    def asks(self, field: str) -> None:
        """Take note that something is asked for which this field would name, and that it names nothing."""
        self._asks.append(field)

    def rests_on(self, *entries: Entry) -> None:
        """Take note that the verdict rests on these entries."""
        self._rests.update(entry.number for entry in entries if entry.number != self.entry.number)

    def verdict(self) -> Verdict:
        """Return the verdict on every code."""
        breaks = [reason for reason in self._reasons if reason.kind == "break"]
        all_fail = any(not reason.codes for reason in breaks)
        named = {fold(code) for reason in breaks for code in reason.codes}
        failed = tuple(code for code in self.codes if all_fail or fold(code) in named)
        passed = tuple(code for code in self.codes if code not in failed)
        rests, asks = tuple(sorted(self._rests)), tuple(dict.fromkeys(self._asks))
        return Verdict(passed, failed, tuple(self._reasons), rests, now(self._acts), asks=asks)

    def _reason(self, kind: ReasonKind, text: str, do: str, codes: Sequence[str]) -> Reason:
        return Reason(() if tuple(codes) == self.codes else tuple(codes), text, do, kind)

    def _add(self, reason: Reason) -> None:
        if reason not in self._reasons:
            self._reasons.append(reason)


def asking(evidence: Evidence, rules: RuleSet, now: int) -> Case:
    """Return a case of somebody who only asks, at a time in epoch seconds: its entry says nothing and is in no book."""
    return Case(Entry(0, 0, "", now, now, 0, 0, now, NewText(Content("", (), {}, (), (), _UTC))), (), evidence, rules)


def named(entry: Entry, field: str) -> list[str]:
    """Return the codes that a field of an entry names, in order, each once."""
    inside = (f"{field}[", f"{field}.")
    codes = [use.code for use in entry.uses if use.field == field or use.field.startswith(inside)]
    return list(dict.fromkeys(codes))


def mentions(entry: Entry, field: str, code: str) -> bool:
    """Return whether a field of an entry names the code."""
    return fold(code) in {fold(other) for other in named(entry, field)}


def ends(value: "Value | None") -> tuple[Amount, Amount] | None:
    """Return the lower and the upper amount of a field, or None when it holds no amount."""
    if isinstance(value, Amount):
        return value, value
    if isinstance(value, tuple) and isinstance(value[0], Amount) and isinstance(value[1], Amount):
        return value[0], value[1]
    return None


def numbers(value: "Value | None") -> tuple[Decimal, Decimal] | None:
    """Return the lower and the upper number of a field without a unit, or None when it holds none."""
    if isinstance(value, Decimal):
        return value, value
    if isinstance(value, tuple) and isinstance(value[0], Decimal) and isinstance(value[1], Decimal):
        return value[0], value[1]
    amounts = ends(value)
    return (amounts[0].value, amounts[1].value) if amounts else None


def dates(entry: Entry) -> tuple[str, str]:
    """Return the first and the last date of an entry's time, as the farm wrote it (ISO)."""
    found = _DATE.findall(entry.at)
    if found:
        return min(found), max(found)
    first, last = (datetime.fromtimestamp(second, UTC).date().isoformat() for second in (entry.start, entry.end))
    return first, last


def too_long(case: Case) -> bool:
    """Fail an entry whose time is too wide to separate what came before from what came after."""
    if case.entry.end - case.entry.start < LONGEST_BREAK:
        return False
    case.fails(f"The time {case.entry.at} is longer than a day", "write the day or the minute when it was done")
    return True
