"""What a book on either engine knows of a sanitiser that is to be mixed."""

import pytest
from tests.ledger.farm import SOLUTION, load

from lotwalk.errors import NotUnderstood

MIX = SOLUTION.replace("volume: 10 L", "volume: 10 L, target: 120 ppm, discard_at: 2026-03-02 20:00")


def test_a_lot_its_label_and_a_solution_lead_to_the_same_limits(book):
    load(book, MIX)
    settings, rules = book.rules()
    assert settings.measures == "metric"
    lot, label, solution = (book.on_record(code, rules) for code in ("bleach", "L-1", "SOL-1"))
    assert {one.limits for one in (lot, label, solution)} == {lot.limits}
    assert (lot.limits.lowest, lot.limits.highest) == (100, 200)
    assert (lot.code, lot.expires, lot.use) == ("BLEACH", "2027-01-01", "food contact")
    assert (solution.code, solution.volume.written, solution.target.written) == ("BLEACH", "10 L", "120 ppm")


@pytest.mark.parametrize(
    ("code", "told"), [("BOXES", "recorded as packaging"), ("M-01", "recorded as medium"), ("X", "not in the book")]
)
def test_what_is_no_sanitiser_is_refused(book, code, told):
    with pytest.raises(NotUnderstood, match=told):
        book.on_record(code, book.rules()[1])


def test_a_weak_reading_is_told_in_the_receipt_and_again_when_it_is_amended(book):
    load(book, MIX)
    receipt = book.record("solution-check", at="2026-03-02 08:00", by="TO", solution="SOL-1", reading="110 ppm")
    assert receipt.notices == ()
    told = book.amend(int(receipt.name[1:]), {"reading": "60 ppm"}, because="misread", by=["TO"])[0]
    assert told.notices[0].startswith("Reading 60 ppm of SOL-1 is below the label's 100 ppm")
    gone = book.void(int(receipt.name[1:]), because="another tub", by=["TO"])[0]
    assert gone.notices == ()
