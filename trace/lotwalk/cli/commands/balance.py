"""`lotwalk balance LOT...`: what was made of lots, where it went, and what is missing."""

from __future__ import annotations

import click

from lotwalk.cli.desk import desk_of
from lotwalk.cli.output import format_option, print_view


@click.command()
@click.argument("codes", metavar="LOT...", nargs=-1, required=True)
@click.option("--onward", is_flag=True, help="Also every lot with some of it inside, and how much of that went out.")
@format_option
@click.pass_context
def balance(context: click.Context, codes: tuple[str, ...], onward: bool, form: str) -> None:
    """Weigh up lots: made and returned against used, delivered, disposed of, sampled and on hand.

    The exit status is 1 when a lot does not balance within the rule set's tolerance. Of several lots there is a total
    too, in which nothing is counted twice. Ranges may be written: P-1..P-9.
    """
    from lotwalk.cli.views.balance_view import BalanceView

    book = desk_of(context).book()
    weighed = book.balance(codes, onward=onward)
    print_view(BalanceView(weighed, book.setting().units, book.ledger.kinds), form)
    if not weighed.balanced:
        context.exit(1)
