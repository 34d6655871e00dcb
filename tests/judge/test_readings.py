"""Which reading speaks for a load: its own, or the readings of its solution on either side."""

import pytest
from tests.judge.memory import breaks, clean_book, ppm


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
