"""Outbreak tables: the church supper of Oswego, published intervals, and SciPy as a second reckoner."""

import math
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import binomtest, fisher_exact
from scipy.stats.contingency import odds_ratio as scipy_odds_ratio
from scipy.stats.contingency import relative_risk as scipy_relative_risk

from lotwalk.science.outbreak import ADDED, Table, attack_rate, fisher, odds_ratio, relative_risk, wilson

# Church supper, Oswego, New York, 1940, the classic outbreak table: 75 interviewed, 46 ill. Each row is counted from
# the open data set of the interviews; the attack rates for vanilla ice cream are published as well.
OSWEGO = {
    "baked ham": ((29, 17, 17, 12), 1.075),
    "spinach": ((26, 17, 20, 12), 0.967),
    "mashed potato": ((23, 14, 23, 14), 1.000),  # one answer missing
    "cabbage salad": ((18, 10, 28, 19), 1.079),
    "jello": ((16, 7, 30, 22), 1.206),
    "rolls": ((21, 16, 25, 13), 0.863),
    "brown bread": ((18, 9, 28, 20), 1.143),
    "milk": ((2, 2, 44, 27), 0.807),
    "coffee": ((19, 12, 27, 17), 0.999),
    "water": ((13, 11, 33, 18), 0.837),
    "cakes": ((27, 13, 19, 16), 1.243),
    "vanilla ice cream": ((43, 11, 3, 18), 5.574),
    "chocolate ice cream": ((25, 22, 20, 7), 0.718),  # one answer missing
    "fruit salad": ((4, 2, 42, 27), 1.095),
}

CELLS = st.integers(0, 60)
FILLED = st.integers(1, 60)


@pytest.mark.parametrize("food", OSWEGO)
def test_each_food_at_oswego(food):
    cells, risk = OSWEGO[food]
    # The quotient of the two attack rates, counted from the interviews.
    assert relative_risk(Table(*cells)).value == pytest.approx(risk, abs=0.0005)
    missing = food in ("mashed potato", "chocolate ice cream")
    assert sum(cells) == 75 - missing


def test_the_vanilla_ice_cream_of_oswego():
    # Published attack rates: 79.63 % of those who ate it and 14.29 % of the others. The rest follows from the counts.
    table = Table(*OSWEGO["vanilla ice cream"][0])
    assert 100 * attack_rate(43, 11) == pytest.approx(79.63, abs=0.005)
    assert 100 * attack_rate(3, 18) == pytest.approx(14.29, abs=0.005)
    assert relative_risk(table).value == pytest.approx(5.574, abs=0.0005)
    assert odds_ratio(table).value == pytest.approx(23.45, abs=0.005)
    assert float(fisher(table)) == pytest.approx(2.6e-7, rel=0.02)


def test_no_other_food_at_oswego_comes_near():
    risks = {food: relative_risk(Table(*cells)).value for food, (cells, _) in OSWEGO.items()}
    ranked = sorted(risks, key=lambda food: -risks[food])
    assert ranked[0] == "vanilla ice cream"
    chances = {food: fisher(Table(*cells)) for food, (cells, _) in OSWEGO.items()}
    assert min(chances, key=lambda food: chances[food]) == "vanilla ice cream"
    assert sorted(chances.values())[1] > 0.01


@pytest.mark.parametrize(
    ("count", "of", "low", "high"), [(8, 10, 49.0, 94.3), (14, 20, 48.1, 85.5), (52, 80, 54.1, 74.5)]
)
def test_wilson_intervals_of_aoac_appendix_f_table_a7(count, of, low, high):
    found = wilson(count, of)
    assert 100 * found[0] == pytest.approx(low, abs=0.05)
    assert 100 * found[1] == pytest.approx(high, abs=0.05)


@given(st.tuples(CELLS, CELLS, CELLS, CELLS))
def test_fisher_agrees_with_scipy(cells):
    a, b, c, d = cells
    assume(a + b + c + d)
    assert float(fisher(Table(*cells))) == pytest.approx(fisher_exact([[a, b], [c, d]]).pvalue, rel=1e-9)


@given(st.tuples(FILLED, FILLED, FILLED, FILLED), st.sampled_from((0.9, 0.95, 0.99)))
def test_ratios_and_intervals_agree_with_scipy(cells, level):
    a, b, c, d = cells
    risk, odds = relative_risk(Table(*cells), level), odds_ratio(Table(*cells), level)
    theirs = scipy_relative_risk(a, a + b, c, c + d)
    assert risk.value == pytest.approx(theirs.relative_risk)
    assert (risk.low, risk.high) == pytest.approx(tuple(theirs.confidence_interval(level)))
    their_odds = scipy_odds_ratio([[a, b], [c, d]], kind="sample")
    assert odds.value == pytest.approx(their_odds.statistic)
    assert (odds.low, odds.high) == pytest.approx(tuple(their_odds.confidence_interval(level)))
    assert risk.note == odds.note == ""


