"""What touches a lot beside its making: knives, scales, probes, bins, vans, crates; and what is used up around it.

Each farm is worked out by hand: what is wrong with a thing reaches the lots that it touched by the field that names it,
and stands behind them; without that field nothing ties the two together.
"""

import pytest
from tests.bearing.farm import FIRST, back, forward, history, load, uses

SOWN = """
- {kind: equipment, at: 2026-03-01, codes: TH-1, type: instrument}
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 100 g, trays: 1, equipment: M-1, water: none}
- {kind: sowing, at: 2026-03-02 09:30, batch: T-2, seed: S-2 100 g, trays: 1, equipment: M-2, water: none}
"""
"""E21 to E23. T-1 and T-2 have nothing in common."""
CUT = """
- {kind: harvest, at: 2026-03-10 09:00, lot: H-1, from: T-1 1, amount: 900 g, cut: above the medium, equipment: none}
- {kind: harvest, at: 2026-03-10 10:00, lot: H-2, from: T-2 1, amount: 900 g, cut: above the medium, equipment: none}
"""
"""E24 and E25."""
BAGS = """
- {kind: supplies-receipt, at: 2026-03-01, lot: BAGS, product: Bags, type: packaging, amount: 500 bags}
"""
COIR = """
- {kind: supplies-receipt, at: 2026-03-01, lot: COIR-1, product: Coir, type: growing medium, amount: 20 kg}
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 100 g, trays: 1, medium: COIR-1 2 kg, equipment: none,
   water: none}
- {kind: sowing, at: 2026-03-03 09:00, batch: T-2, seed: S-2 100 g, trays: 1, medium: COIR-1, equipment: none,
   water: none}
- {kind: harvest, at: 2026-03-10 10:00, lot: H-2, from: T-2 1, amount: 900 g, cut: above the medium, equipment: none}
"""

