"""Which reading speaks for a load: its own, or the readings of its solution on either side.


Those on either side speak only for a load of their own working day, and only while the mix lives. A day ends at 04:00.
"""

from zoneinfo import ZoneInfo

import pytest
from tests.judge.memory import Book, breaks, clean_book, ppm, time, when

from lotwalk.judge import RuleSet
from lotwalk.values.times import read_when


def test_a_load_between_two_good_readings_of_its_solution_passes():
    book = clean_book()
    first, dip = book.reading("2026-03-02 17:30", "120 ppm"), book.dip("M-001")
    assert "none of SOL-1 after it" in breaks(book.verdict(dip))[0]
    last = book.reading("2026-03-02 18:00", "110 ppm")
    verdict = book.verdict(dip)
    assert verdict.passed == ("M-001",)
    assert {first.number, last.number} <= set(verdict.evidence)


def test_a_later_weak_reading_fails_the_loads_since_the_last_good_one():
    book = clean_book()
    book.reading("2026-03-02 17:10", "150 ppm")
    early = book.dip("M-001", "2026-03-02 17:20")
    book.reading("2026-03-02 17:30", "120 ppm")
    proven, late = book.dip("M-002", "2026-03-02 17:40", reading=ppm("110 ppm")), book.dip("M-003", "2026-03-02 17:50")
    weak = book.reading("2026-03-02 18:00", "60 ppm")
    assert book.verdict(early).passed == ("M-001",)
    assert book.verdict(proven).passed == ("M-002",)
    verdict = book.verdict(late)
    assert verdict.failed == ("M-003",)
    assert f"the reading of 2026-03-02 18:00, 60 ppm ({weak.name}), is below 100 ppm" in breaks(verdict)[0]
    assert weak.number in verdict.evidence


def test_a_reading_of_another_solution_proves_nothing():
    book = clean_book()
    book.solution("SOL-2")
    book.reading("2026-03-02 17:30", "120 ppm", "SOL-2")
    book.reading("2026-03-02 18:00", "120 ppm", "SOL-2")
    assert book.verdict(book.dip("M-001")).failed == ("M-001",)


def test_a_reading_of_unknown_order_is_no_proof_but_a_weak_one_counts():
    book = clean_book()
    book.reading("2026-03-02 17:30", "120 ppm")
    dip = book.dip("M-001")
    same_day = book.reading("2026-03-02", "120 ppm")
    assert book.verdict(dip).failed == ("M-001",)
    book.reading("2026-03-02 18:00", "120 ppm")
    assert book.verdict(dip).passed == ("M-001",)
    book.drop(same_day)
    book.reading("2026-03-02", "20 ppm")
    assert book.verdict(dip).failed == ("M-001",)


def test_the_reading_taken_at_mixing_comes_before_any_use_of_the_solution():
    book = clean_book()
    book.solution("SOL-2", at="2026-03-02 17:40", reading=ppm("120 ppm"))
    dip = book.dip("M-001", "2026-03-02 17:40", solution="SOL-2")
    book.reading("2026-03-02 18:00", "110 ppm", "SOL-2")
    assert book.verdict(dip).passed == ("M-001",)


def test_a_reading_with_old_strips_proves_no_load():
    book = clean_book()
    book.receipt("STRIPS-1", type="test strips", expires="2026-02-28")
    book.reading("2026-03-02 17:30", "120 ppm", strips="STRIPS-1")
    dip = book.dip("M-001")
    book.reading("2026-03-02 18:00", "120 ppm")
    assert book.verdict(dip).failed == ("M-001",)


def test_a_reading_with_a_meter_or_with_strips_that_have_no_date_counts():
    book = clean_book()
    book.receipt("STRIPS-1", type="test strips", expires=None)
    book.add("equipment", "2026-01-01", {"type": "instrument"}, uses=[("names", "codes", "METER-1")])
    for measured_with in ("STRIPS-1", "METER-1", "NOT-IN-THE-BOOK"):
        assert book.verdict(book.dip("M-001", reading=ppm("110 ppm"), strips=measured_with)).passed == ("M-001",)


@pytest.mark.parametrize(
    ("expires", "passes"), [("2026-03-01", False), ("2026-03-02", True), ("2026-03-03", True), (None, True)]
)
def test_strips_and_products_are_in_date_until_the_end_of_their_day(expires, passes):
    """The dip is on 2 March. Of what has no date on record nothing is known against it."""
    strips = clean_book()
    strips.receipt("STRIPS-1", type="test strips", expires=expires)
    dip = strips.dip("M-001", reading=ppm("110 ppm"), strips="STRIPS-1")
    assert (strips.verdict(dip).passed == ("M-001",)) is passes
    product = clean_book(expires=expires)
    assert (product.verdict(product.dip("M-001", reading=ppm("110 ppm"))).passed == ("M-001",)) is passes


# pH and temperature


# While the mix lives


