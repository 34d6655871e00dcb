"""What a sanitising must show before its items count as clean."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.judge.memory import Book, breaks, clean_book, degrees, least, of_kind, ppm, time, when

from lotwalk.judge import Judge, RuleSet
from lotwalk.values.units import Units


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


def test_no_label_at_all_never_covers_a_porous_item():
    book = clean_book(label_min=None, label_max=None, label_contact=None)
    book.equipment("FELT-1", porous=True)
    book.washing("FELT-1")
    dip = book.dip("FELT-1", reading=ppm("110 ppm"), ph=Decimal(7), temperature=degrees("20 C"))
    assert book.verdict(dip).failed == ("FELT-1",)


@pytest.mark.parametrize(
    ("reading", "ph", "temperature", "passes"),
    [
        # US Food Code 4-501.114(A) prints 13, 24, 38 and 49 degC as 55, 75, 100 and 120 degF, each rounded by itself.
        ("60 ppm", "8", "75 F", True),
        ("60 ppm", "8", "74 F", False),
        ("60 ppm", "9", "100 F", True),
        ("60 ppm", "9", "99 F", False),
        ("110 ppm", "9", "55 F", True),
        ("110 ppm", "9", "54 F", False),
        ("110 ppm", "9", "55-60 F", True),
        ("60 ppm", "8", "24 C", True),
        ("60 ppm", "8", "23.9 C", False),
        ("60 ppm", "9", "24 C", False),
        ("60 ppm", "9", "38 C", True),
        ("110 ppm", "9", "13 C", True),
        ("110 ppm", "9", "12 C", False),
        ("110 ppm", "10.5", "20 C", False),
    ],
)
def test_what_is_recorded_must_be_inside_the_rule_sets_table(reading, ph, temperature, passes):
    book = clean_book(label_min=least("50 ppm"))
    warm = Units.load("us").read_range(temperature, ("temperature",))
    dip = book.dip("M-001", reading=ppm(reading), ph=Decimal(ph), temperature=warm)
    assert (book.verdict(dip).passed == ("M-001",)) is passes


@pytest.mark.parametrize(
    ("active", "reading", "ph", "warm", "cold"),
    [
        # US Food Code 4-501.114(A), (B) and (C).
        ("sodium hypochlorite", "30 ppm", "8", "120 F", "119 F"),
        ("iodine", "20 ppm", "5", "68 F", "67 F"),
        ("quaternary ammonium", "200 ppm", "7", "75 F", "74 F"),
    ],
)
def test_a_thermometer_in_degf_is_held_against_the_tables_column_in_degf(active, reading, ph, warm, cold):
    book = clean_book(active=active, label_min=least("10 ppm"), label_max=least("400 ppm"))
    given = {"reading": ppm(reading), "ph": Decimal(ph)}
    assert book.verdict(book.dip("M-001", temperature=degrees(warm), **given)).passed == ("M-001",)
    told = breaks(book.verdict(book.dip("M-001", temperature=degrees(cold), **given)))
    assert f"Temperature {cold} is below the {warm.replace('F', 'degF')} (" in told[0]


def test_a_high_ph_is_told_beside_a_weak_reading_and_a_cold_mix():
    book = clean_book()
    verdict = book.verdict(book.dip("M-001", reading=ppm("50-200 ppm"), ph=Decimal(11), temperature=degrees("40 F")))
    told = breaks(verdict)
    assert len(told) == len(set(told)) == 3
    assert told[0].startswith("Reading 50-200 ppm, 50 ppm at worst, is below")
    assert told[1].startswith("pH 11 is above the rule set's 10")
    assert told[2].startswith("Temperature 40 F is below the 55 degF (13 degC) that even a strong mix needs")
    assert verdict.now.startswith("make a fresh mix with other water or product")


def test_a_high_ph_is_told_beside_the_temperature():
    verdict = (book := clean_book()).verdict(
        book.dip("M-001", reading=ppm("110 ppm"), ph=Decimal(11), temperature=degrees("10 C"))
    )
    assert [one.split(" ")[0] for one in breaks(verdict)] == ["pH", "Temperature"]


def test_what_is_not_recorded_fails_only_where_no_value_could_be_right():
    book = clean_book(label_min=least("50 ppm"))
    unknown_ph = book.verdict(book.dip("M-001", reading=ppm("60 ppm"), temperature=degrees("30 C")))
    assert unknown_ph.passed == ("M-001",)
    assert any("No pH is recorded" in note for note in of_kind(unknown_ph, "note"))
    assert book.verdict(book.dip("M-001", reading=ppm("60 ppm"), temperature=degrees("20 C"))).failed == ("M-001",)
    assert book.verdict(book.dip("M-001", reading=ppm("60 ppm"), ph=Decimal("10.5"))).failed == ("M-001",)


def test_an_acid_chlorine_solution_is_warned_of():
    book = clean_book()
    verdict = book.verdict(book.dip("M-001", reading=ppm("110 ppm"), ph=Decimal("4.2")))
    assert any("chlorine gas" in note for note in of_kind(verdict, "note"))


# Numbers of the rule set, where there is no label


def unlabelled(**receipt):
    return clean_book(label_min=None, label_max=None, label_contact=None, **receipt)


def test_without_label_numbers_those_of_the_rule_set_need_ph_and_temperature():
    book = unlabelled()
    told = {"reading": ppm("110 ppm"), "ph": Decimal(8), "temperature": degrees("20 C")}
    assert book.verdict(book.dip("M-001", **told)).passed == ("M-001",)
    for lacking in ("ph", "temperature"):
        verdict = book.verdict(book.dip("M-001", **{**told, lacking: None}))
        assert "is recorded, and the strength counts from 13 degC" in breaks(verdict)[0]


def test_without_label_numbers_a_product_unknown_to_the_rule_set_fails():
    book = unlabelled(active="peroxyacetic acid")
    verdict = book.verdict(book.dip("M-001", reading=ppm("110 ppm"), ph=Decimal(7), temperature=degrees("20 C")))
    assert breaks(verdict) == [
        "No label numbers are on record for BL-1: "
        "write label_min and label_contact from its label on its receipt, or record its label."
    ]


def test_a_rule_set_may_refuse_to_stand_in_for_the_label():
    book = unlabelled()
    dip = book.dip("M-001", reading=ppm("110 ppm"), ph=Decimal(8), temperature=degrees("20 C"))
    book.rules = RuleSet.load("eu")
    assert book.verdict(dip).failed == ("M-001",)


@pytest.mark.parametrize("lacking", ["label_min", "label_contact"])
def test_half_a_label_is_no_label(lacking):
    book = clean_book(**{lacking: None})
    assert book.verdict(book.dip("M-001", reading=ppm("110 ppm"))).failed == ("M-001",)


# Ready to use


def test_a_ready_to_use_product_needs_its_contact_time_and_no_reading():
    book = clean_book(label_min=None, label_max=None)
    given = {"solution": "BL-1", "method": "ready to use"}
    assert book.verdict(book.dip("M-001", **given)).passed == ("M-001",)
    assert book.verdict(book.dip("M-001", contact=time("1 min"), **given)).failed == ("M-001",)


def test_a_mixed_solution_is_not_ready_to_use():
    book = clean_book()
    assert book.verdict(book.dip("M-001", method="ready to use")).failed == ("M-001",)


def test_an_unlabelled_product_is_not_ready_to_use():
    book = unlabelled()
    verdict = book.verdict(book.dip("M-001", solution="BL-1", method="ready to use"))
    assert breaks(verdict)[0].startswith("No label numbers are on record")


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
