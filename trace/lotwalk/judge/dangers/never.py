"""What must never meet: a rule set's words for what a product is never mixed with, and when it turns to gas."""

import re
from collections.abc import Sequence
from decimal import Decimal
from functools import lru_cache

from lotwalk.judge.ruleset.limits import Active, Limit
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.judge.words import listed, names_one_of
from lotwalk.mixing.other_names import load_other_names

_NEVER = "never_with"
_USELESS = "useless_with"
_PARTS = "made_of"
_ACID = "caution_below_ph"
_NOT_IN_IT = re.compile(r"\b(?:non|no) \w+|\b\w+ free\b")


def never_together(rules: RuleSet, *products: str) -> Limit | None:
    """Return the limit by which what these words name must never meet, its note saying why; None where it may.

    Each of `products` is what is known of one product, in words: `sodium hypochlorite, Plain bleach`. One alone may
    name two: bleach and ammonia.
    """
    return _together(rules, _NEVER, products)


def useless_together(rules: RuleSet, *products: str) -> Limit | None:
    """Return the limit by which one of these products, named as above, makes another work no longer, or None."""
    return _together(rules, _USELESS, products)


def _together(rules: RuleSet, key: str, products: Sequence[str]) -> Limit | None:
    rest, found = f" {' | '.join(_apart(rules, words) for words in products)} ", []
    # The longest names first, so that chlorine dioxide is no chlorine and hypochlorous acid no acid.
    known = [(_plain(one), active) for active in rules.actives.values() for one in active.names]
    for words, active in sorted(known, key=lambda one: -len(one[0])):
        if f" {words} " in rest:
            rest = rest.replace(f" {words} ", " | ")
            found.append((words, active))
    for _, active in found:
        others = " | ".join([rest, *(f"{other} | {one.name}" for other, one in found if one is not active)])
        if (limit := active.limits.get(key)) and names_one_of(others, _words(limit)):
            return limit
    return None


def _apart(rules: RuleSet, words: str) -> str:
    """Return what is known of a product, plain, without what any product of its active ingredient is made of.

    Where it goes by another name, what a rule set calls it stands beside: a can that says muriatic says acid.
    """
    plain = f" {_plain(words)} "
    for active in rules.actives.values():
        parts = active.limits.get(_PARTS)
        if parts and any(f" {_plain(name)} " in plain for name in active.names):
            for part in _words(parts):
                plain = plain.replace(f" {part} ", " ")
    called = [name for name, others in load_other_names().items() if any(f" {_plain(one)} " in plain for one in others)]
    return " | ".join([plain.strip(), *called])


def never_with(active: Active | None) -> str:
    """Return what an active ingredient is never mixed with, and with what it does not work, as sentences.

    Empty where the rule set says nothing.
    """
    told = []
    for key, what in ((_NEVER, "Never mix {} with {}."), (_USELESS, "Mixed with {1}, {0} does not work.")):
        limit = active.limits.get(key) if active else None
        if active and limit and _words(limit):
            words = _words(limit)
            listing = words if key == _NEVER else [f"{', '.join(words[:-1])} or {words[-1]}"]
            told.append(f"{what.format(active.name, listed(listing))} {limit.note}".rstrip())
    return " ".join(told)


def too_acid(active: Active | None, ph: Decimal) -> Limit | None:
    """Return the limit by which a mix of an active ingredient can turn to gas at a pH; None where it does not."""
    limit = active.limits.get(_ACID) if active else None
    return limit if limit and isinstance(limit.value, Decimal) and ph < limit.value else None


def _words(limit: Limit) -> list[str]:
    return [str(word) for word in limit.value] if isinstance(limit.value, tuple) else []


@lru_cache(1024)
def _plain(text: str) -> str:
    """Return words in small letters with single spaces, without what they say is not in it: `acid-free`."""
    words = " ".join("".join(letter if letter.isalnum() else " " for letter in text.casefold()).split())
    return _NOT_IN_IT.sub("", words)
