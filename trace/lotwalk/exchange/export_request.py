"""Puts an answer together: what is asked of the ledger, and the sheets of the events that answer it."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from lotwalk.book import rules_in_force
from lotwalk.exchange.events_file import read_events
from lotwalk.exchange.farm import Farm, read_farm
from lotwalk.exchange.reading import Reader
from lotwalk.exchange.rows import Rows
from lotwalk.exchange.scope import Question, Scope, read_scope
from lotwalk.exchange.spreadsheet import Answer
from lotwalk.ledger.ledger import Ledger
from lotwalk.ledger.read.things import thing_codes
from lotwalk.ledger.read.uses import makers
from lotwalk.recall.asking.buyer import CUSTOMER
from lotwalk.values.times import show_when
from lotwalk.walk.model import EVER

_COLD = "storage.cold_places"


@dataclass(frozen=True, slots=True)
class Desk:
    """A question put to the ledger at one state of it."""

    connection: Connection
    ledger: Ledger
    farm: Farm
    reader: Reader
    scope: Scope

    @property
    def asked(self) -> str:
        """What was asked, in words."""
        question = self.scope.question
        if question.codes:
            told = f"The trace of {', '.join(question.codes)}, by ingredient: what it was made of"
            return (
                f"{told}, and what of that customer's was made of it"
                if question.customer
                else (f"{told}, and what was made of it")
            )
        return "What this customer got, and what lies behind it" if question.customer else "All records of the period"

    @property
    def customer(self) -> str:
        """The one customer whom the answer is for, or nothing."""
        customer = self.scope.customer
        made = self.reader.maker(customer.code) if customer else None
        name = self.reader.words(made, "name") if made else ""
        return ", ".join(dict.fromkeys(filter(None, [name, customer.code]))) if customer else ""


def ask(connection: Connection, ledger: Ledger, question: Question) -> Desk:
    """Return the desk for a question. Raises NotUnderstood as `read_scope`."""
    farm = read_farm(connection, ledger)
    reader = Reader(connection, ledger.kinds, farm.settings.zone)
    return Desk(connection, ledger, farm, reader, read_scope(connection, reader, question))


def answer(desk: Desk, own: Sequence[Path] = (), events: Sequence[str] = ()) -> Answer:
    """Return the sheets of these events, or of all, with what is said before them.

    `own` are the folders of the grower's own kinds.
    """
    known = read_events(desk.ledger.kinds, own)
    rules = rules_in_force(desk.connection, desk.farm.settings)
    rows = Rows(desk.scope, desk.reader, desk.farm, rules.words(_COLD))
    return Answer(
        farm=desk.farm,
        asked=desk.asked,
        period=period_words(desk.scope.question, desk.farm.settings.zone),
        customer=desk.customer,
        says=known.says,
        sheets=[rows.sheet(one) for one in (known.named(events) if events else known).events],
    )


def period_words(question: Question, zone: ZoneInfo) -> str:
    """Return the period asked about, in words."""
    first = "" if question.start == -EVER else show_when(question.start, question.start + 59, zone)[:10]
    last = "" if question.end == EVER else show_when(question.end - 59, question.end, zone)[:10]
    if first and last:
        return f"{first} to {last}"
    return f"from {first}" if first else f"until {last}" if last else "all that is recorded"


def others_named(desk: Desk) -> re.Pattern[str]:
    """Return a pattern that finds the code or the name of any other customer than the desk's, however it is cased."""
    mine = desk.scope.customer
    things = [thing for thing in thing_codes(desk.connection, CUSTOMER) if mine is None or thing.id != mine.id]
    made = makers(desk.connection, [thing.id for thing in things])
    words = {thing.code for thing in things}
    words |= {name for version in made.values() if (name := desk.reader.words(version, "name"))}
    listed = "|".join(sorted(map(re.escape, words)))
    return re.compile(rf"(?<!\w)(?:{listed})(?!\w)" if words else r"(?!)", re.IGNORECASE)
