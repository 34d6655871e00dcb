"""`lotwalk report recall` and `lotwalk report trace`: the papers of a bad day, with their maps, as PDF."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO, TypeVar

import click

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
)
"""What `recall` may be asked, and its report too."""

_TRACED = ("code", "distrust", "through")


def _printing(command: _Command) -> _Command:
    """Add the options for the paper and the file."""
    page = click.option("--page", metavar="A4|Letter", help="The paper: Letter where the measures are us, else A4.")
    out = click.option("-o", "--out", metavar="FILE", help="Where to write it, instead of a name of its own.")
    return page(out(command))


@click.command("recall", params=[one for one in recall.params if one.name in _ASKED])
@_printing
@click.pass_context
def recall_report(context: click.Context, /, page: str | None, out: str | None, **asked: Any) -> None:
    """Print a recall, with its maps.

    The answer first, then whom to call and what to say, what to hold, and why. It is asked as `lotwalk recall` is.
    """
    from lotwalk.pages.tracing.desk import Desk
    from lotwalk.pages.tracing.recall_report import write_recall
    from lotwalk.recall.question import Question

    book = desk_of(context).book()
    question = Question(**asked)
    path = Path(out or f"recall-{file_name(*question.codes, question.customer or '')}.pdf")
    with book.ledger.reading() as connection:
        answer = book.recall(question, at=connection)
        desk = Desk(connection, book.ledger)
        _print(path, lambda file: write_recall(desk, answer, page_size=page or "", out=file))


@click.command("trace", params=[one for one in trace.params if one.name in _TRACED])
@_printing
@click.pass_context
def trace_report(
    context: click.Context,
    code: str,
    distrust: tuple[str, ...],
    through: tuple[str, ...],
    page: str | None,
    out: str | None,
) -> None:
    """Print the trace of one CODE, with its maps.

    What it came from and where it went, the key data elements as a table, and the papers in hand.
    """
    from lotwalk.cli.output import shown
    from lotwalk.pages.tracing.desk import Desk
    from lotwalk.pages.tracing.trace_report import write_trace
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


def _print(path: Path, write: Callable[[BinaryIO], Written]) -> None:
    """Write a paper to a file, whole or not at all. Raises NotUnderstood rather than write over what is no PDF."""
    from lotwalk.recall.words.common import count

    check_free(path)
    with written(path) as file:
        paper = write(file)
    click.echo(f"{path}: {paper.title}, {count(paper.pages, 'page')}")
