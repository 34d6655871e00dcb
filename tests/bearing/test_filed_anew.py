"""What an entry touches because of what a lot stands on follows the entries in force, whenever those are written.

T-1 was cut. Only afterwards is it written, or corrected, what it stood on. The cut is filed anew in the same
transaction, and the receipt says so; what wet T-1 reaches T-2, which was sown on that mat unwashed.
"""

import pytest
from tests.bearing.farm import FIRST, back, forward, history, load, uses

from lotwalk.ledger.read.versions import versions
from lotwalk.ledger.verify.entries import verify

SOWN = "- {{kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 100 g, trays: 1, water: none{}}}\n"
GROWN = """
- {kind: growing-check, at: 2026-03-04 09:00, batches: T-1, water: WELL, equipment: none}
- {kind: harvest, at: 2026-03-10 09:00, lot: H-1, from: T-1 1, amount: 900 g, cut: above the medium, equipment: KN-1}
"""
NEXT = """
- {kind: sowing, at: 2026-03-12 09:00, batch: T-2, seed: S-2 100 g, trays: 1, equipment: M-1, water: none}
"""
SOWING, CUT = FIRST, FIRST + 2
REASON = "what it stands on is recorded otherwise now"


def amended(book):
    load(book, SOWN.format(", equipment: M-3") + GROWN)
    return book.amend(SOWING, {"equipment": "M-1"}, because="wrong mat written", by=["TO"])


def completed(book):
    load(book, SOWN.format("") + GROWN)
    return book.amend(SOWING, {"equipment": "M-1"}, because="the slip turned up", by=["TO"])


def made_again(book):
    load(book, SOWN.format(", equipment: M-3") + GROWN)
    book.void(SOWING, because="wrong mat written", by=["TO"])
    return load(book, SOWN.format(", equipment: M-1"), "again.yaml")


WAYS = pytest.mark.parametrize("write", [amended, completed, made_again])


@WAYS
def test_the_cut_is_filed_anew_when_what_the_crop_stood_on_is_written_otherwise(book, write):
    receipts = write(book)
    assert uses(book, CUT, "touched") == {"touched M-1", "touched KN-1"}
    (told,) = [one for one in receipts if one.name == f"E{CUT}"]
    assert told.notices == (f"filed anew, since {REASON}",)
    old, new = history(book, CUT)[-2:]
    assert (new.fields, new.at, new.by, new.because, new.amended_by) == (old.fields, old.at, old.by, REASON, ())
    load(book, NEXT, "next.yaml")
    assert {"M-1", "T-2"} <= forward(book, "WELL")
    assert "WELL" in back(book, "T-2")
    assert "M-3" not in forward(book, "T-1")


@WAYS
def test_the_log_is_whole_afterwards(book, write):
    write(book)
    with book.ledger.reading() as connection:
        assert verify(connection, book.ledger.kinds).ok


def test_while_the_sowing_is_void_the_cut_touches_what_it_did(book):
    load(book, SOWN.format(", equipment: M-3") + GROWN)
    book.void(SOWING, because="wrong mat written", by=["TO"])
    assert uses(book, CUT, "touched") == {"touched M-3", "touched KN-1"}


def test_a_correction_of_something_else_files_nothing_anew(book):
    load(book, SOWN.format(", equipment: M-1") + GROWN)
    (receipt,) = book.amend(SOWING, {"note": "under the window"}, because="forgotten", by=["TO"])
    assert receipt.name == f"E{SOWING}"
    assert len(history(book, CUT)) == 1


LATE = {
    "lifted into a tray": (
        "- {kind: growing-check, at: 2026-03-03 09:00, batches: T-1, water: none, equipment: TR-5}\n",
        {"touched M-1", "touched TR-5", "touched KN-1"},
    ),
    "retagged": (
        "- {kind: equipment-change, at: 2026-03-03 09:00, items: M-1, what: retagged, codes: N-1}\n",
        {"touched M-1", "touched N-1", "touched KN-1"},
    ),
}


