"""Mixing: published tables and sentences on bleach, dilution and what a percent counts."""

from decimal import Decimal

import pytest

from lotwalk.mixing.concentrate import others, read_stock
from lotwalk.mixing.limits import Limits
from lotwalk.mixing.plan import mix, mixed
from lotwalk.science import dilution, strength
from lotwalk.values.units import Units

US = Units.load("us")


def stock(percent, **more):
    return read_stock(US.read(percent, ("percent",)), chlorine=True, **more)


def volume(text):
    return US.read(text, ("volume",))


@pytest.mark.parametrize(
    ("percent", "fifty", "hundred", "two_hundred"),
    [("5.25 %", 3.6, 7.2, 14.4), ("6 %", 3.2, 6.3, 12.6), ("8.25 %", 2.3, 4.6, 9.2)],
)
def test_bleach_for_a_us_gallon_by_the_label_percent(percent, fifty, hundred, two_hundred):
    # The usual extension-service table, mL for a US gallon, recomputed from 1 % = 10,000 ppm and 3785.41 mL.
    for ppm, millilitres in ((50, fifty), (100, hundred), (200, two_hundred)):
        plan = mix(stock(percent), Decimal(ppm), volume("1 US gal").value, (), Limits())
        assert float(plan.product) == pytest.approx(millilitres, abs=0.05)


@pytest.mark.parametrize(("percent", "ppm"), [("5 %", 500), ("5.25 %", 525), ("6.15 %", 615)])
def test_one_part_of_bleach_in_a_hundred(percent, ppm):
    # WHO: 5 % at 1:100 is 500 ppm. US guidance: 5.25-6.15 % at 1:100 is 525-615 ppm.
    assert mixed(stock(percent), volume("10 mL"), Decimal(1000)).ppm == ppm


def test_six_percent_hypochlorite_at_specific_gravity_1_1():
    # Handbook of Chlorination, 1972, as a manufacturer cites it: 6 % NaOCl by weight at SG 1.1 is 5.7 % available
    # chlorine by weight and 6.3 trade percent.
    found = stock("6 %", basis="weight percent sodium hypochlorite", gravity=Decimal("1.1"))
    called = {one.basis.name: float(one.percent) for one in others(found, chlorine=True)}
    assert called["available"] == pytest.approx(5.7, abs=0.05)
    assert called["trade"] == pytest.approx(6.3, abs=0.05)
    assert float(found.holds) == pytest.approx(62.9, abs=0.05)


def test_the_definitions_of_the_handbook_of_chlorination_hang_together():
    # Trade percent = g/L / 10; weight percent available = trade / SG; weight percent NaOCl = g/L x 1.05 / (10 x SG).
    gravity, grams = Decimal("1.17"), Decimal(120)
    assert strength.by_trade_percent(grams / 10) == grams
    assert strength.by_weight(grams / 10 / gravity, gravity) == pytest.approx(grams)
    hypochlorite = grams * Decimal("1.05") / (10 * gravity)
    assert strength.by_weight_of_hypochlorite(hypochlorite, gravity) == pytest.approx(grams)


def test_the_ratio_of_hypochlorite_to_chlorine_follows_from_molar_masses():
    # IUPAC standard atomic weights (abridged): Na 22.990, O 15.999, Cl 35.45. One NaOCl does the work of one Cl2.
    ratio = (22.990 + 15.999 + 35.45) / (2 * 35.45)
    assert float(strength.HYPOCHLORITE_FOR_CHLORINE) == pytest.approx(ratio, abs=0.0005)


def test_a_dilution_is_the_textbooks_c1_v1_is_c2_v2():
    # C1 V1 = C2 V2, general chemistry: 10 mL of 52,500 ppm in 5.25 L is 100 ppm.
    assert dilution.product_for(Decimal(100), Decimal(5250), Decimal("52.5")) == 10
    assert dilution.strength_of(Decimal(10), Decimal(5250), Decimal("52.5")) == 100