@given(st.integers(1, 300), st.data(), st.sampled_from((0.8, 0.95, 0.999)))
def test_wilson_agrees_with_scipy(of, data, level):
    count = data.draw(st.integers(0, of))
    theirs = binomtest(count, of).proportion_ci(level, method="wilson")
    assert wilson(count, of, level) == pytest.approx((theirs.low, theirs.high), abs=1e-12)


def test_a_zero_cell_adds_a_half_to_each_cell_for_the_interval_and_says_so():
    # The same cells with 0.5 added by hand, reckoned by SciPy's formula for the standard error.
    table = Table(0, 10, 5, 15)
    found = relative_risk(table)
    assert found.value == 0
    assert found.note == ADDED
    error = math.sqrt(1 / 0.5 - 1 / 11 + 1 / 5.5 - 1 / 21)
    middle = math.log((0.5 / 11) / (5.5 / 21))
    assert found.low == pytest.approx(math.exp(middle - 1.959964 * error), rel=1e-5)
    assert found.high == pytest.approx(math.exp(middle + 1.959964 * error), rel=1e-5)


def test_an_infinite_ratio_is_none_and_says_why():
    for found in (relative_risk(Table(7, 3, 0, 10)), odds_ratio(Table(7, 3, 0, 10))):
        assert found.value is None
        assert "none of the others fell ill" in found.note
        assert ADDED in found.note
        assert 0 < found.low < found.high < math.inf
    all_ill = odds_ratio(Table(7, 0, 3, 10))
    assert all_ill.value is None
    assert "all of the exposed fell ill" in all_ill.note
    assert relative_risk(Table(7, 0, 3, 10)).value == pytest.approx(13 / 3)


@pytest.mark.parametrize(
    ("cells", "why"),
    [
        ((0, 0, 3, 4), "none was exposed"),
        ((3, 4, 0, 0), "all were exposed"),
        ((0, 4, 0, 4), "none fell ill"),
        ((0, 0, 0, 0), "none was exposed"),
    ],
)
def test_where_there_is_nothing_to_compare_nothing_is_reckoned(cells, why):
    for found in (relative_risk(Table(*cells)), odds_ratio(Table(*cells))):
        assert (found.value, found.low, found.high) == (None, None, None)
        assert why in found.note
    assert fisher(Table(*cells)) == 1


def test_the_odds_say_nothing_where_all_fell_ill():
    assert "all fell ill" in odds_ratio(Table(3, 0, 4, 0)).note
    assert relative_risk(Table(3, 0, 4, 0)).value == 1


def test_tables_of_several_thousand_neither_round_nor_underflow():
    # With margins of 3,000 each, only the two extreme tables are as improbable as this one: 2 / C(6000, 3000).
    extreme = fisher(Table(3000, 0, 0, 3000))
    assert extreme == Fraction(2, math.comb(6000, 3000))
    assert 0 < extreme < Fraction(1, 10**1800)
    assert extreme < fisher(Table(2999, 1, 1, 2999))
    assert fisher(Table(1500, 1500, 1500, 1500)) == 1


@given(st.tuples(CELLS, CELLS, CELLS, CELLS))
def test_fisher_does_not_ask_which_way_the_table_is_turned(cells):
    a, b, c, d = cells
    chance = fisher(Table(a, b, c, d))
    assert chance == fisher(Table(c, d, a, b)) == fisher(Table(b, a, d, c)) == fisher(Table(a, c, b, d))
    assert 0 < chance <= 1


@given(st.integers(1, 200), st.data())
def test_wilsons_interval_holds_the_proportion_and_stays_within_0_and_1(of, data):
    count = data.draw(st.integers(0, of))
    low, high = wilson(count, of)
    assert 0 <= low <= count / of <= high <= 1


def test_what_cannot_be_counted_is_refused():
    with pytest.raises(ValueError, match="at least 0"):
        Table(1, 2, -1, 3)
    for count, of in ((3, 2), (-1, 2), (0, 0)):
        with pytest.raises(ValueError, match="out of one or more"):
            wilson(count, of)
    for level in (0, 1, 95):
        with pytest.raises(ValueError, match="between 0 and 1"):
            relative_risk(Table(1, 2, 3, 4), level)
    assert attack_rate(0, 0) is None
