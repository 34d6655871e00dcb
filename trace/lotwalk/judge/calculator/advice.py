"""What to say to somebody who mixes a sanitiser: what to put in, and all that goes with it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from lotwalk.errors import NotUnderstood
from lotwalk.finding import DANGER
from lotwalk.judge.calculator.known import too_weak, unknown
from lotwalk.judge.calculator.on_record import OnRecord, is_chlorine
from lotwalk.judge.calculator.reckoned import misses
from lotwalk.judge.dangers.chemicals import gas
from lotwalk.judge.dangers.never import never_with, too_acid
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.mixing import plan as plans
from lotwalk.mixing.concentrate import Otherwise, others
from lotwalk.mixing.limits import Limits, check_target, excess, ppm
from lotwalk.mixing.notes import load_notes
from lotwalk.mixing.plan import Plan
from lotwalk.mixing.tools import Tool
from lotwalk.science.chlorine import band, hypochlorous_fraction
from lotwalk.values.units import Amount, Units

_ANY_PH = Decimal(14)
_SCALDS = (
    "Water this hot drives chlorine off as gas and can scald: mix cold, product into water, and keep the room aired"
    " (common practice, no source)."
)
_SOLID = (
    "Calcium hypochlorite is sold as a solid: if yours is a powder or tablets, ask again with --powder and weigh it. It"
    " goes into the water, never the water onto it."
)
_AGE = "A chlorine product loses strength with age, warmth and light (common practice, no source)."


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of the calculator. `have` is what a mix reads, `product` how much of it went into one."""

    target: Amount | None = None
    volume: Amount | None = None
    have: Amount | None = None
    product: Amount | None = None
    ph: Decimal | None = None
    temperature: Amount | None = None


@dataclass(frozen=True, slots=True)
class Advice:
    """The answer. `bad` are sentences of bad news, `notes` of what goes with it.

    `working` is the part (0 to 1) of free chlorine that is hypochlorous acid, where pH and temperature were given.
    `otherwise` is the product by the other bases of its percent, each with the plan that would follow, if one would.
    `never_with` says what this product is never mixed with.
    """

    product: OnRecord
    asked: Asked
    plan: Plan
    bad: tuple[str, ...]
    notes: tuple[str, ...]
    working: float | None = None
    otherwise: tuple[tuple[Otherwise, Plan | None], ...] = ()
    never_with: str = ""


def danger(product: OnRecord, asked: Asked, rules: RuleSet) -> str:
    """Return why nothing of this must be mixed, and what to do, as sentences; empty where nothing says so."""
    if product.danger:
        return product.danger
    ph, of = asked.ph, ""
    if ph is None and product.last_ph:
        # What is in the tub is as acid as it was, until somebody says otherwise.
        ph, of = product.last_ph[0], f" of the mix, as {product.last_ph[1]} has it,"
    limit = too_acid(rules.active(product.active), ph) if ph is not None else None
    return DANGER + " ".join(gas(f"pH {ph}{of}", limit)) if limit else ""


def advise(
    product: OnRecord, asked: Asked, rules: RuleSet, tools: Sequence[Tool], units: Units, today: str = ""
) -> Advice:
    """Return what to mix, to add, or what was mixed.

    `today` (ISO) tells whether the product is out of date; without it nothing is said of that. Raises NotUnderstood for
    a strength above what the label, or the rule set without a rinse, allows, where something needed is not known, and
    for what gives off gas.
    """
    if deadly := danger(product, asked, rules):
        raise NotUnderstood(deadly.rstrip("."), "another mix: no amount is given for this one")
    chlorine = is_chlorine(rules, product.active)
    nothing = unknown(rules, product)
    if nothing and not ((asked.volume or product.volume) and (asked.target or product.target or asked.product)):
        raise NotUnderstood(nothing, "what its label says, as --label-min and --label-max, or as --dose")
    plan = _plan(product, asked, tools)
    fraction = None
    if chlorine and asked.ph is not None and asked.temperature is not None:
        fraction = hypochlorous_fraction(float(asked.ph), float(asked.temperature.value))
    return Advice(
        product,
        asked,
        plan,
        tuple(_bad(product, asked, plan, rules, units, today)),
        tuple(_notes(product, asked, plan, rules, units)),
        fraction,
        tuple(_otherwise(product, asked, chlorine=chlorine)),
        never_with(rules.active(product.active)),
    )


def _otherwise(product: OnRecord, asked: Asked, *, chlorine: bool) -> Iterator[tuple[Otherwise, Plan | None]]:
    if product.stock is None:
        return
    for one in others(product.stock, chlorine=chlorine):
        if one.holds is None:
            yield one, None
            continue
        try:
            yield one, _plan(replace(product, stock=replace(product.stock, holds=one.holds)), asked, ())
        except NotUnderstood:
            yield one, None


def _plan(product: OnRecord, asked: Asked, tools: Sequence[Tool]) -> Plan:
    volume = asked.volume or product.volume
    if volume is None:
        raise NotUnderstood("it is not said how much is mixed", "the volume of the tub, such as 10 L")
    if asked.product:
        if product.stock is None:
            raise _unknown(product)
        return plans.mixed(product.stock, asked.product, volume.value)
    target = asked.target or (product.target if asked.have or not product.dose else None)
    if target is None:
        if product.dose and not asked.have:
            return plans.by_dose(*product.dose, volume.value, product.stock, tools)
        raise NotUnderstood("no strength is aimed at", f"a strength such as {_example(product)}")
    check_target(target, product.limits)
    if asked.have:
        return plans.mend(product.stock, ppm(asked.have), ppm(target), volume.value, tools, product.limits)
    if product.stock is None:
        raise _unknown(product)
    return plans.mix(product.stock, ppm(target), volume.value, tools, product.limits)


