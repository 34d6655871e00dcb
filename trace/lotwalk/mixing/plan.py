"""What to put into the tub: for a strength, by the label's dose, to mend a mix; and what a mix came to."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from lotwalk.errors import NotUnderstood
from lotwalk.mixing.concentrate import Stock
from lotwalk.mixing.limits import Limits
from lotwalk.mixing.tools import Measured, Tool, best
from lotwalk.science import dilution
from lotwalk.values.units import Amount

Mode = Literal["mix", "dose", "mixed", "strengthen", "weaken", "enough"]


@dataclass(frozen=True, slots=True)
class Choice:
    """An amount that can be measured, and the ppm which that gives (None: not known)."""

    measured: Measured
    ppm: Decimal | None


@dataclass(frozen=True, slots=True)
class Plan:
    """What to do.

    `product` is in `unit` (mL, g or count), `water` and `instead` in mL: so much water to add, or so much of a full tub
    to take out and make up with water. `volume` is the mix afterwards, in mL, `ppm` its strength by what was put in.
    `choices` are amounts of product that can be measured,
    the best first.
    """

    mode: Mode
    volume: Decimal
    ppm: Decimal | None
    product: Decimal = Decimal(0)
    unit: str = "mL"
    water: Decimal = Decimal(0)
    instead: Decimal = Decimal(0)
    choices: tuple[Choice, ...] = ()


def mix(stock: Stock, target: Decimal, volume: Decimal, tools: Sequence[Tool], limits: Limits) -> Plan:
    """Return how much product makes `volume` mL of `target` ppm. Raises NotUnderstood for what cannot be mixed."""
    _check(stock, target, volume)
    _check_positive(target, "a strength of 0 ppm is no sanitiser", "a strength such as 100 ppm")
    product = dilution.product_for(target, volume, stock.holds)

    def gives(amount: Decimal) -> Decimal:
        return dilution.strength_of(amount, volume, stock.holds)

    ends = _ends(limits, target, lambda ppm: dilution.product_for(ppm, volume, stock.holds))
    return Plan("mix", volume, target, product, stock.unit, choices=_choices(product, stock.unit, tools, ends, gives))


def by_dose(dose: Amount, per: Amount, volume: Decimal, stock: Stock | None, tools: Sequence[Tool]) -> Plan:
    """Return how much product the label's own dose (`1 fl oz` for each `4 gal`) asks for `volume` mL.

    Where the product's strength is known in the dose's unit, the ppm is told too.
    """
    _check_positive(volume, "a tub of nothing", "a volume such as 10 L")
    _check_positive(dose.value, f"a dose of {dose.written}", "a dose such as 1 fl oz")
    _check_positive(per.value, f"a dose for {per.written}", "a volume such as 4 gal")
    product = dose.value * volume / per.value

    def gives(amount: Decimal) -> Decimal | None:
        return dilution.strength_of(amount, volume, stock.holds) if stock and stock.unit == dose.unit else None

    choices = _choices(product, dose.unit, tools, (Decimal(0), Decimal("Infinity")), gives)
    return Plan("dose", volume, gives(product), product, dose.unit, choices=choices)


def mixed(stock: Stock, product: Amount, volume: Decimal) -> Plan:
    """Return what a mix of `volume` mL in all came to that was made with so much product."""
    _check(stock, Decimal(0), volume)
    if product.unit != stock.unit:
        said, expected = ("a volume", "its weight in g") if product.unit == "mL" else ("no volume", "mL of it")
        raise NotUnderstood(f"{product.written} of this product is {said}", expected)
    if stock.liquid and product.value > volume:
        raise NotUnderstood(f"{product.written} is more than the tub holds", "the volume of the whole mix")
    return Plan("mixed", volume, dilution.strength_of(product.value, volume, stock.holds), product.value, stock.unit)


def mend(
    stock: Stock | None, have: Decimal, want: Decimal, volume: Decimal, tools: Sequence[Tool], limits: Limits
) -> Plan:
    """Return what to add to `volume` mL of a mix that reads `have` ppm so that it has `want`.

    Raises NotUnderstood where it is too weak and the product's strength is not known, or the product too weak itself.
    """
    _check(stock, want, volume)
    _check_positive(want, "a strength of 0 ppm is no sanitiser", "a strength such as 100 ppm")
    if have == want:
        return Plan("enough", volume, have)
    if have > want:
        water = dilution.water_to_weaken(volume, have, want)
        instead = dilution.exchange_to_weaken(volume, have, want)
        return Plan("weaken", volume + water, want, water=water, instead=instead)
    if stock is None:
        raise NotUnderstood("how strong the product is is not known", "its strength, such as --strength '5.25 %'")
    known, liquid = stock, stock.liquid

    def needed(ppm: Decimal) -> Decimal:
        if ppm >= known.most:
            return Decimal("Infinity")
        return max(Decimal(0), dilution.to_strengthen(volume, have, ppm, known.holds, liquid=liquid))

    def gives(amount: Decimal) -> Decimal:
        return dilution.after_adding(amount, volume, have, known.holds, liquid=liquid)

    product = needed(want)
    ends = _ends(limits, want, needed)
    choices = _choices(product, stock.unit, tools, ends, gives)
    return Plan("strengthen", volume + (product if liquid else 0), want, product, stock.unit, choices=choices)


def _ends(limits: Limits, target: Decimal, product: Callable[[Decimal], Decimal]) -> tuple[Decimal, Decimal]:
    """Return the amounts of product between which the mix keeps to the limits, as far as the target itself does."""
    least = product(limits.floor(target))
    top = limits.highest
    return least, product(top) if top.is_finite() and top >= target else Decimal("Infinity")


def _choices(
    product: Decimal,
    unit: str,
    tools: Sequence[Tool],
    ends: tuple[Decimal, Decimal],
    gives: Callable[[Decimal], Decimal | None],
) -> tuple[Choice, ...]:
    return tuple(Choice(one, gives(one.amount)) for one in best(product, unit, tools, *ends))


def _check(stock: Stock | None, target: Decimal, volume: Decimal) -> None:
    _check_positive(volume, "a tub of nothing", "a volume such as 10 L")
    if stock and target >= stock.most:
        raise NotUnderstood(
            f"the product, {stock.written}, is no stronger than that", "a strength below the product's own"
        )


def _check_positive(value: Decimal, what: str, expected: str) -> None:
    if value <= 0:
        raise NotUnderstood(what, expected)
