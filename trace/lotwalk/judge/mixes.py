"""What is wrong with a mix, said when it is mixed or read: its strength, its product's dates, its own life."""

from decimal import Decimal

from lotwalk.errors import NotUnderstood
from lotwalk.judge.case import Case, ends, named
from lotwalk.judge.label import Product, products_of
from lotwalk.judge.life import check_expiry, check_life, check_strips, endless
from lotwalk.judge.on_record import SANITISER, OnRecord, amount, on_record
from lotwalk.judge.topping import strengthen, weaken
from lotwalk.mixing.limits import excess, ppm
from lotwalk.mixing.plan import mixed
from lotwalk.values.units import Amount

_FAR_OFF = Decimal("0.25")
"""So far from the target, as a part of it, an amount was probably read or written wrong: common practice, no source."""


def judge_mix(case: Case) -> None:
    """Say what is wrong with a sanitiser that this entry mixes (in `lot`) or reads (in `solution`).

    Another solution, of detergent or plant food, is nothing to this judge.
    """
    for solution in named(case.entry, "lot") or named(case.entry, "solution"):
        products = products_of(case, solution)
        if not products or any(product.receipt.values.get("type") != SANITISER for product in products):
            continue
        made = case.evidence.maker(solution)
        if made and made.name != case.entry.name:
            check_life(case, solution, made, again=False)
        elif made and endless(case, made):
            case.notes(f"{solution} has no time by which it is discarded", "write discard_at")
        for product in products:
            check_expiry(case, product, again=False)
        check_strips(case)
        if len(products) == 1:
            _check_strength(case, solution, products[0])


def _check_strength(case: Case, solution: str, product: Product) -> None:
    try:
        known = on_record(case, solution)
    except NotUnderstood as why:
        case.fails(why.what[:1].upper() + why.what[1:], f"use {why.expected}")
        return
    reading = ends(case.entry.values.get("reading"))
    if reading:
        _check_reading(case, solution, product, known, reading)
        return
    target = amount(case.entry.values.get("target"))
    off = _check_amount(case, solution, product, known, target)
    if target:
        _check_target(case, solution, known, target)
        if not off and not case.evidence.telling("measured", solution):
            case.notes(f"A target is no reading of {solution}", "stir, wait, dip a strip, and record what it shows")


def _check_reading(
    case: Case, solution: str, product: Product, known: OnRecord, reading: tuple[Amount, Amount]
) -> None:
    least, (low, high) = known.limits.least, reading
    if least and ppm(low) < ppm(least):
        do = strengthen(case, solution, product, reading, least, known.limits.most, again=False)
        case.fails(f"Reading {low.written} of {solution} is below the label's {least.written}", do)
    elif too_much := excess(ppm(high), f"Reading {high.written} of {solution}", known.limits):
        most = known.limits.most or known.limits.unrinsed
        case.residue(too_much[0], weaken(case, solution, high, most) if most else "add water, wait, read again")


def _check_target(case: Case, solution: str, known: OnRecord, target: Amount) -> None:
    limits = known.limits
    if too_much := excess(ppm(target), f"The target {target.written} of {solution}", limits):
        case.residue(too_much[0], f"aim at {too_much[1].partition(':')[0].partition(';')[0]}")
    elif limits.least and ppm(target) < limits.lowest:
        text = f"The target {target.written} of {solution} is below the label's {limits.least.written}"
        case.fails(text, "aim at the label's strength, and read the mix before it is used")


def _check_amount(case: Case, solution: str, product: Product, known: OnRecord, target: Amount | None) -> bool:
    """Say where the product that went in cannot have made the strength; return whether that was said."""
    put_in, volume = amount(case.entry.values.get("amount")), amount(case.entry.values.get("volume"))
    if known.stock is None or put_in is None or volume is None:
        return False
    try:
        made = mixed(known.stock, put_in, volume.value).ppm or Decimal(0)
    except NotUnderstood:
        return False
    told = f"{put_in.written} of {known.code} in {volume.written} makes about {round(made)} ppm"
    read = "check what went in, read the mix, and write the reading"
    least = known.limits.least
    if least and made < known.limits.lowest:
        so_much = Amount(made, "mg/L", "")
        mend = strengthen(case, solution, product, (so_much, so_much), least, known.limits.most, again=False)
        case.fails(f"{told}, and the label asks for {least.written}", f"if that is what went in, {mend.words}")
    elif made > known.limits.highest:
        case.residue(f"{told}, and no more than {known.limits.highest:f} ppm is allowed", read)
    elif target and abs(made - ppm(target)) > _FAR_OFF * ppm(target):
        case.notes(f"{told}, and the target is {target.written}", read)
    else:
        return False
    return True
