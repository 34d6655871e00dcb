"""A record that somebody changed after it had been read has to be read again."""

from tests.checks.small import PLACE

from lotwalk.checks.subjects import reviews
from lotwalk.ledger.read.versions import versions
from lotwalk.values.times import read_when

DIP = "- {kind: sanitising, items: M-1, method: heat, contact: 2 min, at: 2026-03-03 09:00}\n"
REVIEW = "- {kind: review, from: 2026-03-02, until: 2026-03-08, at: 2026-03-08 19:00}\n"


def _amend(lite, when, name):
    lite.now = read_when(when, PLACE).end
    lite.book.amend(int(name[1:]), {"contact": "20 min"}, because="misread", by=("TO",))


def _changed(lite):
    return lite.found(reviews, on="2026-03-12")


def test_a_value_changed_after_its_review_is_told_until_it_is_read_again(lite):
    dip, review = lite.load(DIP + REVIEW)
    assert _changed(lite) == {}
    _amend(lite, "2026-03-09 07:00", dip)
    (found,) = _changed(lite).values()
    assert found.id == f"changed-after-review:{dip}"
    assert found.severity == "major"
    assert found.about == (dip, review)
    assert f"changed on 2026-03-09 07:00 by TO, after its review {review} of 2026-03-08 19:00." in found.text
    lite.load(f"- {{kind: review, entries: {dip}, at: 2026-03-09 08:00}}\n")
    assert _changed(lite) == {}


def test_a_value_changed_before_its_review_is_not(lite):
    (dip,) = lite.load(DIP)
    _amend(lite, "2026-03-08 18:00", dip)
    lite.load(REVIEW)
    assert _changed(lite) == {}


def test_a_later_change_by_the_program_is_none(lite):
    """A mix found too weak late makes the program judge the dip again; nobody changed what it says."""
    supplies = (
        "- {kind: supplies-receipt, lot: BL-1, product: Bleach, type: sanitiser, active: chlorine, strength: 5.25 %,"
        " label_min: 50 ppm, label_contact: 1 min, at: 2026-03-02 08:00}\n"
        "- {kind: solution, lot: SOL-1, product: BL-1, volume: 10 L, reading: 110 ppm, at: 2026-03-03 08:00}\n"
    )
    dip = DIP.replace("method: heat", "solution: SOL-1, ph: 7, temperature: 24 degC, washed: yes")
    *_, name, _ = lite.load(supplies + dip + REVIEW)
    lite.load("- {kind: solution-check, solution: SOL-1, reading: 10 ppm, at: 2026-03-03 08:30}\n")
    with lite.book.ledger.reading() as connection:
        assert len(versions(connection, int(name[1:]))) == 2
    assert _changed(lite) == {}
