"""The words of the inspection pack's first page: how the farm stands, row by row."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal

from lotwalk.checks.causes import Joined
from lotwalk.checks.farm_state import FarmState, Tested, Water, Written
from lotwalk.finding import SEVERITIES
from lotwalk.judge.words import listed, many, ranges
from lotwalk.pages.computed.gaps import graded
from lotwalk.pages.definitions.model import Piece, Row
from lotwalk.values.units import Units

_NOT_WRITTEN = "Not written"
_COVERED = (
    f"{_NOT_WRITTEN}: whether it is covered, or exempt with its papers (in the United States 21 CFR 112.4 to 112.7)"
)
_MOST_UNREAD = 4


def front_rows(farm: FarmState, pages: Mapping[str, int], units: Units, today: str) -> Iterator[Row]:
    """Yield the rows of the first page. `pages` say where each cause is printed, by its name; `today` is the day."""
    yield _row("Who answers", _people(farm))
    yield _row("Under which law", [farm.law or _COVERED])
    yield _row("What is grown", [", ".join(farm.grown) or "No sowing in this period", _registered(farm)])
    yield _row("Water", [_water(one) for one in farm.water] or [f"{_NOT_WRITTEN}: no water source is registered"])
    yield _row("What is here", [_counts(farm)])
    yield _row("How it was written", list(_written(farm.written, farm.settings.get("slips", ""), units)))
    gravest = farm.gravest
    for number, one in enumerate(gravest, 1):
        text = " ".join(filter(None, (one.text, one.detail)))
        unnamed = [code for code in one.about if code not in text]
        text = f"{listed(unnamed)}: {text}" if unnamed else text
        told = [Piece(f"{number}  {text}")]
        told += [Piece(words) for words in (one.concerns,) if words]
        page = str(pages[one.id]) if one.id in pages else "not in it"
        yield Row("", ((_label("What matters most") if number == 1 else ()), tuple(told), (Piece(page),)), ())
    yield _row("" if gravest else "What matters most", [_others(farm.causes, gravest)])
    yield _row("Reviewed", list(_reviewed(farm, today)))


def _label(words: str) -> tuple[Piece, ...]:
    return (Piece(words, "bold"),) if words else ()


def _row(label: str, told: Sequence[str]) -> Row:
    return Row("", (_label(label), tuple(map(Piece, told)), ()), ())


def _people(farm: FarmState) -> list[str]:
    contact = ", ".join(farm.settings[name] for name in ("contact", "phone", "email") if name in farm.settings)
    told = [f"{contact}." if contact else ""]
    told.append("; ".join(", ".join(filter(None, (one.name, one.position, one.phone))) for one in farm.people))
    told.append(f"{_NOT_WRITTEN}: {listed([title.lower() for title in farm.missing])}." if farm.missing else "")
    return [words for words in told if words] or [_NOT_WRITTEN]


def _registered(farm: FarmState) -> str:
    return ", ".join(f"{title.lower()}: {count}" for title, count in farm.registered).capitalize()


def _water(one: Water) -> str:
    said = [one.type, one.treatment or "no treatment written", f"for {one.used_for}" if one.used_for else ""]
    told = [f"{one.code}, {one.name}: {', '.join(filter(None, said))}."]
    if one.latest is None:
        return f"{told[0]} No test of it is on record."
    told.append(f"Latest test {_test(one.latest)}.")
    bad = [test for test in one.failed if test.entry != one.latest.entry]
    told += [f"FAILED in this period: {'; '.join(map(_test, bad))}."] if bad else []
    return " ".join(told)


def _test(one: Tested) -> str:
    result = f": {one.result}" if one.result else ""
    return f"{one.at} ({one.entry}){result}{'' if one.passed else ', did not pass'}"


def _counts(farm: FarmState) -> str:
    told = []
    for one in farm.counts:
        judged = f" ({one.passed} passed, {one.failed} did not, or in part)" if one.passed + one.failed else ""
        told.append(f"{one.title.lower()} {one.entries}{judged}")
    files = f"{farm.papers} {many(range(farm.papers), 'paper', 'papers')} attached"
    return f"Entries: {', '.join(told) or 'none'}. {files}."


def _written(one: Written, slips: str, units: Units) -> Iterable[str]:
    yield (
        f"{one.from_sheets} of {one.entries} entries were typed from slips or forms, in sheets;"
        f" {one.same_day} were recorded on the day itself."
        + (f" Later than {units.show(Decimal(one.limit), 's')}: {one.late}." if one.limit is not None else "")
    )
    typed = [f"{who} {count}" for who, count in one.typists]
    typed += [f"{_NOT_WRITTEN.lower()} of {one.unnamed}"] if one.unnamed else []
    yield f"Typed by: {', '.join(typed)}. The slips are kept: {slips or _NOT_WRITTEN.lower()}."
    yield f"Amended: {one.amended}. Void: {one.void}."


def _others(causes: Sequence[Joined], shown: Sequence[Joined]) -> str:
    """What else stands open, counted by how grave it is, and how much was closed."""
    names = {one.id for one in shown}
    told = []
    for severity in SEVERITIES:
        gaps = Counter(one.id for one in causes for gap in one.open if gap.finding.severity == severity)
        if gaps:
            more = "" if any(one not in names for one in gaps) else ", all above"
            causes_of = f"{len(gaps)} {many(list(gaps), 'cause', 'causes')}"
            told.append(f"{graded(severity)}: {gaps.total()} in {causes_of}{more}")
    closed = sum(len(one.closed) for one in causes)
    open_words = "; ".join(told) or "No gap stands open on this record. That is no proof that nothing is wrong"
    return f"{open_words}. Closed: {closed}."


def _reviewed(farm: FarmState, today: str) -> Iterator[str]:
    reviewed = farm.reviewed
    over = [week for week in reviewed.weeks if week.sunday < today]
    read = [week for week in over if not week.unread]
    last = f", the last that of {read[-1].monday} to {read[-1].sunday}" if read else ""
    by = f", by {listed(list(reviewed.by))}" if reviewed.by else ""
    yield f"{len(read)} of {len(over)} weeks with records that ask for it{last}{by}."
    unread = [
        f"{week.monday} to {week.sunday}: {len(week.unread)} of {len(week.entries)}" for week in over if week.unread
    ]
    if unread:
        rest = f" and {len(unread) - _MOST_UNREAD} weeks more" if len(unread) > _MOST_UNREAD else ""
        yield f"Not reviewed: {'; '.join(unread[:_MOST_UNREAD])}{rest}."
    if reviewed.changed:
        names = [one.record.name for one in reviewed.changed]
        yield f"Changed after the review: {', '.join(ranges(names))}."
