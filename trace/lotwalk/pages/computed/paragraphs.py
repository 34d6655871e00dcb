"""The crosswalk: for each paragraph of a rule set the records that hold what it asks for, or that there are none."""

from collections import Counter
from collections.abc import Iterable, Iterator

from lotwalk.checks.farm_state import reviewed
from lotwalk.checks.findings import Standing
from lotwalk.finding import SEVERITIES
from lotwalk.ledger.model import Version
from lotwalk.ledger.read.versions import entries
from lotwalk.pages.computed.computed import Asked, Worked
from lotwalk.pages.computed.gaps import standing
from lotwalk.pages.definitions.model import Paragraph, Where
from lotwalk.pages.rows.versions import Period
from lotwalk.pages.sheet.end_notes import CONFIDENCE
from lotwalk.values.text import Fields
from lotwalk.values.yaml_text import lines_of

HELD, NONE, NOT_ASKED, OUTSIDE = "Held", "None recorded in this period", "Not applicable", "Not in this book"


def paragraphs(asked: Asked) -> Iterable[Worked]:
    """Yield the paragraphs of the rule sets in force, each with where its records print and how many there are."""
    chain = rules_in_force(asked)
    for one in asked.definition.paragraphs:
        if one.rules and not chain & set(one.rules):
            continue
        status, bold = _status(asked, one)
        gaps = Counter(found.finding.severity for found in _gaps(asked, one))
        titles = [asked.state.kinds[kind].title for kind in one.kinds]
        yield Worked(
            {
                "rule": one.citation.rule,
                "says": f"{one.citation.says}{CONFIDENCE[one.citation.confidence]}",
                "kept": ", ".join(titles),
                "report": one.report,
                "status": status,
                "gaps": ", ".join(f"{gaps[severity]} {severity}" for severity in SEVERITIES if gaps[severity]),
                "page": _where_printed(asked, one),
            },
            bold=("status",) if bold else (),
        )


def _gaps(asked: Asked, one: Paragraph) -> Iterable[Standing]:
    """The open findings of the checks that bear on a paragraph."""
    return (found for found in standing(asked.state, asked.period) if found.open and found.finding.check in one.checks)


def _where_printed(asked: Asked, one: Paragraph) -> str:
    """The pages on which the logs of a paragraph's kinds begin, where they are known."""
    pages = sorted({asked.pages[kind] for kind in one.kinds if kind in asked.pages})
    return f"page {', '.join(map(str, pages))}" if pages else ""


def rules_in_force(asked: Asked) -> set[str]:
    """Return the name of the farm's rule set and of all that it is based on."""
    found = {asked.state.settings.rules}
    for part in lines_of(asked.state.rules.text, [asked.state.settings.rules], []):
        if isinstance(part, Fields) and part.get("based_on"):
            found.add(str(part["based_on"]))
    return found


def _status(asked: Asked, one: Paragraph) -> tuple[str, bool]:
    if one.weeks:
        return _by_weeks(asked)
    if not one.kinds:
        return f"{OUTSIDE}: {one.outside}", False
    held = sum(1 for kind in one.kinds for _ in _found(asked, kind, one.where, asked.period))
    if held:
        return f"{HELD}: {held} {'entry' if held == 1 else 'entries'} in this period", False
    whole = Period(None, asked.period.until, None, asked.period.end)
    if one.when and next(_found(asked, one.when, one.when_where, whole), None) is None:
        title = asked.state.kinds[one.when].title.lower()
        return f"{NOT_ASKED}: {one.outside or f'no {title} of that kind is on record'}", False
    earlier = sum(1 for kind in one.kinds for _ in _found(asked, kind, one.where, whole))
    before = f"; {earlier} from before it" if earlier else ""
    return f"{NONE}{before}", not earlier


def _by_weeks(asked: Asked) -> tuple[str, bool]:
    """How many weeks are reviewed, of those over with records that ask for it."""
    records = asked.state.checked.records
    weeks = [one for one in reviewed(records, asked.period.start, asked.period.end).weeks if one.sunday < records.today]
    held = sum(1 for one in weeks if not one.unread)
    return f"{HELD}: {held} of the {len(weeks)} weeks with records that ask for it", held < len(weeks)


def _found(asked: Asked, kind: str, where: Where, period: Period) -> Iterator[Version]:
    found = entries(asked.state.connection, kind, start=period.start, end=period.end)
    return (version for version in found if all(_holds(asked, version, *one) for one in where))


def _holds(asked: Asked, version: Version, name: str, wanted: tuple[str, ...]) -> bool:
    if name == "verdict":
        sides = {"passed": version.judged.passed, "failed": version.judged.failed}
        return any(sides[side] for side in wanted)
    text = asked.values.field(version, name).casefold()
    return any(word.casefold() in text for word in wanted)
