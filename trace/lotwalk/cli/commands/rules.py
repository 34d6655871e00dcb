"""`lotwalk rules`: the limits and intervals in force, and a grower's own rule set checked."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from lotwalk.cli.desk import desk_of
from lotwalk.cli.output import format_option, print_view

if TYPE_CHECKING:
    from lotwalk.judge.ruleset.rules import RuleSet


@click.group()
def rules() -> None:
    """Show the limits and intervals that the book goes by, or check a rule set of your own."""


@rules.command()
@click.argument("name", required=False)
@format_option
@click.pass_context
def show(context: click.Context, name: str | None, form: str) -> None:
    """Print every number in force, with where it is published and how sure that is.

    Without a NAME (general, us, eu or a file) the ledger's own rule set.
    """
    from lotwalk.cli.views.rules_view import RulesView

    view = RulesView(_named(context, name))
    print_view(view, form)


@rules.command()
@click.argument("file")
def check(file: str) -> None:
    """Check a rule set of your own, and say what it changes. Nothing is written."""
    from lotwalk.cli.output import say
    from lotwalk.cli.views.rules_view import RulesView, changes
    from lotwalk.judge.ruleset.rules import RuleSet

    own = RuleSet.load(file)
    base = RuleSet.load(own.based_on) if own.based_on in RuleSet.shipped() else None
    say(f"{own.title}: understood, {len(own.limits)} limits.")
    if base:
        told = changes(base, own)
        say(f"It changes {len(told)} of {own.based_on}." if told else f"It is the same as {own.based_on}.")
        RulesView(own).rows_of(told)
    say(
        f"To go by it: `lotwalk record farm --rules {file}` with the farm's other settings. Findings follow it from"
        " then on; each verdict keeps the rules that it was judged by."
    )


def _named(context: click.Context, name: str | None) -> RuleSet:
    from lotwalk.book import rules_in_force
    from lotwalk.judge.ruleset.rules import RuleSet

    if name:
        return RuleSet.load(name)
    book = desk_of(context).book()
    with book.ledger.reading() as connection:
        return rules_in_force(connection, book.ledger.settings(connection))
