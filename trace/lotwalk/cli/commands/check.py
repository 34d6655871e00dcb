"""`lotwalk check` and `lotwalk due`: what is missing, late or out of limits, and what must be done next."""

from __future__ import annotations

import click

from lotwalk.cli.desk import desk_of
from lotwalk.cli.output import format_option, print_view

_ON = "As on this day instead of today, such as 2026-03-02."


@click.command()
@click.option("--from", "since", metavar="DATE", help="Nothing before this day, such as 2026-03-01.")
@click.option("--until", "until", metavar="DATE", help="Nothing after this day.")
@click.option(
    "--only", metavar="WORD", multiple=True, help="Critical, major or minor, or a check, cause or finding by name."
)
@click.option("--all", "every", is_flag=True, help="Every finding in full, and those that a corrective action closed.")
@click.option("--names", is_flag=True, help="What is looked for, and how grave each is; nothing is looked over.")
@click.option("--on", "day", metavar="DATE", help=_ON)
@format_option
@click.pass_context
def check(
    context: click.Context,
    since: str | None,
    until: str | None,
    only: tuple[str, ...],
    every: bool,
    names: bool,
    day: str | None,
    form: str,
) -> None:
    """List what the records show to be missing, late or out of limits.

    Each finding has a name that stays, the rule that it comes from, and one thing to do. Those with one cause are told
    as one, under the name of the cause; --all lists them. A corrective action that names the finding, or the cause and
    each lot that it concerns, with the day on which it was closed, closes it. The exit status is 1 while any is open.
    """
    from lotwalk.cli.views.check_view import CheckView, NamesView

    if names:
        print_view(NamesView(), form)
        return
    found = desk_of(context).book().check(since=since, until=until, only=only, on=day)
    print_view(CheckView(found, every, bool(only)), form)
    if found.open:
        context.exit(1)


@click.command()
@click.option("--days", type=click.IntRange(0, 3660), default=14, show_default=True, help="How far to look ahead.")
@click.option("--on", "day", metavar="DATE", help=_ON)
@format_option
@click.pass_context
def due(context: click.Context, days: int, day: str | None, form: str) -> None:
    """List what must be done next and by when, what is overdue first.

    The exit status is 1 while anything is overdue.
    """
    from lotwalk.cli.views.check_view import DueView

    found = desk_of(context).book().due(days, on=day)
    print_view(DueView(found), form)
    if found.overdue:
        context.exit(1)
