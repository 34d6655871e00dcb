"""Which crops carry an allergen: by the list of the rule set in force, or by ours where that is older and has none."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from lotwalk.judge.ruleset.limits import Limit
from lotwalk.judge.ruleset.rules import RuleSet

_SECTION = "allergens"
_WIDEST = "general"


@dataclass(frozen=True, slots=True)
class AllergenList:
    """The limits that list the crops of each allergen, by its name; `shipped` names the rule set that comes with the
    program where they are taken from that, since the one in force has no such list."""

    limits: Mapping[str, Limit]
    shipped: str = ""


def allergen_list(rules: RuleSet) -> AllergenList:
    """Return the list to go by. One that a rule set took away in so many words is gone."""
    if _SECTION in rules.sections:
        return AllergenList(_of(rules))
    name = rules.based_on if rules.based_on in RuleSet.shipped() else _named(rules.title)
    return AllergenList(_shipped(name or _WIDEST), name or _WIDEST)


def _of(rules: RuleSet) -> Mapping[str, Limit]:
    lead = f"{_SECTION}."
    return {
        key.removeprefix(lead).replace("_", " "): limit for key, limit in rules.limits.items() if key.startswith(lead)
    }


@cache
def _shipped(name: str) -> Mapping[str, Limit]:
    return _of(RuleSet.load(name))


@cache
def _named(title: str) -> str | None:
    return next((name for name in RuleSet.shipped() if RuleSet.load(name).title == title), None)
