"""A farm that grows crops with allergens in them, and packs them as products that declare one, another, or none.

S-MUS is mustard, S-RAD radish, S-SES sesame. H-MUS, H-RAD and H-SES were cut from them, H-MIX from trays of radish with
a little mustard. MIXA declares nothing, MIXN `none`, MIXM mustard, MIXC celery.
"""

import io

from pypdf import PdfReader
from tests.checks.small import PLACE, REGISTER

from lotwalk.book import Book
from lotwalk.checks.findings import find
from lotwalk.checks.subjects import allergens
from lotwalk.pages.labels.label_sheets import find_sheet
from lotwalk.pages.labels.print_labels import write_labels
from lotwalk.sheets.reader import read_sheet
from lotwalk.values.times import read_when

GROWN = """
common: {at: 2026-03-01 09:00, by: TO}
entries:
- {kind: seed-receipt, lot: S-MUS, crop: Mustard Greens, supplier: HOLT, amount: 1 kg}
- {kind: seed-receipt, lot: S-RAD, crop: radish, supplier: HOLT, amount: 1 kg}
- {kind: seed-receipt, lot: S-SES, crop: sesame, supplier: HOLT, amount: 1 kg}
- {kind: product, code: MIXA, name: Mild mix, commodity: mixed greens}
- {kind: product, code: MIXN, name: Mild mix, commodity: mixed greens, allergens: None}
- {kind: product, code: MIXM, name: Hot mix, commodity: mixed greens, allergens: "Contains MUSTARD"}
- {kind: product, code: MIXC, name: Soup mix, commodity: mixed greens, allergens: celery}
- {kind: soaking, lot: SOAK-1, seed: S-MUS 100 g, water: MAINS}
- {kind: sowing, batch: T-MUS, seed: SOAK-1 100 g, trays: 2, equipment: M-1}
- {kind: sowing, batch: T-RAD, seed: S-RAD 100 g, trays: 2, equipment: M-2}
- {kind: sowing, batch: T-BOTH, seed: [S-RAD 100 g, S-MUS 1 g], trays: 2, equipment: M-3}
- {kind: sowing, batch: T-SES, seed: S-SES 100 g, trays: 2, equipment: M-4}
- {kind: harvest, at: 2026-03-09 09:00, lot: H-MUS, from: T-MUS 2, amount: 900 g, cut: above the medium}
- {kind: harvest, at: 2026-03-09 09:00, lot: H-RAD, from: T-RAD 2, amount: 900 g, cut: above the medium}
- {kind: harvest, at: 2026-03-09 09:00, lot: H-MIX, from: T-BOTH 2, amount: 900 g, cut: above the medium}
- {kind: harvest, at: 2026-03-09 09:00, lot: H-SES, from: T-SES 2, amount: 900 g, cut: above the medium}
"""
BLEND = {"kind": "packing", "lot": "P-MILD", "from": "H-RAD 400 g, H-MUS 100 g", "product": "MIXA", "amount": "500 g"}


class Farm:
    """The farm under one rule set."""

    def __init__(self, where, rules="eu", kinds=()):
        self.now = 1_773_100_000.0
        self.book = Book.start(where, name="Tarn End", location="Tarn Lane", timezone=PLACE.key, measures="metric",
                               rules=rules, kinds=kinds, clock=lambda: self.now)  # fmt: skip
        for text in (REGISTER, GROWN):
            self.book.load(read_sheet(text, "farm.yaml"))

    def pack(self, at="2026-03-09 12:00", **changes):
        return self.book.record(at=at, by="TO", **{**BLEND, **changes})

    def clock(self, at):
        """Let it be a later time, to the second, from now on."""
        self.now = float(read_when(at, PLACE).start)

    def mend(self, product="MIXA", **changes):
        """Amend the product's record, as whoever mends what it declares does."""
        with self.book.ledger.reading() as connection:
            number = self.book.records(connection, int(self.now)).maker(product).number
        return self.book.amend(number, changes, because="the list of what it holds", by=["TO"])

    def standing(self):
        with self.book.ledger.reading() as connection:
            records = self.book.records(connection, int(self.now))
            return {one.finding.id: one for one in find(records, [allergens.findings])}

    def found(self):
        with self.book.ledger.reading() as connection:
            return {one.id: one for one in allergens.findings(self.book.records(connection, int(self.now)))}

    def label(self, code="P-MILD"):
        out = io.BytesIO()
        summary = write_labels(self.book.ledger, code, find_sheet("A4-3x8-70x37mm"), out=out)
        return " ".join(PdfReader(io.BytesIO(out.getvalue())).pages[0].extract_text().split()), summary.notices
