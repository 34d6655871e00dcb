"""How fast a log is printed: a ratio to the plainest way to put the same words on paper, and how it grows."""

import io
import math
import time
from datetime import date, timedelta

import pytest
from reportlab.pdfgen.canvas import Canvas

from lotwalk.book import Book
from lotwalk.pages.definitions.definition import load
from lotwalk.pages.report import write_report
from lotwalk.pages.typeface.fonts import load_fonts

ROWS = 2_000
MOST_TIMES_DRAW_STRING = 1.5
MOST_GROWTH = 1.2


def _book(path, rows: int) -> Book:
    book = Book.start(str(path), name="F", location="L", timezone="UTC", rules="us", clock=lambda: 1_800_000_000)
    at = "2026-03-01 08:00"
    washings = [
        {
            "kind": "washing",
            "at": f"{date(2026, 3, 2) + timedelta(days=number // 24)} {number % 24:02d}:00",
            "by": "TO",
            "items": f"M-{number % 24 + 1:03d}",
            "method": "scraped and brushed under running water",
            "seen_clean": True,
            "note": f"load {number}",
        }
        for number in range(rows)
    ]
    person = {"kind": "person", "at": at, "by": "TO", "code": "TO", "name": "Tess Orr"}
    media = {"kind": "equipment", "at": at, "by": "TO", "codes": "M-001..M-024", "type": "medium"}
    book.record_all([person, media, *washings])
    return book


def _print(book: Book) -> float:
    definition = load("sanitising", book.ledger.kinds)
    start = time.process_time()
    write_report(book.ledger, definition, out=io.BytesIO())
    return time.process_time() - start


def _draw(pages: list[list[tuple[str, str, float, float, float]]]) -> float:
    start = time.process_time()
    canvas = Canvas(io.BytesIO(), pageCompression=1, invariant=1)
    for page in pages:
        for words, font, size, x, y in page:
            canvas.setFont(font, size)
            canvas.drawString(x, y, words)
        canvas.showPage()
    canvas.save()
    return time.process_time() - start


def _words_on(book: Book) -> list[list[tuple[str, str, float, float, float]]]:
    """Every line of words of the printed log, with its font, size and place."""
    from pypdf import PdfReader

    out = io.BytesIO()
    write_report(book.ledger, load("sanitising", book.ledger.kinds), out=out)
    fonts = load_fonts()
    pages = []
    for page in PdfReader(out).pages:
        found: list[tuple[str, str, float, float, float]] = []

        def visit(text, matrix, position, font, size, found=found):
            if text.strip():
                name = fonts.bold if "Bold" in str((font or {}).get("/BaseFont")) else fonts.regular
                found.append((text.strip(), name, size, position[4], position[5]))

        page.extract_text(visitor_text=visit)
        pages.append(found)
    return pages


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    return _book(tmp_path_factory.mktemp("bench") / "log.db", ROWS)


def test_a_log_costs_little_more_than_drawing_its_words(book):
    pages = _words_on(book)
    ours, plain = zip(*((_print(book), _draw(pages)) for _ in range(3)), strict=True)
    assert min(ours) / min(plain) <= MOST_TIMES_DRAW_STRING


def test_the_time_grows_with_the_rows_and_no_faster(book, tmp_path):
    small = _book(tmp_path / "small.db", ROWS // 4)
    less, more = zip(*((_print(small), _print(book)) for _ in range(3)), strict=True)
    assert math.log(min(more) / min(less), 4) <= MOST_GROWTH
