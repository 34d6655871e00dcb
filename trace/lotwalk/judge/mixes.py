"""What is wrong with a mix, said when it is mixed or read: its strength, its product's dates, its own life."""

from decimal import Decimal

from lotwalk.errors import NotUnderstood
from lotwalk.judge.calculator.on_record import SANITISER, OnRecord, amount, uses_on_record
from lotwalk.judge.case import Case, ends, named
from lotwalk.judge.label import Product, products_of
from lotwalk.judge.life import check_expiry, check_life, check_strips, endless
from lotwalk.judge.topping import strengthen, weaken
from lotwalk.mixing.limits import Limits, excess, ppm
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
        if made and made.number != case.entry.number:
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
        uses = uses_on_record(case, solution)
    except NotUnderstood as why:
        case.fails(why.what[:1].upper() + why.what[1:], f"use {why.expected}")
        return
    reading = ends(case.entry.values.get("reading"))
    target = amount(case.entry.values.get("target"))
    if reading:
        known = _meant(case, solution, uses, (ppm(reading[0]), ppm(reading[1])))
        _check_reading(case, solution, product, known, reading)
        return
    made = _made(case, uses[0])
    aimed = ppm(target) if target else made
    known = _meant(case, solution, uses, (aimed, aimed)) if aimed is not None else uses[0]
    off = made is not None and _check_amount(case, solution, product, known, target, made)
    if target:
        _check_target(case, solution, known, target)
        if not off and not case.evidence.telling("measured", solution):
            case.notes(f"A target is no reading of {solution}", "stir, wait, dip a strip, and record what it shows")


def _meant(case: Case, solution: str, uses: list[OnRecord], strength: tuple[Decimal, Decimal]) -> OnRecord:
    """Return the use of the label that a strength (ppm, both ends) is right for, else the one that it is nearest to.

    Where it is right for none, one that the mix was made for goes before the others. Where it is right for another use
    than that for ordinary items, that is said.
    """
    made_for = [use for use in uses if use.target and not _miss(use.limits, (ppm(use.target), ppm(use.target)))]
    right = [use for use in uses if not _miss(use.limits, strength)]
    known = min(right or made_for or uses, key=lambda use: _miss(use.limits, strength))
    if known is not uses[0] and not _miss(known.limits, strength):
        asked = ", and rinse them with drinking water" if known.limits.asked else ""
        text = (
            f"{solution} is right for what its label calls {known.use}, {_range(known.limits)}, not for {uses[0].use}"
        )
        case.notes(text, f"dip only such things in it{asked}")
    return known


def _miss(limits: Limits, strength: tuple[Decimal, Decimal]) -> Decimal:
    """Return by how many ppm a strength is outside the limits."""
    low, high = strength
    return max(limits.lowest - low, high - limits.highest if limits.highest.is_finite() else Decimal(0), Decimal(0))


def _range(limits: Limits) -> str:
    least, top = limits.least, limits.top
    if least and top:
        return f"{least.written} to {top.written}"
    return f"{least.written} or more" if least else f"{top.written} or less" if top else "at any strength"


def _check_reading(
    case: Case, solution: str, product: Product, known: OnRecord, reading: tuple[Amount, Amount]
) -> None:
    limits, (low, high) = known.limits, reading
    least = limits.least
    if least and ppm(low) < ppm(least):
        do = strengthen(case, solution, product, reading, least, limits.top, again=False)
        case.fails(f"Reading {low.written} of {solution} is below the label's {least.written}", do)
    elif too_much := excess(ppm(high), f"Reading {high.written} of {solution}", limits):
        case.residue(too_much[0], weaken(case, solution, high, limits))


def _check_target(case: Case, solution: str, known: OnRecord, target: Amount) -> None:
    limits = known.limits
    if too_much := excess(ppm(target), f"The target {target.written} of {solution}", limits):
        case.residue(too_much[0], f"aim at {too_much[1].partition(':')[0].partition(';')[0]}")
    elif limits.least and ppm(target) < limits.lowest:
        text = f"The target {target.written} of {solution} is below the label's {limits.least.written}"
        case.fails(text, "aim at the label's strength, and read the mix before it is used")


def _made(case: Case, known: OnRecord) -> Decimal | None:
    """Return the ppm that the product which went in made; None where that cannot be reckoned."""
    put_in, volume = amount(case.entry.values.get("amount")), amount(case.entry.values.get("volume"))
    if known.stock is None or put_in is None or volume is None:
        return None
    try:
        return mixed(known.stock, put_in, volume.value).ppm
    except NotUnderstood:
        return None


def _check_amount(
    case: Case, solution: str, product: Product, known: OnRecord, target: Amount | None, made: Decimal
) -> bool:
    """Say where the product that went in cannot have made the strength (ppm); return whether that was said."""
    put_in, volume = amount(case.entry.values.get("amount")), amount(case.entry.values.get("volume"))
    assert put_in is not None and volume is not None
    told = f"{put_in.written} of {known.code} in {volume.written} makes about {round(made)} ppm"
    read = "check what went in, read the mix, and write the reading"
    least = known.limits.least
    if least and made < known.limits.lowest:
        so_much = Amount(made, "mg/L", "")
        mend = strengthen(case, solution, product, (so_much, so_much), least, known.limits.top, again=False)
        case.fails(f"{told}, and the label asks for {least.written}", f"if that is what went in, {mend.words}")
    elif made > known.limits.highest:
        case.residue(f"{told}, and no more than {known.limits.highest:f} ppm is allowed", read)
    elif target and abs(made - ppm(target)) > _FAR_OFF * ppm(target):
        case.notes(f"{told}, and the target is {target.written}", read)
    else:
        return False
    return True
