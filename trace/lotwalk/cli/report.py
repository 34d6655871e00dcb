"""`lotwalk report NAME`: a printed log, as a PDF."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from lotwalk.cli.desk import desk_of

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from lotwalk.book import Book
    from lotwalk.pages.model import ReportSummary


@click.command()
@click.argument("name")
@click.option("--from", "first", metavar="DATE", help="The first day, such as 2026-03-01.")
@click.option("--until", "last", metavar="DATE", help="The last day.")
@click.option(
    "--page", "page", metavar="A4|Letter", help="The paper: Letter where the farm's measures are us, else A4."
)
@click.option("--out", metavar="FILE", help="Where to write it: NAME.pdf here, if nothing is said.")
@click.pass_context
def report(
    context: click.Context, name: str, first: str | None, last: str | None, page: str | None, out: str | None
) -> None:
    """Print the log NAME (such as sanitising) as a PDF.

    NAME is a log that ships, or the file of a definition of your own. Every page carries the log's head, which
    `lotwalk verify --head` checks the ledger against later.
    """
    from pathlib import Path

    book = desk_of(context).book()
    path = Path(out) if out else Path(f"{Path(name).stem}.pdf")
    summary = print_report(book, name, path, since=_day(first), until=_day(last), page=page)
    click.echo(told(path, summary))


def print_report(
    book: Book,
    name: str,
    path: Path,
    *,
    since: date | None = None,
    until: date | None = None,
    page: str | None = None,
) -> ReportSummary:
    """Write a report to a file, whole or not at all. Raises NotUnderstood rather than write over what is no PDF."""
    import io

    from lotwalk.errors import NotUnderstood
    from lotwalk.pages import definition
    from lotwalk.pages.report import write_report

    of_name = definition.load(name, book.ledger.kinds)
    if path.exists() and not (path.is_file() and path.read_bytes()[:5] == b"%PDF-"):
        raise NotUnderstood(f"{path} is there already and is no PDF", "another name in --out")
    if page is None:
        with book.ledger.reading() as connection:
            page = "Letter" if book.ledger.settings(connection).measures == "us" else "A4"
    drawn = io.BytesIO()
    summary = write_report(book.ledger, of_name, since=since, until=until, page_size=page, out=drawn)
    path.write_bytes(drawn.getvalue())
    return summary


def told(path: Path, summary: ReportSummary) -> str:
    """Return what was printed, in a line."""
    from lotwalk.cli.words import count

    marks = [
        f"{number} {word}"
        for number, word in (
            (summary.failed, "that did not pass"),
            (summary.late, "written late"),
            (summary.amended, "amended"),
            (summary.void, "void"),
        )
        if number
    ]
    entries = count(summary.entries, "entry", "entries")
    return f"{path}: {summary.title}, {count(summary.pages, 'page')}, {'; '.join([entries, *marks])}"


def _day(text: str | None) -> date | None:
    from datetime import date

    from lotwalk.values.times import read_date

    return date.fromisoformat(read_date(text)) if text else None
