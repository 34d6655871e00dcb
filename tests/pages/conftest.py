import io
import json
import sqlite3
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader
from pypdf.generic import ContentStream
from tests.sample import ledger

from lotwalk.book import Book
from lotwalk.pages.definitions.definition import load
from lotwalk.pages.definitions.model import Definition, ReportSummary
from lotwalk.pages.report import write_report

REGISTERED = "2026-03-01 08:00"
THINGS: list[dict[str, Any]] = [
    {"kind": "person", "code": "TO", "name": "Tess Orr"},
    {"kind": "person", "code": "AK", "name": "Anna Wiśniewska"},
    {"kind": "place", "code": "WASH", "name": "wash room", "use": "wash"},
    {"kind": "water-source", "code": "MAINS", "name": "Town water", "type": "municipal"},
    {"kind": "equipment", "codes": "M-001..M-024", "type": "medium", "porous": False},
    {
        "kind": "supplies-receipt",
        "lot": "BL-1",
        "product": "Plain bleach",
        "type": "sanitiser",
        "active": "chlorine",
        "strength": "5.25 %",
        "label_min": "50 ppm",
        "label_max": "200 ppm",
        "label_contact": "1 min",
        "expires": "2027-01-31",
    },
    {"kind": "solution", "lot": "SOL-1", "product": "BL-1", "volume": "10 L", "at": "2026-03-02 08:00"},
]


class Pdf:
    """A PDF read back."""

    def __init__(self, content: bytes, summary: ReportSummary) -> None:
        self.content = content
        self.summary = summary
        self.reader = PdfReader(io.BytesIO(content))
        self.pages = [page.extract_text() for page in self.reader.pages]

    @property
    def text(self) -> str:
        """All words, with line ends as spaces, so that a sentence that was wrapped is found."""
        return " ".join(" ".join(self.pages).split())

    def fonts_of(self, words: str) -> set[str]:
        """Return the names of the fonts in which exactly these words are printed."""
        found: set[str] = set()

        def visit(text: str, matrix: Any, position: Any, font: Any, size: float) -> None:
            if text.strip() == words and font:
                found.add(str(font["/BaseFont"]).partition("+")[2])

        for page in self.reader.pages:
            page.extract_text(visitor_text=visit)
        return found

    def struck(self) -> set[str]:
        """Return the printed lines through whose middle a line is drawn."""
        found = set()
        for page in self.reader.pages:
            lines = _lines(page, self.reader)
            for words, x, y in _words(page):
                if any(abs(left - x) < 0.1 and 0 < height - y < 5 and right > x for left, right, height in lines):
                    found.add(words)
        return found


def _lines(page: Any, reader: PdfReader) -> list[tuple[float, float, float]]:
    """The level lines drawn on a page, as left, right and height."""
    found, start = [], (0.0, 0.0)
    for operands, operator in ContentStream(page.get_contents(), reader).operations:
        if operator == b"m":
            start = (float(operands[0]), float(operands[1]))
        elif operator == b"l" and float(operands[1]) == start[1]:
            found.append((start[0], float(operands[0]), start[1]))
    return found


def _words(page: Any) -> list[tuple[str, float, float]]:
    found: list[tuple[str, float, float]] = []

    def visit(text: str, matrix: Any, position: Any, font: Any, size: float) -> None:
        if text.strip():
            found.append((text.strip(), position[4], position[5]))

    page.extract_text(visitor_text=visit)
    return found


