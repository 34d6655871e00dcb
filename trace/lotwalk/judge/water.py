"""Whether a water test lets its source start afresh."""

from datetime import UTC, datetime
from decimal import Decimal

from lotwalk.errors import NotUnderstood
from lotwalk.judge.case import LONGEST_BREAK, Case, dates, too_long
from lotwalk.ledger.entry import Entry
from lotwalk.science.water import LabResult, read_result
from lotwalk.values.times import DAY

UNTREATED = ("", "none", "no", "untreated", "not treated", "nil")


def judge_water(case: Case) -> None:
    """Fail the sources for which the test does not show that they may start afresh."""
    if too_long(case):
        return
    for source in case.codes:
        _check_untreated(case, source)
        if _shows_none(case, source) and not _worst_of_day_fails(case, source):
            _check_failures(case, source)
        _note_coliforms(case, source)


def _shows_none(case: Case, source: str) -> bool:
    """Return whether the result shows that there were none in the rule set's volume; say so where it does not."""
    text = str(case.entry.values.get("e_coli") or "")
    needed = case.rules.amount("water.volume")
    if not text:
        case.fails("No E. coli result is recorded", "write it as the laboratory did", [source])
        return False
    try:
        result = read_result(text)
    except NotUnderstood as why:
        case.fails(why.what[:1].upper() + why.what[1:], f"write {why.expected}", [source])
        return False
    if result.detected:
        do = (
            f"stop using {source} for harvest, surfaces and hands now, find and mend the cause, record that as a "
            "corrective action, then sample again"
        )
        case.fails(f"E. coli was found in {source}: {text}", do, [source])
    elif needed is None:
        case.fails("The rule set names no volume for water tests", "name a rule set that does", [source])
    elif result.volume is None:
        do = f"write the volume that the laboratory tested, such as `not detected in {needed.written}`"
        case.fails(f"The result {text} names no volume", do, [source])
    elif not _clean(case, result):
        text = f"The result {text} does not show that {needed.written} held none"
        case.fails(text, f"ask the laboratory for a test that finds one in {needed.written}", [source])
    else:
        return True
    return False


def _clean(case: Case, result: LabResult) -> bool:
    """Return whether a result shows that the rule set's volume held none."""
    needed, one_is = case.rules.amount("water.volume"), case.rules.amount("water.none_is_below")
    examined = result.examined(one_is.value if one_is else Decimal(1))
    return needed is not None and examined is not None and examined >= needed.value


def _note_coliforms(case: Case, source: str) -> None:
    text = case.entry.values.get("coliforms")
    if not isinstance(text, str):
        return
    try:
        found = read_result(text).detected
    except NotUnderstood:
        return
    if found:
        case.notes(f"Coliforms were found in {source}: {text}", "look for where they come in", [source])


def _check_untreated(case: Case, source: str) -> None:
    made = case.evidence.maker(source)
    if made is None:
        return
    case.rests_on(made)
    kind = str(made.values.get("type") or "").casefold()
    treatment = str(made.values.get("treatment") or "").strip().casefold()
    if kind not in case.rules.words("water.never_untreated") or treatment not in UNTREATED:
        return
    told = made.values.get("used_for")
    uses = [str(use) for use in told] if isinstance(told, list) else str(told or "").replace(",", " ").split()
    barred = [use for use in case.rules.words("water.never_for") if use in uses]
    if not uses:
        text = f"{source} is untreated {kind} water, and what it is used for is not recorded"
        case.fails(text, f"write used_for in the record of {source}", [source])
    elif barred:
        text = f"{source} is untreated {kind} water, never fit for {' or '.join(barred)} whatever a test says"
        case.fails(text, f"use other water for {' and '.join(barred)}, or treat it and record how", [source])


def _worst_of_day_fails(case: Case, source: str) -> bool:
    """Return whether another sample of that day failed, and fail this one for it."""
    other = _bad_that_day(case, source, case.entry)
    if other is None:
        return False
    case.rests_on(other)
    text = f"Another sample of {source} on that day failed ({other.name}), and the worst counts"
    case.fails(text, "mend the cause, then sample on another day", [source])
    return True


def _bad_that_day(case: Case, source: str, test: Entry) -> Entry | None:
    first, last = dates(test)
    for other in _others(case, source):
        start, end = dates(other)
        if other.number != test.number and start <= last and first <= end and _bad(other):
            return other
    return None


def _check_failures(case: Case, source: str) -> None:
    """Fail the source while a failure before this test has not been mended by a closed corrective action."""
    open_failures: list[Entry] = []
    for other in [test for test in _others(case, source) if not case.entry.surely_before(test)]:
        if _bad(other):
            open_failures.append(other)
        elif _good(case, source, other) and all(_mending(case, source, failure) for failure in open_failures):
            open_failures = []
    for failure in open_failures:
        case.rests_on(failure)
        mending = _mending(case, source, failure)
        if mending is None:
            text = f"{source} failed before ({failure.name}), and no closed corrective action names that"
            do = f"record what was mended as a corrective action about {failure.name}, with its closed date"
            case.fails(text, do, [source])
            return
        case.rests_on(mending)


def _mending(case: Case, source: str, failure: Entry) -> Entry | None:
    """Return the closed corrective action for a failure: it names the failure, or the source and is no older.

    A date of closing before the failure cannot have mended it, and one after the day on which it was written down is
    an intention.
    """
    for code in (failure.name, source):
        for action in case.evidence.telling("mended", code):
            closed = str(action.values.get("closed", ""))
            # A day more, since the farm's date can be ahead of the clock's.
            written = datetime.fromtimestamp(max(action.recorded_at, action.end) + DAY, UTC).date().isoformat()
            if not action.surely_before(failure) and dates(failure)[0] <= closed <= written:
                return action
    return None


def _others(case: Case, source: str) -> list[Entry]:
    """Return the other tests of the source in the order in which they were sampled."""
    tests = [test for test in case.evidence.telling("tested", source) if test.number != case.entry.number]
    return sorted(tests, key=lambda test: (test.start, test.end, test.group, test.line, test.number))


def _bad(test: Entry) -> bool:
    """Return whether a test failed. One whose result cannot be read counts as failed until it is corrected."""
    try:
        return read_result(str(test.values.get("e_coli") or "")).detected
    except NotUnderstood:
        return True


def _good(case: Case, source: str, test: Entry) -> bool:
    """Return whether an earlier test is one that could start the source afresh."""
    if test.end - test.start >= LONGEST_BREAK or _bad_that_day(case, source, test):
        return False
    try:
        return _clean(case, read_result(str(test.values.get("e_coli") or "")))
    except NotUnderstood:
        return False
