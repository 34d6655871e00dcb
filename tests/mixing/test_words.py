"""What is typed to the calculator."""

import pytest

from lotwalk.errors import NotUnderstood
from lotwalk.mixing.words import read_dose, read_words
from lotwalk.values.units import Units

US = Units.load("us")


def said(text):
    found = read_words(text.split(" "), US)

    strength, target, volume = (one and one.written for one in (found.strength, found.target, found.volume))
    return found.code or None, strength, found.active or None, target, volume


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("5.25 % bleach, 100 ppm, 10 L", (None, "5.25 %", "bleach", "100 ppm", "10 L")),
        ("5.25% bleach 100ppm 10L", (None, "5.25%", "bleach", "100ppm", "10L")),
        ("8 1/4 % chlorine, 2 1/2 gal, 100 ppm", (None, "8 1/4 %", "chlorine", "100 ppm", "2 1/2 gal")),
        ("120 g/L available chlorine 10 L", (None, "120 g/L", "available chlorine", None, "10 L")),
        ("BL-1 100 ppm 10 L", ("BL-1", None, None, "100 ppm", "10 L")),
        ("BL-1", ("BL-1", None, None, None, None)),
        ("0302 100 ppm 10 L", ("0302", None, None, "100 ppm", "10 L")),
        ("3 % hydrogen peroxide 0.5 % 1 gal", (None, "3 %", "hydrogen peroxide", "0.5 %", "1 gal")),
    ],
)  # fmt: skip
def test_a_product_a_strength_and_a_volume_in_any_order(text, told):
    assert said(text) == told


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "no product is named"),
        ("BL-1 please 10 L", "neither a code nor a strength"),
        ("BL-1 10 L 5 L", "two of a kind"),
        ("BL-1 100 ppm 10 parsnips", "not a unit"),
        ("BL-1 100", "has no unit"),
    ],
)
def test_what_cannot_be_read_is_told(text, told):
    with pytest.raises(NotUnderstood, match=told):
        said(text)


@pytest.mark.parametrize(
    ("text", "product", "water"),
    [
        ("1 fl oz per 4 gal", "1 fl oz", "4 gal"),
        ("1 oz per gallon", "1 oz", "1 gallon"),
        ("10 mL/L", "10 mL", "1 L"),
        ("2 tablets per 10 L", "2 tablets", "10 L"),
        ("1 piece to 5 L", "1 piece", "5 L"),
    ],
)
def test_a_labels_dose(text, product, water):
    dose, per = read_dose(text, US)
    assert (dose.written, per.written) == (product, water)


def test_what_is_no_dose_is_told():
    with pytest.raises(NotUnderstood, match="is no dose"):
        read_dose("a splash", US)
