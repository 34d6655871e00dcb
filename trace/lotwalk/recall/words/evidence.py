"""What is in hand of a candidate cause, told in a few words, and what a test does not show."""

from collections.abc import Iterable, Sequence
from typing import Any

from lotwalk.recall.model import AFTER, BEFORE, FAILED, NOT_NAMED, NOT_SHOWN, PASSED, Candidate, Evidence
from lotwalk.science import results
from lotwalk.science.sampling import detection

_MOST = 3
_SHARE = 0.01
_SAMPLES = 60


def evidence_json(found: Iterable[Evidence]) -> list[dict[str, Any]]:
    """Return the evidence as JSON: `side` where it lies in a spell, `germs` and `positive` where it failed."""
    return [
        {"entry": one.entry, "at": one.at, "kind": one.kind, "result": one.result, "says": one.says or None}
        | ({"side": one.side} if one.side else {})
        | ({"germs": list(one.germs), "positive": one.positive} if one.result == FAILED else {})
        for one in found
    ]


def mark(found: Sequence[Evidence]) -> str:
    """Return the evidence in one line, failures first: `tested: FAILED E900 (Salmonella), passed E12`."""
    ordered = sorted(found, key=lambda one: (not one.positive, one.result != FAILED, one.side == AFTER))
    told = [f"{_word(one)} {one.entry}{_germs(one)}" for one in ordered[:_MOST]]
    more = f", {len(ordered) - _MOST} more" if len(ordered) > _MOST else ""
    return f"tested: {', '.join(told)}{more}" if told else ""


def _word(one: Evidence) -> str:
    side = {BEFORE: "before it ", AFTER: "after it "}.get(one.side or "", "")
    return f"{side}{'no result in' if one.result == NOT_NAMED else outcome(one)}"


def _germs(one: Evidence) -> str:
    return f" ({', '.join(one.germs)})" if one.germs else ""


def outcome(one: Evidence) -> str:
    """Return what an examination came to, in a word or two."""
    told = {PASSED: "passed", FAILED: "FAILED", NOT_SHOWN: "not shown", NOT_NAMED: "without a result"}
    return told.get(one.result, "read for yourself")


def full(one: Evidence, title: str) -> str:
    """Return one examination as a sentence. `title` is that of its kind of record."""
    side = {BEFORE: ", at the beginning of this time", AFTER: ", at the end of this time"}.get(one.side or "", "")
    says = f": `{one.says}`" if one.says else ""
    told = {
        PASSED: f"passed{says}",
        FAILED: f"FAILED{_germs(one)}{says}",
        NOT_SHOWN: f"not shown: `{one.says}` {results.NOT_SHOWN}",
        NOT_NAMED: "names it, and no result",
    }.get(one.result, f"says `{one.says}`, which may be either: read it for yourself")
    return f"the {title} of {one.at} ({one.entry}){side}, {told}."


def limits(found: Iterable[Candidate]) -> list[str]:
    """Return what must be said of tests that passed; nothing when none did."""
    if not any(one.result == PASSED for candidate in found for one in candidate.evidence):
        return []
    few, many = (100 * detection(_SHARE, samples) for samples in (1, _SAMPLES))
    return [
        "A test that passed speaks only of what was in the sample, so none is off the list. If one portion in a hundred"
        f" carried the fault, one sample would find it {few:.0f} time in 100, and {_SAMPLES} samples {many:.0f} times."
    ]
