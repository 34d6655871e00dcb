"""How strong a product is as it comes out of its can: what the percent on its label can count.

All answers are in g/L of what a test strip reads: available chlorine, peroxyacetic acid, quaternary ammonium and so on.
A percent is of 100; a specific gravity is the weight of one mL in g.
"""

from decimal import Decimal

HYPOCHLORITE_FOR_CHLORINE = Decimal("1.05")
"""Grams of sodium hypochlorite for a gram of available chlorine (*Handbook of Chlorination*, 1972): the ratio of their
molar masses, 74.44 to 70.90."""


def by_label(percent: Decimal) -> Decimal:
    """Return the g/L of a percent taken as it stands, as public guidance does: 1 % is 10,000 ppm, or 10 g/L.

    WHO: 5 % bleach, one part in a hundred, is 500 ppm. US guidance: 5.25 to 6.15 % likewise is 525 to 615 ppm.
    """
    return percent * 10


def by_trade_percent(percent: Decimal) -> Decimal:
    """Return the g/L of available chlorine: trade percent is a tenth of them (*Handbook of Chlorination*, 1972)."""
    return percent * 10


def over_volume(percent: Decimal) -> Decimal:
    """Return the g/L of a percent that counts grams of what the strip reads in 100 mL."""
    return percent * 10


def hypochlorite_over_volume(percent: Decimal) -> Decimal:
    """Return the g/L of available chlorine of a percent that counts grams of sodium hypochlorite in 100 mL."""
    return percent * 10 / HYPOCHLORITE_FOR_CHLORINE


def by_weight(percent: Decimal, gravity: Decimal) -> Decimal:
    """Return the g/L of a percent by weight of what the strip reads: a litre weighs 1000 g times the gravity.

    For available chlorine: weight percent is trade percent divided by the gravity (*Handbook of Chlorination*, 1972).
    """
    return percent * 10 * gravity


def by_weight_of_hypochlorite(percent: Decimal, gravity: Decimal) -> Decimal:
    """Return the g/L of available chlorine of sodium hypochlorite in percent by weight.

    Weight percent NaOCl = g/L of available chlorine x 1.05 / (10 x gravity) (*Handbook of Chlorination*, 1972).
    """
    return percent * 10 * gravity / HYPOCHLORITE_FOR_CHLORINE