def _unknown(product: OnRecord) -> NotUnderstood:
    expected = "its strength, in its label record, on its receipt or as --strength '5.25 %'"
    return NotUnderstood(f"how strong {product.code or 'the product'} is, is not known", expected)


def _example(product: OnRecord) -> str:
    least, most = product.limits.least, product.limits.most
    if least and most:
        return f"{least.written} to {most.written}, which the label allows"
    known = least or most
    return f"{known.written}, as the label has it" if known else "100 ppm"


def _bad(product: OnRecord, asked: Asked, plan: Plan, rules: RuleSet, units: Units, today: str) -> Iterator[str]:
    limits = product.limits
    if nothing := unknown(rules, product):
        yield f"{nothing}."
    if today and product.expires and today > product.expires:
        yield (
            f"{product.code} was out of date since {product.expires}: what is dipped in it does not count as clean. "
            "Mix from a product in date."
        )
    if plan.ppm is None:
        return
    told = f"{units.show(plan.ppm, 'mg/L')}"
    over, tub = excess(plan.ppm, told, limits), asked.volume or product.volume
    if over and tub and plan.mode in ("mixed", "dose"):
        yield f"{over[0]}. {_water(plan, tub, limits.aim(asked.target or product.target), units)}"
    known = too_weak(rules, product)
    if known and plan.ppm < limits.steps[0]:
        yield (
            f"{told} is weaker than any that the rule set knows: it begins at {known[0]} ({known[1]}). What is dipped "
            "in it counts as clean only where the label asks for no more."
        )
    if limits.least and plan.ppm < limits.lowest:
        lowest = limits.least.written
        yield f"{told} is below the label's lowest, {lowest}: what is dipped in it does not count as clean."
        if plan.mode == "mixed" and product.stock:
            aim = limits.aim(asked.target or product.target)
            more = plans.mend(product.stock, plan.ppm, aim, plan.volume, (), limits)
            yield f"Add {units.show(more.product, more.unit)} more for {units.show(aim, 'mg/L')}, and read it."
    for miss in misses(product, plan.ppm, asked.ph, asked.temperature, rules):
        yield f"{miss}: what is dipped in it does not count as clean."


def _water(plan: Plan, tub: Amount, aim: Decimal, units: Units) -> str:
    weaker = plans.mend(None, plan.ppm or Decimal(0), aim, plan.volume, (), Limits())
    act = f"Add {units.show_like(weaker.water, tub)} of water"
    if weaker.water > plan.volume / 2:
        act = f"Take {units.show_like(weaker.instead, tub)} out and make it up with water, or make a fresh mix"
    return f"{act}, to bring it down to {units.show(aim, 'mg/L')}, and read it."


def _notes(product: OnRecord, asked: Asked, plan: Plan, rules: RuleSet, units: Units) -> Iterator[str]:
    limits, chlorine = product.limits, is_chlorine(rules, product.active)
    if product.active.casefold() in load_notes().solids and (product.stock is None or product.stock.unit == "mL"):
        yield _SOLID
    if chlorine and asked.temperature and asked.temperature.value >= load_notes().hot:
        yield _SCALDS
    if product.doubt:
        yield product.doubt
    if limits.asked:
        yield "The label asks for a rinse with drinking water afterwards."
    elif limits.rinse and limits.unrinsed and plan.ppm and plan.ppm > ppm(limits.unrinsed):
        yield (
            f"Above {limits.unrinsed.written} ({limits.source}) a rinse with drinking water must follow, and the label "
            "must allow that strength with one."
        )
    if rules.active(product.active) is None and not limits.most and not unknown(rules, product):
        yield "No highest strength is known for this product: the label's counts."
    if plan.ppm and not (product.temperature or product.ph):
        yield from _conditions(rules, product.active, plan.ppm, units)
    if chlorine and (asked.ph is None) != (asked.temperature is None):
        yield "For the part of the chlorine that works as hypochlorous acid, give both --ph and --temperature."
    if chlorine:
        opened = f" It was opened on {product.opened}." if product.opened else ""
        yield f"It was taken to be as strong as new. {_AGE}{opened}"
    if plan.mode == "strengthen":
        yield "A mix that goes weak may be dirty, and dirt uses a sanitiser up. If it looks dirty, make a fresh one."
    yield "A strength mixed to is no reading: stir, wait, dip a strip that is in date, and write down what it shows."


def _conditions(rules: RuleSet, ingredient: str, strength: Decimal, units: Units) -> Iterator[str]:
    active = rules.active(ingredient)
    rows = band(active.table.rows, strength) if active and active.table else ()
    if not active or not active.table or not rows:
        return
    # The table has a column for the thermometers of either kind; the farm's own is told.
    in_degf = units.usual("temperature") == ("°F",)
    coldest = sorted(
        {(row.lowest(fahrenheit=in_degf), row.ph_at_most or _ANY_PH) for row in rows},
        key=lambda one: (one[1], one[0]),
    )
    warmest = {heat: max(ph for other, ph in coldest if other == heat) for heat, _ in coldest}
    told = " or ".join(
        f"{units.show(heat, 'degC')}{f' at pH {ph:f} or lower' if ph < _ANY_PH else ''}" for heat, ph in warmest.items()
    )
    yield f"At this strength the rule set asks for a mix of at least {told} ({active.table.source})."
