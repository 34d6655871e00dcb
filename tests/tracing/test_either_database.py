"""The papers of one farm on a file and on a server: the same words, page by page."""

import io
from pathlib import Path

from tests.tracing.conftest import NOW, Read

from lotwalk.book import Book
from lotwalk.cli.recall import reckon
from lotwalk.ledger.read.things import find_thing
from lotwalk.pages.tracing.case import Case
from lotwalk.pages.tracing.desk import Desk
from lotwalk.pages.tracing.recall_report import write_recall
from lotwalk.pages.tracing.trace_report import question, write_trace
from lotwalk.walk.model import Doubt

SHEET = Path(__file__).parents[1] / "cli" / "farm.yaml"


def _printed(where):
    farm = {"name": "Hill", "location": "Up", "timezone": "America/New_York", "measures": "metric", "rules": "us"}
    book = Book.start(where, clock=lambda: NOW, salts=[bytes([number]) * 16 for number in range(60)], **farm)
    book.load(SHEET)
    view = reckon(book, ("Q-1",))
    recall, trace = io.BytesIO(), io.BytesIO()
    with book.ledger.reading() as connection:
        desk = Desk(connection, book.ledger)
        write_recall(
            desk, Case(view.found, view.scope, view.narrower, view.balance, view.calls, view.holds), out=recall
        )
        thing = find_thing(connection, "S-1")
        assert thing is not None
        write_trace(desk, question(desk, thing, Doubt(), (), ()), out=trace)
    book.ledger.engine.dispose()
    return Read(recall.getvalue()).pages + Read(trace.getvalue()).pages


def test_the_same_farm_gives_the_same_papers(fresh):
    assert _printed(fresh("postgresql")) == _printed(fresh("sqlite"))
