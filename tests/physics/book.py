"""The book that the farm's growers keep: what is registered on the first morning, and then a sheet of what was done."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import yaml
from tests.physics.acts import Act
from tests.physics.farm import Farm
from tests.physics.model import ITEMS, WATERS
from tests.physics.slips import Slip, slips_of
from tests.physics.words import Entry

from lotwalk.book import Book
from lotwalk.sheets.reader import read_sheet
from lotwalk.store import engine as store

AT_ONCE = 7
"""Entries that are typed in one go."""
ON_A_SHEET = 15
"""Entries on a sheet that attests its order."""
_NOW = 1_790_000_000
"""September 2026: all is typed after it was done."""


def started(path: Path) -> Path:
    """Begin the book that every farm's is copied from."""
    book = Book.start(str(path), name="F", location="L", timezone="UTC", measures="metric", clock=lambda: _NOW)
    register: list[Entry] = [
        {"kind": "person", "code": "TO", "name": "Tess Orr"},
        {"kind": "supplier", "code": "SEEDS", "name": "Seeds"},
        {"kind": "customer", "code": "CAFE", "name": "Corner Cafe"},
        *({"kind": "water-source", "code": code, "name": code, "type": "ground"} for code in WATERS),
        *({"kind": "equipment", "codes": list(codes), "type": kind} for kind, codes in ITEMS.items()),
        {"kind": "place", "code": "ROOM", "name": "Growing room", "use": "growing"}
        | {"usual_water": "MAINS", "usual_tools": "CAN-1"},
        {"kind": "place", "code": "WASH", "name": "Wash room", "use": "wash"}
        | {"usual_water": "MAINS", "usual_items": "TUB-1"},
        {"kind": "place", "code": "HALL", "name": "Hall", "use": "pack", "usual_tools": "KN-1, BE-1"},
        {"kind": "place", "code": "COLD", "name": "Cold store", "use": "cold store"},
        *(
            {"kind": "seed-receipt", "lot": f"S-{n}", "crop": "pea", "supplier": "SEEDS", "amount": "90 kg"}
            for n in (1, 2)
        ),
        {"kind": "supplies-receipt", "lot": "BL-1", "product": "Bleach", "type": "sanitiser", "active": "chlorine"}
        | {"label_min": "50 ppm", "label_max": "200 ppm", "label_contact": "1 min"},
        {"kind": "supplies-receipt", "lot": "BAGS-1", "product": "Bags", "type": "packaging"},
    ]
    book.record_all([{"at": "2026-03-01 08:00", "by": "TO"} | entry for entry in register])
    with book.ledger.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    book.ledger.engine.dispose()
    return path


def kept(farm: Farm, done: list[Act], template: Path) -> Book:
    """Write what was done into a copy of the first book, which lies beside it, and return that. Raises Refused."""
    path = template.with_name("farm.db")
    for old in template.parent.glob("farm.db*"):
        old.unlink()
    path.write_bytes(template.read_bytes())
    book = Book(replace(_first(template).ledger, engine=store.open_engine(str(path))))
    slips = slips_of(farm, done)
    if farm.in_order:
        for start in range(0, len(slips), ON_A_SHEET):
            entries = [slip.entry for slip in slips[start : start + ON_A_SHEET]]
            sheet = yaml.safe_dump({"in_order": "yes", "again": "yes", "entries": entries}, sort_keys=False)
            book.load(read_sheet(sheet, f"sheet-{start}.yaml"))
    else:
        _type(book, slips)
    return book


@cache
def _first(template: Path) -> Book:
    """The first book, open, so that the kinds of record are read once."""
    return Book.open(str(template), clock=lambda: _NOW)


def _type(book: Book, slips: list[Slip]) -> None:
    """Record what is on the slips, some at once; then put right what was typed wrongly."""
    numbers: list[int] = []
    for start in range(0, len(slips), AT_ONCE):
        some = slips[start : start + AT_ONCE]
        receipts = book.record_all([slip.typed for slip in some], again=True)
        numbers += [int(receipt.name.removeprefix("E")) for receipt in receipts[: len(some)]]
    for number, slip in zip(numbers, slips, strict=True):
        if slip.again:
            book.void(number, because="the wrong slip", by=["TO"])
            book.record_all([slip.entry], again=True)
        elif slip.changes:
            book.amend(number, slip.changes, because="the slip says otherwise", by=["TO"])