def mixed(discard=None):
    """SOL-2 is mixed at 12:00 on 20 November and reads 120 ppm; M-001 is dipped at 12:10, washed, without a reading."""
    book = clean_book()
    life = {"discard_at": when(discard)} if discard else {}
    book.solution("SOL-2", at="2026-11-20 12:00", reading=ppm("120 ppm"), **life)
    return book, book.dip("M-001", "2026-11-20 12:10", solution="SOL-2", washed=True)


def test_a_reading_of_another_day_proves_no_load_of_a_mix_that_was_thrown_away():
    book, dip = mixed("2026-11-20 14:00")
    assert breaks(book.verdict(dip)) == [
        "No reading of this load, and none of SOL-2 after it: read SOL-2 by 2026-11-20 14:00 and record it; or dip "
        "again in a fresh mix."
    ]
    late = book.reading("2026-11-25 09:00", "300 ppm", "SOL-2")
    verdict = book.verdict(dip)
    assert verdict.failed == ("M-001",)
    assert breaks(verdict) == [
        f"No reading of this load, and the one after it, of 2026-11-25 09:00 ({late.name}), was taken when SOL-2 was, "
        "or may have been, past its discard time 2026-11-20 14:00: make a fresh mix, read it, then dip again."
    ]
    assert late.number in verdict.evidence


@pytest.mark.parametrize(("at", "proves"), [("2026-11-20 14:00", True), ("2026-11-20 14:01", False)])
def test_a_reading_at_the_discard_time_is_the_last_that_proves(at, proves):
    book, dip = mixed("2026-11-20 14:00")
    book.reading(at, "110 ppm", "SOL-2")
    assert (book.verdict(dip).passed == ("M-001",)) is proves


@pytest.mark.parametrize(("at", "proves"), [("2026-11-20 14:00", True), ("2026-11-20 14:01", False)])
def test_the_life_that_a_rule_set_gives_ends_it_too(at, proves):
    """Two hours from the mixing at 12:00."""
    book, dip = mixed()
    book.rules = RuleSet.read(
        "title: Ours\nsanitising:\n  solution_life: {value: 2 h, source: our procedure, confidence: practice}\n"
    )
    book.reading(at, "110 ppm", "SOL-2")
    assert (book.verdict(dip).passed == ("M-001",)) is proves


def test_a_load_in_a_dead_mix_is_told_to_dip_again_and_never_to_read():
    book = clean_book()
    book.solution("SOL-2", at="2026-11-20 12:00", reading=ppm("120 ppm"), discard_at=when("2026-11-20 14:00"))
    verdict = book.verdict(book.dip("M-001", "2026-11-20 14:10", solution="SOL-2", washed=True))
    assert breaks(verdict) == [
        "SOL-2 was, or may have been, past its discard time 2026-11-20 14:00: make a fresh mix, read it, then dip "
        "again."
    ]


def test_what_to_do_changes_when_the_mix_is_dead():
    """To 14:00 a reading helps; later only a fresh mix does, or a reading that was taken by then."""
    book, dip = mixed("2026-11-20 14:00")
    (reason,) = [one for one in book.verdict(dip).reasons if one.kind == "break"]
    assert reason.act(when("2026-11-20 14:00").start).startswith("read SOL-2 by 2026-11-20 14:00")
    assert reason.act(when("2026-11-20 14:01").start) == (
        "dip again in a fresh mix; or record the reading of SOL-2, if one was taken by 2026-11-20 14:00"
    )


def test_a_load_before_the_first_reading_is_dipped_again():
    book = clean_book()
    book.solution("SOL-2", at="2026-11-20 12:00")
    dip = book.dip("M-001", "2026-11-20 12:10", solution="SOL-2", washed=True)
    book.reading("2026-11-20 12:20", "120 ppm", "SOL-2")
    (reason,) = [one for one in book.verdict(dip).reasons if one.kind == "break"]
    assert f"{reason}" == (
        "No reading of this load, and none of SOL-2 before it: read SOL-2 by 2026-11-21 03:59, then dip again."
    )
    assert reason.act(when("2026-11-21 04:00").start) == "make a fresh mix, read it, then dip again"


# Of the same working day


def test_the_next_mornings_reading_proves_nothing_of_yesterdays_load():
    """The mix has no time by which it is discarded, so that only the day decides."""
    book, dip = mixed()
    morning = book.reading("2026-11-21 08:00", "110 ppm", "SOL-2")
    assert breaks(book.verdict(dip)) == [
        f"No reading of this load, and the one after it, of 2026-11-21 08:00 ({morning.name}), is of another working "
        "day: make a fresh mix, read it, then dip again."
    ]
    book.reading("2026-11-20 18:00", "110 ppm", "SOL-2")
    assert book.verdict(dip).passed == ("M-001",)


def test_yesterdays_reading_proves_nothing_of_todays_load():
    book = clean_book()
    book.solution("SOL-2", at="2026-11-19 12:00", reading=ppm("120 ppm"))
    dip = book.dip("M-001", "2026-11-20 12:10", solution="SOL-2", washed=True)
    book.reading("2026-11-20 12:20", "120 ppm", "SOL-2")
    assert "the one before it, of 2026-11-19 12:00" in breaks(book.verdict(dip))[0]
    # A mix of the day before may be strong enough, where that is read before and after.
    book.reading("2026-11-20 12:00", "120 ppm", "SOL-2")
    assert book.verdict(dip).passed == ("M-001",)


