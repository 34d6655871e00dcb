"""The command `lotwalk`: its global options, its commands, and the one place where failures become words."""

import contextlib
import os
import sys
from collections.abc import Sequence
from pathlib import Path

import click

from lotwalk import __version__
from lotwalk.cli.commands.amend import amend, void
from lotwalk.cli.commands.backup import backup
from lotwalk.cli.commands.balance import balance
from lotwalk.cli.commands.check import check, due
from lotwalk.cli.commands.demo import demo
from lotwalk.cli.commands.dilute import dilute
from lotwalk.cli.commands.export import export
from lotwalk.cli.commands.ledger import kinds, migrate, start, verify
from lotwalk.cli.commands.load import load
from lotwalk.cli.commands.log import log
from lotwalk.cli.commands.printing.form import form
from lotwalk.cli.commands.printing.labels import labels
from lotwalk.cli.commands.printing.reports import report
from lotwalk.cli.commands.proof import proof
from lotwalk.cli.commands.recall import recall
from lotwalk.cli.commands.record import record
from lotwalk.cli.commands.restore import restore
from lotwalk.cli.commands.rules import rules
from lotwalk.cli.commands.show import show
from lotwalk.cli.commands.trace import trace
from lotwalk.cli.desk import DEFAULT_LEDGER, Desk, login_name
from lotwalk.errors import Damaged, LotwalkError

BAD_NEWS = 1
NOT_UNDERSTOOD = 2
STOPPED = 130
"""As shells count a program that was interrupted from the keyboard."""
PIPE_CLOSED = 141
"""As shells count a program whose reader had enough, such as `head`."""


class Program(click.Group):
    """The command with its subcommands in the order of a farm's day, not of the alphabet."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names of the commands, as they were added."""
        return list(self.commands)


@click.group(cls=Program, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.option(
    "--ledger",
    metavar="FILE-OR-URL",
    envvar="LOTWALK_LEDGER",
    default=DEFAULT_LEDGER,
    show_default=True,
    show_envvar=True,
    help="The record book: a file, or postgresql://...",
)
@click.option(
    "--kinds",
    "own_kinds",
    metavar="FOLDER",
    envvar="LOTWALK_KINDS",
    multiple=True,
    type=click.Path(path_type=Path),
    show_envvar=True,
    help="A folder with kinds of record of your own. May be given several times.",
)
@click.option(
    "--typed-by",
    metavar="NAME",
    envvar="LOTWALK_TYPED_BY",
    show_envvar=True,
    help="Who is typing; kept apart from who did it. The login name, if nothing is said.",
)
@click.version_option(__version__, prog_name="lotwalk", message="%(prog)s %(version)s")
@click.pass_context
def program(context: click.Context, ledger: str, own_kinds: tuple[Path, ...], typed_by: str | None) -> None:
    """Keep a farm's food-safety records, and walk them on a bad day.

    What was washed, sown, cut, packed and delivered, with what, by whom; and how far a fault could have travelled.
    The book records and reckons. It never says that food is safe: the local regulator, the product label and
    licensed advice decide.
    """
    context.obj = Desk(ledger, own_kinds, login_name() if typed_by is None else typed_by)


for command in (
    start,
    record,
    load,
    amend,
    void,
    show,
    log,
    trace,
    recall,
    balance,
    dilute,
    check,
    due,
    rules,
    report,
    form,
    labels,
    export,
    verify,
    proof,
    backup,
    restore,
    migrate,
    kinds,
    demo,
):
    program.add_command(command)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status.

    0: done. 1: the answer is bad news. 2: not understood, and nothing was written. Whatever goes wrong is told in
    words on stderr, never as a traceback.
    """
    _ready_streams()
    try:
        status = program.main(arguments, prog_name="lotwalk", standalone_mode=False)
        sys.stdout.flush()
        return status if isinstance(status, int) else 0
    except (click.Abort, KeyboardInterrupt):
        return _say("Stopped.", STOPPED)
    except click.ClickException as error:
        error.show()
        return NOT_UNDERSTOOD
    except LotwalkError as error:
        return _say(str(error), BAD_NEWS if isinstance(error, Damaged) else NOT_UNDERSTOOD)
    except BrokenPipeError:
        return _pipe_closed()
    except SystemExit as leaving:
        # click leaves with 1 in this way when it met the closed pipe itself, else after completing a word.
        return _pipe_closed() if leaving.code == 1 else 0
    except UnicodeEncodeError as error:
        wrong = error.object[error.start : error.end]
        return _say(f"{wrong!r} is not text that can be kept; expected letters of Unicode", NOT_UNDERSTOOD)
    except OSError as error:
        return _say(f"{error.filename or 'the system'}: {error.strerror or error}", NOT_UNDERSTOOD)


def _say(words: str, status: int) -> int:
    with contextlib.suppress(OSError):
        click.echo(words, err=True)
    return status


def _pipe_closed() -> int:
    """Let Python's last flush go nowhere, so that it does not complain of the closed pipe either."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return PIPE_CLOSED


def _ready_streams() -> None:
    """Make the streams take whatever comes: closed ones swallow it, letters that they do not have become `\\x..`."""
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            # Open for as long as the process is.
            setattr(sys, name, Path(os.devnull).open(mode, encoding="utf-8"))  # noqa: SIM115
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure:
            reconfigure(errors="backslashreplace")
