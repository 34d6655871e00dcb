"""Rows on what the checks find and what is due: each gap beside the corrective actions that name it."""

from collections.abc import Iterable, Iterator

from lotwalk.checks.causes import Joined, join
from lotwalk.checks.findings import Standing, within
from lotwalk.finding import Due, Finding
from lotwalk.judge.words import listed
from lotwalk.ledger.read.versions import versions
from lotwalk.pages.computed.computed import Asked, Worked
from lotwalk.pages.rows.reading import Reading
from lotwalk.pages.rows.versions import Period
from lotwalk.values.codes import entry_number
from lotwalk.values.times import show_when

_SIGNS = {"critical": "\u25cf", "major": "\u25b2", "minor": "\u2022"}
"""Marks that tell how grave a gap is, by their shape."""


def standing(state: Reading, period: Period) -> list[Standing]:
    """Return the findings of a period, the gravest first, each with what was done about it."""
    return list(within(state.checked.standing, period.start, period.end, state.printed))


def open_causes(state: Reading, period: Period) -> list[Joined]:
    """Return what the findings of a period that are open come of, the gravest first."""
    return [one for one in join(standing(state, period), state.checked.records) if one.open]


def causes(asked: Asked) -> Iterator[Worked]:
    """Yield what the open findings come of, each with how many those are."""
    for one in open_causes(asked.state, asked.period):
        count = len(one.open)
        row = {
            "severity": graded(one.severity),
            "text": " ".join(filter(None, (one.text, one.detail))),
            "gaps": f"{count} {'gap' if count == 1 else 'gaps'}",
            "concerns": one.concerns,
            "do": one.do,
            "action": _in_hand(one),
            "id": one.id,
        }
        yield Worked(row, name=one.id)


def graded(severity: str) -> str:
    """Return how grave something is, with its mark before it."""
    return f"{_SIGNS[severity]} {severity}"


def _in_hand(one: Joined) -> str:
    """The actions that are open on a cause, and how much of it was closed."""
    told = [f"In hand: {listed(one.actions)}"] if one.actions else []
    told += [f"{len(one.closed)} of {len(one.all)} closed"] if one.closed else []
    return ". ".join(told)


def open_gaps(asked: Asked) -> Iterable[Worked]:
    """Yield the findings that no corrective action has closed."""
    return (_gap(asked, one) for one in standing(asked.state, asked.period) if one.open)


def closed_gaps(asked: Asked) -> Iterable[Worked]:
    """Yield the findings that a corrective action closed."""
    return (_gap(asked, one) for one in standing(asked.state, asked.period) if not one.open)


def dues(asked: Asked) -> Iterator[Worked]:
    """Yield what is due; what is overdue stands out."""
    for one in asked.state.checked.ahead:
        row = {"by": one.by, "text": one.text, "about": _about(one), "do": one.do, "basis": one.basis}
        yield Worked(row, ("by",) if one.by < asked.state.checked.records.today else ())


def _gap(asked: Asked, one: Standing) -> Worked:
    finding = one.finding
    return Worked(
        {
            "severity": graded(finding.severity),
            "text": finding.text,
            "about": _about(finding),
            "do": finding.do,
            "basis": finding.basis,
            "action": "; ".join(_action(asked, name, one) for name in one.actions) or "none names it",
            "id": finding.id,
        },
        name=finding.id,
    )


def _about(one: Finding | Due) -> str:
    """Return the codes and entries that it is about; one of the whole farm is about none."""
    return listed(one.about) if one.about else ""


def _action(asked: Asked, name: str, one: Standing) -> str:
    number = entry_number(name)
    found = versions(asked.state.connection, number) if number else []
    if not found:
        return name
    said = asked.values.field(found[-1], "action").rstrip(".")
    when = show_when(found[-1].start, found[-1].end, asked.state.settings.zone)
    closed = ", closed it" if name == one.closed_by else ""
    return f"{name}, {when}{closed}: {said}" if said else f"{name}, {when}{closed}"