FARMS = {
    # Coir is used up under both batches; of T-2 nobody wrote how much.
    "coir": (COIR, "COIR-1", {"T-1", "T-2", "H-2"}),
    # KN-1 takes a sample of T-1, and then one of T-2.
    "sampled": (
        f"""{SOWN}
- {{kind: sample, at: 2026-03-05 09:00, of: T-1, amount: 1 tray, equipment: KN-1, test: Salmonella}}
- {{kind: sample, at: 2026-03-05 10:00, of: T-2, amount: 1 tray, equipment: KN-1, test: Salmonella}}
{CUT}""",
        "T-1",
        {"KN-1", "T-2", "H-2"},
    ),
    # KN-2 is dirty; it takes a sample of T-2, of which the rest is cut.
    "sampled with a dirty knife": (
        f"""{SOWN}
- {{kind: sample, at: 2026-03-05 10:00, of: T-2, amount: 1 tray, equipment: KN-2, test: Salmonella}}
{CUT}""",
        "KN-2",
        {"T-2", "H-2"},
    ),
    # Both harvest lots are weighed with what is called KN-1 here.
    "counted": (
        f"""{SOWN}{CUT}
- {{kind: stock-count, at: 2026-03-11 09:00, lot: H-1, amount: 800 g, equipment: KN-1}}
- {{kind: stock-count, at: 2026-03-11 09:10, lot: H-2, amount: 800 g, equipment: KN-1}}
- {{kind: packing, at: 2026-03-11 11:00, lot: P-2, from: H-2 800 g, amount: 800 g, water: none, equipment: none}}
""",
        "H-1",
        {"KN-1", "H-2", "P-2"},
    ),
    # T-1 is thrown into CR-1, into which T-2 is cut afterwards.
    "composted in a crate": (
        f"""{SOWN}
- {{kind: disposal, at: 2026-03-09 09:00, items: T-1, to: compost, equipment: CR-1}}
- {{kind: harvest, at: 2026-03-10 10:00, lot: H-2, from: T-2 1, amount: 900 g, cut: above the medium,
   equipment: CR-1}}
""",
        "T-1",
        {"CR-1", "H-2"},
    ),
    # KN-2 is dirty; it cuts out a bad corner of T-2, and the rest grows on.
    "a corner cut out": (
        f"""{SOWN}
- {{kind: disposal, at: 2026-03-05 09:00, items: {{lot: T-2, finished: no}}, to: compost, equipment: KN-2}}
{CUT}""",
        "KN-2",
        {"T-2", "H-2"},
    ),
    # S-3 is put into BUCKET and sown, and then S-4 into it, unwashed, for T-4.
    "seed out of one jar": (
        """
- {kind: seed-receipt, at: 2026-03-02 08:00, lot: S-3, crop: pea, supplier: SEEDS, amount: 1 kg, equipment: BUCKET}
- {kind: sowing, at: 2026-03-02 09:00, batch: T-3, seed: S-3 1 kg, trays: 1, equipment: M-3, water: none}
- {kind: seed-receipt, at: 2026-03-03 08:00, lot: S-4, crop: pea, supplier: SEEDS, amount: 1 kg, equipment: BUCKET}
- {kind: sowing, at: 2026-03-03 09:00, batch: T-4, seed: S-4 1 kg, trays: 1, equipment: M-4, water: none}
""",
        "S-3",
        {"T-3", "BUCKET", "S-4", "T-4"},
    ),
    # Sleeves go around what is cut, and around the growing T-2 that is sold.
    "sleeves": (
        f"""{BAGS}{SOWN}
- {{kind: harvest, at: 2026-03-10 09:00, lot: H-1, from: T-1 1, amount: 900 g, cut: with roots, equipment: none,
   packaging: BAGS}}
- {{kind: delivery, at: 2026-03-10 12:00, code: D-1, customer: CAFE, items: T-2 1 tray, packaging: BAGS}}
- {{kind: delivery, at: 2026-03-11 12:00, code: D-2, customer: CAFE, items: H-1 900 g}}
""",
        "BAGS",
        {"H-1", "D-1", "D-2"},
    ),
    # CR-1 is muddy and comes back in VAN-1, in which H-2 goes out.
    "crates back in the van": (
        f"""{SOWN}{CUT}
- {{kind: delivery, at: 2026-03-10 11:00, code: D-1, customer: CAFE, items: H-1 900 g, lent: CR-1}}
- {{kind: items-back, at: 2026-03-10 13:00, items: CR-1, customer: CAFE, vehicle: VAN-1}}
- {{kind: delivery, at: 2026-03-10 15:00, code: D-2, customer: CAFE, items: H-2 900 g, vehicle: VAN-1}}
""",
        "CR-1",
        {"VAN-1", "D-2"},
    ),
    # H-1 comes back in VAN-1, in which H-2 goes out.
    "a return in the van": (
        f"""{SOWN}{CUT}
- {{kind: delivery, at: 2026-03-10 11:00, code: D-1, customer: CAFE, items: H-1 900 g}}
- {{kind: return, at: 2026-03-10 13:00, delivery: D-1, lot: H-1, amount: 300 g, then: disposed, vehicle: VAN-1}}
- {{kind: delivery, at: 2026-03-10 15:00, code: D-2, customer: CAFE, items: H-2 900 g, vehicle: VAN-1}}
""",
        "H-1",
        {"D-1", "VAN-1", "D-2"},
    ),
    # H-1 is put into CR-2, is packed out of it, and H-2 is put into it.
    "one crate after another lot": (
        f"""{SOWN}{CUT}
- {{kind: move, at: 2026-03-10 11:00, codes: H-1, to: COLD, equipment: CR-2}}
- {{kind: packing, at: 2026-03-10 12:00, lot: P-1, from: H-1 900 g, amount: 900 g, water: none, equipment: none}}
- {{kind: move, at: 2026-03-10 13:00, codes: H-2, to: COLD, equipment: CR-2}}
- {{kind: packing, at: 2026-03-10 14:00, lot: P-2, from: H-2 900 g, amount: 900 g, water: none, equipment: none}}
""",
        "H-1",
        {"CR-2", "H-2", "P-2"},
    ),
    # The probe TH-1 is put into H-1, and then into H-2.
    "probed": (
        f"""{SOWN}{CUT}
- {{kind: storage-check, at: 2026-03-11 09:00, where: COLD, temperature: 4 C, lots: H-1, equipment: TH-1}}
- {{kind: storage-check, at: 2026-03-11 09:10, where: COLD, temperature: 4 C, lots: H-2, equipment: TH-1}}
""",
        "H-1",
        {"TH-1", "H-2"},
    ),
    # S-1 was soaked in BUCKET, and then S-2; only the sowings say so.
    "soaked before": (
        """
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 100 g, trays: 1, equipment: M-1, water: none,
   soak: 8 h, soaked_in: BUCKET}
- {kind: sowing, at: 2026-03-03 09:00, batch: T-2, seed: S-2 100 g, trays: 1, equipment: M-2, water: none,
   soak: 8 h, soaked_in: BUCKET}
""",
        "S-1",
        {"BUCKET", "T-2"},
    ),
}


