"""What a sanitising must show before its items count as clean."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.judge.memory import Book, breaks, clean_book, degrees, least, of_kind, ppm, time, when

from lotwalk.judge import Judge, RuleSet


def test_washed_items_in_a_strong_solution_for_long_enough_pass():
    book = clean_book()
    verdict = book.verdict(book.dip("M-001..M-024", reading=ppm("110 ppm")))
    assert breaks(verdict) == []
    assert len(verdict.passed) == 24
    assert verdict.failed == ()


def test_a_verdict_rests_on_the_label_the_solution_and_the_washing():
    book = clean_book()
    verdict = book.verdict(book.dip("M-001", reading=ppm("110 ppm")))
    kinds = {book.by_number(number).kind for number in verdict.evidence}
    assert kinds == {"equipment", "supplies-receipt", "solution", "washing"}


def test_a_weak_reading_fails_every_item_and_says_what_to_do():
    book = clean_book()
    verdict = book.verdict(book.dip("M-001..M-024", reading=ppm("60 ppm")))
    assert verdict.passed == ()
    assert breaks(verdict) == [
        "Reading 60 ppm is below the label's 100 ppm: "
        "add product or make a fresh mix, wait, read again, then dip again."
    ]


def test_the_worse_end_of_a_range_counts():
    book = clean_book()
    verdict = book.verdict(book.dip("M-001", reading=ppm("50-100 ppm")))
    assert breaks(verdict)[0].startswith("Reading 50-100 ppm, 50 ppm at worst, is below the label's 100 ppm")
    assert book.verdict(book.dip("M-001", reading=ppm("100-200 ppm"))).passed == ("M-001",)


def test_a_reading_above_the_label_is_a_residue_and_no_failure():
    book = clean_book()
    verdict = book.verdict(book.dip("M-001", reading=ppm("400 ppm")))
    assert verdict.passed == ("M-001",)
    (residue,) = of_kind(verdict, "residue")
    assert residue.startswith("Reading 400 ppm is above the label's highest, 200 ppm: rinse")


def test_without_a_label_maximum_the_limit_for_use_without_a_rinse_counts():
    book = clean_book(label_max=None)
    book.water("MAINS")
    assert of_kind(book.verdict(book.dip("M-001", reading=ppm("400 ppm"))), "residue")
    assert not of_kind(book.verdict(book.dip("M-001", reading=ppm("400 ppm"), rinse="MAINS")), "residue")


def test_a_short_contact_fails():
    book = clean_book()
    verdict = book.verdict(book.dip("M-001..M-003", reading=ppm("110 ppm"), contact=time("30 s")))
    assert breaks(verdict) == [
        "Contact 30 s is shorter than the label's 2 min: dip M-001..M-003 again for 2 min or longer."
    ]


def test_a_missing_contact_is_no_pass():
    book = clean_book()
    assert (
        "No contact time is recorded"
        in breaks(book.verdict(book.dip("M-001", reading=ppm("110 ppm"), contact=None)))[0]
    )


def test_a_target_is_not_a_reading():
    book = Book()
    book.equipment("M-001")
    book.receipt(label_min=least("100 ppm"), label_contact=time("2 min"))
    book.solution(target=least("150 ppm"))
    book.washing("M-001")
    assert book.verdict(book.dip("M-001")).failed == ("M-001",)


def test_a_sanitising_without_a_solution_fails():
    book = clean_book()
    assert breaks(book.verdict(book.dip("M-001", solution=None)))[0].startswith("No solution is named")


def test_a_solution_whose_making_is_void_fails():
    book = clean_book()
    dip = book.dip("M-001", reading=ppm("110 ppm"))
    assert book.verdict(dip).passed == ("M-001",)
    book.drop(book.maker("SOL-1"))
    assert breaks(book.verdict(dip))[0].startswith("Nothing in force says what SOL-1 was made of")


def test_a_solution_of_detergent_fails():
    book = clean_book(type="detergent")
    assert "no product recorded as a sanitiser" in breaks(book.verdict(book.dip("M-001", reading=ppm("110 ppm"))))[0]


def test_a_solution_made_of_a_solution_has_its_product():
    book = clean_book()
    book.solution("SOL-2", "SOL-1", "2026-03-02 09:30")
    assert book.verdict(book.dip("M-001", solution="SOL-2", reading=ppm("110 ppm"))).passed == ("M-001",)
    assert book.verdict(book.dip("M-001", solution="SOL-2", reading=ppm("90 ppm"))).passed == ()


# In date, within its life


@pytest.mark.parametrize(("expires", "passes"), [("2026-03-02", True), ("2026-03-01", False)])
def test_a_product_is_good_to_the_end_of_its_last_day(expires, passes):
    book = clean_book(expires=expires)
    verdict = book.verdict(book.dip("M-001", reading=ppm("110 ppm")))
    assert (verdict.passed == ("M-001",)) is passes
    assert passes or "BL-1 was out of date since 2026-03-01" in breaks(verdict)[0]


def test_no_date_of_expiry_is_a_note_only():
    book = clean_book(expires=None)
    verdict = book.verdict(book.dip("M-001", reading=ppm("110 ppm")))
    assert verdict.passed == ("M-001",)
    assert any("no date of expiry" in note for note in of_kind(verdict, "note"))


@pytest.mark.parametrize(
    ("discard", "passes"), [("2026-03-02 17:40", True), ("2026-03-02 17:39", False), ("2026-03-02", True)]
)
def test_a_solution_is_good_to_its_discard_time(discard, passes):
    book = clean_book()
    book.solution("SOL-2", discard_at=when(discard))
    verdict = book.verdict(book.dip("M-001", solution="SOL-2", reading=ppm("110 ppm")))
    assert (verdict.passed == ("M-001",)) is passes


def test_a_load_that_may_be_after_the_discard_time_is_no_pass():
    book = clean_book()
    book.solution("SOL-2", at="2026-03-02 am", discard_at=when("2026-03-02 16:00"))
    book.washing("M-001", "2026-03-02")
    verdict = book.verdict(book.dip("M-001", "2026-03-02", solution="SOL-2", reading=ppm("110 ppm")))
    assert "may have been, past its discard time" in breaks(verdict)[0]


@pytest.mark.parametrize(("at", "passes"), [("2026-03-02 21:00", True), ("2026-03-02 21:01", False)])
def test_a_rule_set_may_give_solutions_a_life(at, passes):
    book = clean_book()
    book.rules = RuleSet.read(
        "title: Ours\nsanitising:\n  solution_life: {value: 12 h, source: our procedure, confidence: practice}\n"
    )
    assert (book.verdict(book.dip("M-001", at, reading=ppm("110 ppm"))).passed == ("M-001",)) is passes


def test_a_solution_made_after_the_load_fails():
    book = clean_book()
    book.solution("SOL-2", at="2026-03-02 18:00")
    verdict = book.verdict(book.dip("M-001", solution="SOL-2", reading=ppm("110 ppm")))
    assert "SOL-2 was made or received after this" in breaks(verdict)[0]


def test_strips_out_of_date_are_no_reading():
    book = clean_book()
    book.receipt("STRIPS-1", type="test strips", expires="2026-02-28")
    verdict = book.verdict(book.dip("M-001", reading=ppm("110 ppm"), strips="STRIPS-1"))
    assert breaks(verdict) == [
        "STRIPS-1 was out of date since 2026-02-28: read again with strips in date, and write that reading."
    ]


# Porous items


def test_a_porous_item_passes_only_where_the_label_says_so():
    book = clean_book()
    book.equipment("FELT-1", porous=True, material="felt")
    book.washing("FELT-1")
    verdict = book.verdict(book.dip("M-001, FELT-1", reading=ppm("110 ppm")))
    assert verdict.passed == ("M-001",)
    assert breaks(verdict)[0].startswith("FELT-1 is porous and the label on record for BL-1 does not cover porous")


def test_a_piece_cut_from_a_porous_item_is_porous():
    book = clean_book()
    book.equipment("FELT-1", porous=True)
    book.add("equipment-change", "2026-02-01", {"what": "cut"},
             uses=[("touched", "items", "FELT-1"), ("names", "codes", "FELT-1A")])  # fmt: skip
    book.washing("FELT-1A")
    assert book.verdict(book.dip("FELT-1A", reading=ppm("110 ppm"))).failed == ("FELT-1A",)


# Heat


@pytest.mark.parametrize(
    ("temperature", "contact", "passes"),
    [
        ("77 C", "30 s", True),
        ("76.9 C", "30 s", False),
        ("80 C", "29 s", False),
        ("171 F", "30 s", True),
        ("170 F", "1 min", False),
    ],
)
def test_heat_needs_its_temperature_and_time(temperature, contact, passes):
    book = clean_book()
    given = {"solution": None, "method": "heat", "temperature": degrees(temperature), "contact": time(contact)}
    assert (book.verdict(book.dip("M-001", **given)).passed == ("M-001",)) is passes


def test_heat_without_a_temperature_fails():
    book = clean_book()
    assert "No temperature is recorded" in breaks(book.verdict(book.dip("M-001", solution=None, method="heat")))[0]


# Time


def test_a_time_longer_than_a_day_separates_nothing():
    book = clean_book()
    book.washing("M-001", "2026-03-02")
    verdict = book.verdict(book.dip("M-001", "2026-03-03..2026-03-04", reading=ppm("110 ppm")))
    assert verdict.failed == ("M-001",)
    assert book.verdict(book.dip("M-001", "2026-03-03", reading=ppm("110 ppm"))).passed == ("M-001",)


def test_an_unknown_judge_is_refused():
    with pytest.raises(Exception, match="no judge named tasting"):
        Judge(RuleSet.load("us")).judge("tasting", clean_book().entries[0], [], clean_book())


@given(low=st.integers(0, 300), spread=st.integers(0, 300), seconds=st.integers(0, 600), more=st.integers(0, 300))
def test_a_stronger_reading_or_a_longer_contact_never_turns_a_pass_into_a_failure(low, spread, seconds, more):
    book = clean_book()

    def passes(lowest, contact):
        reading = ppm(f"{lowest} ppm to {lowest + spread} ppm")
        return bool(book.verdict(book.dip("M-001", reading=reading, contact=time(f"{contact} s"))).passed)

    if passes(low, seconds):
        assert passes(low + more, seconds)
        assert passes(low, seconds + more)
    assert passes(low, seconds) is (low >= 100 and seconds >= 120)
