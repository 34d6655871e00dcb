import io
from pathlib import Path

import openpyxl
import pytest
from tests.sample import ledger

from lotwalk.book import Book
from lotwalk.exchange.export_request import answer, ask
from lotwalk.exchange.scope import Question
from lotwalk.exchange.spreadsheet import write_spreadsheet

NOW = 1_772_500_000.0
"""The clock: 2026-03-03."""


class Opened:
    """A workbook opened by another library than the one that wrote it: sheets as lists of mappings by title."""

    def __init__(self, content):
        self.content = content
        self.book = openpyxl.load_workbook(io.BytesIO(content))
        self.names = self.book.sheetnames

    def rows(self, name):
        titles, *rows = ([cell.value for cell in row] for row in self.book[name].iter_rows())
        return [dict(zip(titles, row, strict=True)) for row in rows]

    def titles(self, name):
        return [cell.value for cell in next(self.book[name].iter_rows())]

    def cells(self):
        return [cell for page in self.book for row in page.iter_rows() for cell in row]

    @property
    def text(self):
        return "\n".join(str(cell.value) for cell in self.cells() if cell.value is not None)


def opened(book, question=None, own=()):
    """The spreadsheet that answers a question, opened again."""
    out = io.BytesIO()
    with book.ledger.reading() as connection:
        write_spreadsheet(answer(ask(connection, book.ledger, question or Question()), own), out)
    return Opened(out.getvalue())


@pytest.fixture(scope="session")
def sample() -> Path:
    return ledger()


@pytest.fixture(scope="session")
def book(sample):
    book = Book.open(str(sample), clock=lambda: NOW)
    yield book
    book.ledger.engine.dispose()


@pytest.fixture(scope="session")
def whole(book):
    """The spreadsheet of all records of the sample farm."""
    return opened(book)


AT = "2026-03-01 08:00"
FARM = [
    {"kind": "person", "code": "TO", "name": "Tess Orr", "at": AT},
    {"kind": "place", "code": "CHILL", "name": "Walk-in", "use": "cold store", "at": AT},
    {"kind": "place", "code": "ROOM", "name": "Room", "use": "growing", "at": AT},
    {"kind": "supplier", "code": "SEEDS", "name": "Seeds of Hollin", "phone": "555-0199", "at": AT},
    {"kind": "customer", "code": "CAFE", "name": "Cafe Under", "phone": "555-0150", "street": "1 Lane", "city": "Ash",
     "region": "NY", "postcode": "00000", "at": AT},
    {"kind": "customer", "code": "SHOP", "name": "Shop Over", "at": AT},
    {"kind": "product", "code": "PEA", "name": "Pea shoots", "commodity": "pea", "gtin": "00614141777778", "at": AT},
    {"kind": "seed-receipt", "lot": "S-1", "crop": "pea", "variety": "Tall", "supplier": "SEEDS",
     "supplier_lot": "A1", "amount": "2 kg", "document": "INV 7", "at": AT},
    {"kind": "certificate", "number": "COA-1", "type": "pathogen test", "covers": "S-1", "result": "not detected",
     "at": AT},
    {"kind": "sowing", "batch": "T-1", "seed": "S-1 200 g", "trays": "2", "place": "ROOM", "at": "2026-03-02 09:00"},
    {"kind": "harvest", "lot": "H-1", "from": "T-1", "amount": "1 kg", "cut": "above the medium", "into": "CHILL",
     "at": "2026-03-10 09:00"},
    {"kind": "packing", "lot": "P-1", "product": "PEA", "from": "H-1 900 g", "packs": "18", "pack_size": "50 g",
     "at": "2026-03-10 11:00"},
    {"kind": "delivery", "code": "D-1", "customer": "CAFE", "items": "P-1 500 g", "document": "DN 1", "order": "PO 9",
     "at": "2026-03-10 15:00"},
    {"kind": "delivery", "code": "D-2", "customer": "SHOP", "items": "P-1 200 g", "at": "2026-03-11 15:00"},
]  # fmt: skip
"""A farm of one crop, from seed to two customers."""


def small(where, entries=FARM, **settings):
    """A ledger with these entries."""
    told = {"name": "Hollow Farm", "location": "2 Hollow Way, Ash", "timezone": "UTC", "rules": "us"} | settings
    book = Book.start(str(where), clock=lambda: NOW, **told)
    for entry in entries:
        book.record_all([{"by": "TO", **entry}])
    return book