class Farm:
    """A made-up farm whose clock stands where the test puts it. Times are UTC."""

    def __init__(self, path: Path, **settings: str) -> None:
        self.now = _seconds(REGISTERED)
        start: dict[str, Any] = {
            "name": "Mill Lane Greens",
            "location": "12 Mill Lane, Hudson",
            "timezone": "UTC",
            "rules": "us",
            **settings,
        }
        self.book = Book.start(str(path), clock=lambda: self.now, **start)
        self.book.record_all([{"at": REGISTERED, "by": "TO", **thing} for thing in THINGS])

    def at(self, when: str) -> "Farm":
        """Put the clock."""
        self.now = _seconds(when)
        return self

    def record(self, kind: str, **fields: Any) -> int:
        """Record an entry as soon as it happened, unless the clock was put, and return its number."""
        return int(self.book.record(kind, **{"by": "TO", **fields}).name[1:])

    def wash(self, **fields: Any) -> int:
        return self.record("washing", **{"method": "brushed", "items": "M-001..M-004", **fields})

    def dip(self, **fields: Any) -> int:
        """A sanitising that passes, but for the fields given. A field that is None is left out."""
        good = {
            "items": "M-001..M-004",
            "solution": "SOL-1",
            "reading": "110 ppm",
            "contact": "2 min",
            "temperature": "24 degC",
            "ph": "7.5",
            "washed": True,
        }
        return self.record(
            "sanitising", **{name: value for name, value in (good | fields).items() if value is not None}
        )

    def definition(self, name: str = "sanitising") -> Definition:
        return load(name, self.book.ledger.kinds)

    def print(
        self,
        since: str | None = None,
        until: str | None = None,
        size: str = "A4",
        definition: Definition | None = None,
        progress: Any = None,
    ) -> Pdf:
        out = io.BytesIO()
        summary = write_report(
            self.book.ledger,
            definition or self.definition(),
            since=date.fromisoformat(since) if since else None,
            until=date.fromisoformat(until) if until else None,
            page_size=size,
            out=out,
            progress=progress,
        )
        return Pdf(out.getvalue(), summary)


def _seconds(when: str) -> float:
    return datetime.fromisoformat(when).replace(tzinfo=UTC).timestamp()


@pytest.fixture
def farm(tmp_path: Path) -> Farm:
    return Farm(tmp_path / "farm.db").at("2026-03-02 20:00")


@pytest.fixture
def start(tmp_path: Path):
    """Starts a farm with settings of its own."""
    return lambda **settings: Farm(tmp_path / "own.db", **settings).at("2026-03-02 20:00")


@pytest.fixture(scope="session")
def sample() -> Path:
    """The ledger of the sample farm."""
    return ledger()


class Sample:
    """The sample farm's ledger, and its reports for the first two months of 2026."""

    def __init__(self, path: Path) -> None:
        self.book = Book.open(str(path), clock=lambda: _seconds("2026-03-02 12:00"))
        self._printed: dict[tuple[str, str, str], Pdf] = {}

    def definition(self, name: str) -> Definition:
        return load(name, self.book.ledger.kinds)

    def print(self, name: str, code: str = "", size: str = "A4") -> Pdf:
        asked = (name, code, size)
        if asked not in self._printed:
            out = io.BytesIO()
            since, until = date(2026, 1, 1), date(2026, 2, 28)
            summary = write_report(
                self.book.ledger,
                self.definition(name),
                since=since,
                until=until,
                page_size=size,
                code=code,
                out=out,
            )
            self._printed[asked] = Pdf(out.getvalue(), summary)
        return self._printed[asked]

    def forget(self) -> None:
        """Print anew what was printed before."""
        self._printed.clear()

    def records(self, *kinds: str) -> list[dict[str, Any]]:
        """Every version in force of these kinds, straight from the file: what was hashed, read as JSON."""
        rows = sqlite3.connect(self.book.ledger.engine.url.database or "").execute(
            "SELECT e.record, e.first FROM entry e WHERE e.void = 0"
            " AND NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.seq) ORDER BY e.seq"
        )
        records = [json.loads(record) | {"name": f"E{first}"} for record, first in rows]
        return [record for record in records if not kinds or record["kind"] in kinds]


@pytest.fixture(scope="session")
def wrenfallow(sample: Path) -> Sample:
    """The sample farm, which no test changes."""
    return Sample(sample)
