"""What must never meet: a rule set's words for what a product is never mixed with, and when it turns to gas."""

import re
from decimal import Decimal
from functools import lru_cache

from lotwalk.judge.limits import Active, Limit
from lotwalk.judge.rules import RuleSet
from lotwalk.judge.words import listed, names_one_of

_NEVER = "never_with"
_ACID = "caution_below_ph"
_NOT_IN_IT = re.compile(r"\b(?:non|no) \w+|\b\w+ free\b")


def never_together(rules: RuleSet, *products: str) -> Limit | None:
    """Return the limit by which what these words name must never meet, its note saying why; None where it may.

    Each of `products` is what is known of one product, in words: `sodium hypochlorite, Plain bleach`. One alone may
    name two: bleach and ammonia.
    """
    rest, found = f" {' | '.join(map(_plain, products))} ", []
    # The longest names first, so that chlorine dioxide is no chlorine and hypochlorous acid no acid.
    known = [(_plain(one), active) for active in rules.actives.values() for one in active.names]
    for words, active in sorted(known, key=lambda one: -len(one[0])):
        if f" {words} " in rest:
            rest = rest.replace(f" {words} ", " | ")
            found.append((words, active))
    for _, active in found:
        limit = active.limits.get(_NEVER)
        others = " | ".join([rest, *(f"{other} | {one.name}" for other, one in found if one is not active)])
        if limit and isinstance(limit.value, tuple) and names_one_of(others, [str(word) for word in limit.value]):
            return limit
    return None


def never_with(active: Active | None) -> str:
    """Return what an active ingredient is never mixed with, as a sentence; empty where the rule set says nothing."""
    limit = active.limits.get(_NEVER) if active else None
    if active is None or limit is None or not isinstance(limit.value, tuple):
        return ""
    return f"Never mix {active.name} with {listed([str(word) for word in limit.value])}. {limit.note}".rstrip()


def too_acid(active: Active | None, ph: Decimal) -> Limit | None:
    """Return the limit by which a mix of an active ingredient can turn to gas at a pH; None where it does not."""
    limit = active.limits.get(_ACID) if active else None
    return limit if limit and isinstance(limit.value, Decimal) and ph < limit.value else None


@lru_cache(1024)
def _plain(text: str) -> str:
    """Return words in small letters with single spaces, without what they say is not in it: `acid-free`."""
    words = " ".join("".join(letter if letter.isalnum() else " " for letter in text.casefold()).split())
    return _NOT_IN_IT.sub("", words)