@pytest.mark.parametrize(("late", "touched"), LATE.values(), ids=LATE)
def test_it_is_filed_anew_when_it_is_typed_late_where_the_crop_stood_later_on(book, late, touched):
    load(book, SOWN.format(", equipment: M-1") + GROWN)
    _, receipt = load(book, late, "late.yaml")
    assert receipt.name == f"E{CUT}"
    assert uses(book, CUT, "touched") == touched
    (_, receipt) = book.void(CUT + 1, because="that was another batch", by=["TO"])
    assert uses(book, CUT, "touched") == {"touched M-1", "touched KN-1"}


def test_a_row_that_names_the_wrong_mat_as_the_sowing_did_keeps_it_and_takes_the_right_one_too(book):
    """The row said M-3 as the sowing did. Nobody has corrected that, and T-1 stood on M-1."""
    load(book, SOWN.format(", equipment: M-3"))
    load(
        book,
        """
        - {kind: harvest, at: 2026-03-10 09:00, lot: H-1, from: [{batch: T-1, trays: M-3}], amount: 900 g,
           cut: above the medium, equipment: KN-1}
        """,
        "cut.yaml",
    )
    book.amend(SOWING, {"equipment": "M-1"}, because="wrong mat written", by=["TO"])
    assert uses(book, SOWING + 1, "touched") == {"touched M-1", "touched M-3", "touched KN-1"}


def test_a_packing_that_is_judged_keeps_its_verdict(book):
    """P-1 was washed in chlorinated water without a reading, and packed straight from T-1: that fails either way."""
    load(
        book,
        SOWN.format(", equipment: M-3")
        + """
- {kind: packing, at: 2026-03-10 09:00, lot: P-1, from: T-1 1 tray, amount: 300 g, water: MAINS, solution: SOL-1}
""",
    )
    before = history(book, SOWING + 1)[-1]
    book.amend(SOWING, {"equipment": "M-1"}, because="wrong mat written", by=["TO"])
    after = history(book, SOWING + 1)[-1]
    assert uses(book, SOWING + 1, "touched") == {"touched M-1"}
    assert (after.verdict.failed, after.verdict.reasons) == (before.verdict.failed, before.verdict.reasons)
    assert uses(book, SOWING + 1, "shared", "took") == {"took T-1", "took SOL-1", "shared SOL-1"}


def test_a_dip_before_the_corrected_cut_is_judged_by_what_the_cut_touched(book):
    """M-1 was washed on the 9th and dipped on the 11th. The cut of the 10th touched it, so it was dipped unwashed."""
    load(
        book,
        SOWN.format(", equipment: M-3")
        + GROWN
        + """
- {kind: washing, at: 2026-03-09 12:00, items: M-1, method: brushed, tub: none}
- {kind: sanitising, at: 2026-03-11 09:00, items: M-1, solution: SOL-1, reading: 100 ppm, contact: 2 min,
   temperature: 20 C, ph: 7}
""",
    )
    receipts = book.amend(SOWING, {"equipment": "M-1"}, because="wrong mat written", by=["TO"])
    (judged,) = [one.verdict for one in receipts if one.verdict]
    assert judged.failed == ("M-1",)
    assert any("was not washed since its last use" in reason.text for reason in judged.reasons)


def test_every_version_stands_in_the_book_and_says_why(book):
    amended(book)
    with book.ledger.reading() as connection:
        found = versions(connection, CUT)
    assert [{use.code for use in one.uses if use.code.startswith("M-")} for one in found] == [{"M-3"}, {"M-1"}]
    assert found[-1].evidence == (f"E{SOWING}",)


def test_a_sowing_written_again_without_its_mats_leaves_the_cut_as_it_was(book):
    """Nobody says any more what T-1 stood on. That it was M-3 was said once, and silence does not take it back."""
    load(book, SOWN.format(", equipment: M-3") + GROWN)
    book.void(SOWING, because="wrong seed written", by=["TO"])
    load(book, SOWN.format(""), "again.yaml")
    assert uses(book, CUT, "touched") == {"touched M-3", "touched KN-1"}
