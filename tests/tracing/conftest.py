import io
import re
from pathlib import Path

import pytest
from pypdf import PdfReader
from tests.sample import ledger

from lotwalk.book import Book
from lotwalk.pages.tracing.desk import Desk

NOW = 1_772_500_000.0
"""The clock of everything printed here: 2026-03-03."""


class Read:
    """A PDF read back."""

    def __init__(self, content):
        self.content = content
        self.reader = PdfReader(io.BytesIO(content))
        self.pages = [page.extract_text() for page in self.reader.pages]
        self.text = " ".join(" ".join(self.pages).split())

    def sizes(self):
        """The sizes in points in which text is printed, all scaling reckoned with."""
        found = set()

        def visit(text, matrix, position, font, size):
            if text.strip():
                found.add(round(size * position[3] * matrix[3], 2))

        for page in self.reader.pages:
            page.extract_text(visitor_text=visit)
        return found

    def fonts(self):
        """The fonts that pages and what is drawn on them name."""
        found = {}

        def gather(resources):
            for name, font in (resources.get("/Font") or {}).items():
                found[name] = font.get_object()
            for form in (resources.get("/XObject") or {}).values():
                if "/Resources" in form.get_object():
                    gather(form.get_object()["/Resources"].get_object())

        for page in self.reader.pages:
            gather(page["/Resources"].get_object())
        return list(found.values())

    def bookmarks(self):
        return [one.title for one in self.reader.outline]


@pytest.fixture(scope="session")
def sample() -> Path:
    return ledger()


@pytest.fixture
def book(sample):
    book = Book.open(str(sample), clock=lambda: NOW)
    yield book
    book.ledger.engine.dispose()


@pytest.fixture
def desk(book):
    with book.ledger.reading() as connection:
        yield Desk(connection, book.ledger)


def squeezed(text):
    """Text without any white space, in which what was wrapped is found."""
    return re.sub(r"\s+", "", text)