@pytest.mark.parametrize(
    ("load", "after", "proves"),
    [
        ("2026-11-20 23:30", "2026-11-21 03:59", True),
        ("2026-11-21 01:00", "2026-11-21 03:59", True),
        ("2026-11-21 01:00", "2026-11-21 04:00", False),
        ("2026-11-20 23:30", "2026-11-21 08:00", False),
    ],
)
def test_a_night_shift_is_one_working_day(load, after, proves):
    """The reading before it is of 22:00 on 20 November."""
    book = clean_book()
    book.solution("SOL-2", at="2026-11-20 22:00", reading=ppm("120 ppm"))
    dip = book.dip("M-001", load, solution="SOL-2", washed=True)
    book.reading(after, "110 ppm", "SOL-2")
    assert (book.verdict(dip).passed == ("M-001",)) is proves


def test_a_rule_set_may_end_the_day_at_another_hour():
    book = clean_book()
    book.rules = RuleSet.read("title: Ours\nsanitising:\n  day_ends: {value: '0', confidence: practice}\n")
    book.solution("SOL-2", at="2026-11-20 22:00", reading=ppm("120 ppm"))
    dip = book.dip("M-001", "2026-11-20 23:30", solution="SOL-2", washed=True)
    book.reading("2026-11-21 00:30", "110 ppm", "SOL-2")
    assert book.verdict(dip).failed == ("M-001",)


def test_a_rule_set_from_before_there_was_such_an_hour_ends_the_day_at_four():
    book = clean_book()
    book.rules = RuleSet.read("title: Ours\n")
    book.solution("SOL-2", at="2026-11-20 22:00", reading=ppm("120 ppm"))
    dip = book.dip("M-001", "2026-11-20 23:30", solution="SOL-2", washed=True)
    book.reading("2026-11-21 03:59", "110 ppm", "SOL-2")
    assert book.verdict(dip).passed == ("M-001",)


def test_the_day_is_that_of_the_farms_own_clock():
    """In Auckland 08:00 on 21 November is another day than 22:10 on the 20th. In Greenwich both are on the 20th."""
    auckland = ZoneInfo("Pacific/Auckland")
    book = Book(zone=auckland)
    book.equipment("M-001")
    book.receipt(label_min=ppm("100 ppm")[0], label_contact=time("2 min"))
    book.solution("SOL-2", at="2026-11-20 22:00", reading=ppm("120 ppm"))
    dip = book.dip("M-001", "2026-11-20 22:10", solution="SOL-2", washed=True)
    (reason,) = [one for one in book.verdict(dip).reasons if one.kind == "break"]
    assert "read SOL-2 by 2026-11-21 03:59" in reason.do
    assert reason.until == read_when("2026-11-21 03:59", auckland).end
    book.reading("2026-11-21 08:00", "110 ppm", "SOL-2")
    assert book.verdict(dip).failed == ("M-001",)
    book.reading("2026-11-20 22:30", "110 ppm", "SOL-2")
    assert book.verdict(dip).passed == ("M-001",)


def test_a_date_without_an_hour_is_the_working_day_of_that_date():
    """On a sheet that attests its order the lines tell what came first, and the dates are one."""
    book = clean_book()
    book.solution("SOL-2", at="2026-11-20", reading=ppm("120 ppm"), group=7, line=1)
    dip = book.dip("M-001", "2026-11-20", solution="SOL-2", washed=True, group=7, line=2)
    book.reading("2026-11-20", "110 ppm", "SOL-2", group=7, line=3)
    assert book.verdict(dip).passed == ("M-001",)


def test_a_load_that_may_lie_in_two_working_days_needs_a_reading_of_its_own():
    book = clean_book()
    book.solution("SOL-2", at="2026-11-20 22:00", reading=ppm("120 ppm"))
    dip = book.dip("M-001", "2026-11-20 23:30..2026-11-21 05:00", solution="SOL-2", washed=True)
    book.reading("2026-11-21 05:30", "110 ppm", "SOL-2")
    assert breaks(book.verdict(dip))[0].endswith(
        "is not surely of the same working day: write the reading of this load itself, or the hour at which it was "
        "dipped; or make a fresh mix, read it, then dip again."
    )


def test_a_weak_reading_counts_whatever_its_day():
    book, dip = mixed()
    weak = book.reading("2026-11-21 08:00", "20 ppm", "SOL-2")
    assert f"20 ppm ({weak.name}), is below 100 ppm" in breaks(book.verdict(dip))[0]


def test_a_load_with_its_own_reading_needs_no_other():
    """A mix of the day before that nobody had to discard: what it read during the load proves the load."""
    book = clean_book()
    book.solution("SOL-2", at="2026-11-19 12:00")
    dip = book.dip("M-001", "2026-11-20 12:10", solution="SOL-2", washed=True, reading=ppm("112 ppm"))
    assert book.verdict(dip).passed == ("M-001",)
