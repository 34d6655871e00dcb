from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lotwalk.errors import KindError, NotUnderstood
from lotwalk.values.unit_table import build_table
from lotwalk.values.units import Units

US, METRIC = Units.load("us"), Units.load("metric")
EVERY = ("mass", "volume", "concentration", "time", "temperature", "count", "percent", "bacteria", "pressure", "length")


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("12 g", "12", "g"),
        ("12g", "12", "g"),
        ("1.25 kg", "1250", "g"),
        (".5 kg", "500", "g"),
        ("2 LB", "907.18474", "g"),
        ("2 lbs.", "907.18474", "g"),
        ("1 1/2 lb", "680.388555", "g"),
        ("1½ lb", "680.388555", "g"),
        ("1 ½ lb", "680.388555", "g"),
        ("2 lb 3 oz", "992.233309375", "g"),
        ("2lb3oz", "992.233309375", "g"),
        ("0 g", "0", "g"),
        ("250 mL", "250", "mL"),
        ("1/2 cup", "118.29411825", "mL"),
        ("½ cup", "118.29411825", "mL"),
        ("3⁄4 cup", "177.441177375", "mL"),
        ("2 fl. oz.", "59.147059125", "mL"),
        ("1 US gallon", "3785.411784", "mL"),
        ("110 ppm", "110", "mg/L"),
        ("0.11 g/L", "110", "mg/L"),
        ("110 mg per L", "110", "mg/L"),
        ("50 µg/L", "0.05", "mg/L"),
        ("50 μg/L", "0.05", "mg/L"),
        ("2 min", "120", "s"),
        ("1 h 30 min", "5400", "s"),
        ("10 days", "864000", "s"),
        ("4 C", "4", "degC"),
        ("4 °C", "4", "degC"),
        ("-18 degC", "-18", "degC"),
        ("−18 C", "-18", "degC"),
        ("212 F", "100", "degC"),
        ("-40 F", "-40", "degC"),
        ("24 trays", "24", "count"),
        ("1 tray", "1", "count"),
        ("6 clamshells", "6", "count"),
        ("3 each", "3", "count"),
        ("5.25 %", "5.25", "percent"),
        ("5.25%", "5.25", "percent"),
        ("5 per cent", "5", "percent"),
        ("3 MPN/100 mL", "3", "MPN/100 mL"),
        ("3 mpn / 100ml", "3", "MPN/100 mL"),
        ("3 MPN per 100 mL", "3", "MPN/100 mL"),
        ("3 MPN/mL", "300", "MPN/100 mL"),
        ("3 CFU/100 mL", "3", "CFU/100 mL"),
        ("5 CFU/250 mL", "2", "CFU/100 mL"),
        ("0 per 100 mL", "0", "per 100 mL"),
        ("2 bar", "200", "kPa"),
        ("2.5 cm", "25", "mm"),
    ],
)
def test_amounts_are_read_into_the_units_that_are_kept(text, value, unit):
    amount = US.read(text, EVERY)
    assert (amount.value, amount.unit, amount.written) == (Decimal(value), unit, text)


def test_a_bare_gallon_or_spoon_is_the_one_used_where_the_farm_is():
    assert US.read("1 gal", ["volume"]).value == Decimal("3785.411784")
    assert METRIC.read("1 gal", ["volume"]).value == Decimal("4546.09")
    assert METRIC.read("1 cup", ["volume"]).value == 250
    assert METRIC.read("1 tbsp", ["volume"]).value == 15
    for system in (US, METRIC):
        assert system.read("1 US gal", ["volume"]).value == Decimal("3785.411784")
        assert system.read("1 imp gal", ["volume"]).value == Decimal("4546.09")


def test_a_bare_whole_number_is_an_amount_only_where_nothing_but_a_count_is_meant():
    assert US.read("12", ["count"]).value == 12
    for text, dimensions in (("12", ["mass"]), ("12", ["mass", "count"]), ("1.5", ["count"]), ("-1", ["count"])):
        with pytest.raises(NotUnderstood):
            US.read(text, dimensions)


