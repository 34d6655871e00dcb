"""What the strength on a label counts."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lotwalk.errors import NotUnderstood
from lotwalk.mixing.concentrate import bases, others, read_basis, read_stock
from lotwalk.values.units import Units

UNITS = Units.load("metric")


def strength(text):
    return UNITS.read(text, ("percent", "concentration"))


def stock(text, *, chlorine=True, **more):
    return read_stock(strength(text), chlorine=chlorine, **more)


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("weight", "weight"),
        ("Weight percent sodium hypochlorite", "weight"),
        ("w/w", "weight"),
        ("available chlorine by weight", "available"),
        ("trade percent", "trade"),
        ("weight by volume", "volume"),
        ("w/v", "volume"),
        ("label", "label"),
    ],
)
def test_the_words_for_a_basis(text, name):
    assert read_basis(text, chlorine=True).name == name


def test_only_chlorine_has_trade_percent_and_available_chlorine():
    assert read_basis("w/w", chlorine=False).name == "weight"
    for text in ("trade", "available"):
        with pytest.raises(NotUnderstood, match="does not say what the percent counts"):
            read_basis(text, chlorine=False)


def test_without_a_word_the_percent_is_taken_as_it_stands_and_that_is_said():
    found = stock("5.25 %")
    assert (found.holds, found.basis.name, found.assumed) == (Decimal("52.5"), "label", True)


def test_a_basis_that_needs_the_gravity_falls_back_and_says_so():
    found = stock("6 %", basis="weight")
    assert (found.holds, found.basis.name, found.meant.name, found.assumed) == (60, "label", "weight", False)


def test_a_strength_in_grams_a_litre_leaves_nothing_to_assume():
    found = stock("120 g/L")
    assert (found.holds, found.basis, found.assumed) == (120, None, False)
    assert others(found, chlorine=True) == []


def test_a_powders_percent_is_of_its_weight():
    found = stock("65 %", powder=True)
    assert (found.holds, found.unit, found.liquid) == (650, "g", False)


@given(
    st.decimals(Decimal("0.1"), Decimal(20), places=2),
    st.decimals(Decimal("0.9"), Decimal("1.5"), places=3),
    st.sampled_from(sorted(bases())),
)
def test_a_product_called_by_another_basis_is_the_same_product(percent, gravity, basis):
    found = stock(f"{percent} %", basis=basis, gravity=gravity)
    for other in others(found, chlorine=True):
        again = stock(f"{round(other.percent, 12):f} %", basis=other.basis.name, gravity=gravity)
        assert float(again.holds) == pytest.approx(float(found.holds), rel=1e-9)
        assert other.holds == pytest.approx(stock(f"{percent} %", basis=other.basis.name, gravity=gravity).holds)


@pytest.mark.parametrize(
    ("text", "more", "told"),
    [
        ("0 %", {}, "there is no product of 0 %"),
        ("120 %", {}, "more than the whole"),
        ("6 %", {"gravity": Decimal(11)}, "a specific gravity of 11"),
        ("6 %", {"basis": "mystery"}, "does not say what the percent counts"),
        ("120 g/L", {"powder": True}, "there is no powder"),
    ],
)
def test_what_no_product_has_is_refused(text, more, told):
    with pytest.raises(NotUnderstood, match=told):
        stock(text, **more)
