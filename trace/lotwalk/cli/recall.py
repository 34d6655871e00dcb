"""`lotwalk recall CODE...`: from complaints, deliveries or lots to every candidate cause and all it could concern."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from lotwalk.cli.desk import desk_of
from lotwalk.cli.output import format_option

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from lotwalk.book import Book
    from lotwalk.cli.recall_view import RecallView
    from lotwalk.judge import RuleSet
    from lotwalk.ledger.model import Settings
    from lotwalk.recall.asking.buyer import Buyer
    from lotwalk.recall.model import Recall


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
@click.option("--from", "first", metavar="DATE", help="With --customer: from this day on.")
@click.option("--until", "last", metavar="DATE", help="With --customer: until this day.")
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
@click.option("--ring", type=click.IntRange(1, 5), metavar="1..5", help="Call by what lies in this ring or closer.")
@click.option("--cause", metavar="CODE", help="Call by what this candidate reaches, and look at it closely.")
@click.option("--why", metavar="CODE", help="Show in words how CODE, or a customer by name, came to be in it.")
@click.option("--mock", is_flag=True, help="Practise: time the answer and record how it went, by whom --by says.")
@click.option("--by", metavar="PERSON", envvar="LOTWALK_BY", help="Who practises, with --mock.")
@click.option(
    "--although-damaged",
    is_flag=True,
    help="Answer from a damaged book where there is no time to mend it. It may leave lots and customers out.",
)
@click.option("--all", "every", is_flag=True, help="Show every candidate, lot and delivery.")
@format_option
@click.pass_context
def recall(
    context: click.Context,
    codes: tuple[str, ...],
    customer: str | None,
    first: str | None,
    last: str | None,
    crop: str | None,
    distrust: tuple[str, ...],
    believe: tuple[str, ...],
    through: tuple[str, ...],
    with_the_box: bool,
    ring: int | None,
    cause: str | None,
    why: str | None,
    mock: bool,
    by: str | None,
    although_damaged: bool,
    every: bool,
    form: str,
) -> None:
    """Reckon a recall from complaints, deliveries and lots.

    A code that was printed, a supplier's lot and the number of a paper find their lots too. For a buyer who has none of
    them, say what they got: --customer CAFE --from 2026-03-02 --until 2026-03-09 --crop radish.

    A crop, or the product that a complaint names, narrows it to the lots of that, to mixes with some of it, and to lots
    of which the book does not say what they are. How many others travelled with them is said first.

    Every candidate cause with what it reaches, the narrowest first; then all lots, deliveries and customers that
    any of them could concern. CSV gives the affected lots by delivery, with the customer to call.
    """
    from functools import partial

    from lotwalk.cli.exercise import Exercise
    from lotwalk.cli.output import print_csv, print_json, shown
    from lotwalk.errors import Damaged

    book = desk_of(context).book()
    buyer = buyer_of(book, codes, customer, first, last, crop)
    exercise = Exercise(desk_of(context), by) if mock else None
    reckoned = partial(
        reckon,
        book,
        codes,
        buyer,
        distrust=distrust,
        believe=believe,
        through=through,
        with_the_box=with_the_box,
        ring=ring,
        cause=cause,
        why=why,
    )
    try:
        view = reckoned()
    except Damaged as damaged:
        if not although_damaged:
            raise Damaged(f"{damaged}. {NO_TIME}") from None
        click.echo(f"{damaged}. {MAY_LACK}", err=True)
        try:
            view = reckoned(check=False)
        except Damaged as again:
            raise Damaged(f"{again}. {NOT_EVEN_SO}") from None
    if not view.log_fits:
        click.echo(UNSOUND, err=True)
    for read in view.found.read_as if form != "table" else ():
        click.echo(shown(read.sentence), err=True)
    if form == "json":
        print_json(view.json())
    elif form == "csv":
        print_csv(*view.csv())
    else:
        view.table(every=every)
    if exercise:
        exercise.record(book, view)


def buyer_of(
    book: Book, codes: tuple[str, ...], customer: str | None, first: str | None, last: str | None, crop: str | None
) -> Buyer | None:
    """Return what is said of a buyer who lost the label. Raises NotUnderstood where half of it is said."""
    from lotwalk.errors import NotUnderstood
    from lotwalk.recall.asking.buyer import Buyer
    from lotwalk.values.times import read_when
    from lotwalk.walk.model import EVER

    if customer is None:
        if first or last or crop:
            raise NotUnderstood("it is not said which customer", "--customer with a code or a name")
        if not codes:
            raise NotUnderstood("it is not said what it is about", "a code, or --customer with what they got")
        return None
    zone = book.setting().zone
    start = read_when(first, zone).start if first else -EVER
    end = read_when(last, zone).end if last else EVER
    if end < start:
        raise NotUnderstood("--until is before --from", "the earlier day in --from")
    return Buyer(customer, crop, start, end)


def reckon(
    book: Book,
    codes: tuple[str, ...],
    buyer: Buyer | None = None,
    *,
    distrust: tuple[str, ...] = (),
    believe: tuple[str, ...] = (),
    through: tuple[str, ...] = (),
    with_the_box: bool = False,
    ring: int | None = None,
    cause: str | None = None,
    why: str | None = None,
    at: Connection | None = None,
    check: bool = True,
) -> RecallView:
    """Return the recall; where late evidence is not believed, with the scope that it would leave.

    `ring` and `cause` restrict the scope to call by; a cause is also looked at closely, and `why` explains one code.
    The ledger is read as it is, or on a connection that is open already; without `check` from a damaged one too.
    """
    from contextlib import nullcontext
    from dataclasses import replace
    from functools import partial

    from lotwalk.cli.detail import Detail
    from lotwalk.cli.recall_view import RecallView
    from lotwalk.cli.sought import all_sought
    from lotwalk.recall.asking.asked import ASKABLE, ask, ask_buyer
    from lotwalk.recall.recall import recall as walk_back
    from lotwalk.values.units import Units
    from lotwalk.walk.distrust import doubt

    with nullcontext(at) if at else book.ledger.reading() as connection:
        settings = book.ledger.settings(connection)
        kinds = book.ledger.kinds
        named = [one for words in codes for one in all_sought(connection, words, kinds, ASKABLE)]
        read = {one.code: one.read_as for one in named if one.read_as}
        asked = [replace(one, read_as=read.get(one.code)) for one in ask(connection, [one.code for one in named])]
        if buyer:
            asked.append(ask_buyer(connection, kinds, buyer, settings.zone))
        older = book.older_verdicts(connection) if check else []
        doubted = doubt(connection, distrust, older)
        believed = _believed(connection, believe)
        times = _times(_rules(connection, settings, check))
        walked = partial(
            walk_back,
            connection,
            asked,
            kinds,
            doubt=doubted,
            through=through,
            with_the_box=with_the_box,
            shelf_life=times["shelf_life"],
            before_exclusion=times["before_exclusion"],
            after_return=times["after_return"],
        )
        found = walked(believe=believed, older=older, check=check)
        narrower = walked(believe=believed | _believed(connection, found.late), check=False) if found.late else None
        units = Units.load(settings.measures)
        scope = _scope(found, ring, cause)
        view = RecallView(
            connection,
            found,
            narrower,
            settings.zone,
            units,
            kinds,
            distrust,
            scope,
            farm=settings.name,
            shelf_life=times["shelf_life"],
        )
        view.ring = ring or 5
        if cause or why:
            view.detail = Detail.of(connection, kinds, found, cause, why)
        return view


def _rules(connection: Connection, settings: Settings, check: bool) -> RuleSet:
    """The rule set in force; of a book that is damaged there, unless it is to be checked, the one that ships."""
    from lotwalk.book import DEFAULT_RULES, rules_in_force
    from lotwalk.errors import LotwalkError
    from lotwalk.judge.rules import RuleSet

    try:
        return rules_in_force(connection, settings)
    except (LotwalkError, ValueError):
        if check:
            raise
        return RuleSet.load(DEFAULT_RULES)


def _scope(found: Recall, ring: int | None, cause: str | None) -> Recall:
    """The scope to call by: what lies in the ring, of what the cause reaches."""
    from lotwalk.cli.detail import rows_of
    from lotwalk.recall.rings import in_ring, only

    scope = in_ring(found, ring) if ring else found
    if cause:
        rows = rows_of(found, cause)
        codes = {code for row in rows for code in (*row.lots, *row.deliveries)}
        scope = only(scope, codes | {row.thing.code for row in rows})
    return scope


def _believed(connection: Connection, words: tuple[str, ...]) -> set[int]:
    """The numbers of these entries. Raises NotUnderstood for what is none."""
    from lotwalk.errors import NotUnderstood
    from lotwalk.ledger.read.versions import versions
    from lotwalk.values.codes import entry_number

    numbers = set()
    for word in words:
        number = entry_number(word)
        if number is None:
            raise NotUnderstood(f"--believe {word}", "an entry, such as E12")
        if not versions(connection, number):
            raise NotUnderstood(f"there is no entry {word}", "an entry such as E12")
        numbers.add(number)
    return numbers


def _times(rules: RuleSet) -> dict[str, int]:
    """Return, in seconds, the times that a recall reckons with by the rule set, by the names that `recall` gives them.

    How long things keep where no product says it, and how long before somebody was kept away and after the return what
    they did counts.
    """
    from lotwalk.recall.kept_away import AROUND
    from lotwalk.values.times import SHELF_LIFE

    def seconds(limit: str, usual: int) -> int:
        told = rules.amount(limit)
        return int(told.value) if told else usual

    return {
        "shelf_life": seconds("recall.shelf_life", SHELF_LIFE),
        "before_exclusion": seconds("people.before_exclusion", AROUND),
        "after_return": seconds("people.after_return", AROUND),
    }
