"""Whether a solution was strong enough, and wet for long enough on the items."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lotwalk.judge.acts import Act, Step
from lotwalk.judge.case import Case, ends
from lotwalk.judge.conditions import check_conditions
from lotwalk.judge.label import Need, Product, item_of, need_of, no_label, products_of, tell_own_rules
from lotwalk.judge.life import check_expiry, check_life, check_strips
from lotwalk.judge.readings import Reading, between, enough
from lotwalk.judge.topping import strengthen, weaken
from lotwalk.judge.words import end, listed, many
from lotwalk.ledger.entry import Entry
from lotwalk.mixing.limits import Limits, ppm
from lotwalk.values.codes import fold
from lotwalk.values.units import Amount

SANITISER = "sanitiser"
READY = "ready to use"
_RINSE = "rinse_water"


@dataclass(frozen=True, slots=True)
class Mix:
    """What the items lay in: the code of a solution, or of a product that is ready to use, with the entry that made it,
    and one of the products in it."""

    code: str
    made: Entry
    product: Product


def check_solution(case: Case, solution: str) -> None:
    """Fail the items that this solution did not reach as its label asks."""
    products = products_of(case, solution)
    made = case.evidence.maker(solution)
    if made is None or not products:
        case.fails(f"Nothing in force says what {solution} was made of", f"record {solution} with its product")
        return
    products = [product for product in products if product.receipt.values.get("type") in (None, SANITISER)]
    if not products:
        case.fails(f"{solution} is made of no product recorded as a sanitiser", "correct the solution or the receipt")
        return
    check_life(case, solution, made, again=True)
    check_strips(case)
    for product in products:
        check_expiry(case, product, again=True)
        ready = case.entry.values.get("method") == READY and fold(product.code) == fold(solution)
        unread = ready and case.entry.values.get("reading") is None
        for need, codes in needs(case, product).items():
            # Nobody measured what came out of the bottle, so only its label can say how strong it was.
            known = no_label(product) if unread and need.conditions else need
            _check_need(case, Mix(solution, made, product), known, codes, ready=ready)


def needs(case: Case, product: Product) -> dict[Need, list[str]]:
    """Return the items by what they need: the porous ones may need another use of the label."""
    needs: dict[Need, list[str]] = {}
    for code in case.codes:
        needs.setdefault(need_of(case, product, item_of(case, code)), []).append(code)
    return needs


def _check_need(case: Case, mix: Mix, need: Need, codes: list[str], *, ready: bool) -> None:
    if need.problem:
        lead = f"{listed(codes)} {many(codes, 'is', 'are')} porous and " if need.porous else ""
        case.fails(f"{lead}{need.problem}", need.mend, codes)
        return
    if need.conditions:
        tell_own_rules(case, mix.product)
    reading = _check_reading(case, mix, need, codes, ready=ready)
    check_contact(case, need.contact, need.whose, codes, hint=need.hint)
    own = ends(case.entry.values.get("reading"))
    check_conditions(case, need, codes, reading[0] if reading else None, unproven=not ready or own is not None)
    check_residue(case, mix.code, need, codes, own or reading)


def _check_reading(case: Case, mix: Mix, need: Need, codes: list[str], *, ready: bool) -> Reading | None:
    """Fail the items where the reading is missing or too low; return the reading that proves the strength."""
    own = ends(case.entry.values.get("reading"))
    if own is None and ready:
        return None
    if need.least is None:
        case.fails("The label's lowest strength is not on record", "write label_min on the receipt", codes)
        return None
    if own is None:
        return between(case, mix.code, mix.made, need.least, codes)
    if enough(own, need.least):
        return own
    low, high = own
    what = low.written if low.value == high.value else f"{low.written}, {end(low)} at worst,"
    act = strengthen(case, mix.code, mix.product, own, need.least, need.most, need.hint)
    case.fails(f"Reading {what} is below {need.whose} {need.least.written}", act, codes)
    return None


def check_contact(
    case: Case, least: Amount | None, whose: str, codes: Sequence[str], *, act: str = "dip", hint: str = ""
) -> None:
    """Fail the items when they were not in contact for long enough; `act` is what mends it."""
    contact = ends(case.entry.values.get("contact"))
    if least is None:
        case.fails("The label's contact time is not on record", "write label_contact on the receipt", codes)
    elif contact is None:
        case.fails("No contact time is recorded", "write how long the items stayed in contact", codes)
    elif contact[0].value < least.value:
        text = f"Contact {contact[0].written} is shorter than {whose} {least.written}"
        step = Step.DIP if act == "dip" else Step.HEAT
        case.fails(text, Act(step, f"{act} {listed(codes)} again for {least.written} or longer", hint=hint), codes)


def check_residue(case: Case, solution: str, need: Need, codes: list[str], reading: Reading | None) -> None:
    """Take note of what may be left of a mix on items: it was too strong, or a rinse that is asked for is missing."""
    # What is taken to have been used, since it is usual, shows no rinse.
    rinsed = any(use.field == _RINSE and not use.assumed for use in case.entry.uses)
    if need.rinse and not rinsed:
        case.asks(_RINSE)
    if need.not_for_food:
        text = f"The label of {solution} gives no use on surfaces that food touches"
        case.residue(text, "rinse with drinking water, use another product, and ask the regulator", codes)
    for most, limit in _highest(case, need, rinsed=rinsed):
        if reading and ppm(reading[1]) > ppm(most):
            first = "rinse with drinking water, or as the label says"
            if rinsed:
                first = "check that the label allows it with a rinse"
            least = need.least if need.least and ppm(need.least) <= ppm(most) else None
            do = f"{first}, and {weaken(case, solution, reading[1], Limits(least, most))}"
            case.residue(f"Reading {reading[1].written} is above {limit} {most.written}", do, codes)
            return
    if need.rinse and not rinsed:
        case.residue("The label asks for a rinse and none is recorded", f"rinse, and write {_RINSE}", codes)


def _highest(case: Case, need: Need, *, rinsed: bool) -> Iterator[tuple[Amount, str]]:
    """Yield the strengths above which a residue is left: the label's, and the rule set's where nothing is rinsed."""
    if need.most and not need.most_unrinsed:
        yield need.most, "the label's highest,"
    active = case.rules.active(need.active)
    unrinsed = active.amount("max") if active else None
    if unrinsed and not rinsed and not need.rinse:
        yield unrinsed, "the rule set's highest without a rinse,"
