"""The papers of one farm on a file and on a server: the same words, page by page."""

import io
from pathlib import Path

from tests.tracing.conftest import NOW, Read

from lotwalk.book import Book
from lotwalk.pages.tracing.desk import Desk
from lotwalk.pages.tracing.recall_report import write_recall
from lotwalk.pages.tracing.trace_report import write_trace
from lotwalk.recall.traced import begin

SHEET = Path(__file__).parents[1] / "cli" / "farm.yaml"


def _printed(where):
    farm = {"name": "Hill", "location": "Up", "timezone": "America/New_York", "measures": "metric", "rules": "us"}
    book = Book.start(where, clock=lambda: NOW, salts=[bytes([number]) * 16 for number in range(60)], **farm)
    book.load(SHEET)
    answer = book.recall("Q-1")
    recall, trace = io.BytesIO(), io.BytesIO()
    with book.ledger.reading() as connection:
        desk = Desk(connection, book.ledger)
        write_recall(desk, answer, out=recall)
        write_trace(desk, begin(connection, desk.kinds, desk.zone, "S-1"), out=trace)
    book.ledger.engine.dispose()
    return Read(recall.getvalue()).pages + Read(trace.getvalue()).pages


def test_the_same_farm_gives_the_same_papers(fresh):
    assert _printed(fresh("postgresql")) == _printed(fresh("sqlite"))
