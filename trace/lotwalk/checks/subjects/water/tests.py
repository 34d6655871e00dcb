"""Water that failed its test or has no paper, and what was drawn of it meanwhile."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lotwalk.checks.records import Records, Told
from lotwalk.checks.subjects.certificates import Paper, papers
from lotwalk.checks.subjects.water.doubt import doubt
from lotwalk.checks.subjects.water.draws import Draw, draws
from lotwalk.errors import NotUnderstood
from lotwalk.finding import Cause, Finding, finding
from lotwalk.judge.water import UNTREATED
from lotwalk.judge.words import listed, many
from lotwalk.ledger.entry import Entry
from lotwalk.ledger.model import ThingRow
from lotwalk.science.results import outcome
from lotwalk.science.water import read_result

VOLUME = "water.volume"
NEVER = "water.never_untreated"
PAPER = "water.supply_paper_every"
PUBLIC = "municipal"
"""The type of a water source that is a public supply, of which the supplier's paper is kept."""
SUPPLY = "water"
"""The type of that paper."""


def findings(records: Records) -> Iterator[Finding]:
    """Yield failed tests, draws from failed or untreated water, and draws from a public supply without its paper."""
    drawn, tests = records.share(draws), records.told_of("tested")
    known = list(papers(records, every=records.seconds(PAPER)))
    for source in sources(records):
        mine = drawn.get(source.code, ())
        yield from _failures(records, source.code, tests.get(source.code, []), mine)
        yield from _untreated(records, source, mine)
        yield from _without_paper(records, source, [one for one in known if one.covers == source.code], mine)


def sources(records: Records) -> list[ThingRow]:
    """Return the farm's water sources, by code."""
    return [thing for thing in records.things.values() if thing.cls == "water-source"]


def is_untreated(records: Records, source: ThingRow) -> bool:
    """Return whether nothing says that the water of a source is treated before it is used."""
    made = records.maker(source.code)
    treatment = made.values.get("treatment") if made else None
    return str(treatment or "").strip().casefold() in UNTREATED


def failed(test: Entry, source: str) -> bool:
    """Return whether a test did not pass for a source."""
    return source in test.version.judged.failed


@dataclass(frozen=True, slots=True)
class _Failure:
    """A test of a source that found bacteria, and the one that opened it again; None while it is closed."""

    source: str
    test: Entry
    reopening: Entry | None

    def may_hold(self, record: Entry) -> bool:
        """Return whether an entry may lie between the two."""
        return not record.surely_before(self.test) and not (self.reopening and self.reopening.surely_before(record))

    @property
    def cause(self) -> Cause:
        """What all that was drawn in doubt or meanwhile comes of."""
        test, good = self.test, self.reopening
        until = f"good again on {good.at} ({good.name})" if good else "no good one has followed"
        decide = "Decide on each lot; where other water was used, amend the entry."
        return Cause(
            ("failed-water", self.source, test.name),
            f"{self.source} failed its test of {test.at} ({test.name}, {test.values.get('e_coli') or 'no result'});"
            f" {until}.",
            decide if good else f"{_reasons(test, self.source)[1]} Name {test.name} in that action. {decide}",
            (self.source, test.name),
        )


def _failures(records: Records, source: str, tests: Sequence[Told], drawn: Sequence[Draw]) -> Iterator[Finding]:
    found: list[_Failure] = []
    good = [one.record for one in tests if not failed(one.record, source)]
    named: set[int] = set()
    for place, told in enumerate(tests):
        test = told.record
        if not failed(test, source):
            continue
        bad = _bad(test)
        texts, do = _reasons(test, source)
        # Each draw is told of once: here, or in a finding of its own where it came after an earlier failure.
        named |= {draw.record.seq for draw in drawn if any(one.may_hold(draw.record) for one in found)}
        later = (one.record for one in tests[place + 1 :] if not failed(one.record, source))
        failure = _Failure(source, test, next(later, None))
        before = doubt(source, good, test, drawn if bad else (), named)
        named |= {draw.record.seq for draw in before.draws}
        yield finding(
            "water-test",
            (source, test.name),
            about=(source, test.name, *before.about),
            text=f"The test of {source} of {test.at} ({test.name}) does not pass. {texts}{before.text(records)}",
            do=f"{do}{before.do(test)}",
            basis=records.basis(VOLUME),
            span=test.span,
            closers=(test.name, source),
            cause=failure.cause if bad else None,
            severity="critical" if bad else "major",
        )
        if bad:
            found.append(failure)
    for draw in drawn:
        # Of several failures the latest is the one that whoever drew it could have known.
        known = next((one for one in reversed(found) if one.may_hold(draw.record)), None)
        if known:
            yield _drawn_meanwhile(records, source, known, draw)


def _bad(test: Entry) -> bool:
    """Whether bacteria were found. A result that cannot be read counts as bad until it is corrected."""
    try:
        return read_result(str(test.values.get("e_coli") or "")).detected
    except NotUnderstood:
        return True


