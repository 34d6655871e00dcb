"""What mends a mix that reads too weak or too strong, with the amount where the book knows enough to reckon it."""

from decimal import Decimal

from lotwalk.errors import NotUnderstood
from lotwalk.judge.acts import Act, Step
from lotwalk.judge.calculator.on_record import amount, stock_of
from lotwalk.judge.case import Case
from lotwalk.judge.label import Product
from lotwalk.judge.life import FRESH, out_of_date, past_life
from lotwalk.mixing.concentrate import Stock
from lotwalk.mixing.limits import Limits, ppm
from lotwalk.mixing.plan import mend
from lotwalk.mixing.tools import load_tools
from lotwalk.values.codes import fold
from lotwalk.values.units import Amount, Units, figures

_MOST_ADDED = Decimal("0.5")
"""Of what is in the tub: more than that would overflow it, or cost a mix that is better made anew."""
_TOOLS = "metric"
"""Product is told in mL and g, which every farm can measure, so that a verdict reads the same whatever its spoons."""


def strengthen(
    case: Case,
    solution: str,
    product: Product,
    reading: tuple[Amount, Amount],
    least: Amount,
    most: Amount | None,
    hint: str = "",
    *,
    again: bool = True,
) -> Act:
    """Return the act that brings a weak mix up between the limits: how much to add, or a fresh mix where none helps.

    `again`: items were dipped in it.
    """
    step, words = _strengthen(case, solution, product, reading, Limits(least, most))
    return Act(step, words, again, hint)


def _strengthen(
    case: Case, solution: str, product: Product, reading: tuple[Amount, Amount], limits: Limits
) -> tuple[Step, str]:
    if out_of_date(case, product):
        return Step.FRESH, f"{FRESH} from a product in date, read it"
    made, stock = case.evidence.maker(solution), _stock(case, product)
    if made and past_life(case, made):
        return Step.FRESH, f"{FRESH}, read it"
    volume = amount(made.values.get("volume")) if made else None
    if volume is None or stock is None or fold(solution) == fold(product.code):
        return Step.MEND, f"add product or {FRESH}, wait, read again"
    low, high = ppm(reading[0]), ppm(reading[1])
    aim = limits.aim(amount(made.values.get("target")) if made else None)
    try:
        plan = mend(stock, low, aim, volume.value, load_tools(_TOOLS), limits)
    except NotUnderstood:
        return Step.FRESH, f"{FRESH}, read it"
    much = stock.liquid and plan.product > volume.value * _MOST_ADDED
    if much or high + (aim - low) > limits.highest:
        return Step.FRESH, f"{FRESH}, read it"
    # Spoons differ from farm to farm; what has marks is alike everywhere.
    marked = [choice.measured for choice in plan.choices if len(choice.measured.tool.parts) == 1]
    added = marked[0].amount if marked else figures(plan.product)
    return (
        Step.MEND,
        f"add {added:f} {plan.unit} of {product.code} to the {volume.written} of {solution} to reach {aim:f} ppm, "
        "wait, read again",
    )


def weaken(case: Case, solution: str, reading: Amount, limits: Limits) -> str:
    """Return the act that brings a strong mix back between the limits.

    Where more water than half of the mix would have to be added, some of the mix is taken out instead.
    """
    made = case.evidence.maker(solution)
    aim = limits.aim(amount(made.values.get("target")) if made else None)
    volume = amount(made.values.get("volume")) if made else None
    if volume is None:
        return f"add water to reach {aim:f} ppm, wait, read again"
    plan = mend(None, ppm(reading), aim, volume.value, (), Limits())
    if plan.water <= volume.value * _MOST_ADDED:
        act = f"add {_like(plan.water, volume)} of water to the {volume.written} of {solution} to reach {aim:f} ppm"
    else:
        act = (
            f"take {_like(plan.instead, volume)} out of the {volume.written} of {solution} and make it up with water "
            f"to reach {aim:f} ppm, or {FRESH}"
        )
    return f"{act}, wait, read again"


def _like(value: Decimal, volume: Amount) -> str:
    """Return so many mL in the measure in which the tub was written down."""
    systems = [Units.load(name) for name in ("us", _TOOLS)]
    for units in systems:
        if units.read(volume.written, ("volume",)).value == volume.value:
            return units.show_like(value, volume)
    return systems[-1].show(value, volume.unit)


def _stock(case: Case, product: Product) -> Stock | None:
    try:
        return stock_of(case.rules, product)
    except NotUnderstood:
        return None
