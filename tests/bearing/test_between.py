"""Between its sowing and its cut a crop and what it stands on are one: whatever touches the one handles the other.

T-1 stands on M-1 under the dome DM-1. What was on T-1 gets onto whatever touches M-1 or DM-1 meanwhile, and what
touches those gets onto T-1.
"""

import pytest
from tests.bearing.farm import FIRST, back, dip, forward, history, load, second, uses

from lotwalk.ledger.bearing.told import came_onto
from lotwalk.ledger.read.things import find_thing

SOWN = """
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 100 g, trays: 2, equipment: "M-1, M-3, DM-1", water: none}
- {kind: growing-check, at: 2026-03-03 09:00, batches: T-1, water: WELL, equipment: none}
"""
"""E21 and E22: T-1 is wet by the well on the 3rd."""
ONTO = {
    "its dome goes over another": "M-2, DM-1",
    "a lost tray's mat is sown again": "M-3",
    "two share a mat": "M-1",
}
NEXT = """
- {{kind: sowing, at: 2026-03-04 09:00, batch: T-2, seed: S-2 100 g, trays: 1, equipment: "{}", water: none}}
- {{kind: delivery, at: 2026-03-06 09:00, code: D-2, customer: CAFE, items: T-2 1 tray}}
"""
CUT = """
- {kind: harvest, at: 2026-03-10 09:00, lot: H-1, from: T-1 2, amount: 900 g, cut: above the medium, equipment: KN-1}
"""


@pytest.mark.parametrize("items", ONTO.values(), ids=ONTO)
def test_what_was_on_a_crop_that_still_stands_reaches_the_next_one_there(book, items):
    """T-2 is sold live before T-1 is cut, so the cut, which touches the mats, comes too late to tell."""
    load(book, SOWN + NEXT.format(items) + CUT)
    assert {"T-1", "T-2", "D-2"} <= forward(book, "WELL")
    assert {"WELL", "T-1", "S-1"} <= back(book, "D-2")
    assert "handled T-1" in uses(book, FIRST + 2)


def test_one_that_was_cut_is_not_handled_any_more(book):
    load(book, SOWN + CUT + NEXT.format("M-1").replace("03-04", "03-11").replace("03-06", "03-12"))
    assert uses(book, FIRST + 3, "handled") == set()


def test_a_crop_on_a_shared_mat_is_handled_by_the_cut_of_the_other(book):
    """T-1 and T-2 share M-1. The well wets T-1 once T-2 is sown; T-2 is cut first, off the mat on which T-1 stands."""
    load(book, SOWN.replace("2026-03-03", "2026-03-05") + NEXT.format("M-1").partition("- {kind: delivery")[0])
    load(
        book,
        """
- {kind: harvest, at: 2026-03-08 09:00, lot: H-2, from: T-2 1, amount: 500 g, cut: above the medium, equipment: KN-2}
"""
        + CUT,
        "cuts.yaml",
    )
    assert "H-2" in forward(book, "WELL")
    assert "WELL" in back(book, "H-2")


INCIDENT = "- {kind: contact, at: 2026-03-05 09:00, what: the drain backed up, items: M-1}\n"


def test_what_happens_to_a_mat_happens_to_the_crop_on_it(book):
    """The living T-1 is reached at once, and so are the live tray and the pack that come of it."""
    load(book, SOWN + INCIDENT)
    since = (second(5), second(5, 23))
    assert "T-1" in forward(book, "M-1", since)
    load(
        book,
        """
        - {kind: packing, at: 2026-03-08 09:00, lot: P-1, from: T-1 1 tray, amount: 300 g}
        - {kind: delivery, at: 2026-03-09 09:00, code: D-1, customer: CAFE, items: T-1 1 tray}
        """,
        "later.yaml",
    )
    assert {"T-1", "P-1", "D-1"} <= forward(book, "M-1", since)
    assert "M-1" in back(book, "D-1")


def test_a_watering_ties_no_two_mats_together(book):
    """M-2 is dirty under T-2. One watering wets T-1 and T-2, and T-1 gets nothing of M-2."""
    load(
        book,
        """
- {kind: contact, at: 2026-03-01 09:00, what: dropped in the yard, items: "M-2, RK-2"}
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 100 g, trays: 1, equipment: M-1, water: none}
- {kind: sowing, at: 2026-03-02 09:30, batch: T-2, seed: S-2 100 g, trays: 1, equipment: M-2, water: none}
- {kind: growing-check, at: 2026-03-03 09:00, batches: "T-1, T-2", water: WELL, equipment: none}
"""
        + CUT.replace("T-1 2", "T-1 1"),
    )
    assert forward(book, "RK-2") & {"T-1", "T-2", "H-1", "M-1"} == {"T-2"}


def test_a_dip_that_fails_under_a_crop_handles_it_and_the_items_that_pass_beside_it_do_not(book):
    """M-1 and M-2 are dipped together, and M-1 still carries T-1: what wet T-1 gets into the bath, and not on M-2."""
    load(
        book,
        SOWN
        + """
- {kind: sanitising, at: 2026-03-05 09:00, items: "M-1, M-2", solution: SOL-1, reading: 100 ppm, contact: 2 min,
   washed: yes, temperature: 20 C, ph: 7}
- {kind: sowing, at: 2026-03-06 09:00, batch: T-2, seed: S-2 100 g, trays: 1, equipment: M-2, water: none}
""",
    )
    (dip,) = [use for use in history(book, FIRST + 2)[-1].uses if use.code == "T-1"]
    assert (dip.role.word, dip.part) == ("handled", 1)
    assert forward(book, "WELL") & {"M-1", "M-2", "T-2", "SOL-1"} == {"M-1", "SOL-1"}


