"""What mends a mix that reads too weak or too strong, with the amount where the book knows enough to reckon it."""

from decimal import Decimal

from lotwalk.errors import NotUnderstood
from lotwalk.judge.acts import Act, Step
from lotwalk.judge.case import Case
from lotwalk.judge.label import Product
from lotwalk.judge.life import FRESH, out_of_date, past_life
from lotwalk.judge.on_record import amount, stock_of
from lotwalk.mixing.limits import Limits, ppm
from lotwalk.mixing.plan import mend
from lotwalk.mixing.stock import Stock
from lotwalk.mixing.tools import load_tools
from lotwalk.values.codes import fold
from lotwalk.values.unit_table import plain_decimal
from lotwalk.values.units import Amount, Units

_FIGURES = 3
_TOOLS = "metric"
"""A verdict is kept in mL and g, which every farm can measure, so that it reads the same whatever the farm's spoons."""


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
    aim = _aim(amount(made.values.get("target")) if made else None, limits)
    try:
        plan = mend(stock, low, aim, volume.value, load_tools(_TOOLS), limits)
    except NotUnderstood:
        return Step.FRESH, f"{FRESH}, read it"
    if high + (aim - low) > limits.highest:
        return Step.FRESH, f"{FRESH}, read it"
    # Spoons differ from farm to farm; what has marks is alike everywhere.
    marked = [choice.measured for choice in plan.choices if len(choice.measured.tool.parts) == 1]
    added = f"{marked[0].amount:f}" if marked else _figures(plan.product)
    return (
        Step.MEND,
        f"add {added} {plan.unit} of {product.code} to the {volume.written} of {solution}, wait, read again",
    )


def weaken(case: Case, solution: str, reading: Amount, most: Amount) -> str:
    """Return the act that brings a strong mix down to the highest allowed."""
    made = case.evidence.maker(solution)
    volume = amount(made.values.get("volume")) if made else None
    if volume is None:
        return "add water, wait, read again"
    plan = mend(None, ppm(reading), ppm(most), volume.value, (), Limits())
    shown = Units.load("metric").show(plan.water, "mL")
    return f"add {shown} of water to the {volume.written} of {solution}, wait, read again"


def _stock(case: Case, product: Product) -> Stock | None:
    try:
        return stock_of(case.rules, product)
    except NotUnderstood:
        return None


def _aim(target: Amount | None, limits: Limits) -> Decimal:
    """Return the ppm to aim at: the mix's own target where it is allowed, else halfway between the label's limits."""
    if target and limits.lowest <= ppm(target) <= limits.highest:
        return ppm(target)
    return (limits.lowest + limits.highest) / 2 if limits.most else limits.lowest


def _figures(value: Decimal) -> str:
    return f"{plain_decimal(round(value, max(0, _FIGURES - 1 - value.adjusted()))):f}"
