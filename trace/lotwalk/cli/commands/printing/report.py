"""`lotwalk report NAME`: a printed report, as a PDF; alone, the list of those there are."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lotwalk.cli.desk import desk_of
from lotwalk.cli.files import check_free, file_name, written

if TYPE_CHECKING:
    from datetime import date

    from lotwalk.book import Book
    from lotwalk.kinds.library import Kinds
    from lotwalk.pages.definitions.model import Definition, ReportSummary

ALL, PACK, TAG = "all", "pack", "tag"
_FOLDER = "reports"


@click.command()
@click.argument("name", required=False)
@click.argument("code", required=False)
@click.option("--from", "first", metavar="DATE", help="The first day, such as 2026-03-01.")
@click.option("--until", "last", metavar="DATE", help="The last day.")
@click.option(
    "--page", "page", metavar="A4|Letter", help="The paper: Letter where the farm's measures are us, else A4."
)
@click.option(
    "-o", "--out", metavar="FILE", help="Where to write it: NAME.pdf here, if nothing is said. For `all` a folder."
)
@click.option(
    "--reports",
    "own",
    metavar="FOLDER",
    multiple=True,
    type=click.Path(path_type=Path),
    help="A folder with reports of your own, which go before those that ship.",
)
@click.option(
    "--only",
    "only",
    metavar="SUBJECT",
    multiple=True,
    help="Of `pack`: this subject alone, such as water, sanitising or people. May be given several times.",
)
@click.pass_context
def report(
    context: click.Context,
    name: str | None,
    code: str | None,
    first: str | None,
    last: str | None,
    page: str | None,
    out: str | None,
    own: tuple[Path, ...],
    only: tuple[str, ...],
) -> None:
    """Print the report NAME (such as sanitising) as a PDF.

    NAME is a report that ships, the name of a kind of record, or the file of a definition of your own; without a name
    they are listed. `report tag CODE` prints the page of any lot, item or water source, `report all` every log into a
    folder, `report pack` the inspection pack: how the farm stands, what is missing, every log and the attached papers
    in one file. Every page carries the ledger's head, which `lotwalk verify --head` checks the ledger against later.
    """
    desk = desk_of(context)
    if name is None:
        _list(desk.kinds(), own)
        return
    book = desk.book()
    since, until = _day(first), _day(last)
    if only and name != PACK:
        from lotwalk.errors import NotUnderstood

        raise NotUnderstood(f"--only is of the inspection pack, and not of {name}", "lotwalk report pack --only water")
    if name == ALL:
        _print_all(book, Path(out or _FOLDER), since=since, until=until, page=page, own=own)
        return
    if name == PACK:
        path = Path(out or f"{file_name(PACK, *only)}.pdf")
        _print_pack(book, path, since=since, until=until, page=page, own=own, only=only)
        return
    path = Path(out or f"{file_name(Path(name).stem, code or '')}.pdf")
    summary = print_report(book, name, path, code=code or "", since=since, until=until, page=page, own=own)
    click.echo(told(path, summary))


def print_report(
    book: Book,
    name: str,
    path: Path,
    *,
    code: str = "",
    since: date | None = None,
    until: date | None = None,
    page: str | None = None,
    own: Sequence[Path] = (),
) -> ReportSummary:
    """Write a report to a file, whole or not at all. Raises NotUnderstood rather than write over what is no PDF."""
    from lotwalk.pages.definitions.definition import load
    from lotwalk.pages.definitions.report_list import for_tag
    from lotwalk.pages.rows.reading import reading

    if name == TAG and code:
        with reading(book.ledger) as state:
            definition = for_tag(state, code, own)
    else:
        definition = load(name, book.ledger.kinds, own)
    return _write(book, definition, path, code=code, since=since, until=until, page=page)


def told(path: Path, summary: ReportSummary) -> str:
    """Return what was printed, in a line."""
    from lotwalk.cli.words import count

    marks = [
        f"{number} {word}"
        for number, word in (
            (summary.failed, "that did not pass"),
            (summary.out, "with a value out of limits"),
            (summary.late, "written late"),
            (summary.amended, "amended"),
            (summary.void, "void"),
        )
        if number
    ]
    entries = count(summary.entries, "entry", "entries")
    return f"{path}: {summary.title}, {count(summary.pages, 'page')}, {'; '.join([entries, *marks])}"


@contextlib.contextmanager
def bar(label: str) -> Iterator[Callable[[int, int], None] | None]:
    """Yield what is told how many entries are done of how many: a bar on a terminal, nothing elsewhere."""
    if not sys.stderr.isatty():
        yield None
        return
    with contextlib.ExitStack() as stack:
        shown = None

        def tell(done: int, of: int) -> None:
            nonlocal shown
            if shown is None:
                shown = stack.enter_context(click.progressbar(length=of, label=label, file=sys.stderr))
            shown.update(done - shown.pos)

        yield tell


def _write(
    book: Book,
    definition: Definition,
    path: Path,
    *,
    code: str,
    since: date | None,
    until: date | None,
    page: str | None,
) -> ReportSummary:
    from lotwalk.pages.report import write_report

    check_free(path)
    with written(path) as file, bar(path.name) as progress:
        return write_report(
            book.ledger,
            definition,
            code=code,
            since=since,
            until=until,
            page_size=page or paper_of(book),
            out=file,
            progress=progress,
        )


def _print_all(
    book: Book, place: Path, *, since: date | None, until: date | None, page: str | None, own: Sequence[Path]
) -> None:
    """Print every report into a folder; nothing is written before all definitions are understood."""
    from lotwalk.errors import NotUnderstood
    from lotwalk.pages.definitions.report_list import all_jobs
    from lotwalk.pages.rows.reading import reading

    if place.exists() and not place.is_dir():
        raise NotUnderstood(f"{place} is no folder", "a folder in --out")
    with reading(book.ledger) as state:
        jobs = all_jobs(state, own)
    paths = [place / f"{file_name(job.name)}.pdf" for job in jobs]
    for path in paths:
        check_free(path)
    place.mkdir(parents=True, exist_ok=True)
    for job, path in zip(jobs, paths, strict=True):
        summary = _write(book, job.definition, path, code=job.code, since=since, until=until, page=page)
        click.echo(told(path, summary))


def _print_pack(
    book: Book,
    path: Path,
    *,
    since: date | None,
    until: date | None,
    page: str | None,
    own: Sequence[Path],
    only: Sequence[str],
) -> None:
    """Print the inspection pack into one file, whole or not at all."""
    from lotwalk.cli.words import count
    from lotwalk.pages.pack.pack import write_pack

    check_free(path)
    with written(path) as file, bar(path.name) as progress:
        pack = write_pack(
            book.ledger,
            since=since,
            until=until,
            page_size=page or paper_of(book),
            own=own,
            only=only,
            out=file,
            progress=progress,
        )
    held = f"{count(pack.reports, 'report')}, {count(pack.files, 'attached file')}, {count(pack.gaps, 'open gap')}"
    click.echo(f"{path}: {pack.title}, {count(pack.pages, 'page')}; {held}")


def paper_of(book: Book) -> str:
    """Return the paper of the farm's country, by its measures."""
    with book.ledger.reading() as connection:
        return "Letter" if book.ledger.settings(connection).measures == "us" else "A4"


def _list(kinds: Kinds, own: Sequence[Path]) -> None:
    from lotwalk.cli.output import print_table
    from lotwalk.pages.definitions.definition import load, names

    rows = []
    for name in names(own):
        definition = load(name, kinds, own)
        asked = " or ".join(one.replace("-", " ") for one in definition.asks)
        rows.append([name, definition.title, f"the code: {asked}" if asked else ""])
    print_table(["Report", "Title", "Asks for"], rows, whole=1)
    click.echo("\n`report all` prints every log into a folder, `report pack` all of them into one file,")
    click.echo("`report tag CODE` prints the page of one thing.")


def _day(text: str | None) -> date | None:
    from datetime import date

    from lotwalk.values.times import read_date

    return date.fromisoformat(read_date(text)) if text else None