def test_an_incident_typed_before_the_sowing_handles_what_stood_there(book):
    """The sheet with the sowing of the 2nd lay under another: it is typed after that with the incident of the 5th."""
    load(book, INCIDENT)
    assert uses(book, FIRST, "handled") == set()
    receipts = load(book, SOWN, "late.yaml")
    assert receipts[-1].name == f"E{FIRST}"
    assert uses(book, FIRST, "handled") == {"handled T-1"}
    assert "T-1" in forward(book, "M-1", (second(5), second(5, 23)))


def test_a_cut_typed_late_takes_the_crop_off_what_was_touched_after_it(book):
    """T-2 was sown on M-1 on the 11th, by the book while T-1 stood there. Then the cut of the 10th is typed."""
    load(book, SOWN + NEXT.format("M-1").replace("03-04", "03-11").replace("03-06", "03-12"))
    assert "handled T-1" in uses(book, FIRST + 2)
    receipts = load(book, CUT, "late.yaml")
    assert f"E{FIRST + 2}" in [receipt.name for receipt in receipts]
    assert uses(book, FIRST + 2, "handled") == set()
    book.void(int(receipts[0].name[1:]), because="that was another batch", by=["TO"])
    assert "handled T-1" in uses(book, FIRST + 2)


CRATE = """
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 100 g, trays: 1, equipment: M-1, water: none}
- {kind: sowing, at: 2026-03-02 09:30, batch: T-2, seed: S-2 100 g, trays: 1, equipment: M-2, water: none}
- {kind: harvest, at: 2026-03-10 09:00, lot: H-1, from: T-1 1, amount: 900 g, cut: above the medium,
   equipment: "KN-1, CR-1"}
"""
SECOND = """
- {kind: harvest, at: 2026-03-10 12:00, lot: H-2, from: T-2 1, amount: 500 g, cut: above the medium,
   equipment: "KN-2, CR-1"}
"""


def test_what_is_spilt_on_a_lot_is_spilt_on_its_crate(book):
    """H-1 was never packed: CR-1 was filled with H-2 three hours later, and what was spilt on H-1 was still in it."""
    spilt = "- {kind: contact, at: 2026-03-10 10:00, what: spilt on it, lots: H-1, items: RK-2}\n"
    load(book, CRATE + spilt + SECOND)
    assert {"H-1", "CR-1", "H-2"} <= forward(book, "RK-2")


def test_what_happens_to_a_crate_happens_to_the_lot_in_it(book):
    load(book, CRATE + "- {kind: contact, at: 2026-03-10 10:00, what: fell over, items: CR-1}\n")
    assert "H-1" in forward(book, "CR-1", (second(10, 10), second(10, 11)))


def test_who_fills_a_crate_again_handles_nothing_that_was_in_it_before(book):
    """H-1 may have been in another box by then, and its later packings have nothing of the knife that cut H-2."""
    load(book, CRATE + SECOND)
    assert uses(book, FIRST + 3, "handled") == set()


def test_a_washing_typed_late_takes_nothing_back(book):
    """The packing touched CR-1, in which H-1 stood by the book. That it was washed before is typed afterwards."""
    load(book, CRATE + "- {kind: packing, at: 2026-03-10 11:00, lot: P-1, from: H-1 900 g, amount: 900 g}\n")
    wash = "- {kind: washing, at: 2026-03-10 10:00, items: CR-1, method: brushed, tub: none}\n"
    assert len(load(book, wash, "late.yaml")) == 1
    assert uses(book, FIRST + 3, "touched") == {"touched CR-1"}


def test_a_dip_that_passes_again_handles_nothing_any_more(book):
    """T-1 is cut on the 10th and M-1 dipped on the 11th. While the cut is void, the dip is of a mat under T-1: it does
    not pass, and handles T-1. Once the cut is written again it passes, and has nothing to do with T-1, as at first."""
    sheet = SOWN.partition("- {kind: growing-check")[0] + CUT + dip("M-1", "2026-03-11 09:00")
    load(book, sheet)
    assert uses(book, FIRST + 2, "cleared", "touched", "handled") == {"cleared M-1"}
    book.void(FIRST + 1, because="that was another batch", by=["TO"])
    assert uses(book, FIRST + 2, "cleared", "touched", "handled") == {"touched M-1", "handled T-1"}
    load(book, CUT, "again.yaml")
    assert uses(book, FIRST + 2, "cleared", "touched", "handled") == {"cleared M-1"}
    assert "SOL-1" not in back(book, "T-1")


def test_what_was_lifted_onto_a_tray_and_got_a_new_tag_is_told_as_having_stood_there(book):
    """T-1 is lifted into TR-5 on the 3rd, which is TR-9 from the 4th on. A path through TR-9 tells of T-1."""
    load(
        book,
        SOWN
        + """
- {kind: growing-check, at: 2026-03-03 12:00, batches: T-1, equipment: TR-5, water: none, action: moved into TR-5}
- {kind: equipment-change, at: 2026-03-04 09:00, items: TR-5, what: retagged, codes: TR-9}
""",
    )
    with book.ledger.reading() as connection:
        tray = find_thing(connection, "TR-9")
        came = came_onto(connection, book.ledger.kinds, tray)
    assert [(one.lot, one.by.name) for one in came] == [("T-1", f"E{FIRST + 2}")]