def _reasons(test: Entry, source: str) -> tuple[str, str]:
    reasons = test.version.judged.because("break", source)
    text = ". ".join(one.text for one in reasons)
    do = reasons[0].do if reasons else "sample again"
    return f"{text}." if text else "", f"{do[:1].upper()}{do[1:]}."


def _drawn_meanwhile(records: Records, source: str, failure: _Failure, draw: Draw) -> Finding:
    record, test, good = draw.record, failure.test, failure.reopening
    title = records.kind(record).title.lower()
    until = f"and before the good one of {good.at} ({good.name})" if good else "and no good one has followed"
    lots = f" It went to {listed(draw.lots)}." if draw.lots else ""
    if draw.assumed:
        place = record.version.place
        what = f"The {title} {record.name} of {record.at} names no water, so the usual water of {place} counts"
        do = f"If other water was used, amend {record.name} to name it. If not, decide"
    else:
        what, do = f"The {title} {record.name} of {record.at} drew water from {source}", "Decide"
    return finding(
        "water-drawn",
        (source, record.name),
        about=(source, record.name, test.name, *draw.lots),
        text=f"{what}{f': {source}' if draw.assumed else ''}, after the sample that failed ({test.name} of {test.at},"
        f" {test.values.get('e_coli')}) {until}.{lots}",
        do=f"{do} what becomes of {listed(draw.lots) if draw.lots else 'what it wetted'}, and record that as a"
        f" corrective action about water-drawn:{source}:{record.name}.",
        basis=records.basis(VOLUME),
        span=record.span,
        cause=failure.cause,
    )


def _untreated(records: Records, source: ThingRow, drawn: Sequence[Draw]) -> Iterator[Finding]:
    if source.type not in records.rules.words(NEVER) or not is_untreated(records, source):
        return
    barred = set(records.rules.words("water.never_for"))
    for draw in drawn:
        uses = sorted(barred & draw.uses)
        if uses:
            record = draw.record
            cause = Cause(
                ("raw-water", source.code),
                f"Untreated {source.type} water from {source.code} was used for what no test makes it fit for.",
                "Use other water, and decide what becomes of what it wetted.",
                (source.code,),
            )
            yield finding(
                "water-untreated",
                (source.code, record.name),
                about=(source.code, record.name, *draw.lots),
                text=f"The {records.kind(record).title.lower()} {record.name} of {record.at} drew untreated"
                f" {source.type} water from {source.code} for {' and '.join(uses)}, which no test makes fit for that.",
                do="Use other water, decide what becomes of what it wetted, and record that as a corrective action"
                f" about water-untreated:{source.code}:{record.name}.",
                basis=records.basis(NEVER),
                span=record.span,
                cause=cause,
            )


def _without_paper(
    records: Records, source: ThingRow, known: Sequence[Paper], drawn: Sequence[Draw]
) -> Iterator[Finding]:
    if source.type != PUBLIC or PAPER not in records.rules.limits:
        return
    held = sorted(
        (paper for paper in known if paper.type == SUPPLY and outcome(paper.result) != "found"),
        key=lambda paper: (paper.issued, paper.expires),
    )
    gaps: dict[str, list[Entry]] = {}
    for draw in drawn:
        first, last = records.date(draw.record.start), records.date(draw.record.end)
        if not any(paper.holds_on(first) and paper.holds_on(last) for paper in held):
            ended = [paper.code for paper in held if paper.issued <= last]
            gaps.setdefault(ended[-1] if ended else "none", []).append(draw.record)
    for number, entries in gaps.items():
        one, other = entries[0], entries[-1]
        expired = next((paper for paper in held if paper.code == number), None)
        after = next((paper for paper in held if paper.issued > records.date(other.start)), None)
        since = f"{number} held until {expired.expires}" if expired else "there is none from before"
        following = f"; {after.code} holds from {after.issued}" if after else ""
        yield finding(
            "water-paper",
            (source.code, number),
            about=(source.code, *([number] if expired else []), *([after.code] if after else [])),
            text=f"{len(entries)} {many(entries, 'entry', 'entries')} drew from the public supply {source.code}, from"
            f" {one.at} ({one.name}) to {other.at} ({other.name}), while no paper of the supplier was in force:"
            f" {since}{following}.",
            do="Ask the water works for the results or the certificate of that time, and record it as a certificate"
            f" that covers {source.code}.",
            basis=records.basis(PAPER),
            span=(min(entry.start for entry in entries), max(entry.end for entry in entries)),
            cause=Cause(
                ("water-paper", source.code, number),
                "A public supply was drawn from while no paper of the supplier was in force.",
                f"Ask the water works for it, and record it as a certificate that covers {source.code}.",
                (source.code, number, *([after.code] if after else [])),
                f"{len(entries)} {many(entries, 'entry', 'entries')} from {one.at} to {other.at}: {since}{following}.",
                alone=True,
            ),
        )
