"""Which numbers of a label count."""

from decimal import Decimal

import pytest
from tests.judge.memory import Book, breaks, degrees, least, of_kind, ppm, time

from lotwalk.values.units import Amount, Units

FOOD = {
    "use": "food contact",
    "porous": False,
    "min": least("100 ppm"),
    "max": least("200 ppm"),
    "contact": time("2 min"),
}
MOULD = {"use": "mould", "porous": False, "min": least("600 ppm"), "contact": time("10 min")}
FELT = {"use": "porous media", "porous": True, "min": least("500 ppm"), "contact": time("5 min")}


def labelled(*rows, **receipt):
    book = Book()
    book.equipment("M-001", porous=False, material="Stainless steel")
    book.equipment("FELT-1", porous=True)
    book.add("label", "2026-01-01", {"product": "Bleach", "active": "sodium hypochlorite", "uses": list(rows)},
             uses=[("names", "code", "LBL-1")])  # fmt: skip
    book.receipt(label="LBL-1", **receipt)
    book.solution()
    book.washing("M-001, FELT-1")
    return book


def test_the_label_record_counts_before_the_receipts_copy():
    book = labelled(FOOD, label_min=least("50 ppm"), label_contact=time("1 min"))
    assert book.verdict(book.dip("M-001", reading=ppm("60 ppm"))).failed == ("M-001",)


def test_each_item_is_held_to_the_use_for_its_surface():
    book = labelled(FOOD, FELT)
    verdict = book.verdict(book.dip("M-001, FELT-1", reading=ppm("110 ppm")))
    assert verdict.passed == ("M-001",)
    assert "below the label's 500 ppm" in breaks(verdict)[0]
    assert "then dip FELT-1 again" in breaks(verdict)[0]
    strong = book.verdict(book.dip("M-001, FELT-1", reading=ppm("550 ppm"), contact=time("5 min")))
    assert strong.failed == ()


def test_the_use_that_was_followed_counts():
    book = labelled(FOOD, MOULD)
    assert book.verdict(book.dip("M-001", reading=ppm("110 ppm"), use="Food contact")).passed == ("M-001",)
    assert book.verdict(book.dip("M-001", reading=ppm("110 ppm"), use="mould")).failed == ("M-001",)


def test_a_use_that_is_not_for_food_contact_is_a_residue_and_no_failed_break():
    book = labelled({**FOOD, "use": "walls", "food_contact": False})
    verdict = book.verdict(book.dip("M-001", reading=ppm("110 ppm")))
    assert verdict.passed == ("M-001",)
    assert of_kind(verdict, "residue")[0].startswith("The label of SOL-1 gives no use on surfaces that food touches")


def test_of_several_uses_the_strictest_counts_until_one_is_named():
    book = labelled(FOOD, MOULD)
    verdict = book.verdict(book.dip("M-001", reading=ppm("110 ppm"), contact=time("10 min")))
    assert breaks(verdict)[0].endswith("or write which use of the label it was (food contact, mould).")


def test_a_use_that_the_label_does_not_name_fails():
    book = labelled(FOOD)
    verdict = book.verdict(book.dip("M-001", reading=ppm("110 ppm"), use="toys"))
    assert breaks(verdict) == ["The label of BL-1 names no use 'toys': write the use as one of: food contact."]


def test_a_row_for_the_items_own_material_counts_before_others():
    steel = {**FOOD, "surface": "stainless steel", "min": least("50 ppm")}
    book = labelled(FOOD, steel)
    assert book.verdict(book.dip("M-001", reading=ppm("60 ppm"))).passed == ("M-001",)


def test_what_the_label_asks_of_ph_and_temperature_must_be_on_record():
    asked = {
        **FOOD,
        "temperature": degrees("20 C"),
        "ph": (Decimal("6.5"), Decimal("7.5")),
    }
    book = labelled(asked)
    given = {"reading": ppm("110 ppm"), "temperature": degrees("21 C"), "ph": Decimal(7)}
    assert book.verdict(book.dip("M-001", **given)).passed == ("M-001",)
    for change in (
        {"temperature": None},
        {"ph": None},
        {"temperature": degrees("19 C")},
        {"ph": Decimal(8)},
        {"ph": Decimal(6)},
    ):
        assert book.verdict(book.dip("M-001", **{**given, **change})).failed == ("M-001",), change


@pytest.mark.parametrize(
    ("temperature", "problem"),
    [
        ("19 C", "Temperature 19 C is below the label's 20-40 C"),
        ("20 C", ""),
        ("40 C", ""),
        ("41 C", "Temperature 41 C is above the label's 20-40 C"),
    ],
)
def test_a_label_that_asks_for_a_temperature_alone_is_held_to_its_two_ends(temperature, problem):
    """The rule set's table would have taken 100 ppm from 13 degC on: the label goes before it."""
    book = labelled({**FOOD, "temperature": Units.load("us").read_range("20-40 C", ("temperature",))})
    told = breaks(book.verdict(book.dip("M-001", reading=ppm("110 ppm"), temperature=degrees(temperature))))
    assert len(told) == bool(problem)
    assert all(text.startswith(problem) for text in told)


