"""How warm a mix was and of what pH: inside the limits, outside, or not written."""

from decimal import Decimal

import pytest
from tests.judge.memory import breaks, clean_book, degrees, least, of_kind, ppm

from lotwalk.values.units import Units


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
    assert of_kind(unknown_ph, "unshown") == [
        "No pH is recorded, and the strength counts from 38 degC (100 degF) at pH 10 or lower or 24 degC (75 degF) at "
        "pH 8 or lower: write the pH too."
    ]
    assert book.verdict(book.dip("M-001", reading=ppm("60 ppm"), temperature=degrees("20 C"))).failed == ("M-001",)
    assert book.verdict(book.dip("M-001", reading=ppm("60 ppm"), ph=Decimal("10.5"))).failed == ("M-001",)


@pytest.mark.parametrize(
    ("active", "written", "lacking"),
    [
        # US Food Code 4-501.114: 100 ppm of chlorine counts from 13 degC at pH 10 or lower, a quat from 24 degC at any
        # pH, iodine from 20 degC at pH 5 or lower.
        ("sodium hypochlorite", {}, "No temperature or pH"),
        ("sodium hypochlorite", {"ph": Decimal(8)}, "No temperature"),
        ("sodium hypochlorite", {"temperature": degrees("20 C")}, "No pH"),
        ("sodium hypochlorite", {"temperature": degrees("20 C"), "ph": Decimal(8)}, ""),
        ("quaternary ammonium", {}, "No temperature"),
        ("quaternary ammonium", {"temperature": degrees("24 C")}, ""),
        ("iodine", {"temperature": degrees("24 C")}, "No pH"),
        ("peroxyacetic acid", {}, ""),
    ],
)
def test_what_the_rule_set_asks_and_nobody_wrote_passes_as_unshown(active, written, lacking):
    book = clean_book(active=active, label_min=least("10 ppm"), label_max=least("400 ppm"))
    verdict = book.verdict(book.dip("M-001", reading=ppm("110 ppm"), **written))
    assert verdict.passed == ("M-001",)
    told = of_kind(verdict, "unshown")
    assert [one.partition(" is recorded")[0] for one in told] == ([lacking] if lacking else [])


def test_a_load_between_two_readings_is_unshown_too():
    book = clean_book()
    book.reading("2026-03-02 17:30", "120 ppm")
    dip = book.dip("M-001")
    book.reading("2026-03-02 18:00", "110 ppm")
    verdict = book.verdict(dip)
    assert verdict.passed == ("M-001",)
    assert of_kind(verdict, "unshown")[0].startswith("No temperature or pH is recorded")


def test_an_acid_chlorine_solution_is_warned_of():
    book = clean_book()
    verdict = book.verdict(book.dip("M-001", reading=ppm("110 ppm"), ph=Decimal("4.2")))
    assert any("chlorine gas" in note for note in of_kind(verdict, "note"))
