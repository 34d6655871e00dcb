"""`lotwalk demo`: a made-up farm, loaded and walked."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lotwalk.cli.desk import desk_of

if TYPE_CHECKING:
    from lotwalk.book import Book

DEFAULT = "lotwalk-demo.db"
REPORT = "sanitising"
"""The log that is printed beside the demo's ledger."""
LAST_DAY = "2026-03-01"
"""The day after the farm's last one."""
FURTHER = (
    "show M-045",
    "trace S-FEN-1 --forward",
    "recall Q-1 Q-2 --cause S-FEN-1",
    "report recall Q-1 Q-2",
    "check --on 2026-03-02",
    "due --on 2026-03-02",
    "report pack --from 2026-01-01 --until 2026-02-28",
)
"""What to ask of the demo's ledger next."""


@click.command()
@click.option("--into", metavar="FILE", help=f"Where to put it: {DEFAULT}, if neither this nor --ledger says.")
@click.option("--fresh", is_flag=True, help="Replace an earlier demo there.")
@click.pass_context
def demo(context: click.Context, into: str | None, fresh: bool) -> None:
    """Load a made-up farm, and walk it from two complaints.

    Into a ledger of its own: eight weeks of a grower of cut greens, with what goes wrong on a farm. Nothing in it
    is real.
    """
    from lotwalk import demo as sample
    from lotwalk.cli.commands.load import progress
    from lotwalk.cli.words import count
    from lotwalk.store.engine import name_of

    where = into or _ledger_said(context) or DEFAULT
    _make_room(Path(where), fresh)
    sheets = sample.sheets()
    book, clock = sample.start(where, sheets[0])
    where = name_of(book.ledger.engine)
    total = sum(len(sheet.entries) for sheet in sheets)
    with progress("The farm's eight weeks", total) as more:
        for sheet in sheets:
            sample.load(book, clock, sheet, more)
    corrections = sample.correct(book, clock)
    name = sample.settings()["name"]
    click.echo(f"{where}: {name}, {count(total, 'entry', 'entries')} on {count(len(sheets), 'sheet')},", nl=False)
    click.echo(f" {count(len(corrections), 'correction')}.")
    _recall(book, where, sample.COMPLAINTS)
    _print_log(book, where)


def _ledger_said(context: click.Context) -> str | None:
    """The ledger named on this very command line; one from the environment is the farm's own book."""
    root = context.find_root()
    said = root.get_parameter_source("ledger") is click.core.ParameterSource.COMMANDLINE
    return desk_of(context).ledger if said else None


def _make_room(path: Path, fresh: bool) -> None:
    """Refuse to write over a file, save an earlier demo that is to be replaced."""
    from lotwalk.errors import LedgerError

    if not path.exists():
        return
    if not fresh:
        raise LedgerError(
            f"{path}: there is a file already; --fresh replaces an earlier demo, --into takes another name"
        )
    if not _is_demo(path):
        raise LedgerError(f"{path}: this is not an earlier demo, and stays; --into takes another name")
    for part in (path, *(path.with_name(path.name + end) for end in ("-wal", "-shm"))):
        part.unlink(missing_ok=True)


def _is_demo(path: Path) -> bool:
    from lotwalk import demo as sample
    from lotwalk.book import Book
    from lotwalk.errors import LotwalkError

    try:
        book = Book.open(str(path))
        with book.ledger.reading() as connection:
            name = book.ledger.settings(connection).name
        book.ledger.engine.dispose()
    except LotwalkError:
        return False
    return name == str(sample.settings()["name"])


def _print_log(book: Book, where: str) -> None:
    from lotwalk.cli.commands.printing.report import print_report, told
    from lotwalk.store.engine import path_of

    beside = path_of(book.ledger.engine) or Path(DEFAULT)
    path = beside.with_name(f"{beside.stem}-{REPORT}.pdf")
    click.echo(f"\n{told(path, print_report(book, REPORT, path))}")
    click.echo("\nLook further, as on the day after the farm's last one:")
    for command in FURTHER:
        click.echo(f"  lotwalk --ledger {where} {command}")


def _recall(book: Book, where: str, complaints: tuple[str, ...]) -> None:
    """Print the recall from the complaints, without its long lists."""
    from lotwalk.cli.views.recall_view import RecallView

    command = f"lotwalk --ledger {where} recall {' '.join(complaints)} --on {LAST_DAY}"
    click.echo(f"\n{command}\n")
    RecallView(book.recall(complaints, on=LAST_DAY), book.ledger.kinds).table()
