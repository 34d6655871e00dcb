"""Mixing a product with water: how much makes a strength, what a mix came to, and how to mend it.

Everything is a balance of mass: what was put in, strength times volume, is strength times volume of the mix. Volumes
are in mL, strengths of mixes in ppm (mg/L). `stock` is the product's own strength in mg for each unit of it: mg/mL,
which is g/L, of a liquid; mg/g of a powder. A litre of weak solution is taken to weigh a kilogram, and a powder to take
up no room.
"""

from decimal import Decimal

_ML = 1000
"""mL in a litre."""


def product_for(ppm: Decimal, volume: Decimal, stock: Decimal) -> Decimal:
    """Return how much product there is in `volume` mL of a mix of so many ppm: V x ppm = product x stock."""
    return ppm * volume / (_ML * stock)


def strength_of(product: Decimal, volume: Decimal, stock: Decimal) -> Decimal:
    """Return the ppm of a mix of `volume` mL in all that holds so much product."""
    return product * _ML * stock / volume


def to_strengthen(volume: Decimal, have: Decimal, want: Decimal, stock: Decimal, *, liquid: bool = True) -> Decimal:
    """Return how much product to add to `volume` mL of a mix, from `have` to `want` ppm.

    A liquid adds to the volume: V x have + x x stock = (V + x) x want. Both want > have and stock > want must hold.
    """
    return volume * (want - have) / (_ML * stock - (want if liquid else 0))


def after_adding(product: Decimal, volume: Decimal, have: Decimal, stock: Decimal, *, liquid: bool = True) -> Decimal:
    """Return the ppm of `volume` mL of a mix of `have` ppm after so much product was added to it."""
    return (volume * have + product * _ML * stock) / (volume + (product if liquid else 0))


def water_to_weaken(volume: Decimal, have: Decimal, want: Decimal) -> Decimal:
    """Return how many mL of water to add to `volume` mL of a mix, from `have` down to `want` ppm (not 0)."""
    return volume * (have / want - 1)


def exchange_to_weaken(volume: Decimal, have: Decimal, want: Decimal) -> Decimal:
    """Return how many mL of a full tub to take out and make up with water, from `have` down to `want` ppm."""
    return volume * (1 - want / have)
