"""What a check and a look ahead tell people: the gravest first, what has one cause told once, the act beside each."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from typing import Any

import click

from lotwalk.checks.causes import Joined
from lotwalk.checks.findings import Standing
from lotwalk.checks.overview import Ahead, Overview
from lotwalk.cli.output import print_table, say
from lotwalk.cli.words import count
from lotwalk.finding import MINOR, SEVERITIES, Due, sought

CAUTION = (
    "These are gaps in what is written down, by the rules named. That none is listed does not show that food is safe."
    " The local regulator, the product label and licensed advice decide."
)

CLOSING = (
    "To close one, record what was done as a corrective action about its name: lotwalk record corrective-action --about"
    " NAME --cause ... --action ... --closed DATE."
)

LOTS = (
    "Beside the name of a cause, name each lot to decide on, with what became of it, in one action or in several:"
    " --about NAME,T-1..T-3 --decision ..."
)

WHOLE = "--all tells each finding in full, with its rule, and what was closed; --only NAME --all those of one cause."

_MOST = 10
"""So many minor causes of one sort are named in a line."""
_COLUMNS = ("id", "severity", "about", "text", "do", "basis", "closed_by", "cause")


class CheckView:
    """The findings asked for."""

    def __init__(self, found: Overview, every: bool, chosen: bool = False) -> None:
        """`every` finding in full, or the causes; `chosen`: of what was asked for by name, minor ones in full too."""
        self.found = found
        self.open = found.open
        self.closed = found.closed
        self.causes = [one for one in found.causes if one.open]
        self.every = every
        self.chosen = chosen

    def json(self) -> dict[str, Any]:
        """Return the findings as JSON: open ones as `findings`, closed ones and the causes of both beside them."""
        return {
            "findings": [one.json() for one in self.open],
            "closed": [one.json() for one in self.closed],
            "causes": [one.json() for one in self.found.causes],
            "older_than_kept": self.found.kept,
        }

    def csv(self) -> tuple[Sequence[str], list[list[object]]]:
        """Return the findings as columns and rows."""
        rows: list[list[object]] = []
        for one in (*self.open, *self.closed):
            told = one.json()
            rows.append([" ".join(one.finding.about) if name == "about" else told[name] for name in _COLUMNS])
        return _COLUMNS, rows

    def table(self) -> None:
        """Print the findings for people."""
        say(self._summary())
        for severity in SEVERITIES:
            of_it = [one for one in self.open if one.finding.severity == severity]
            causes = [one for one in self.causes if one.severity == severity]
            if self.every and of_it:
                click.echo()
                say(f"{severity.upper()} ({len(of_it)})")
                for standing in of_it:
                    _print(standing)
            elif causes and not self.every:
                if severity != SEVERITIES[0]:
                    click.echo()
                say(f"{severity.upper()}: {count(len(causes), 'cause')}")
                if severity == MINOR and not self.chosen:
                    _print_lines(causes)
                else:
                    _print_causes(causes)
        if self.every and self.closed:
            click.echo()
            say(f"CLOSED BY A CORRECTIVE ACTION ({len(self.closed)})")
            for one in self.closed:
                say(f"{one.finding.id}, closed by {one.closed_by}: {one.finding.text}")
        click.echo()
        if self.open:
            lots = any(one.undecided for one in self.causes)
            say(" ".join([CLOSING, *([LOTS] if lots else []), *([] if self.every else [WHOLE])]))
        if self.found.kept:
            kept, by = count(self.found.kept, "entry", "entries"), self.found.kept_by
            say(f"{kept} older than the rules ask ({by}); nothing is deleted.")
        say(CAUTION)

    def _summary(self) -> str:
        if not self.open:
            closed = f" {count(len(self.closed), 'finding')} closed by a corrective action." if self.closed else ""
            return f"No open finding.{closed}"
        by_gravity = ", ".join(
            f"{number} {severity}"
            for severity in SEVERITIES
            if (number := sum(one.finding.severity == severity for one in self.open))
        )
        closed = f"; {len(self.closed)} closed" if self.closed and not self.every else ""
        alone = self.every or len(self.causes) == len(self.open)
        of = "" if alone else f" of {count(len(self.causes), 'cause')}"
        return f"{count(len(self.open), 'open finding')}{of}: {by_gravity}{closed}."


def _print_causes(causes: Sequence[Joined]) -> None:
    """Print a paragraph for each; of those that are mended alike, what they share stands before them once."""
    for group in _alike(causes, lambda one: one.do):
        if len(group) == 1:
            say(f"{_named(group[0])}  {_told(group[0])} Do: {group[0].do}", hang=2)
            continue
        shared = _shared(group)
        say(f"{shared} Do: {group[0].do}" if shared else f"Do for these {len(group)}: {group[0].do}", hang=2)
        for one in group:
            say(f"{_named(one)}  {_told(one, shared)}", indent=2, hang=2)


def _print_lines(causes: Sequence[Joined]) -> None:
    """Print a line for each cause, or one for all that are told alike."""
    for group in _alike(causes, lambda one: one.text):
        if len(group) == 1:
            say(f"{_named(group[0])}  {_told(group[0])}", hang=2)
        else:
            named = ", ".join(_named(one) for one in group[:_MOST])
            more = f" and {len(group) - _MOST} more" if len(group) > _MOST else ""
            say(f"{group[0].text} {named}{more}.", hang=2)


def _alike(causes: Sequence[Joined], by: Callable[[Joined], str]) -> Iterable[list[Joined]]:
    alike: dict[str, list[Joined]] = defaultdict(list)
    for one in causes:
        alike[by(one)].append(one)
    return alike.values()


def _shared(group: Sequence[Joined]) -> str:
    """What happened, where it is the same of all."""
    texts = {one.text for one in group}
    return texts.pop() if len(texts) == 1 else ""


def _named(one: Joined) -> str:
    """The name of a cause, with the number of its findings where there are several: those open, of all."""
    of = f" of {len(one.all)}" if one.closed else ""
    return f"{one.id} ({len(one.open)}{of})" if len(one.all) > 1 else one.id


def _told(one: Joined, shared: str = "") -> str:
    actions = [name for name in one.actions if name not in one.about]
    in_hand = f"In hand: {', '.join(actions)}." if actions else ""
    text = "" if one.text == shared else one.text
    return " ".join(filter(None, (text, one.detail, one.concerns, in_hand)))


def _print(one: Standing) -> None:
    finding = one.finding
    click.echo()
    say(finding.id if finding.comes_of == finding.id else f"{finding.id}, of {finding.comes_of}")
    say(f"  {finding.text}")
    in_hand = f" (in hand: {', '.join(one.actions)}, not closed)" if one.actions else ""
    say(f"  Do: {finding.do}{in_hand}")
    if finding.basis:
        say(f"  Rule: {finding.basis}")


class NamesView:
    """What the checks look for, by name."""

    def __init__(self) -> None:
        self.rows = [(name, " or ".join(one.severities), one.title) for name, one in sought().items()]

    def json(self) -> dict[str, Any]:
        """Return it as JSON, the usual severity first."""
        rows = [
            {"name": name, "severities": list(one.severities), "title": one.title} for name, one in sought().items()
        ]
        return {"names": rows}

    def csv(self) -> tuple[Sequence[str], list[list[object]]]:
        """Return it as columns and rows."""
        return ("name", "severity", "title"), [list(row) for row in self.rows]

    def table(self) -> None:
        """Print it for people."""
        print_table(("Name", "Severity", "What it is"), self.rows, whole=1)


class DueView:
    """What must be done within so many days of `today`."""

    def __init__(self, found: Ahead) -> None:
        self.found = found.due
        self.overdue = found.overdue
        self.today = found.today
        self.days = found.days

    def json(self) -> dict[str, Any]:
        """Return it as JSON."""
        return {
            "today": self.today,
            "days": self.days,
            "due": [
                {
                    "by": one.by,
                    "overdue": one.by < self.today,
                    "about": list(one.about),
                    "text": one.text,
                    "do": one.do,
                    "basis": one.basis,
                }
                for one in self.found
            ],
        }

    def csv(self) -> tuple[Sequence[str], list[list[object]]]:
        """Return it as columns and rows."""
        columns = ("by", "overdue", "about", "text", "do", "basis")
        rows: list[list[object]] = [
            [one.by, "yes" if one.by < self.today else "no", " ".join(one.about), one.text, one.do, one.basis]
            for one in self.found
        ]
        return columns, rows

    def table(self) -> None:
        """Print it for people."""
        if not self.found:
            say(f"Nothing is due within {count(self.days, 'day')} of {self.today}.")
            return
        rows = [[self._when(one), f"{one.text}.", one.do] for one in self.found]
        title = f"Due within {count(self.days, 'day')} of {self.today}"
        overdue = f", {len(self.overdue)} overdue" if self.overdue else ""
        print_table(("By", "What", "Do"), rows, title=f"{title}: {len(rows)}{overdue}", whole=1)
        rules = dict.fromkeys(one.basis for one in self.found if one.basis)
        say("By the rules: " + "; ".join(rules) + ".")

    def _when(self, one: Due) -> str:
        if one.by < self.today:
            return f"{one.by} !"
        return "today" if one.by == self.today else one.by
