"""`lotwalk labels CODES...`: media tags, tray and pack labels with a machine-readable code, as a PDF."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from lotwalk.cli.desk import desk_of
from lotwalk.cli.files import check_free, written

if TYPE_CHECKING:
    from pathlib import Path

    from lotwalk.ledger.model import Settings
    from lotwalk.pages.labels.label_sheets import Sheet
    from lotwalk.pages.labels.print_labels import LabelSummary

USUAL_SHEET = {"us": "Letter-3x10", "metric": "A4-3x8-70x37mm"}
"""The sheet by the farm's measures, if nothing is said."""


@click.command()
@click.argument("codes", nargs=-1)
@click.option("--sheet", metavar="NAME-OR-FILE", help="A label sheet, such as A4-3x8-70x37mm; --sheets lists them.")
@click.option("--size", metavar="SIZE", help="One label a page, for a label printer: its width and height (62x29mm).")
@click.option("--start", "first", type=click.IntRange(1), metavar="N", default=1, help="Begin with label N of a sheet.")
@click.option("--copies", type=click.IntRange(1, 1000), metavar="N", default=1, help="Print each label N times.")
@click.option(
    "--code",
    "symbol",
    type=click.Choice(["auto", "plain", "gs1-link", "gs1-datamatrix"]),
    default="auto",
    help="What the machine-readable code holds. auto: the thing's code, or a GS1 Digital Link for a pack whose product "
    "has a GTIN of the farm's own.",
)
@click.option("--new", metavar="KIND", help="Tags for things that are not in the book yet, such as medium.")
@click.option("--outlines", is_flag=True, help="Draw the labels' edges, to try a sheet on plain paper.")
@click.option("--sheets", "listing", is_flag=True, help="List the label sheets, and print nothing.")
@click.option("--out", "-o", metavar="FILE", default="labels.pdf", show_default=True, help="Where to write it.")
@click.pass_context
def labels(
    context: click.Context,
    codes: tuple[str, ...],
    sheet: str | None,
    size: str | None,
    first: int,
    copies: int,
    symbol: str,
    new: str | None,
    outlines: bool,
    listing: bool,
    out: str,
) -> None:
    """Print labels for CODES, such as M-001..M-024 or P-1042.

    The code stands on each in big letters and as a QR code; a pack has its product, dates, allergens and the farm
    beside it. What is scanned off a label finds its thing in `lotwalk show`. A lot on hold is marked HOLD, and one
    with an allergen that its product does not declare says so.
    """
    from pathlib import Path

    from lotwalk.errors import NotUnderstood
    from lotwalk.pages.labels.label_sheets import shipped_sheets
    from lotwalk.pages.labels.print_labels import write_labels

    if listing:
        for name, known in shipped_sheets().items():
            click.echo(f"{name}: {known.labels} labels")
        return
    if not codes:
        raise NotUnderstood("it is not said which labels", "codes or ranges, such as M-001..M-024")
    book = desk_of(context).book()
    path = Path(out)
    check_free(path)
    with book.ledger.reading() as connection:
        chosen = _sheet(sheet, size, book.ledger.settings(connection))
    with written(path) as file:
        summary = write_labels(
            book.ledger,
            ",".join(codes),
            chosen,
            out=file,
            new=new,
            symbol=symbol,
            first=first,
            copies=copies,
            outlines=outlines,
        )
    _tell(path, summary, chosen)
    if new:
        click.echo("They are not in the book yet: record them before they are used.", err=True)


def _sheet(sheet: str | None, size: str | None, settings: Settings) -> Sheet:
    from lotwalk.errors import NotUnderstood
    from lotwalk.pages.labels.label_sheets import find_sheet, one_up

    if sheet and size:
        raise NotUnderstood("a label is on a sheet or by itself", "--sheet or --size, not both")
    return one_up(size) if size else find_sheet(sheet or USUAL_SHEET[settings.measures])


def _tell(path: Path, summary: LabelSummary, sheet: Sheet) -> None:
    from lotwalk.cli.output import shown
    from lotwalk.cli.words import count

    pages = count(summary.pages, "page")
    click.echo(
        f"{path}: {count(summary.labels, 'label')} of {sheet.name}, {pages}. Print at 100 %, not fitted to the page."
    )
    for notice in summary.notices:
        click.echo(shown(notice), err=True)
    if summary.held:
        click.echo(shown(f"On hold, and marked so: {', '.join(summary.held)}. They must not leave."), err=True)
