"""What a rule set knows of a sanitiser by its name alone: what it is never mixed with, and whether it sanitises."""

from lotwalk.errors import NotUnderstood
from lotwalk.judge.limits import Active
from lotwalk.judge.on_record import OnRecord, steps_of
from lotwalk.judge.rules import RuleSet
from lotwalk.judge.words import listed, names_one_of

_NEVER = "never_with"


def check_name(rules: RuleSet, name: str) -> None:
    """Raise NotUnderstood, with the danger, for a name that puts together what is never mixed: bleach and ammonia."""
    rest, found = f" {' '.join(name.casefold().replace(',', ' ').split())} ", []
    # The longest names first, so that chlorine dioxide is no chlorine and hypochlorous acid no acid.
    known = [(one.casefold(), active) for active in rules.actives.values() for one in active.names]
    for words, active in sorted(known, key=lambda one: -len(one[0])):
        if f" {words} " in rest:
            rest = rest.replace(f" {words} ", " , ")
            found.append((words, active))
    for _, active in found:
        limit = active.limits.get(_NEVER)
        others = " , ".join([rest, *(f"{other} , {one.name}" for other, one in found if one is not active)])
        if limit and isinstance(limit.value, tuple) and names_one_of(others, [str(word) for word in limit.value]):
            what = f"DANGER: never mix what `{name}` names. {limit.note}".rstrip(". ")
            raise NotUnderstood(
                what, "one product alone; where some were mixed, leave, get fresh air, and call for help"
            )


def never_with(active: Active | None) -> str:
    """Return what an active ingredient is never mixed with, as a sentence; empty where the rule set says nothing."""
    limit = active.limits.get(_NEVER) if active else None
    if active is None or limit is None or not isinstance(limit.value, tuple):
        return ""
    return f"Never mix {active.name} with {listed([str(word) for word in limit.value])}. {limit.note}".rstrip()


def unknown(rules: RuleSet, product: OnRecord) -> str:
    """Return the sentence that nothing is known by which a product sanitises; empty where something is.

    Known is a strength of the label, the label's own dose, or the rule set's strengths of its active ingredient.
    """
    limits, active = product.limits, rules.active(product.active)
    if limits.least or limits.most or limits.unrinsed or product.dose or (active and active.table):
        return ""
    return (
        f"This book knows no sanitising strength for {product.active or product.name or product.code}: the label "
        "decides whether it sanitises surfaces that food touches, and how strong"
    )


def too_weak(rules: RuleSet, product: OnRecord) -> tuple[str, str] | None:
    """Return the lowest strength that the rule set knows of an active ingredient (`25 ppm`) and its source.

    None where it knows none, or where the label's own lowest is known and goes before it.
    """
    active, steps = rules.active(product.active), steps_of(rules, product.active)
    if product.limits.least or not steps or active is None or active.table is None:
        return None
    return f"{steps[0]:f} ppm", active.table.source
