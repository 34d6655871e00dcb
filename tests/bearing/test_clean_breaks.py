"""Nothing that a crop still stands on passes a clean break: under no code that it got, and wherever the crop went."""

import pytest
from tests.bearing.farm import FIRST, back, dip, forward, load, uses

SOWN = """
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 100 g, trays: 1, equipment: M-1, water: none}
"""
RETAGGED = "- {kind: equipment-change, at: 2026-03-03 09:00, items: M-1, what: retagged, codes: N-1}\n"
CUT_UP = "- {kind: equipment-change, at: 2026-03-03 09:00, items: M-1, what: cut, codes: 'N-1, N-2'}\n"
TWICE = RETAGGED + "- {kind: equipment-change, at: 2026-03-03 12:00, items: N-1, what: retagged, codes: Q-1}\n"
LIFTED = """
- {kind: growing-check, at: 2026-03-03 09:00, batches: T-1, water: none, equipment: TR-5, action: moved into TR-5}
"""
MOVED = {
    "retagged": (RETAGGED, "N-1"),
    "cut up": (CUT_UP, "N-2"),
    "retagged twice": (TWICE, "Q-1"),
    "lifted into a tray": (LIFTED, "TR-5"),
}
ON_ANOTHER = pytest.mark.parametrize(("moved", "item"), MOVED.values(), ids=MOVED)


def verdict(receipts):
    (found,) = [one.verdict for one in receipts if one.verdict]
    return found


@ON_ANOTHER
def test_a_dip_of_what_a_crop_stands_on_does_not_pass(book, moved, item):
    load(book, SOWN + moved)
    found = verdict(load(book, dip(item, "2026-03-06 09:00"), "dip.yaml"))
    assert (found.passed, found.failed) == ((), (item,))
    assert any(f"{item} still carries T-1" in reason.text for reason in found.reasons)


@ON_ANOTHER
def test_it_passes_once_the_crop_is_finished(book, moved, item):
    load(book, SOWN + moved + "- {kind: disposal, at: 2026-03-05 09:00, items: T-1, to: compost}\n")
    assert verdict(load(book, dip(item, "2026-03-06 09:00"), "dip.yaml")).passed == (item,)


@ON_ANOTHER
def test_what_wet_the_crop_there_reaches_the_next_one_on_it(book, moved, item):
    """T-1 is wet by the well on the item that it stands on by then, and cut off it; T-2 is sown on that unwashed."""
    load(book, SOWN + moved)
    load(
        book,
        f"""
        - {{kind: growing-check, at: 2026-03-04 09:00, batches: T-1, water: WELL, equipment: none}}
        - {{kind: harvest, at: 2026-03-10 09:00, lot: H-1, from: T-1 1, amount: 900 g, cut: above the medium,
           equipment: KN-1}}
        - {{kind: sowing, at: 2026-03-12 09:00, batch: T-2, seed: S-2 100 g, trays: 1, equipment: {item}, water: none}}
        """,
        "later.yaml",
    )
    assert {"H-1", item, "T-2"} <= forward(book, "WELL")
    assert "WELL" in back(book, "T-2")
    assert "T-2" in forward(book, "KN-1")


def test_a_tray_that_was_named_with_two_batches_bears_neither(book):
    """TR-5 was used on T-1 and on T-2, one after the other: it is a tool there, and stands under none."""
    load(
        book,
        SOWN
        + """
- {kind: sowing, at: 2026-03-02 09:00, batch: T-2, seed: S-2 100 g, trays: 1, equipment: M-2, water: none}
- {kind: growing-check, at: 2026-03-03 09:00, batches: "T-1, T-2", water: none, equipment: TR-5}
""",
    )
    assert verdict(load(book, dip("TR-5", "2026-03-06 09:00"), "dip.yaml")).passed == ("TR-5",)


def test_a_row_may_name_the_tray_into_which_the_batch_was_lifted(book):
    load(book, SOWN + LIFTED)
    load(book, "- {kind: disposal, at: 2026-03-05 09:00, items: [{lot: T-1, trays: TR-5}], to: bin}\n", "out.yaml")
    assert uses(book, FIRST + 2, "touched") == {"touched TR-5"}


def test_what_was_cut_before_the_batch_was_lifted_touches_the_old_mat_alone(book):
    """A first cutting on the 3rd at eight, before T-1 went into TR-5 at nine."""
    load(book, SOWN + LIFTED)
    load(
        book,
        """
        - {kind: harvest, at: 2026-03-03 08:00, lot: H-1, from: [{batch: T-1, finished: no}], amount: 100 g,
           cut: above the medium, equipment: KN-1}
        """,
        "cut.yaml",
    )
    assert uses(book, FIRST + 2, "touched") == {"touched M-1", "touched KN-1"}


LATE = {
    "the sowing": (SOWN, "M-1", ""),
    "that it was lifted": (LIFTED, "TR-5", SOWN),
    "the sowing, under an old tag": (SOWN, "N-1", RETAGGED),
}


@pytest.mark.parametrize(("late", "item", "early"), LATE.values(), ids=LATE)
def test_a_dip_that_passed_is_judged_again_when_what_stood_on_the_item_is_typed_late(book, late, item, early):
    load(book, early + dip(item, "2026-03-06 09:00"), "dip.yaml")
    receipts = load(book, late, "late.yaml")
    assert any(one.verdict and one.verdict.failed == (item,) for one in receipts)


def test_a_dip_that_failed_passes_when_the_disposal_is_typed_late(book):
    load(book, SOWN + RETAGGED + dip("N-1", "2026-03-06 09:00"))
    receipts = load(book, "- {kind: disposal, at: 2026-03-05 09:00, items: T-1, to: compost}\n", "late.yaml")
    assert any(one.verdict and one.verdict.passed == ("N-1",) for one in receipts)