@pytest.mark.parametrize(("sheet", "cause", "reached"), FARMS.values(), ids=FARMS)
def test_what_is_wrong_with_a_thing_reaches_what_it_touched_and_stands_behind_it(book, sheet, cause, reached):
    load(book, sheet)
    assert reached <= forward(book, cause)
    for one in sorted(reached):
        assert cause in back(book, one)


NAMED = {
    "sampled": ", equipment: KN-1, test",
    "counted": ", equipment: KN-1}",
    "composted in a crate": ", to: compost, equipment: CR-1}",
    "crates back in the van": ", vehicle: VAN-1}\n- {kind: delivery",
    "a return in the van": ", vehicle: VAN-1}\n- {kind: delivery",
    "probed": ", equipment: TH-1",
    "soaked before": ", soaked_in: BUCKET",
}
"""The words by which a farm names what touched its lots, first of all."""


@pytest.mark.parametrize("name", NAMED)
def test_nothing_is_tied_together_by_what_nobody_names(book, name):
    sheet, cause, reached = FARMS[name]
    words = NAMED[name]
    rest = words[words.index("}") :] if "}" in words else ", test" if words.endswith("test") else ""
    assert words in sheet
    load(book, sheet.replace(words, rest))
    assert not {one for one in reached if one[0] in "TH" and one[1] == "-"} & forward(book, cause)
    assert not {"D-2", "P-2"} & reached & forward(book, cause)


def test_the_single_use_medium_is_what_a_crop_stands_on(book):
    """No medium is missing from an entry that names coir; a tool is, unless the entry says none."""
    load(book, COIR)
    assert history(book, FIRST + 1)[-1].silent == ()
    load(
        book,
        """
- {kind: sowing, at: 2026-03-04 09:00, batch: T-3, seed: S-2 100 g, trays: 1, medium: COIR-1 1 kg, water: none}
""",
        "no-tool.yaml",
    )
    assert history(book, FIRST + 4)[-1].silent == ("tool",)


def test_a_thermometer_that_hangs_in_the_store_touches_nothing(book):
    load(
        book,
        f"""{SOWN}{CUT}
- {{kind: storage-check, at: 2026-03-11 09:00, where: COLD, temperature: 4 C, lots: "H-1, H-2", with: TH-1}}
""",
    )
    assert "H-2" not in forward(book, "H-1")


def test_what_a_sowing_was_soaked_in_is_not_what_the_crop_stands_in(book):
    """T-1 is thrown away: that touches the mat it stood on, and no bucket."""
    load(book, FARMS["soaked before"][0] + "- {kind: disposal, at: 2026-03-08 09:00, items: T-1, to: compost}\n")
    assert uses(book, FIRST + 2, "touched") == {"touched M-1"}


PUT = "- {kind: move, at: 2026-03-10 11:00, codes: %s, to: COLD, equipment: CR-2}\n"
PACKED = """
- {kind: packing, at: 2026-03-10 12:00, lot: P-1, from: H-1 900 g, amount: 900 g, water: none, equipment: none}
- {kind: packing, at: 2026-03-10 13:00, lot: P-2, from: H-2 900 g, amount: 900 g, water: none, equipment: none}
"""
"""E27 and E28 after a move."""


def test_all_lots_that_are_put_into_a_crate_are_packed_out_of_it(book):
    load(book, SOWN + CUT + PUT % '"H-1, H-2"' + PACKED)
    for packing in (FIRST + 6, FIRST + 7):
        assert uses(book, packing, "touched") == {"touched CR-2"}


