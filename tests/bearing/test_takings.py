"""Whatever takes a lot off what it stands on, or out of it, touches that: what was on the lot stays behind there.

In each farm T-1 grows on M-1 and is wet by the well; it is taken, in one way or another, and M-1 goes under T-2
unwashed. What was in the well's water can be on M-1 by then, and so on T-2 and all that comes of it.
"""

import pytest
from tests.bearing.farm import FIRST, back, forward, load, uses

SOWN = """
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 100 g, trays: 2, equipment: M-1, water: none}
- {kind: growing-check, at: 2026-03-04 09:00, batches: T-1, water: WELL, equipment: none}
"""
"""E21 and E22."""
AGAIN = """
- {kind: sowing, at: 2026-03-12 09:00, batch: T-2, seed: S-2 100 g, trays: 1, equipment: M-1, water: none}
- {kind: harvest, at: 2026-03-20 09:00, lot: H-2, from: T-2 1, amount: 500 g, cut: above the medium, equipment: KN-2}
- {kind: packing, at: 2026-03-20 10:00, lot: P-2, from: H-2 500 g, amount: 500 g}
- {kind: delivery, at: 2026-03-20 12:00, code: D-2, customer: CAFE, items: P-2 500 g}
"""
FOLLOWS = {"T-2", "H-2", "P-2", "D-2"}

TAKEN = {
    "cut": "kind: harvest, lot: H-1, from: T-1 2, amount: 900 g, cut: above the medium, equipment: KN-1",
    "composted": "kind: disposal, items: T-1, reason: mould, to: compost",
    "composted, its mat named": "kind: disposal, items: [{lot: T-1, trays: M-1, finished: yes}], to: compost",
    "packed as it grew": "kind: packing, lot: P-1, from: T-1 1 tray, amount: 300 g",
    "sold live": "kind: delivery, code: D-1, customer: CAFE, items: T-1 2 trays",
    "sold live, its mat lent": "kind: delivery, code: D-1, customer: CAFE, items: T-1 2 trays, lent: M-1",
}


@pytest.mark.parametrize("taken", TAKEN.values(), ids=TAKEN)
def test_what_wet_a_crop_reaches_the_next_one_on_its_mat(book, taken):
    load(book, f"{SOWN}- {{at: 2026-03-08 09:00, {taken}}}\n{AGAIN}")
    assert forward(book, "WELL") >= FOLLOWS | {"T-1", "M-1"}
    assert forward(book, "T-1") >= FOLLOWS | {"M-1"}
    assert {"T-1", "M-1", "WELL", "S-1"} <= back(book, "D-2")
    assert "touched M-1" in uses(book, FIRST + 2)


def test_a_crop_that_tested_positive_and_was_composted_stands_behind_what_grew_on_its_mat_next(book):
    """T-1 is sampled, a germ is found, T-1 is composted, and its mat is sown again: T-1 is behind D-2."""
    load(
        book,
        """
        - {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 100 g, trays: 1, equipment: M-1, water: none}
        - {kind: sample, at: 2026-03-06 09:00, of: T-1, amount: 1 tray, lab: LAB, test: Salmonella,
           result: detected in 25 g}
        - {kind: disposal, at: 2026-03-08 09:00, items: T-1, reason: positive, to: compost}
        """,
    )
    load(book, AGAIN, "later.yaml")
    assert forward(book, "T-1") >= FOLLOWS
    assert "T-1" in back(book, "D-2")


def test_a_live_crop_that_came_back_is_taken_off_the_mat_it_went_out_on(book):
    """D-1 is T-1 on its mat M-1; half of it comes back and is restocked as T-1R. So the return touches M-1."""
    load(
        book,
        SOWN
        + """
- {kind: delivery, at: 2026-03-08 09:00, code: D-1, customer: CAFE, items: T-1 2 trays}
- {kind: return, at: 2026-03-09 09:00, delivery: D-1, lot: T-1, amount: 1 tray, then: restocked, new_lot: T-1R}
""",
    )
    assert "touched M-1" in uses(book, FIRST + 3)
    assert "M-1" in forward(book, "D-1")


