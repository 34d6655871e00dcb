"""Conversion factors against NIST Special Publication 811 (2008), appendix B.8, "Factors for units listed
alphabetically", which prints seven figures, and against the definitions in NIST Handbook 44, appendix C."""

from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Context, Decimal

import pytest

from lotwalk.values.units import Units

# Our unit, the dimension, the printed factor to the SI unit, and the SI unit in the unit that the ledger keeps.
SP_811 = [
    ("oz", "mass", "2.834952E-02", 1000),  # ounce (avoirdupois), kg
    ("lb", "mass", "4.535924E-01", 1000),  # pound (avoirdupois), kg
    ("tonne", "mass", "1.0E+03", 1000),
    ("US gal", "volume", "3.785412E-03", 1_000_000),  # gallon (U.S.), m3
    ("US qt", "volume", "9.463529E-04", 1_000_000),  # quart (U.S. liquid)
    ("US pt", "volume", "4.731765E-04", 1_000_000),  # pint (U.S. liquid)
    ("US cup", "volume", "2.365882E-04", 1_000_000),  # cup (U.S.)
    ("US fl oz", "volume", "2.957353E-05", 1_000_000),  # fluid ounce (U.S.)
    ("US tbsp", "volume", "1.478676E-05", 1_000_000),  # tablespoon
    ("US tsp", "volume", "4.928922E-06", 1_000_000),  # teaspoon
    ("imp gal", "volume", "4.54609E-03", 1_000_000),  # gallon [Canadian and U.K. (Imperial)]
    ("imp fl oz", "volume", "2.841306E-05", 1_000_000),  # ounce [Canadian and U.K. fluid (Imperial)]
    ("L", "volume", "1.0E-03", 1_000_000),
    ("in", "length", "2.54E-02", 1000),
    ("ft", "length", "3.048E-01", 1000),
    ("psi", "pressure", "6.894757E+03", Decimal("0.001")),  # kPa
    ("bar", "pressure", "1.0E+05", Decimal("0.001")),
    ("min", "time", "6.0E+01", 1),
    ("h", "time", "3.6E+03", 1),
    ("day", "time", "8.64E+04", 1),
    ("year", "time", "3.1536E+07", 1),  # year (365 days)
]


@pytest.mark.parametrize(("unit", "dimension", "factor", "scale"), SP_811)
@pytest.mark.parametrize("system", ["us", "metric"])
def test_factors_agree_with_sp_811_to_the_figures_it_prints(system, unit, dimension, factor, scale):
    amount = Units.load(system).read(f"1 {unit}", [dimension])
    exact = amount.value / Decimal(scale)
    rounded = {Context(prec=7, rounding=way).plus(exact) for way in (ROUND_HALF_UP, ROUND_HALF_EVEN)}
    assert Decimal(factor) in rounded


@pytest.mark.parametrize(
    ("text", "dimension", "expected"),
    [
        # Handbook 44, appendix C: exact by definition.
        ("1 lb", "mass", "453.59237"),
        ("16 oz", "mass", "453.59237"),
        ("1 US gal", "volume", "3785.411784"),
        ("4 US qt", "volume", "3785.411784"),
        ("8 US pt", "volume", "3785.411784"),
        ("16 US cup", "volume", "3785.411784"),
        ("128 US fl oz", "volume", "3785.411784"),
        ("256 US tbsp", "volume", "3785.411784"),
        ("768 US tsp", "volume", "3785.411784"),
        # Handbook 44, appendix C, notes on British units: 20 fluid ounces make a pint, 8 pints a gallon.
        ("4 imp qt", "volume", "4546.09"),
        ("8 imp pt", "volume", "4546.09"),
        ("160 imp fl oz", "volume", "4546.09"),
    ],
)
def test_measures_that_are_exact_by_definition_are_exact(text, dimension, expected):
    assert Units.load("us").read(text, [dimension]).value == Decimal(expected)


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"),
    # US Food Code 4-501.114(A) and 4-703.11 print both scales, Celsius rounded to a degree.
    [(120, 49), (100, 38), (75, 24), (55, 13), (68, 20), (171, 77), (41, 5), (32, 0), (212, 100)],
)
def test_fahrenheit_agrees_with_published_pairs(fahrenheit, celsius):
    read = Units.load("us").read(f"{fahrenheit} F", ["temperature"])
    assert read.unit == "degC"
    assert round(read.value) == celsius


def test_dilute_solutions_count_a_part_per_million_as_a_milligram_per_litre():
    read = Units.load("us").read
    assert read("200 ppm", ["concentration"]).value == read("200 mg/L", ["concentration"]).value == 200
    # 1 g/L is 1000 mg/L, by the prefixes of the International System.
    assert read("0.2 g/L", ["concentration"]).value == 200
