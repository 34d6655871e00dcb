"""`lotwalk report recall` and `lotwalk report trace`: the papers of a bad day, with their maps, as PDF."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO, TypeVar

import click

from lotwalk.cli.commands.printing.letter_files import letter_files, tell_letters
from lotwalk.cli.commands.recall import recall
from lotwalk.cli.commands.trace import trace
from lotwalk.cli.desk import desk_of
from lotwalk.cli.files import check_free, file_name, written

if TYPE_CHECKING:
    from lotwalk.pages.tracing.recall_report import Written

_Command = TypeVar("_Command", bound=Callable[..., Any])

_ASKED = (
    "codes",
    "customer",
    "since",
    "until",
    "crop",
    "distrust",
    "believe",
    "through",
    "with_the_box",
    "level",
    "cause",
    "although_damaged",
    "on",
)
"""What `recall` may be asked, and its report too."""

_TRACED = ("code", "distrust", "through")
_FOR = "To hand over to a customer: --for CUSTOMER prints what they may be told."


def _printing(command: _Command) -> _Command:
    """Add the options for the paper and the file."""
    page = click.option("--page", metavar="A4|Letter", help="The paper: Letter where the measures are us, else A4.")
    out = click.option("-o", "--out", metavar="FILE", help="Where to write it, instead of a name of its own.")
    return page(out(command))


@click.command("recall", params=[one for one in recall.params if one.name in _ASKED])
@_printing
@click.option("--letters", metavar="FOLDER", help="Where to write the letters, instead of a folder beside the report.")
@click.option("--reason", metavar="TEXT", default="", help="The reason in the letters, as agreed with the regulator.")
@click.pass_context
def recall_report(
    context: click.Context, /, page: str | None, out: str | None, letters: str | None, reason: str, **asked: Any
) -> None:
    """Print a recall, and a letter for each customer to call.

    First a page by which to decide, then the call sheet, what to hold, and why, with maps. It is asked as `lotwalk
    recall` is. The report names every customer: it is for the farm and the regulator. Each letter is a file of its own
    and names only what that customer got; for a market stall's own customers there is a notice to hang up.
    """
    from lotwalk.cli.commands.recall import answered
    from lotwalk.pages.tracing.desk import Desk
    from lotwalk.pages.tracing.letters import letters as letters_of
    from lotwalk.pages.tracing.letters import write_letter
    from lotwalk.pages.tracing.recall_report import write_recall
    from lotwalk.recall.question import Question

    book = desk_of(context).book()
    question = Question(**asked)
    path = Path(out or f"recall-{file_name(*question.codes, question.customer or '')}.pdf")
    folder = Path(letters) if letters else path.with_name(f"{path.stem}-letters")
    with book.ledger.reading() as connection:
        answer = answered(book, question, at=connection)
        desk = Desk(connection, book.ledger)
        found = letters_of(desk, answer)
        places = letter_files(folder, [one.name for one in found], path)
        _print(path, lambda file: write_recall(desk, answer, page_size=page or "", out=file))
        if found:
            folder.mkdir(parents=True, exist_ok=True)
        for place, letter in zip(places, found, strict=True):
            with written(place) as file:
                write_letter(desk, letter, reason=reason, page_size=page or "", out=file)
    tell_letters(folder, places, path)


@click.command("trace", params=[one for one in trace.params if one.name in _TRACED])
@_printing
@click.option("--for", "customer", metavar="CUSTOMER", help="Print it for this customer: nobody else is named in it.")
@click.pass_context
def trace_report(
    context: click.Context,
    code: str,
    distrust: tuple[str, ...],
    through: tuple[str, ...],
    page: str | None,
    out: str | None,
    customer: str | None,
) -> None:
    """Print the trace of one CODE, with its maps.

    What it came from and where it went, the key data elements as a table, and the papers in hand. With --for what that
    customer got of it, and what lies behind that by ingredient: to be handed over.
    """
    if customer:
        _trace_for(context, code, customer, page, out)
        return
    from lotwalk.cli.output import shown
    from lotwalk.pages.tracing.desk import Desk
    from lotwalk.pages.tracing.trace_report import OURS, write_trace
    from lotwalk.recall.traced import begin

    book = desk_of(context).book()
    with book.ledger.reading() as connection:
        desk = Desk(connection, book.ledger)
        older = book.older_verdicts(connection)
        begun = begin(connection, desk.kinds, desk.zone, code, distrust=distrust, through=through, older=older)
        if begun.read_as:
            click.echo(shown(begun.read_as.sentence), err=True)
        path = Path(out or f"trace-{file_name(begun.thing.code)}.pdf")
        _print(path, lambda file: write_trace(desk, begun, page_size=page or "", out=file))
        click.echo(f"{OURS} {_FOR}", err=True)


def _trace_for(context: click.Context, code: str, customer: str, page: str | None, out: str | None) -> None:
    from lotwalk.cli.output import shown
    from lotwalk.exchange.export_request import ask
    from lotwalk.exchange.scope import read_question
    from lotwalk.exchange.trace_paper import write_trace_for
    from lotwalk.pages.tracing.desk import Desk
    from lotwalk.recall.words.common import count

    book = desk_of(context).book()
    with book.ledger.reading() as connection:
        desk = Desk(connection, book.ledger)
        question, read = read_question(connection, desk.kinds, desk.zone, [code], customer)
        for one in read:
            click.echo(shown(one.sentence), err=True)
        asked = ask(connection, book.ledger, question)
        path = Path(out or f"trace-{file_name(*question.codes, 'for', question.customer)}.pdf")
        check_free(path)
        with written(path) as file:
            paper = write_trace_for(desk, asked, desk_of(context).own_kinds, page_size=page or "", out=file)
    failed = f", {count(paper.failed, 'failed test')} in it" if paper.failed else ""
    click.echo(f"{path}: {paper.title} for {asked.customer}, {count(paper.pages, 'page')}{failed}")


def _print(path: Path, write: Callable[[BinaryIO], Written]) -> None:
    """Write a paper to a file, whole or not at all. Raises NotUnderstood rather than write over what is no PDF."""
    from lotwalk.recall.words.common import count

    check_free(path)
    with written(path) as file:
        paper = write(file)
    click.echo(f"{path}: {paper.title}, {count(paper.pages, 'page')}")