@pytest.mark.parametrize(
    ("most", "mend"),
    [
        ("99 ppm", "warm the mix to 24 degC (75 degF)"),
        ("100 ppm", "make the mix 100 ppm or stronger, within the label"),
    ],
)
def test_a_cold_mix_is_to_be_made_stronger_where_the_label_lets_it(most, mend):
    """US Food Code 4-501.114(A), at pH 8: from 50 mg/L on 24 degC, from 100 mg/L on 13 degC. The dip has 20 degC."""
    book = labelled({**FOOD, "min": least("50 ppm"), "max": least(most)})
    dip = book.dip("M-001", reading=ppm("60 ppm"), temperature=degrees("20 C"), ph=(Decimal(8), Decimal(8)))
    (told,) = breaks(book.verdict(dip))
    assert told.startswith("Temperature 20 C is below the 24 degC (75 degF) that this strength needs")
    assert mend in told


@pytest.mark.parametrize("reading", [None, "60 ppm"])
@pytest.mark.parametrize("method", ["chemical", "ready to use"])
def test_a_mix_of_which_no_reading_counts_fails_of_cold_too(method, reading):
    """US Food Code 4-501.114(A) has no mix below 13 degC. Only a product that comes ready to use needs no reading."""
    book = labelled(FOOD)
    given = {"reading": ppm(reading)} if reading else {}
    solution = "BL-1" if method == "ready to use" else "SOL-1"
    dip = book.dip("M-001", solution=solution, method=method, temperature=degrees("5 C"), **given)
    told = [text for text in breaks(book.verdict(dip)) if text.startswith("Temperature 5 C is below the 13 degC")]
    assert bool(told) is (method == "chemical" or reading is not None)


def test_where_neither_temperature_nor_ph_is_on_record_the_table_is_told():
    """US Food Code 4-501.114(A): from 50 mg/L on 38 degC (100 degF) at pH 10, and 24 degC (75 degF) at pH 8."""
    book = labelled({**FOOD, "min": least("50 ppm")})
    (told,) = [
        text for text in of_kind(book.verdict(book.dip("M-001", reading=ppm("60 ppm"))), "unshown") if "pH" in text
    ]
    assert "counts from 38 degC (100 degF) at pH 10 or lower or 24 degC (75 degF) at pH 8 or lower" in told


def test_what_the_label_is_silent_on_goes_by_the_rule_sets_table():
    """The label asks for 15 degC and says nothing of pH; the table for chlorine ends at pH 10."""
    book = labelled({**FOOD, "temperature": degrees("15 C")})
    given = {"reading": ppm("110 ppm"), "temperature": degrees("16 C")}
    assert of_kind(book.verdict(book.dip("M-001", **given, ph=Decimal(9))), "unshown") == []
    assert "pH 10.5 is above" in breaks(book.verdict(book.dip("M-001", **given, ph=Decimal("10.5"))))[0]
    unwritten = book.verdict(book.dip("M-001", **given))
    assert unwritten.passed == ("M-001",)
    assert of_kind(unwritten, "unshown")[0].startswith("No pH is recorded")
    # Its 15 degC governs, whatever the table's 13 degC say.
    cold = book.verdict(book.dip("M-001", **{**given, "temperature": degrees("14 C")}, ph=Decimal(9)))
    assert [one.partition(" is below")[0] for one in breaks(cold)] == ["Temperature 14 C"]


def test_a_label_that_speaks_of_ph_alone_leaves_the_temperature_to_the_table():
    """100 ppm counts from 13 degC."""
    asked = (Amount(Decimal(6), "", "6-11"), Amount(Decimal(11), "", "6-11"))
    book = labelled({**FOOD, "ph": asked})
    given = {"reading": ppm("110 ppm"), "ph": Decimal("10.5")}
    assert book.verdict(book.dip("M-001", **given, temperature=degrees("13 C"))).passed == ("M-001",)
    assert book.verdict(book.dip("M-001", **given, temperature=degrees("12 C"))).failed == ("M-001",)
    assert of_kind(book.verdict(book.dip("M-001", **given)), "unshown")[0].startswith("No temperature is recorded")


def test_a_rinse_that_the_label_asks_for_and_nobody_recorded_is_a_residue():
    for asked in (False, True):
        book = labelled({**FOOD, "rinse": asked})
        verdict = book.verdict(book.dip("M-001", reading=ppm("110 ppm")))
        assert verdict.passed == ("M-001",)
        assert bool(of_kind(verdict, "residue")) is asked
    rinsed = book.verdict(book.dip("M-001", reading=ppm("110 ppm"), rinse="MAINS"))
    assert of_kind(rinsed, "residue") == []


def test_what_the_rule_set_allows_without_a_rinse_counts_beside_a_label_that_allows_more():
    # 40 CFR 180.940(a): 200 ppm of chlorine without a rinse. The label's own highest is 400 ppm.
    book = labelled({**FOOD, "max": least("400 ppm")})
    (told,) = of_kind(book.verdict(book.dip("M-001", reading=ppm("300 ppm"))), "residue")
    assert told.startswith("Reading 300 ppm is above the rule set's highest without a rinse, 200 ppm: rinse with")
    assert of_kind(book.verdict(book.dip("M-001", reading=ppm("300 ppm"), rinse="MAINS")), "residue") == []
    assert of_kind(book.verdict(book.dip("M-001", reading=ppm("200 ppm"))), "residue") == []
    (told,) = of_kind(book.verdict(book.dip("M-001", reading=ppm("500 ppm"), rinse="MAINS")), "residue")
    assert told.startswith("Reading 500 ppm is above the label's highest, 400 ppm: check that the label allows it with")


def test_a_label_without_a_use_for_porous_things_fails_them():
    book = labelled(FOOD)
    verdict = book.verdict(book.dip("M-001, FELT-1", reading=ppm("150 ppm"), contact=time("10 min")))
    assert verdict.passed == ("M-001",)
    assert breaks(verdict)[0].startswith("FELT-1 is porous and the label on record for BL-1")
