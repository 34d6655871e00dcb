"""`lotwalk backup FILE`: a verified copy of the ledger."""

from __future__ import annotations

import click

from lotwalk.cli.desk import desk_of


@click.command()
@click.argument("file", metavar="FILE")
@click.pass_context
def backup(context: click.Context, file: str) -> None:
    """Copy the ledger to FILE, as it stands at this moment, and verify the copy.

    FILE is a ledger like any other: `lotwalk --ledger FILE` opens it. A ledger on a PostgreSQL server becomes a file
    that needs no server. Nothing is ever written over. Keep the copy, and the head that is printed, in another place.
    """
    from pathlib import Path

    from lotwalk.cli.output import print_pairs, say, say_command
    from lotwalk.cli.words import count
    from lotwalk.ledger.keep.backup import back_up
    from lotwalk.store.engine import path_of

    desk = desk_of(context)
    path = Path(file)
    ledger = desk.book().ledger
    found = back_up(ledger, path)
    if found.ok:
        size = f"{path.stat().st_size / 1_000_000:,.1f} MB"
        say(f"{path}: {count(found.entries, 'entry', 'entries')}, each as it was recorded; {size}.")
        print_pairs([("Head", f"{found.head.size}:{found.head.root.hex()}")])
        if own := path_of(ledger.engine):
            say("If the ledger is lost or damaged one day, copy nothing over it. This sets aside what lies there:")
            say_command(f"lotwalk --ledger {own} restore {path}")
    else:
        why = f"{found.first_bad}: {found.why}" if found.first_bad else found.why
        say(f"{path}: copied, but THE LOG IS NOT WHOLE: {why}.")
        say("Keep this copy and every earlier one, and compare them with the heads on printed pages.")
    if desk.own_kinds:
        folders = ", ".join(map(str, desk.own_kinds))
        say(f"Kinds of record of your own are files, and not in it: copy {folders} too.")
    if not found.ok:
        context.exit(1)
