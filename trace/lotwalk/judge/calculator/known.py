"""What a rule set knows of a sanitiser by its name alone: whether it sanitises, and from which strength on."""

from lotwalk.judge.calculator.on_record import OnRecord, steps_of
from lotwalk.judge.ruleset.rules import RuleSet


def unknown(rules: RuleSet, product: OnRecord) -> str:
    """Return the sentence that nothing is known by which a product sanitises; empty where something is.

    Known is the label's lowest strength, the label's own dose, or the rule set's strengths of its active ingredient: a
    highest strength says nothing of where it begins to work.
    """
    if product.limits.least or product.dose or steps_of(rules, product.active):
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
