"""What a check and a look ahead tell people: the gravest first, what is alike folded together, the act beside each."""

from collections import defaultdict
from collections.abc import Sequence
from typing import Any

import click

from lotwalk.checks.findings import Standing
from lotwalk.checks.overview import Ahead, Overview
from lotwalk.cli.output import print_table, say
from lotwalk.cli.words import code_list, count
from lotwalk.finding import SEVERITIES, Due

CAUTION = (
    "These are gaps in what is written down, by the rules named. That none is listed does not show that food is safe."
    " The local regulator, the product label and licensed advice decide."
)

CLOSING = (
    "To close one, record what was done as a corrective action about its name, with the day of closing: lotwalk record"
    " corrective-action --about NAME --cause ... --action ... --closed DATE. What was closed stays: --all shows it."
)

_FEW = {"critical": 1_000, "major": 12, "minor": 3}
"""So many findings of one check are told in full, by their gravity; more are folded into one line."""
_MOST = 10
"""So many are named in that line."""
_COLUMNS = ("id", "severity", "about", "text", "do", "basis", "closed_by")


class CheckView:
    """The findings asked for."""

    def __init__(self, found: Overview, every: bool) -> None:
        self.found = found
        self.open = found.open
        self.closed = found.closed
        self.every = every

    def json(self) -> dict[str, Any]:
        """Return the findings as JSON: open ones as `findings`, those that were closed beside them."""
        return {
            "findings": [one.json() for one in self.open],
            "closed": [one.json() for one in self.closed],
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
            if of_it:
                click.echo()
                say(f"{severity.upper()} ({len(of_it)})")
                self._section(of_it, 1_000_000 if self.every else _FEW[severity])
        if self.every and self.closed:
            click.echo()
            say(f"CLOSED BY A CORRECTIVE ACTION ({len(self.closed)})")
            for one in self.closed:
                say(f"{one.finding.id}, closed by {one.closed_by}: {one.finding.text}")
        click.echo()
        if self.open:
            say(CLOSING)
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
        closed = f"; {len(self.closed)} closed (--all lists them)" if self.closed and not self.every else ""
        return f"{count(len(self.open), 'open finding')}: {by_gravity}{closed}."

    def _section(self, found: Sequence[Standing], few: int) -> None:
        alike: dict[str, list[Standing]] = defaultdict(list)
        for one in found:
            alike[one.finding.check].append(one)
        folded = {name for name, of_name in alike.items() if len(of_name) > few}
        for one in found:
            if one.finding.check not in folded:
                _print(one)
        for name in sorted(folded):
            _print_folded(name, alike[name])


def _print(one: Standing) -> None:
    finding = one.finding
    click.echo()
    say(finding.id)
    say(f"  {finding.text}")
    in_hand = f" (in hand: {', '.join(one.actions)}, not closed)" if one.actions else ""
    say(f"  Do: {finding.do}{in_hand}")
    if finding.basis:
        say(f"  Rule: {finding.basis}")


def _print_folded(name: str, alike: Sequence[Standing]) -> None:
    first = alike[0].finding
    named = [one.finding.about[0] for one in alike]
    more = f" and {len(named) - _MOST} more" if len(named) > _MOST else ""
    click.echo()
    say(f"{name}: {len(alike)} alike ({code_list(named[:_MOST])}{more}; --only {name} --all lists each)")
    say(f"  Such as: {first.text}")
    say(f"  Do: {first.do}")
    if first.basis:
        say(f"  Rule: {first.basis}")


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