@pytest.mark.parametrize(
    ("text", "dimension", "said"),
    [
        ("", "mass", "nothing is written"),
        ("12", "mass", "no unit"),
        ("g", "mass", "does not start with a number"),
        ("1,5 kg", "mass", "1.5"),
        ("1,500 g", "mass", "1500"),
        ("1 500 g", "mass", "not a unit"),
        ("1e5 g", "mass", "exponent"),
        ("NaN g", "mass", "does not start with a number"),
        ("inf g", "mass", "does not start with a number"),
        ("Infinity", "count", "does not start with a number"),
        ("-2 g", "mass", "no mass of"),
        ("-2 ppm", "concentration", "no concentration of"),
        ("-500 C", "temperature", "no temperature of"),
        ("2 oz", "volume", "is a mass"),
        ("2 lb", "count", "is a mass"),
        ("5 kgz", "mass", "did you mean kg"),
        ("5 T", "volume", "not a unit"),
        ("2.5 trays", "count", "whole number"),
        ("1/2 tray", "count", "whole number"),
        ("1/0 cup", "volume", "fraction"),
        ("1 3/2 cup", "volume", "fraction"),
        ("2 lb 3", "mass", "not a number with its unit"),
        ("2 lb 3 min", "mass", "do not add up"),
        ("3 oz 2 lb", "mass", "do not add up"),
        ("2 lb 3 lb", "mass", "do not add up"),
        ("40 F 3 C", "temperature", "do not add up"),
        ("<1 MPN/100 mL", "bacteria", "does not start with a number"),
        ("about 5 g", "mass", "does not start with a number"),
        ("1.2.3 g", "mass", "does not start with a number"),
        ("50-100 ppm", "concentration", "not a unit"),
        ("\u0663 g", "mass", "does not start with a number"),
    ],
)
def test_what_is_no_amount_is_refused_with_its_reason(text, dimension, said):
    with pytest.raises(NotUnderstood) as caught:
        US.read(text, [dimension])
    assert said in str(caught.value)
    assert caught.value.expected


@pytest.mark.parametrize(
    ("text", "dimension", "low", "high"),
    [
        ("50-100 ppm", "concentration", "50", "100"),
        ("50 - 100 ppm", "concentration", "50", "100"),
        ("50–100 ppm", "concentration", "50", "100"),
        ("50 to 100 ppm", "concentration", "50", "100"),
        ("50 ppm to 100 ppm", "concentration", "50", "100"),
        ("50 ppm..100 ppm", "concentration", "50", "100"),
        ("50..100 ppm", "concentration", "50", "100"),
        ("110 ppm", "concentration", "110", "110"),
        ("1 min-120 s", "time", "60", "120"),
        ("-2..1 C", "temperature", "-2", "1"),
        ("-2 to 1 C", "temperature", "-2", "1"),
        ("-5 - -2 C", "temperature", "-5", "-2"),
        ("-3 C", "temperature", "-3", "-3"),
        ("½-1 kg", "mass", "500", "1000"),
        ("1 1/2-2 kg", "mass", "1500", "2000"),
        ("1-2", "count", "1", "2"),
    ],
)
def test_ranges_are_read_in_every_form(text, dimension, low, high):
    amounts = US.read_range(text, [dimension])
    assert [amount.value for amount in amounts] == [Decimal(low), Decimal(high)]
    assert {amount.written for amount in amounts} == {text}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("100-50 ppm", "backwards"),
        ("1-1/2 ppm", "backwards"),
        ("50-100", "no unit"),
        ("50 ppm-100", "no unit"),
        ("50-", "not a unit"),
        ("10-20-30 ppm", "not a unit"),
        ("50 g-100 ppm", "is a mass"),
        ("1,5-2 ppm", "comma"),
    ],
)
def test_what_is_no_range_is_refused_with_its_reason(text, said):
    with pytest.raises(NotUnderstood, match=said):
        US.read_range(text, ["concentration"])


def test_two_ways_of_counting_bacteria_make_no_range():
    with pytest.raises(NotUnderstood, match="two kinds"):
        US.read_range("1 MPN/100 mL..3 CFU/100 mL", ["bacteria"])


@given(
    st.decimals(0, 99_999, places=3),
    st.sampled_from(["g", "kg", "lb", "oz", "mL", "L", "gal", "tsp", "ppm", "min", "h"]),
)
def test_an_amount_written_in_the_unit_kept_is_the_same_amount(number, unit):
    amount = US.read(f"{number} {unit}", EVERY)
    again = US.read(f"{amount.value:f} {amount.unit}", EVERY)
    assert (again.value, again.unit) == (amount.value, amount.unit)
    assert f"{amount.value:f}" == f"{again.value:f}"


@given(st.integers(0, 10_000), st.integers(0, 10_000))
def test_a_larger_number_of_a_unit_is_a_larger_amount(one, other):
    for unit in ("lb", "tbsp", "F", "h"):
        if unit == "F" and max(one, other) > 700:
            continue
        a, b = (US.read(f"{number} {unit}", EVERY).value for number in (one, other))
        assert (a < b) == (one < other)


