"""The book that the farm's growers keep: what is registered on the first morning, and then a sheet of what was done."""

from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import yaml
from tests.physics import acts, goods
from tests.physics.acts import Act
from tests.physics.farm import Farm, Style
from tests.physics.model import ITEMS, WATERS
from tests.physics.sheet import written
from tests.physics.words import Entry

from lotwalk.book import Book
from lotwalk.sheets.reader import read_sheet
from lotwalk.store import engine as store

AT_ONCE = 7
"""Entries that are typed in one go."""
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


def kept(farm: Farm, done: list[Act], template: Path, entries: list[Entry] | None = None) -> Book:
    """Write what was done into a copy of the first book, which lies beside it, and return that.

    `entries` are written in place of those that an honest grower writes. Raises Refused.
    """
    path = template.with_name("farm.db")
    for old in template.parent.glob("farm.db*"):
        old.unlink()
    path.write_bytes(template.read_bytes())
    book = Book(replace(_first(template).ledger, engine=store.open_engine(str(path))))
    entries = sheet_of(farm, done) if entries is None else entries
    if farm.in_order:
        book.load(read_sheet(yaml.safe_dump({"in_order": "yes", "entries": entries}, sort_keys=False), "sheet.yaml"))
        return book
    wrong = _written_wrong(farm, done)
    numbers = _type(book, entries, wrong)
    for batch, equipment in wrong.items():
        if batch in farm.again:
            book.void(numbers[batch], because="the wrong slip", by=["TO"])
            book.record_all([entry for entry in entries if entry.get("batch") == batch], again=True)
        else:
            book.amend(numbers[batch], {"equipment": equipment}, because="the slip turned up", by=["TO"])
    return book


@cache
def _first(template: Path) -> Book:
    """The first book, open, so that the kinds of record are read once."""
    return Book.open(str(template), clock=lambda: _NOW)


def sheet_of(farm: Farm, done: list[Act]) -> list[Entry]:
    """Return the entries of what was done, in the order in which they are typed."""
    first, last = list[Entry](), list[Entry]()
    for act in done:
        style = farm.styles.get(act.minute, Style())
        (last if style.late else first).extend(written(act, style.how, style.silent))
    return first + last


def _type(book: Book, entries: list[Entry], wrong: dict[str, list[str]]) -> dict[str, int]:
    """Record entries, some at once; return the numbers of the sowings that are written wrongly, by their batches."""
    numbers: dict[str, int] = {}
    for start in range(0, len(entries), AT_ONCE):
        some: list[dict[str, Any]] = [dict(entry) for entry in entries[start : start + AT_ONCE]]
        for entry in some:
            if entry.get("batch") in wrong:
                del entry["equipment"]
        receipts = book.record_all(some, again=True)
        for entry, receipt in zip(some, receipts, strict=False):
            if entry.get("batch") in wrong:
                numbers[entry["batch"]] = int(receipt.name.removeprefix("E"))
    return numbers


def _written_wrong(farm: Farm, done: list[Act]) -> dict[str, list[str]]:
    """The equipment of the sowings that are first written without: of batches of which no row names a medium."""
    named = {one.batch for act in done if isinstance(act, acts.Harvest) for one in act.of if one.on}
    takings = [one for act in done if isinstance(act, goods.Pack | goods.Deliver) for one in act.of]
    takings += [act.of for act in done if isinstance(act, goods.Dispose)]
    named |= {one.lot for one in takings if one.on}
    sowings = [act for act in done if isinstance(act, acts.Sow) and act.batch in (farm.wrong | farm.again) - named]
    return {act.batch: [code for code in (*act.on, *act.tools, act.rack) if code] for act in sowings}
