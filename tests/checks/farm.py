"""A farm with its register and nothing else, and what the checks say of it."""

from textwrap import dedent

from lotwalk.book import Book
from lotwalk.checks.by_subject import CHECKS, LOOKS
from lotwalk.checks.findings import due, find
from lotwalk.sheets.reader import read_sheet
from lotwalk.values.times import read_when, zone

ZONE = zone("Europe/London")
REGISTER = """
    common: {at: 2026-03-02 07:00, by: TO}
    entries:
    - {kind: person, code: TO, name: Tess Orr, position: supervisor}
    - {kind: person, code: AK, name: Ana Kerr, position: worker}
    - {kind: customer, code: CAFE, name: Corner Cafe}
    - {kind: supplier, code: HOLT, name: Holt Seeds}
    - {kind: lab, code: LAB, name: County Laboratory}
    - {kind: place, code: COLD, name: Cold store, use: cold store}
    - {kind: water-source, code: MAINS, name: Town water, type: municipal}
    - {kind: equipment, codes: "M-1..M-4", type: medium, life: 3}
    - {kind: equipment, codes: KN-1, type: tool}
    - {kind: equipment, codes: "CR-1, CR-2", type: container}
    - {kind: equipment, codes: "TH-1, PH-1", type: instrument}
    - {kind: product, code: PEA-50, name: Pea shoots 50 g, commodity: pea shoots, pack_size: 50 g}
    - kind: supplies-receipt
      lot: BL-1
      product: Bleach
      type: sanitiser
      active: chlorine
      label_min: 50 ppm
      label_max: 200 ppm
      label_contact: 1 min
    - {kind: seed-receipt, lot: S-1, crop: pea, supplier: HOLT, supplier_lot: A-1, amount: 5 kg}
    - {kind: training, people: "TO, AK", topic: hand washing}
"""


class Farm:
    """The farm's book, whose clock is set to the time at which a sheet is typed or a question asked."""

    def __init__(self, where: str) -> None:
        self.now = read_when("2026-03-02 07:30", ZONE).start
        self.book = Book.start(
            where,
            name="Tarn End",
            location="Tarn Lane",
            timezone=ZONE.key,
            measures="metric",
            rules="us",
            clock=lambda: float(self.now),
        )
        self.load(REGISTER)

    def at(self, time: str) -> None:
        """Set the clock."""
        self.now = read_when(time, ZONE).end

    def load(self, sheet: str, typed: str = "") -> list[str]:
        """Load a sheet, by TO if it says nothing else, typed at a time; return the names of its entries."""
        if typed:
            self.at(typed)
        text = dedent(sheet.removeprefix("\n"))
        if text.startswith("- "):
            text = "common: {by: TO}\nentries:\n" + text
        receipts = self.book.load(read_sheet(text, "sheet.yaml"), again=True)
        return [receipt.name for receipt in receipts]

    def standing(self, on: str = ""):
        """Every finding by its id, with what was done about it."""
        if on:
            self.at(on)
        with self.book.ledger.reading() as connection:
            return {one.finding.id: one for one in find(self.book.records(connection), CHECKS)}

    def found(self, check: str, on: str = "") -> dict[str, str]:
        """The text of each open finding of one check, by its id."""
        return {
            name: one.finding.text for name, one in self.standing(on).items() if one.finding.check == check and one.open
        }

    def due(self, days: int, on: str = "") -> list[tuple[str, str]]:
        """What is due within so many days: the day, and what it is about."""
        if on:
            self.at(on)
        with self.book.ledger.reading() as connection:
            return [(one.by, " ".join(one.about)) for one in due(self.book.records(connection), LOOKS, days)]