def test_a_return_that_only_names_its_lot_touches_nothing(book):
    load(
        book,
        SOWN
        + """
- {kind: delivery, at: 2026-03-08 09:00, code: D-1, customer: CAFE, items: T-1 2 trays}
- {kind: return, at: 2026-03-09 09:00, delivery: D-1, lot: T-1, amount: 1 tray, then: disposed}
""",
    )
    assert uses(book, FIRST + 3, "touched") == set()


TWO_MATS = """
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 100 g, trays: 2, equipment: "M-1, M-2", water: none}
"""
ROWS = {
    "kind: disposal, items: [{lot: T-1, trays: M-1}], to: compost": {"touched M-1"},
    "kind: disposal, items: [{lot: T-1, trays: 1}], to: compost": {"touched M-1", "touched M-2"},
    "kind: packing, lot: P-1, from: [{lot: T-1, amount: 1 tray, trays: M-2}], amount: 300 g": {"touched M-2"},
    "kind: delivery, code: D-1, customer: CAFE, items: [{lot: T-1, amount: 1 tray, trays: M-2}]": {"touched M-2"},
    "kind: delivery, code: D-1, customer: CAFE, items: T-1 1 tray": {"touched M-1", "touched M-2"},
}


@pytest.mark.parametrize(("taken", "touched"), ROWS.items(), ids=[str(n) for n in range(len(ROWS))])
def test_only_the_mats_that_a_row_names_are_touched_where_it_names_some(book, taken, touched):
    load(book, f"{TWO_MATS}- {{at: 2026-03-08 09:00, {taken}}}\n")
    assert uses(book, FIRST + 1, "touched") == touched


CRATE = """
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 100 g, trays: 1, equipment: M-1, water: none}
- {kind: sowing, at: 2026-03-02 09:30, batch: T-2, seed: S-2 100 g, trays: 1, equipment: M-2, water: none}
- {kind: harvest, at: 2026-03-10 09:00, lot: H-1, from: T-1 1, amount: 900 g, cut: above the medium,
   equipment: "KN-1, CR-1"}
- {kind: contact, at: 2026-03-10 10:00, what: spilt on it, lots: H-1, items: RK-2}
"""
"""E21 to E24: H-1 was cut into the crate CR-1, and something from the rack RK-2 was spilt on it there."""
PACKED = "- {kind: packing, at: 2026-03-10 11:00, lot: P-1, from: H-1 900 g, amount: 900 g}\n"
FILLED = """
- {kind: harvest, at: 2026-03-11 09:00, lot: H-2, from: T-2 1, amount: 500 g, cut: above the medium,
   equipment: "KN-2, CR-1"}
- {kind: packing, at: 2026-03-11 11:00, lot: P-2, from: H-2 500 g, amount: 500 g}
"""


def test_what_was_spilt_on_a_crop_in_its_crate_reaches_the_next_one_in_it(book):
    """H-1 was packed out of CR-1, so what was spilt on H-1 is on CR-1, into which H-2 is cut the next day."""
    load(book, CRATE + PACKED + FILLED)
    assert {"H-1", "P-1", "CR-1", "H-2", "P-2"} <= forward(book, "RK-2")
    assert "RK-2" in back(book, "P-2")


WASHED = "- {kind: washing, at: 2026-03-10 10:30, items: CR-1, method: brushed, tub: none}\n"


def test_a_crate_that_was_washed_holds_nothing_any_more(book):
    """CR-1 was washed before H-1 was packed: by then H-1 lay in something else, and the packing touches no crate."""
    load(book, CRATE + WASHED + PACKED)
    assert uses(book, FIRST + 5, "touched") == set()


def test_it_counts_whichever_sheet_the_washing_stands_on(book):
    load(book, CRATE)
    load(book, WASHED, "washing.yaml")
    load(book, PACKED, "packing.yaml")
    assert uses(book, FIRST + 5, "touched") == set()