def test_one_amount_has_one_text():
    texts = {f"{US.read(text, ['mass']).value:f}" for text in ("1000 g", "1000.0 g", "1 kg", "1.000 kg", "0.001 tonne")}
    assert texts == {"1000"}
    assert f"{US.read('-0 C', ['temperature']).value:f}" == "0"


@pytest.mark.parametrize(
    ("value", "unit", "metric", "us"),
    [
        ("907.18474", "g", "907 g", "2 lb"),
        ("2400", "g", "2.4 kg", "5.29 lb"),
        ("226.796185", "g", "227 g", "8 oz"),
        ("0.25", "g", "0.25 g", "0.00882 oz"),
        ("15", "mL", "15 mL", "15 mL"),
        ("18927.05892", "mL", "18.927 L", "5 gal"),
        ("110", "mg/L", "110 ppm", "110 ppm"),
        ("5", "degC", "5 °C", "41 °F"),
        ("-18", "degC", "-18 °C", "-0.4 °F"),
        ("120", "s", "2 min", "2 min"),
        ("90", "s", "1 min 30 s", "1 min 30 s"),
        ("5400", "s", "1 h 30 min", "1 h 30 min"),
        ("86400", "s", "24 h", "24 h"),
        ("864000", "s", "10 d", "10 d"),
        ("0", "s", "0 s", "0 s"),
        ("24", "count", "24", "24"),
        ("5.25", "percent", "5.25 %", "5.25 %"),
        ("3", "MPN/100 mL", "3 MPN/100 mL", "3 MPN/100 mL"),
        ("0", "g", "0 g", "0 oz"),
        ("-50", "g", "-50 g", "-1.76 oz"),
    ],
)
def test_amounts_are_shown_in_the_measures_of_the_farm(value, unit, metric, us):
    assert METRIC.show(Decimal(value), unit) == metric
    assert US.show(Decimal(value), unit) == us


def test_units_know_their_dimension():
    assert US.dimension_of("g") == US.dimension_of("lb") == "mass"
    assert US.dimension_of("CFU/100 mL") == "bacteria"
    with pytest.raises(NotUnderstood, match="not a unit"):
        US.dimension_of("furlong")


@pytest.mark.parametrize("units", [US, Units.load("metric")])
@pytest.mark.parametrize("dimension", ["mass", "volume", "concentration", "time", "temperature", "percent", "length"])
def test_every_usual_unit_reads_back(units, dimension):
    assert units.usual(dimension)
    for unit in units.usual(dimension):
        assert units.dimension_of(units.read(f"1 {unit}", (dimension,)).unit) == dimension


def test_what_is_only_counted_has_no_usual_unit():
    assert US.usual("count") == ()


def test_an_unknown_system_is_refused():
    with pytest.raises(NotUnderstood, match="us or metric"):
        Units.load("avoirdupois")


def table(**units):
    body = {"keep": "g", "example": "1 g", "units": {"g": {"is": "1"}, **units}}
    return {"dimensions": {"mass": body}, "systems": {"us": {"names": {}, "show": {}}}}


def test_a_table_in_which_one_name_is_two_units_is_refused():
    with pytest.raises(KindError, match="name of both"):
        build_table(table(kg={"is": "1000", "names": ["K"]}, k={"is": "2"}), "us")


def test_a_table_with_a_factor_that_is_no_number_is_refused():
    with pytest.raises(KindError, match="kg: `many` is not a number"):
        build_table(table(kg={"is": "many"}), "us")


def test_a_table_that_shows_an_unknown_unit_is_refused():
    data = table()
    data["systems"]["us"]["names"] = {"stone": ["st"]}
    with pytest.raises(KindError, match="no unit `stone`"):
        build_table(data, "us")


@pytest.mark.parametrize(
    ("written", "name"),
    [("55 F", "degF"), ("50-60 °F", "degF"), ("55½F", "degF"), ("13 degC", "degC"), ("50 F to 60 F", "degF")],
)
def test_the_unit_in_which_a_temperature_was_written_is_known(written, name):
    units = Units.load("us")
    for end in units.read_range(written, ("temperature",)):
        assert units.unit_of(end) == name


def test_an_amount_is_told_in_the_unit_of_another_with_three_figures():
    units = Units.load("us")
    tub = units.read("5 gal", ("volume",))
    # NIST SP 811: a US gallon is 3785.41 mL; 13.76 gal is 52,100 mL.
    assert units.show_like(Decimal(52100), tub) == "13.8 gal"
    assert units.show_like(Decimal(500), tub) == "500 mL"
    assert Units.load("metric").show_like(Decimal(52100), Units.load("metric").read("19 L", ("volume",))) == "52.1 L"
