"""A farm with little more than its register, told in sheets, and what single checks say of it."""

from collections.abc import Sequence
from pathlib import Path
from textwrap import dedent

from lotwalk.book import Book, rules_in_force
from lotwalk.checks.findings import find
from lotwalk.checks.records import Records
from lotwalk.finding import Due, Finding
from lotwalk.sheets.reader import read_sheet
from lotwalk.values.times import read_when, zone
from lotwalk.values.units import Units

PLACE = zone("UTC")
REGISTER = """
    common: {at: 2026-03-01 08:00, by: TO}
    entries:
    - {kind: person, code: TO, name: Tess Orr, position: supervisor}
    - {kind: customer, code: CAFE, name: Corner Cafe}
    - {kind: customer, code: SHOP, name: Corner Shop}
    - {kind: supplier, code: HOLT, name: Holt Seeds}
    - {kind: lab, code: LAB, name: County Laboratory}
    - {kind: water-source, code: WELL, name: Well, type: ground, used_for: "growing, harvest, surfaces"}
    - {kind: water-source, code: MAINS, name: Town water, type: municipal, used_for: growing}
    - {kind: water-source, code: POND, name: Pond, type: surface, used_for: growing}
    - {kind: place, code: ROOM, name: Growing room, use: growing, usual_water: WELL}
    - {kind: place, code: COLD, name: Cold store, use: cold store}
    - {kind: place, code: SHED, name: Shed, use: store}
    - {kind: equipment, codes: M-1..M-9, type: medium}
    - {kind: equipment, codes: KN-1, type: tool}
    - {kind: equipment, codes: "CR-1..CR-3", type: container}
    - {kind: product, code: PEA-50, name: Pea shoots 50 g, commodity: pea shoots, pack_size: 50 g}
    - {kind: supplies-receipt, lot: BOXES, product: 50 g boxes, type: packaging, amount: 500 boxes}
    - {kind: seed-receipt, lot: S-1, crop: pea, supplier: HOLT, supplier_lot: A-1, amount: 5 kg, treatment: none}
"""


class Small:
    """The farm's book. Sheets are typed at the last second of what they tell, so that nothing of them is late."""

    def __init__(self, where: str, kinds: Sequence[Path] = ()) -> None:
        self.now = read_when("2026-03-01 09:00", PLACE).end
        self.book = Book.start(
            where, name="Tarn End", location="Tarn Lane", timezone=PLACE.key, measures="metric", rules="us",
            kinds=kinds, clock=lambda: float(self.now),
        )  # fmt: skip
        self.load(REGISTER)

    def load(self, sheet: str) -> list[str]:
        """Load a sheet, by TO if it says nothing else, and return the names of its entries."""
        text = dedent(sheet.removeprefix("\n"))
        if text.startswith("- "):
            text = "common: {by: TO}\nentries:\n" + text
        read = read_sheet(text, "sheet.yaml")
        self.now = max([self.now, *(read_when(str(entry["at"]), PLACE).end for entry in read.entries)])
        return [receipt.name for receipt in self.book.load(read, again=True)]

    def asked(self, connection, on: str) -> Records:
        """The book as the checks read it on the evening of a day."""
        settings = self.book.ledger.settings(connection)
        rules = rules_in_force(connection, settings)
        now = read_when(on, PLACE).end
        return Records(connection, self.book.ledger.kinds, rules, Units.load(settings.measures), settings.zone, now)

    def standing(self, check, on: str):
        """What a module finds on a day, by id, with what was done about it."""
        with self.book.ledger.reading() as connection:
            found = find(self.asked(connection, on), [check.findings])
        for one in found:
            assert one.finding.text.endswith(".")
            assert one.finding.do.endswith(".")
            assert one.finding.basis
        return {one.finding.id: one for one in found}

    def found(self, check, on: str) -> dict[str, Finding]:
        """What a module finds on a day that nothing has closed, by id."""
        return {name: one.finding for name, one in self.standing(check, on).items() if one.open}

    def due(self, check, on: str) -> list[Due]:
        """What a module says is to be done, by day."""
        with self.book.ledger.reading() as connection:
            return sorted(check.dues(self.asked(connection, on)), key=lambda one: (one.by, one.about))
