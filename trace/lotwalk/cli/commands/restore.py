"""`lotwalk restore BACKUP`: a backup in the place of the ledger."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lotwalk.cli.desk import desk_of, on_terminal

if TYPE_CHECKING:
    from lotwalk.ledger.keep.restore import Restoring


@click.command()
@click.argument("backup", metavar="BACKUP", type=click.Path(path_type=Path))
@click.option("--yes", is_flag=True, help="Do not ask; needed where nobody can be asked.")
@click.pass_context
def restore(context: click.Context, backup: Path, yes: bool) -> None:
    """Put a backup in the place of the ledger, and set aside what lies there.

    For when the ledger's file is damaged or lost, or when a program was stopped and what it left does not fit. The
    backup is verified first and stays as it is. What lies in the ledger's place is renamed with the day and the hour,
    together with the files beside it, and never deleted. Do not copy a backup there by hand.

    If the power fails meanwhile, the next command on the ledger finishes it.
    """
    from lotwalk.cli.output import print_pairs, say, say_command
    from lotwalk.cli.words import code_list, count
    from lotwalk.errors import LedgerError
    from lotwalk.ledger.keep.restore import restore as put_back
    from lotwalk.store.engine import HEAD

    def agreed(told: Restoring) -> bool:
        _tell(told)
        if yes:
            return True
        if not on_terminal():
            raise LedgerError("nothing was changed: nobody can be asked here whether to go on; add --yes")
        return click.confirm("Put the backup in its place?", err=True)

    desk = desk_of(context)
    done = put_back(desk.ledger, backup, desk.kinds(), agreed)
    if done is None:
        say("Nothing was changed.")
        return
    told = done.told
    say(f"{told.ledger.name} is the backup now: {count(told.after.size, 'entry', 'entries')}.")
    if done.aside:
        say("Set aside, in the same folder:")
        print_pairs([(one.name, "") for one in done.aside])
    if told.beyond:
        say(f"What the backup lacks stands there in {code_list(told.lacking)}. To read it and write it down again:")
        say_command(f"lotwalk --ledger {done.aside[0]} show {told.lacking[0]}")
    if told.form < HEAD:
        say(f"It is of an older form ({told.form}). Bring it up to date:")
        say_command(f"lotwalk --ledger {told.ledger} migrate")
    if told.unknown:
        say(
            f"It holds records of kinds that are not known here ({', '.join(told.unknown)}). Kinds of record of your"
            " own are files, and in no backup: put their folder back too, and name it with --kinds."
        )
    elif desk.own_kinds:
        folders = ", ".join(map(str, desk.own_kinds))
        say(f"Kinds of record of your own are files, and in no backup: see that {folders} is as it should be.")


def _tell(told: Restoring) -> None:
    from lotwalk.cli.output import print_pairs, say
    from lotwalk.cli.words import count

    say(f"{told.backup}: {count(told.after.size, 'entry', 'entries')}, each as it was recorded.")
    print_pairs([("Head", f"{told.after.size}:{told.after.root.hex()}")])
    if not told.there:
        say(f"{told.ledger}: nothing lies there.")
    elif told.before is None:
        say(f"{told.ledger}: what lies there cannot be read; how many entries it holds is not known.")
    else:
        say(f"{told.ledger}: what lies there holds {count(told.before.size, 'entry', 'entries')}.")
        print_pairs([("Head", f"{told.before.size}:{told.before.root.hex()}")])
    if told.of_another_farm:
        say("THE BACKUP IS OF ANOTHER BOOK: not even the first entries of the two are the same.")
    elif told.beyond:
        be = "is" if told.beyond == 1 else "are"
        say(f"The newest {count(told.beyond, 'entry', 'entries')} of these {be} not in the backup.")
        if told.shared < told.after.size:
            say(f"From entry {told.shared + 1} on the two differ: both were written to.")
