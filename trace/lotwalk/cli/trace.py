"""`lotwalk trace CODE`: the walk, back to what could have caused or forward to what could be concerned."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from lotwalk.cli.desk import desk_of
from lotwalk.cli.output import format_option

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from lotwalk.kinds.library import Kinds
    from lotwalk.ledger.model import ThingRow
    from lotwalk.walk.model import Start

WINDOWED = ("item", "water-source", "person", "place")
"""Classes of thing that a walk may start from within a window."""


@click.command()
@click.argument("code")
@click.option("--back", is_flag=True, help="To all that could have caused what is wrong with it.")
@click.option("--forward", is_flag=True, help="To all that it could have passed something to.")
@click.option(
    "--from", "first", metavar="TIME", help="Start only from its uses since then (items, water, people, places)."
)
@click.option("--until", "last", metavar="TIME", help="Start only from its uses until then.")
@click.option(
    "--distrust",
    multiple=True,
    metavar="WHAT",
    help="Do not believe a clean break: an entry (E12), those that relied on a lot, those of a kind, those that passed"
    " without the temperature or pH they need (unshown), or all.",
)
@click.option("--through", multiple=True, type=click.Choice(["people", "places"]), help="Walk through these as well.")
@click.option("--ring", type=click.IntRange(1, 5), metavar="1..5", help="Show what lies in this ring or closer.")
@click.option("--all", "every", is_flag=True, help="Show everything reached, however much it is.")
@format_option
@click.pass_context
def trace(
    context: click.Context,
    code: str,
    back: bool,
    forward: bool,
    first: str | None,
    last: str | None,
    distrust: tuple[str, ...],
    through: tuple[str, ...],
    ring: int | None,
    every: bool,
    form: str,
) -> None:
    """Walk from CODE, back to causes or forward to effects.

    All that could have passed something to it, or that it could have passed something to. A complaint stands for its
    deliveries and lots, or for what its customer got in that time.
    """
    from lotwalk.cli.output import print_csv, print_json
    from lotwalk.cli.sought import sought
    from lotwalk.cli.trace_view import TraceView
    from lotwalk.errors import NotUnderstood
    from lotwalk.ledger.read.things import things_of, void_among
    from lotwalk.ledger.spellings import spelled_too
    from lotwalk.values.times import read_when
    from lotwalk.walk.distrust import doubt
    from lotwalk.walk.model import EVER
    from lotwalk.walk.walk import check_read, walk

    if back is forward:
        raise NotUnderstood(
            "it is not said which way", "either --back (to causes) or --forward (to what it could concern)"
        )
    direction = "back" if back else "forward"
    book = desk_of(context).book()
    with book.ledger.reading() as connection:
        zone = book.ledger.settings(connection).zone
        window = None
        if first or last:
            start = read_when(first, zone).start if first else -EVER
            window = (start, read_when(last, zone).end if last else EVER)
        named = sought(connection, code, book.ledger.kinds)
        thing = named.thing
        starts = _starts(connection, book.ledger.kinds, thing, window)
        doubted = doubt(connection, distrust, book.older_verdicts(connection))
        found = walk(connection, direction, starts, doubt=doubted, through=through, sure=True)
        check_read(connection, book.ledger.kinds, [one.thing for one in starts], [found])
        void = void_among(connection, [one.thing.id for one in found.reached])
        others = [one.thing for one in starts if one.thing != thing.id]
        stands_for = [one.code for one in things_of(connection, others)]
        met = [one.thing.id for one in found.reached]
        spelled = spelled_too(connection, book.ledger.kinds, [one.thing for one in starts], met)
    view = TraceView(named, found, void, zone, book.ledger.kinds, distrust, ring, stands_for, spelled)
    if form != "table":
        named.tell()
    if form == "json":
        print_json(view.json())
    elif form == "csv":
        print_csv(*view.csv())
    else:
        view.table(every=every)


def _starts(connection: Connection, kinds: Kinds, thing: ThingRow, window: tuple[int, int] | None) -> list[Start]:
    from lotwalk.errors import NotUnderstood
    from lotwalk.recall.asking.asked import COMPLAINT, ask
    from lotwalk.recall.asking.box import apart
    from lotwalk.walk.model import Start

    if window and thing.cls not in WINDOWED:
        raise NotUnderstood(
            f"{thing.code} is a {thing.kind.replace('-', ' ')}, and --from and --until do not go with it",
            "an item, a water source, a person or a place with a window",
        )
    if window and window[1] < window[0]:
        raise NotUnderstood("--until is before --from", "the earlier time in --from")
    if thing.kind == COMPLAINT:
        (asked,) = ask(connection, [thing.code])
        return [Start(key) for key in apart(connection, kinds, asked).starts]
    return [Start(thing.id, window)]
