"""`lotwalk load SHEET...`: whole sheets of entries, each all or nothing."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lotwalk.cli.desk import desk_of

if TYPE_CHECKING:
    from lotwalk.book import Book
    from lotwalk.ledger.model import Receipt
    from lotwalk.sheets.reader import Sheet


@click.command()
@click.argument("sheets", metavar="SHEET...", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--again", is_flag=True, help="Load entries although the book has some alike.")
@click.pass_context
def load(context: click.Context, sheets: tuple[Path, ...], again: bool) -> None:
    """Load sheets of entries, and forms that were filled in, in the order given.

    A PDF made by `lotwalk form KIND --fillable` is read as a sheet is, by its rows and fields.

    A sheet goes in whole or not at all: every mistake in it is told with its line, and then nothing of it is
    written, nor of the sheets after it.
    """
    from lotwalk.forms.filled import Filled, read_file

    desk = desk_of(context)
    book = desk.book()
    for path in sheets:
        read = read_file(path, book.ledger.kinds)
        sheet = read.sheet if isinstance(read, Filled) else read
        with progress(str(path), len(sheet.entries)) as more:
            receipts = book.load(read, typed_by=desk.typed_by, again=again, folder=path.parent, progress=more)
        tell_sheet(book, sheet, receipts)
        for notice in read.notices if isinstance(read, Filled) else ():
            click.echo(f"  Note: {notice}.")


@contextlib.contextmanager
def progress(label: str, length: int) -> Iterator[Callable[[int], None] | None]:
    """Yield what is told how many more entries were checked: a bar on a terminal, nothing elsewhere."""
    if not sys.stderr.isatty():
        yield None
        return
    with click.progressbar(length=length, label=label, file=sys.stderr) as bar:
        yield bar.update


def tell_sheet(book: Book, sheet: Sheet, receipts: list[Receipt]) -> None:
    """Say what a sheet brought in: how many entries, what may hurt somebody, and each verdict that failed something."""
    from lotwalk.cli.output import shown
    from lotwalk.cli.views.door_view import told_together
    from lotwalk.cli.views.receipt_view import tell_verdict
    from lotwalk.cli.words import count
    from lotwalk.finding import NOT_URGENT, urgency

    own, changed = receipts[: len(sheet.entries)], receipts[len(sheet.entries) :]
    first, last = own[0].name, own[-1].name
    click.echo(f"{sheet.name}: {count(len(own), 'entry', 'entries')}, {first if first == last else f'{first}..{last}'}")
    urgent = (notice for receipt in own for notice in receipt.notices if urgency(notice) < NOT_URGENT)
    for notice in sorted(urgent, key=urgency):
        click.echo(shown(f"  {notice}"))
    for receipt, entry in zip(own, sheet.entries, strict=True):
        for notice in receipt.notices:
            if urgency(notice) == NOT_URGENT:
                click.echo(shown(f"  {receipt.name}: {notice}"))
        if receipt.verdict and receipt.verdict.failed:
            click.echo(shown(f"  {receipt.name}, {entry['kind']}, {entry['at']}:"))
            tell_verdict(book, receipt, only_bad=True)
    for receipt in changed:
        for notice in receipt.notices:
            click.echo(shown(f"  {receipt.name}: {notice}"))
        if receipt.verdict:
            click.echo(f"  The verdict of {receipt.name} changed:")
            tell_verdict(book, receipt)
    for line in told_together(own):
        click.echo(shown(f"  {line}"))