def test_what_a_mat_touched_at_the_cut_is_not_what_the_cut_lot_stands_on(book):
    """H-1 was cut off M-1 into CR-1. It stands in the crate and no longer on the mat."""
    load(book, CRATE + PACKED)
    assert uses(book, FIRST + 4, "touched") == {"touched CR-1"}


def test_a_soak_stands_in_its_bucket(book):
    """Something was spilt on the soak in BUCKET. It was sown out of it, and the next soak stood in it unwashed."""
    load(
        book,
        """
        - {kind: soaking, at: 2026-03-02 18:00, lot: SO-1, seed: S-1 100 g, amount: 200 g, equipment: BUCKET}
        - {kind: contact, at: 2026-03-02 20:00, what: spilt on it, lots: SO-1, items: RK-2}
        - {kind: sowing, at: 2026-03-03 09:00, batch: T-1, seed: SO-1 200 g, trays: 1, equipment: M-1, water: none}
        - {kind: soaking, at: 2026-03-03 18:00, lot: SO-2, seed: S-2 100 g, amount: 200 g, equipment: BUCKET}
        - {kind: sowing, at: 2026-03-04 09:00, batch: T-2, seed: SO-2 200 g, trays: 1, equipment: M-2, water: none}
        """,
    )
    assert {"SO-1", "T-1", "BUCKET", "SO-2", "T-2"} <= forward(book, "RK-2")
    assert uses(book, FIRST + 2, "touched") == {"touched M-1", "touched BUCKET"}


def test_a_crop_does_not_stand_in_the_bucket_out_of_which_it_was_sown(book):
    """The sowing touches BUCKET for the soak that it took out of it; T-1 stands on M-1 alone."""
    load(
        book,
        """
        - {kind: soaking, at: 2026-03-02 18:00, lot: SO-1, seed: S-1 100 g, amount: 200 g, equipment: BUCKET}
        - {kind: sowing, at: 2026-03-03 09:00, batch: T-1, seed: SO-1 200 g, trays: 1, equipment: M-1, water: none}
        - {kind: disposal, at: 2026-03-08 09:00, items: T-1, to: compost}
        """,
    )
    assert uses(book, FIRST + 2, "touched") == {"touched M-1"}


def test_a_batch_with_a_long_history_is_found_on_either_database(where):
    """The same farm in one sheet and in many, on SQLite and on PostgreSQL."""
    from tests.bearing.farm import start

    book = start(where)
    for place, line in enumerate([*CRATE.strip().split("\n- "), *PACKED.strip().split("\n- ")]):
        load(book, f"- {line.removeprefix('- ')}\n", f"sheet-{place}.yaml")
    assert uses(book, FIRST + 4, "touched") == {"touched CR-1"}
    book.ledger.engine.dispose()


BULK = """
- {kind: packing, at: 2026-03-10 11:00, lot: P-1, from: H-1 900 g, amount: 900 g, equipment: CR-2%s}
- {kind: delivery, at: 2026-03-12 12:00, code: D-1, customer: CAFE, items: P-1 900 g, vehicle: VAN-1}
"""


@pytest.mark.parametrize(
    ("packaging", "touched"),
    [("", {"touched CR-2", "touched VAN-1"}), (", packaging: BAGS", {"touched VAN-1"})],
    ids=["loose in the crate", "in bags"],
)
def test_what_was_packed_stands_in_a_crate_only_where_it_has_no_package_around_it(book, packaging, touched):
    """Packed loose into CR-2, P-1 leaves in it or is tipped out of it. In bags it touches no crate any more."""
    bags = "- {kind: supplies-receipt, at: 2026-03-01, lot: BAGS, product: Bags, type: packaging, amount: 500 bags}\n"
    load(book, bags + CRATE + BULK % packaging)
    assert uses(book, FIRST + 6, "touched") == touched
