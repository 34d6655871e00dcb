"""A bad well wets T-1 and T-3 on the 4th. What T-1 stood on goes under T-2 unwashed; H-2 is cut of T-2, H-3 of T-3.

Somebody is ill of H-2. The well is behind it, by way of T-1 and what that stood on, whatever became of T-1; and so H-3
is in the widest scope. The other way round, from H-3 the well is found, and from the well H-2.
"""

import pytest
from tests.bearing.farm import FIRST, back, forward, load

from lotwalk.recall.asking.asked import ask
from lotwalk.recall.recall import recall

SOWN = """
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 100 g, trays: 1, equipment: M-1, water: none}
- {kind: sowing, at: 2026-03-02 09:30, batch: T-3, seed: S-1 100 g, trays: 1, equipment: M-3, water: none}
"""
WET = "- {kind: growing-check, at: 2026-03-04 09:00, batches: 'T-1, T-3', water: WELL, equipment: none}\n"
CUT = """
- {kind: harvest, at: 2026-03-10 09:00, lot: H-1, from: T-1 1, amount: 900 g, cut: above the medium, equipment: none}
"""
LATER = """
- {{kind: harvest, at: 2026-03-10 10:00, lot: H-3, from: T-3 1, amount: 900 g, cut: above the medium, equipment: none}}
- {{kind: sowing, at: 2026-03-12 09:00, batch: T-2, seed: S-2 100 g, trays: 1, equipment: {}, water: none}}
- {{kind: harvest, at: 2026-03-20 09:00, lot: H-2, from: T-2 1, amount: 900 g, cut: above the medium, equipment: none}}
"""
COMPOSTED = "- {kind: disposal, at: 2026-03-08 09:00, items: T-1, reason: positive, to: compost}\n"
SOLD = """
- {kind: delivery, at: 2026-03-08 09:00, code: D-1, customer: CAFE, items: T-1 1 tray}
- {kind: items-back, at: 2026-03-11 09:00, items: M-1, customer: CAFE}
"""
RETAGGED = "- {kind: equipment-change, at: 2026-03-03 09:00, items: M-1, what: retagged, codes: N-1}\n"
LIFTED = "- {kind: growing-check, at: 2026-03-03 09:00, batches: T-1, water: none, equipment: TR-5}\n"

WAYS = {
    "cut": (SOWN + WET + CUT, "M-1"),
    "composted": (SOWN + WET + COMPOSTED, "M-1"),
    "sold live, and its mat came back": (SOWN + WET + SOLD, "M-1"),
    "its mat got a new tag": (SOWN + RETAGGED + WET + CUT, "N-1"),
    "lifted into a tray": (SOWN + LIFTED + WET + CUT, "TR-5"),
    "its mat was corrected after the cut": (SOWN.replace("M-1", "M-4", 1) + WET + CUT, "M-1"),
}


@pytest.mark.parametrize(("sheet", "item"), WAYS.values(), ids=WAYS)
@pytest.mark.parametrize(("asked", "other"), [("H-2", "H-3"), ("H-3", "H-2")])
def test_the_well_is_found_and_with_it_the_other_crop(book, sheet, item, asked, other):
    load(book, sheet)
    if "M-4" in sheet:
        book.amend(FIRST, {"equipment": "M-1"}, because="wrong mat written", by=["TO"])
    load(book, LATER.format(item), "later.yaml")
    assert forward(book, "WELL") >= {"H-2", "H-3"}
    assert "WELL" in back(book, asked)
    with book.ledger.reading() as connection:
        found = recall(connection, ask(connection, [asked]), book.ledger.kinds)
    assert "WELL" in {one.thing.code for one in found.candidates}
    assert other in found.lots
