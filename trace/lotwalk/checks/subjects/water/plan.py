"""Water that was not tested, inspected or assessed in time, and when each is due next."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from lotwalk.checks.records import Records, Told
from lotwalk.checks.subjects.water.draws import Draw, draws
from lotwalk.checks.subjects.water.tests import failed, is_untreated, sources
from lotwalk.finding import Due, Finding, finding
from lotwalk.ledger.entry import Entry
from lotwalk.ledger.model import ThingRow
from lotwalk.science.sampling_plan import NextTest, next_test

TYPES = "water.tested_types"
FIRST_YEAR = "water.tests_first_year"
EACH_YEAR = "water.tests_each_year"


@dataclass(frozen=True, slots=True)
class _Round:
    """Something that is done about a source again and again: its fact, the rule with the interval, and its words."""

    fact: str
    key: str
    check: str
    subject: str
    act: str
    do: str
    only_for: str = ""


_ROUNDS = (
    _Round(
        "inspected",
        "water.inspected_every",
        "water-inspection",
        "The water system of {source}",
        "inspected",
        "Look over {source} from its origin to the tap, and record that as a site check of the water system about it.",
    ),
    _Round(
        "assessed",
        "water.assessed_every",
        "water-assessment",
        "The fitness of {source} for growing",
        "assessed",
        "Assess {source} in writing, and record that as a site check with the topic water assessment about it.",
        "growing",
    ),
)


def findings(records: Records) -> Iterator[Finding]:
    """Yield each time that a source in use waited too long for a test, an inspection or an assessment."""
    drawn, tests = records.share(draws), records.told_of("tested")
    for source in sources(records):
        mine = drawn.get(source.code, ())
        if mine and _to_test(records, source):
            yield from _untested(records, source, tests.get(source.code, []), mine)
        for look in _ROUNDS:
            if mine and _concerns(records, source, look):
                yield from _overdue(records, source, look, mine)


def dues(records: Records) -> Iterator[Due]:
    """Yield the next test, inspection and assessment of each source in use."""
    drawn, tests = records.share(draws), records.told_of("tested")
    for source in sources(records):
        maker = records.maker(source.code)
        # What is meant for use is tested before the first draw.
        meant = bool(drawn.get(source.code) or (maker and maker.values.get("used_for")))
        if meant and _to_test(records, source):
            yield _test_due(records, source, tests.get(source.code, []))
        if not drawn.get(source.code):
            continue
        for look in _ROUNDS:
            if _concerns(records, source, look):
                rounds = _rounds(records, source, look)
                by = records.date(rounds[-1].end + (records.seconds(look.key) or 0))
                done = "was last" if len(rounds) > 1 else "is not, since it was registered,"
                text = f"{look.subject.format(source=source.code)} {done} {look.act} on {rounds[-1].at}"
                yield Due(by, (source.code,), text, _do(look, source), records.basis(look.key))


def plan(records: Records, source: str, tests: Sequence[Told]) -> NextTest | None:
    """Return where a source stands in its plan of tests, or None when it was never tested."""
    done = [(date.fromisoformat(records.date(one.record.start)), not failed(one.record, source)) for one in tests]
    return next_test(done, _number(records, FIRST_YEAR), _number(records, EACH_YEAR))


def _number(records: Records, key: str) -> int:
    limit = records.rules.limits.get(key)
    return max(1, int(limit.value)) if limit and isinstance(limit.value, Decimal) else 1


def _to_test(records: Records, source: ThingRow) -> bool:
    """Whether the rule set asks for tests of the source: by its type, while it is not treated."""
    return source.type in records.rules.words(TYPES) and is_untreated(records, source)


def _untested(records: Records, source: ThingRow, tests: Sequence[Told], drawn: Sequence[Draw]) -> Iterator[Finding]:
    if not tests or drawn[0].record.surely_before(tests[0].record):
        until = tests[0].record.start if tests else records.now
        first = drawn[0].record
        yield finding(
            "water-untested",
            (source.code,),
            about=(source.code, first.name),
            text=f"{source.code} ({source.type} water, not treated) was drawn from since {first.at} ({first.name}),"
            f" {f'before its first test on {tests[0].record.at}' if tests else 'and no test of it is recorded'}.",
            do=f"Have {source.code} tested for E. coli, and record the result.",
            basis=records.basis(FIRST_YEAR),
            span=(first.start, max(first.start, until)),
            closers=(),
        )
    for number, told in enumerate(tests, start=1):
        stands = plan(records, source.code, tests[:number])
        following = tests[number].record if number < len(tests) else None
        until = following.start if following else records.now
        if stands is None or stands.failed or stands.by.isoformat() >= records.date(until):
            continue
        late_from = records.ends(stands.by.isoformat()) + 1
        used = [draw for draw in drawn if draw.record.end >= late_from and draw.record.start <= until]
        if used:
            yield finding(
                "water-test-late",
                (source.code, told.record.name),
                about=(source.code, told.record.name),
                text=f"After its test of {told.record.at} ({told.record.name}), {source.code} was to be tested again by"
                f" {stands.by} ({_standing(stands)}); {f'that came on {following.at}' if following else 'it was not'}.",
                do=f"Have {source.code} tested for E. coli, and record the result.",
                basis=records.basis(EACH_YEAR if stands.yearly else FIRST_YEAR),
                span=(late_from, until),
            )


def _standing(stands: NextTest) -> str:
    if stands.yearly:
        return f"yearly, since {stands.needed} in a row were good"
    return f"{stands.passed} of the first {stands.needed} good so far"


def _test_due(records: Records, source: ThingRow, tests: Sequence[Told]) -> Due:
    stands = plan(records, source.code, tests)
    do = f"Have {source.code} tested for E. coli."
    if stands is None:
        return Due(records.today, (source.code,), f"{source.code} was never tested", do, records.basis(FIRST_YEAR))
    latest = tests[-1].record
    if stands.failed:
        do = f"Find and mend the cause, record that as a corrective action about {latest.name}, then test again."
        return Due(
            stands.by.isoformat(),
            (source.code, latest.name),
            f"The latest test of {source.code}, of {latest.at}, did not pass; then {stands.needed} good ones in a"
            " year are needed again",
            do,
            records.basis(FIRST_YEAR),
        )
    text = f"{source.code} was last tested on {latest.at}; {_standing(stands)}"
    key = EACH_YEAR if stands.yearly else FIRST_YEAR
    return Due(stands.by.isoformat(), (source.code,), text, do, records.basis(key))


def _concerns(records: Records, source: ThingRow, look: _Round) -> bool:
    made = records.maker(source.code)
    if made is None or records.seconds(look.key) is None:
        return False
    told = made.values.get("used_for")
    uses = told if isinstance(told, list) else str(told or "").replace(",", " ").split()
    return not look.only_for or look.only_for in uses


def _rounds(records: Records, source: ThingRow, look: _Round) -> list[Entry]:
    """What was done, by time, after the entry that registered the source: from then on the interval runs."""
    made = records.maker(source.code)
    done = [told.record for told in records.told_of(look.fact).get(source.code, ())]
    return [*([made] if made else []), *done]


def _overdue(records: Records, source: ThingRow, look: _Round, drawn: Sequence[Draw]) -> Iterator[Finding]:
    every, done = records.seconds(look.key) or 0, _rounds(records, source, look)
    for place, record in enumerate(done):
        late_from = record.end + every + 1
        until = done[place + 1].start if place + 1 < len(done) else records.now
        if until >= late_from and any(one.record.end >= late_from and one.record.start <= until for one in drawn):
            yield finding(
                look.check,
                (source.code, record.name),
                about=(source.code, record.name),
                text=f"{look.subject.format(source=source.code)} was not {look.act} for longer than it may be: since"
                f" {record.at} ({record.name}).",
                do=_do(look, source),
                basis=records.basis(look.key),
                span=(late_from, until),
            )


def _do(look: _Round, source: ThingRow) -> str:
    return look.do.format(source=source.code)