def test_a_crate_that_was_washed_after_that_is_not_touched(book):
    washed = "- {kind: washing, at: 2026-03-10 11:30, items: CR-2, method: brushed, tub: none}\n"
    load(book, SOWN + CUT + PUT % '"H-1, H-2"' + washed + PACKED)
    assert uses(book, FIRST + 7, "touched") == set()


def test_a_move_that_is_typed_late_files_the_packing_anew(book):
    """The packing of H-1 is E26. Typed after it, the move says that H-1 lay in CR-2, and then is void again."""
    load(book, SOWN + CUT + PACKED)
    assert uses(book, FIRST + 5, "touched") == set()
    receipts = load(book, PUT % "H-1", "late.yaml")
    assert [one.name for one in receipts] == [f"E{FIRST + 7}", f"E{FIRST + 5}"]
    assert uses(book, FIRST + 5, "touched") == {"touched CR-2"}
    assert uses(book, FIRST + 6, "touched") == set()


def test_a_lot_is_tipped_out_of_the_crate_that_it_was_cut_into(book):
    """H-1 was cut into CR-1 and is put into CR-2: both are touched, and so is H-1."""
    sheet = SOWN + CUT.replace("equipment: none", "equipment: CR-1", 1) + PUT % "H-1"
    load(book, sheet)
    assert uses(book, FIRST + 5, "touched", "handled") == {"touched CR-1", "touched CR-2", "handled H-1"}


@pytest.mark.parametrize("typed", ["none", "BUCKET"])
def test_a_move_is_filed_anew_when_the_crate_that_a_lot_was_cut_into_is_corrected(book, typed):
    """H-1 was cut into CR-1 and is tipped into CR-2. RK-1 is named as moved beside it, and stays touched."""
    cut = CUT.replace("equipment: none", f"equipment: {typed}", 1)
    load(book, SOWN + cut + PUT % '"H-1, RK-1"')
    book.amend(FIRST + 3, {"equipment": "CR-1"}, because="another crate", by=["TO"])
    assert uses(book, FIRST + 5, "touched") == {"touched CR-1", "touched CR-2", "touched RK-1"}


def test_a_move_out_of_a_crate_touches_it_while_the_cut_is_void(book):
    """Nobody says then what H-1 was cut into; that it is in CR-2 from the move on says nothing of before."""
    load(book, SOWN + CUT.replace("equipment: none", "equipment: CR-1", 1) + PUT % "H-1")
    book.void(FIRST + 3, because="to be written again", by=["TO"])
    assert uses(book, FIRST + 5, "touched") == {"touched CR-1", "touched CR-2"}


def test_trays_moved_on_a_trolley_touch_it(book):
    """T-1 stands on M-1, and RK-2 is the trolley on which it is moved, and CR-1 beside it."""
    load(
        book,
        SOWN + '- {kind: move, at: 2026-03-05 11:00, codes: "T-1, CR-1", to: ROOM, equipment: RK-2}\n',
    )
    assert uses(book, FIRST + 3, "touched", "handled") == {
        "touched RK-2",
        "touched CR-1",
        "touched M-1",
        "handled T-1",
    }


def test_what_is_taken_out_of_a_jar_touches_it(book):
    """Coir in BUCKET and seed in CR-1: the sowing, or a soak, takes both out of what they are kept in."""
    load(
        book,
        """
- {kind: supplies-receipt, at: 2026-03-01, lot: COIR-1, product: Coir, type: growing medium, amount: 20 kg,
   equipment: BUCKET}
- {kind: seed-receipt, at: 2026-03-01, lot: S-3, crop: pea, supplier: SEEDS, amount: 1 kg, equipment: CR-1}
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-3 100 g, trays: 1, medium: COIR-1 2 kg, equipment: none,
   water: none}
- {kind: soaking, at: 2026-03-02 10:00, lot: SO-1, seed: S-3 100 g, water: none, equipment: CR-2}
""",
    )
    assert uses(book, FIRST + 2, "touched") == {"touched BUCKET", "touched CR-1"}
    assert uses(book, FIRST + 3, "touched") == {"touched CR-1", "touched CR-2"}
