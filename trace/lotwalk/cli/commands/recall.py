"""`lotwalk recall CODE...`: from complaints, deliveries or lots to every candidate cause and all it could concern."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from lotwalk.cli.desk import desk_of
from lotwalk.cli.older import level_option
from lotwalk.cli.output import format_option

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from lotwalk.book import Book
    from lotwalk.recall.answer import Answer
    from lotwalk.recall.question import Question

NO_TIME = "If there is no time for that, --although-damaged answers from what can be read. Call more than it names."
NOT_EVEN_SO = "Too much of it is damaged to answer from it at all: restore a backup, or ask on the backup itself."
MAY_LACK = "THE ANSWER MAY LEAVE LOTS AND CUSTOMERS OUT: call more than it names."
UNSOUND = (
    "The newest entry of this book is not what was hashed when it was recorded. Run `lotwalk verify`, and do not rely"
    " on this answer alone."
)


@click.command()
@click.argument("codes", metavar="[CODE]...", nargs=-1)
@click.option(
    "--customer", metavar="CODE", help="A buyer who lost the label: what this customer got, by its code or name."
)
@click.option("--from", "since", metavar="DATE", help="With --customer: from this day on.")
@click.option("--until", "until", metavar="DATE", help="With --customer: until this day.")
@click.option("--crop", metavar="NAME", help="With --customer: only this crop or product, by its name or code.")
@click.option(
    "--distrust",
    multiple=True,
    metavar="WHAT",
    help="Do not believe a clean break: an entry (E12), those that relied on a lot, those of a kind, those that passed"
    " without the temperature or pH they need (unshown), or all.",
)
@click.option(
    "--believe",
    multiple=True,
    metavar="ENTRY",
    help="Believe a clean break (E12) although it was recorded only after the complaint.",
)
@click.option("--through", multiple=True, type=click.Choice(["people", "places"]), help="Walk through these as well.")
@click.option(
    "--with-the-box",
    "with_the_box",
    is_flag=True,
    help="Where a product or a crop was named: take in what travelled in the same box, by contact.",
)
@level_option("Hold and call by this level and those before it. Where nothing is said: by level 1.")
@click.option("--cause", metavar="CODE", help="Call by what this candidate reaches, and look at it closely.")
@click.option("--why", metavar="CODE", help="Show in words how CODE, or a customer by name, came to be in it.")
@click.option("--mock", is_flag=True, help="Practise: time the answer and record how it went, by whom --by says.")
@click.option("--by", metavar="PERSON", envvar="LOTWALK_BY", help="Who practises, with --mock.")
@click.option(
    "--although-damaged",
    is_flag=True,
    help="Answer from a damaged book where there is no time to mend it. It may leave lots and customers out.",
)
@click.option("--on", metavar="DATE", help="As of which day things are in date: today, if nothing is said.")
@click.option("--causes", is_flag=True, help="Show the candidate causes, the narrowest first, with their tests.")
@click.option("--lots", is_flag=True, help="Show the lots and deliveries in scope, level by level, and the balance.")
@click.option("--statistics", is_flag=True, help="Show the candidates as investigators rank exposures.")
@click.option("--all", "every", is_flag=True, help="Show all of this: every candidate, lot, delivery, hold and call.")
@format_option
@click.pass_context
def recall(
    context: click.Context,
    /,
    mock: bool,
    by: str | None,
    although_damaged: bool,
    every: bool,
    causes: bool,
    lots: bool,
    statistics: bool,
    form: str,
    **asked: Any,
) -> None:
    """Reckon a recall from complaints, deliveries and lots.

    A code that was printed, a supplier's lot and the number of a paper find their lots too. For a buyer who has none of
    them, say what they got: --customer CAFE --from 2026-03-02 --until 2026-03-09 --crop radish.

    A crop, or the product that a complaint names, narrows it to the lots of that, to mixes with some of it, and to lots
    of which the book does not say what they are. How many others travelled with them is said first.

    First what to do: what a test found, what to hold, whom to call, what it could be and how far that goes. Behind
    --causes, --lots and --statistics stands why. CSV gives the affected lots by delivery, with the customer to call.
    """
    from lotwalk.cli.commands.exercise import Exercise
    from lotwalk.cli.output import print_view, shown
    from lotwalk.cli.views.recall_view import RecallView
    from lotwalk.recall.question import Question

    book = desk_of(context).book()
    question = Question(**asked, although_damaged=although_damaged)
    exercise = Exercise(desk_of(context), by) if mock else None
    answer = answered(book, question)
    for read in answer.found.read_as if form != "table" else ():
        click.echo(shown(read.sentence), err=True)
    wanted = {"causes": causes, "statistics": statistics, "lots": lots}
    parts = [name for name, wants in wanted.items() if wants]
    print_view(RecallView(answer, book.ledger.kinds, parts=parts, every=every), form)
    if exercise:
        exercise.record(book, answer)


def answered(book: Book, question: Question, at: Connection | None = None) -> Answer:
    """Return the book's answer to a question, and say on stderr what is wrong with a damaged book.

    Raises Damaged where the book is, unless the question says `although_damaged`.
    """
    from dataclasses import replace

    from lotwalk.errors import Damaged

    try:
        answer = book.recall(replace(question, although_damaged=False), at=at)
    except Damaged as damaged:
        if not question.although_damaged:
            raise Damaged(f"{damaged}. {NO_TIME}") from None
        click.echo(f"{damaged}. {MAY_LACK}", err=True)
        try:
            answer = book.recall(question, at=at)
        except Damaged as again:
            raise Damaged(f"{again}. {NOT_EVEN_SO}") from None
    if not answer.log_fits:
        click.echo(UNSOUND, err=True)
    return answer
