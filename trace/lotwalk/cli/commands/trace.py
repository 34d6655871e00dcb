"""`lotwalk trace CODE`: the walk, back to what could have caused or forward to what could be concerned."""

from __future__ import annotations

import click

from lotwalk.cli.desk import desk_of
from lotwalk.cli.older import level_option
from lotwalk.cli.output import format_option


@click.command()
@click.argument("code")
@click.option("--back", is_flag=True, help="To all that could have caused what is wrong with it.")
@click.option("--forward", is_flag=True, help="To all that it could have passed something to.")
@click.option(
    "--from", "since", metavar="TIME", help="Start only from its uses since then (items, water, people, places)."
)
@click.option("--until", "until", metavar="TIME", help="Start only from its uses until then.")
@click.option(
    "--distrust",
    multiple=True,
    metavar="WHAT",
    help="Do not believe a clean break: an entry (E12), those that relied on a lot, those of a kind, those that passed"
    " without the temperature or pH they need (unshown), or all.",
)
@click.option("--through", multiple=True, type=click.Choice(["people", "places"]), help="Walk through these as well.")
@level_option("Show what lies in this level or closer.")
@click.option("--all", "every", is_flag=True, help="Show everything reached, however much it is.")
@format_option
@click.pass_context
def trace(
    context: click.Context,
    code: str,
    back: bool,
    forward: bool,
    since: str | None,
    until: str | None,
    distrust: tuple[str, ...],
    through: tuple[str, ...],
    level: int | None,
    every: bool,
    form: str,
) -> None:
    """Walk from CODE, back to causes or forward to effects.

    All that could have passed something to it, or that it could have passed something to. A complaint stands for its
    deliveries and lots, or for what its customer got in that time.
    """
    from lotwalk.cli.output import print_view, shown
    from lotwalk.cli.views.trace_view import TraceView
    from lotwalk.errors import NotUnderstood
    from lotwalk.walk.model import BACK, FORWARD

    if back is forward:
        raise NotUnderstood(
            "it is not said which way", "either --back (to causes) or --forward (to what it could concern)"
        )
    book = desk_of(context).book()
    way = BACK if back else FORWARD
    found = book.trace(code, way, since=since, until=until, distrust=distrust, through=through)
    view = TraceView(found, book.setting().zone, book.ledger.kinds, level, every=every)
    if view.read_as and form != "table":
        click.echo(shown(view.read_as.sentence), err=True)
    print_view(view, form)
