"""Two products that must never meet, in one tank, tub or can, each in an entry of its own.

The farm is that of `stocked.py`. CR-1 to CR-3 are containers, M-1 and M-2 mats.
"""

import pytest
from tests.checks.small import Small
from tests.checks.stocked import DIP, STORES, dangers_found, pour


def test_what_is_poured_on_what_it_must_never_meet_is_told_and_found(stocked):
    first = pour(stocked, "2026-03-02 10:00", "S-C")
    second = pour(stocked, "2026-03-02 10:20", "S-P")
    assert first.notices == ()
    ((name, finding),) = dangers_found(stocked).items()
    assert name == f"never-mixed:{second.name}"
    assert second.notices == (finding.told,)
    assert finding.severity == "critical"
    assert finding.about == (second.name, "TK-1", first.name, "S-C", "CL", "S-P", "PX")
    assert finding.text == (
        f"DANGER: {second.name} (2026-03-02 10:20) puts together what must never meet: PX (peroxyacetic acid, Keen 15)"
        f" in S-P on CL (sodium hypochlorite, Plain bleach) in S-C, which {first.name} (2026-03-02 10:00) put into"
        " TK-1. Nothing says that TK-1 was emptied or washed between. An acid sets chlorine gas free and ammonia makes"
        " chloramine, and both are poisonous. Peroxide makes it foam over, hot and full of gas."
    )
    assert "get fresh air" in finding.do and "TK-1 was emptied" in finding.do


@pytest.mark.parametrize(
    "between",
    [
        # Washed, and said to be emptied first when it was filled with water.
        {"kind": "washing", "items": "TK-1", "method": "rinsed out"},
        {"kind": "washing", "items": "TK-1", "method": "rinsed out", "seen_clean": "no"},
        {"kind": "tank-fill", "tank": "TK-1", "water": "MAINS", "emptied": "yes"},
        {"kind": "sanitising", "items": "TK-1", "method": "heat", "temperature": "90 C", "contact": "5 min"},
    ],
)
def test_a_tank_that_was_emptied_or_washed_between_holds_nothing_of_before(stocked, between):
    pour(stocked, "2026-03-02 10:00", "S-C")
    stocked.now += 60
    stocked.book.record(at="2026-03-02 10:10", by="TO", **between)
    assert pour(stocked, "2026-03-02 10:20", "S-P").notices == ()
    assert dangers_found(stocked) == {}


@pytest.mark.parametrize(
    ("between", "at"),
    [
        # Water alone empties nothing, nor does what says that it was not emptied.
        ({"kind": "tank-fill", "tank": "TK-1", "water": "MAINS"}, "2026-03-02 10:10"),
        ({"kind": "tank-fill", "tank": "TK-1", "water": "MAINS", "emptied": "no"}, "2026-03-02 10:10"),
        ({"kind": "washing", "items": "M-1", "tub": "TK-1", "method": "brushed"}, "2026-03-02 10:10"),
        # A washing of that day, at an hour that nobody wrote, or after both.
        ({"kind": "washing", "items": "TK-1", "method": "rinsed out"}, "2026-03-02"),
        ({"kind": "washing", "items": "TK-1", "method": "rinsed out"}, "2026-03-02 11:00"),
        # Another tank.
        ({"kind": "washing", "items": "CR-1", "method": "rinsed out"}, "2026-03-02 10:10"),
    ],
)
def test_what_does_not_surely_empty_it_between_does_not_separate(stocked, between, at):
    pour(stocked, "2026-03-02 10:00", "S-C")
    stocked.now += 60
    stocked.book.record(at=at, by="TO", **between)
    assert pour(stocked, "2026-03-02 10:20", "S-P").notices[0].startswith("DANGER: ")
    assert len(dangers_found(stocked)) == 1


def test_what_was_poured_in_between_hides_nothing_below_it(stocked):
    pour(stocked, "2026-03-01 10:00", "CL")
    pour(stocked, "2026-03-01 11:00", "SOAP")
    (told,) = pour(stocked, "2026-03-02 10:00", "SOUR").notices
    assert "on CL (sodium hypochlorite, Plain bleach), which " in told


def test_a_fill_that_says_that_the_tank_was_emptied_first_meets_nothing(stocked):
    pour(stocked, "2026-03-02 10:00", "S-C")
    assert pour(stocked, "2026-03-02 10:20", "S-P", emptied="yes").notices == ()
    # And what comes on it meets it.
    assert pour(stocked, "2026-03-02 10:40", "S-C").notices[0].startswith("DANGER: ")


def test_a_mix_that_was_to_be_discarded_before_is_no_longer_there(stocked):
    # S-C is discarded at 20:00 of the second.
    pour(stocked, "2026-03-02 10:00", "S-C")
    assert pour(stocked, "2026-03-02 19:59", "S-P").notices[0].startswith("DANGER: ")
    stocked.load("- {kind: solution, at: 2026-03-03 08:00, lot: S-P2, product: PX, discard_at: 2026-03-03 20:00}\n")
    pour(stocked, "2026-03-03 09:00", "S-C", into="CR-1")
    assert pour(stocked, "2026-03-03 10:00", "S-P2", into="CR-2").notices == ()
    pour(stocked, "2026-03-02 12:00", "S-C", into="CR-3")
    assert pour(stocked, "2026-03-03 10:00", "S-P2", into="CR-3").notices == ()


def test_a_tub_in_which_things_are_dipped_and_washed_holds_what_was_in_it(stocked):
    stocked.book.record(at="2026-03-02 10:00", by="TO", reading="100 ppm", ph="7", tub="CR-1", **DIP)
    stocked.now += 60
    told = stocked.book.record("washing", at="2026-03-02 10:30", by="TO", items="M-2", method="brushed", tub="CR-1",
                               detergent="SOUR")  # fmt: skip
    assert told.notices[0].startswith("DANGER: ") and "what must never meet: SOUR (" in told.notices[0]
    # The mat that was dipped, and then washed with something else, is no tub.
    again = stocked.book.record("washing", at="2026-03-02 11:30", by="TO", items="M-1", method="brushed",
                                detergent="SOUR")  # fmt: skip
    assert again.notices == ()


def test_a_tub_that_is_only_assumed_is_no_word_of_what_was_poured_where(stocked):
    stocked.load(
        "- {kind: place, at: 2026-03-01 09:00, code: SINK, name: Sink, use: wash, usual_items: CR-1}\n"
        "- {kind: washing, at: 2026-03-02 09:30, place: SINK, items: M-1, method: brushed, detergent: SOUR}\n"
    )
    told = stocked.book.record(at="2026-03-02 10:00", by="TO", reading="100 ppm", ph="7", place="SINK", **DIP)
    assert not any("DANGER" in one for one in told.notices)
    assert dangers_found(stocked) == {}


def test_what_was_poured_in_on_the_same_day_at_no_hour_may_have_met_it(stocked):
    day = pour(stocked, "2026-03-02", "S-C")
    hour = pour(stocked, "2026-03-02 10:00", "S-P")
    assert hour.notices[0].startswith(f"DANGER: {hour.name} ")
    assert day.name in hour.notices[0]
    assert len(dangers_found(stocked)) == 1


def test_a_tank_on_either_database(where):
    farm = Small(where)
    farm.load(STORES)
    pour(farm, "2026-03-02 10:00", "S-C")
    second = pour(farm, "2026-03-02 10:20", "S-P")
    (finding,) = dangers_found(farm).values()
    farm.book.ledger.engine.dispose()
    assert second.notices == (finding.told,)
