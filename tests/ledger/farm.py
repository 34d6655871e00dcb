"""A small farm for the ledger's tests, told in sheets, and the few things that the tests ask of a ledger."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from textwrap import dedent
from typing import Any

import pytest
from sqlalchemy import select, text

from lotwalk.book import Book
from lotwalk.errors import Refused
from lotwalk.ledger.model import Receipt, Version
from lotwalk.ledger.read.versions import versions
from lotwalk.sheets.reader import read_sheet
from lotwalk.store.tables import metadata
from lotwalk.values.roles import Role

SETTINGS = {"name": "Tarn End", "location": "Tarn Lane", "timezone": "Europe/London", "measures": "metric"}

REGISTER = """
    common: {at: 2026-03-01 08:00, by: TO}
    entries:
    - {kind: person, code: TO, name: Tess Orr}
    - {kind: person, code: AK, name: Ana Kost}
    - {kind: supplier, code: HOLT, name: Holt Seeds}
    - {kind: customer, code: CAFE, name: Corner Cafe}
    - {kind: lab, code: LAB, name: County Laboratory}
    - {kind: water-source, code: WELL, name: the well, type: ground}
    - {kind: water-source, code: MAINS, name: town water, type: municipal}
    - {kind: equipment, codes: M-01..M-06, type: medium}
    - {kind: equipment, codes: "KNIFE, SHEARS", type: tool}
    - {kind: equipment, codes: BENCH, type: surface}
    - {kind: place, code: SHED, name: Growing shed, use: growing, usual_water: WELL, usual_tools: KNIFE}
    - {kind: place, code: WASH, name: Wash room, use: wash}
    - {kind: product, code: PEA-50, name: Pea shoots 50 g, commodity: pea shoots, pack_size: 50 g}
    - kind: label
      code: L-1
      product: Bleach 5 %
      active: chlorine
      uses: {use: food contact, min: 100 ppm, max: 200 ppm, contact: 2 min}
    - {kind: supplies-receipt, lot: BLEACH, product: Bleach 5 %, type: sanitiser, label: L-1, expires: 2027-01-01}
    - {kind: supplies-receipt, lot: BOXES, product: 50 g boxes, type: packaging, amount: 500 boxes}
    - {kind: seed-receipt, lot: S-1, crop: pea, supplier: HOLT, supplier_lot: RD-7781, amount: 5 kg}
    - {kind: seed-receipt, lot: S-2, crop: radish, supplier: HOLT, supplier_lot: RD-9000, amount: 2 kg}
"""
"""Who and what there is on the farm: E2 to E19. E1 holds the settings, so what a test records first is E20."""

SOLUTION = """
    - {kind: solution, at: 2026-03-02 07:30, by: TO, lot: SOL-1, product: BLEACH, amount: 20 mL, volume: 10 L}
"""


@dataclass(slots=True)
class Clock:
    """A clock that goes on by a minute each time it is read."""

    now: float = datetime(2026, 3, 1, 12, tzinfo=UTC).timestamp()

    def __call__(self) -> float:
        self.now += 60
        return self.now


def start(where: str, **more: Any) -> Book:
    """Begin the farm's ledger, and register who and what there is."""
    book = Book.start(where, **SETTINGS, clock=Clock(), **more)
    load(book, REGISTER, "register.yaml")
    return book


def load(book: Book, sheet: str, name: str = "sheet.yaml", **more: Any) -> list[Receipt]:
    """Load a sheet. Its first line is the one after the opening quotes."""
    return book.load(read_sheet(dedent(sheet.removeprefix("\n")), name), **more)


def names(receipts: Iterable[Receipt]) -> list[str]:
    """The names of the entries that receipts are for."""
    return [receipt.name for receipt in receipts]


def number(receipt: Receipt) -> int:
    """The number in the name of a receipt's entry."""
    return int(receipt.name[1:])


def refused(book: Book, sheet: str, **more: Any) -> list[str]:
    """The problems for which a sheet is refused. Nothing at all may have been written."""
    before = everything(book)
    with pytest.raises(Refused) as caught:
        load(book, sheet, **more)
    assert everything(book) == before
    return [str(problem) for problem in caught.value.problems]


def everything(book: Book) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table."""
    with book.ledger.reading() as connection:
        return {
            table.name: sorted((tuple(row) for row in connection.execute(select(table))), key=repr)
            for table in metadata.sorted_tables
        }


def history(book: Book, name: str) -> list[Version]:
    """Every version of an entry such as `E12`, the oldest first."""
    with book.ledger.reading() as connection:
        return versions(connection, int(name[1:]))


def current(book: Book, name: str) -> Version:
    """The newest version of an entry."""
    return history(book, name)[-1]


def records(book: Book) -> list[dict[str, Any]]:
    """The hashed texts of all entries, the oldest first."""
    with book.ledger.reading() as connection:
        return [json.loads(row[0]) for row in connection.execute(text("SELECT record FROM entry ORDER BY seq"))]


def uses(book: Book, name: str, part: int = 0) -> set[str]:
    """The stored uses of an entry's newest version, as `took S-1` and with an amount `took S-1 200 g`."""
    sql = text(
        "SELECT u.role, t.cls, t.code, u.amount, u.unit, u.assumed FROM use u JOIN thing t ON t.id = u.thing"
        " WHERE u.node = :node"
    )
    with book.ledger.reading() as connection:
        rows = connection.execute(sql, {"node": 2 * current(book, name).seq + part}).all()
    return {
        f"{Role.read(role, cls).word} {code}"
        + (f" {amount} {unit}" if amount is not None else "")
        + (" assumed" if assumed else "")
        for role, cls, code, amount, unit, assumed in rows
    }
