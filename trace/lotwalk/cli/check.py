"""`lotwalk check` and `lotwalk due`: what is missing, late or out of limits, and what must be done next."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from lotwalk.cli.desk import desk_of
from lotwalk.cli.output import format_option, print_view

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

_ON = "As on this day instead of today, such as 2026-03-02."


@click.command()
@click.option("--from", "first", metavar="DATE", help="Nothing before this day, such as 2026-03-01.")
@click.option("--until", "last", metavar="DATE", help="Nothing after this day.")
@click.option("--only", metavar="WORD", multiple=True, help="Critical, major or minor, or a check or finding by name.")
@click.option("--all", "every", is_flag=True, help="Every finding in full, and those that a corrective action closed.")
@click.option("--on", "day", metavar="DATE", help=_ON)
@format_option
@click.pass_context
def check(
    context: click.Context,
    first: str | None,
    last: str | None,
    only: tuple[str, ...],
    every: bool,
    day: str | None,
    form: str,
) -> None:
    """List what the records show to be missing, late or out of limits.

    Each finding has a name that stays, the rule that it comes from, and one thing to do. A corrective action that
    names the finding, with the day on which it was closed, closes it. The exit status is 1 while any is open.
    """
    from lotwalk.checks.findings import find, within
    from lotwalk.checks.subjects import CHECKS
    from lotwalk.checks.writing import kept_longer
    from lotwalk.cli.check_view import CheckView
    from lotwalk.values.times import read_when

    book = desk_of(context).book()
    with book.ledger.reading() as connection:
        zone = book.ledger.settings(connection).zone
        records = book.records(connection, _end_of(day, zone))
        start = read_when(first, zone).start if first else None
        end = read_when(last, zone).end if last else None
        found = list(within(find(records, CHECKS), start, end, records.now))
        view = CheckView(found, only, every, kept_longer(records), records.basis("records.kept"))
    print_view(view, form)
    if view.open:
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
    from lotwalk.checks.findings import due as look_ahead
    from lotwalk.checks.subjects import LOOKS
    from lotwalk.cli.check_view import DueView

    book = desk_of(context).book()
    with book.ledger.reading() as connection:
        records = book.records(connection, _end_of(day, book.ledger.settings(connection).zone))
        view = DueView(look_ahead(records, LOOKS, days), records.today, days)
    print_view(view, form)
    if view.overdue:
        context.exit(1)


def _end_of(day: str | None, zone: ZoneInfo) -> int | None:
    from lotwalk.values.times import read_when

    return read_when(day, zone).end if day else None
