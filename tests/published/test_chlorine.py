"""Chlorine: published values of temperature, hypochlorous acid and bleach strength."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.science.chlorine import (
    band,
    fraction_of_acid,
    hypochlorous_fraction,
    hypochlorous_pka,
    lowest_temperature,
)
from lotwalk.values.units import Units


@pytest.mark.parametrize(
    ("strength", "ph", "celsius", "passes"),
    [
        ("50", "8", "24", True),
        ("50", "9", "24", False),
        ("50", "9", "38", True),
        ("25", "8", "38", False),
        ("100", "9", "13", True),
    ],
)
@pytest.mark.parametrize("name", ["general", "us", "eu"])
def test_lowest_temperatures_of_the_us_food_code_4_501_114_a(name, strength, ph, celsius, passes):
    # The table as adopted by two states: 25-49 mg/L 49 degC; 50-99 mg/L 38 degC, or 24 degC at pH 8 or lower;
    # 100 mg/L and more 13 degC; nothing above pH 10.
    table = RuleSet.load(name).actives["chlorine"].table
    lowest = lowest_temperature(table.rows, Decimal(strength), Decimal(ph))
    assert (Decimal(celsius) >= lowest) is passes


FOOD_CODE = [
    # strength, highest pH, degC, degF: both columns of US Food Code 4-501.114(A), as adopted in two states.
    ("25", "10", "49", "120"),
    ("49", "8", "49", "120"),
    ("50", "10", "38", "100"),
    ("99", "8", "24", "75"),
    ("100", "10", "13", "55"),
    ("100", "8", "13", "55"),
]


def degrees(text):
    return Units.load("us").read(text, ("temperature",))


@pytest.mark.parametrize(("strength", "ph", "celsius", "fahrenheit"), FOOD_CODE)
@pytest.mark.parametrize("name", ["general", "us", "eu"])
def test_each_corner_of_the_food_code_table_in_the_column_read(name, strength, ph, celsius, fahrenheit):
    table = RuleSet.load(name).actives["chlorine"].table

    def allowed(text, *, in_degf):
        lowest = lowest_temperature(table.rows, Decimal(strength), Decimal(ph), fahrenheit=in_degf)
        return degrees(text).value >= lowest

    assert allowed(f"{celsius} C", in_degf=False)
    assert not allowed(f"{int(celsius) - 1} C", in_degf=False)
    assert allowed(f"{fahrenheit} F", in_degf=True)
    assert not allowed(f"{int(fahrenheit) - 1} F", in_degf=True)


def test_the_lowest_temperatures_of_quat_and_iodine_in_both_columns():
    # US Food Code 4-501.114(B) and (C): iodine 20 degC (68 degF), quaternary ammonium 24 degC (75 degF).
    actives = RuleSet.load("us").actives
    for name, celsius, fahrenheit in (("iodine", "20 C", "68 F"), ("quat", "24 C", "75 F")):
        (row,) = actives[name].table.rows
        assert row.lowest(fahrenheit=False) == degrees(celsius).value
        assert row.lowest(fahrenheit=True) == degrees(fahrenheit).value


def test_no_temperature_helps_a_solution_outside_the_food_code_table():
    rows = RuleSet.load("us").actives["chlorine"].table.rows
    assert lowest_temperature(rows, Decimal("24.9"), Decimal(7)) is None
    assert lowest_temperature(rows, Decimal(100), Decimal("10.1")) is None
    assert band(rows, Decimal("24.9")) == ()


def test_hot_water_of_the_us_food_code_is_77_degc_for_30_s():
    (row,) = RuleSet.load("us").heat.rows
    assert (row.temperature.value, row.contact.value) == (77, 30)
    # The same, printed as 171 degF.
    assert row.lowest(fahrenheit=True) == degrees("171 F").value


def test_hypochlorous_acid_at_25_degc_as_in_a_textbook_example():
    # Water and Wastewater Engineering, example 13-1: pKa 7.54 at 25 degC, Ka 2.88e-8, HOCl/OCl- 3.47 at pH 7.0.
    assert hypochlorous_pka(25) == pytest.approx(7.54, abs=0.005)
    assert pytest.approx(2.88e-8, rel=0.002) == 10**-7.54
    fraction = fraction_of_acid(7.0, 7.54)
    assert fraction / (1 - fraction) == pytest.approx(3.47, abs=0.005)
    assert fraction == pytest.approx(0.776, abs=0.0005)


@pytest.mark.parametrize(("celsius", "ph", "percent"), [(20, 7.5, 55), (30, 8.0, 24), (30, 7.4, 55)])
def test_hypochlorous_acid_within_a_point_of_a_trade_article(celsius, ph, percent):
    # A manufacturer's article on free chlorine and pH gives these three.
    assert 100 * hypochlorous_fraction(ph, celsius) == pytest.approx(percent, abs=1)


def test_hypochlorous_pka_agrees_with_a_second_published_fit_at_25_degc():
    # pK = 1.18e-4 T^2 - 7.86e-2 T + 20.5, from an open water-chemistry library in R: 7.555.
    kelvin = 298.15
    assert hypochlorous_pka(25) == pytest.approx(1.18e-4 * kelvin**2 - 7.86e-2 * kelvin + 20.5, abs=0.03)


@given(st.floats(0, 35), st.floats(5, 10))
def test_the_part_that_is_hypochlorous_acid_is_alike_by_both_published_fits(celsius, ph):
    # The second fit, from an open water-chemistry library in R, over all the water and pH of a sink.
    kelvin = celsius + 273.15
    other = 1.18e-4 * kelvin**2 - 7.86e-2 * kelvin + 20.5
    assert hypochlorous_fraction(ph, celsius) == pytest.approx(fraction_of_acid(ph, other), abs=0.015)
