"""The order in which text of mixed directions is written: the levels of the Unicode Bidirectional Algorithm.

Unicode Standard Annex 9, rules P2-P3, W1-W7, N0-N2, I1-I2, L1 and L2. The explicit codes (rules X1-X10) are left out:
they are invisible and can make a page say something else than what was typed, so they never get as far as this.
"""

from collections.abc import Iterable, Sequence
from itertools import groupby
from unicodedata import bidirectional, category, normalize

_STRONG = ("L", "R", "AL")
_NEUTRAL = ("B", "S", "WS", "ON")
_DEEPEST = 63
"""Brackets that are nested deeper are no pairs (rule BD16)."""

_APART = {"[": "]", "{": "}", "⁅": "⁆"}
"""Pairs whose two brackets do not stand side by side in Unicode, or whose category does not tell that they are one."""


def direction(text: str) -> int:
    """Return 1 for text whose first letter is written from the right, else 0 (rules P2 and P3)."""
    return next((int(kind != "L") for kind in map(bidirectional, text) if kind in _STRONG), 0)


def levels(text: str, base: int) -> list[int]:
    """Return the level of each character of a line in a paragraph of direction `base`: odd is from right to left."""
    kinds = [bidirectional(sign) or "L" for sign in text]
    # What takes no part (BN) goes with the character before it.
    places = [place for place, kind in enumerate(kinds) if kind != "BN"]
    found = [kinds[place] for place in places]
    side = "R" if base else "L"
    _weak(found, side)
    _brackets([text[place] for place in places], found, [kinds[place] for place in places], side)
    _neutral(found, side)
    result = [base] * len(text)
    for place, kind in zip(places, found, strict=True):
        result[place] = base + _step(kind, base)
    for place, kind in enumerate(kinds):
        if kind == "BN" and place:
            result[place] = result[place - 1]
    _ends(kinds, result, base)
    return result


def visual(depths: Sequence[int]) -> list[int]:
    """Return the places of runs with these levels in the order in which they are drawn, from the left (rule L2)."""
    order = list(range(len(depths)))
    for depth in range(max(depths, default=0), 0, -1):
        start = 0
        for deep, run in groupby(order, key=lambda place: depths[place] >= depth):
            stop = start + len(list(run))
            if deep:
                order[start:stop] = reversed(order[start:stop])
            start = stop
    return order


def _weak(kinds: list[str], side: str) -> None:
    """Settle numbers, their signs, and marks on letters (rules W1 to W7)."""
    before, strong = side, side
    for place, kind in enumerate(kinds):
        if kind == "NSM":
            kind = kinds[place] = before
        if kind in _STRONG:
            strong = kind
        elif kind == "EN" and strong == "AL":
            kinds[place] = "AN"
        before = kinds[place]
    kinds[:] = ["R" if kind == "AL" else kind for kind in kinds]
    for place in range(1, len(kinds) - 1):
        around = kinds[place - 1]
        if around == kinds[place + 1] and (
            (kinds[place] in ("ES", "CS") and around == "EN") or (kinds[place] == "CS" and around == "AN")
        ):
            kinds[place] = around
    start = 0
    for kind, run in groupby(list(kinds)):
        stop = start + len(list(run))
        if kind == "ET" and "EN" in (*kinds[max(0, start - 1) : start], *kinds[stop : stop + 1]):
            kinds[start:stop] = ["EN"] * (stop - start)
        start = stop
    strong = side
    for place, kind in enumerate(kinds):
        if kind in ("ES", "ET", "CS"):
            kinds[place] = "ON"
        elif kind in ("L", "R"):
            strong = kind
        elif kind == "EN" and strong == "L":
            kinds[place] = "L"


def _brackets(signs: Sequence[str], kinds: list[str], at_first: Sequence[str], side: str) -> None:
    """Give both brackets of a pair one direction (rule N0)."""
    strong, seen = side, 0
    for opening, closing in _pairs(signs, kinds):
        while seen < opening:
            strong = _strong(kinds[seen]) or strong
            seen += 1
        inside = set(map(_strong, kinds[opening + 1 : closing])) - {""}
        if not inside:
            continue
        # Against the paragraph's direction only where the words before the pair, too, run against it.
        found = side if side in inside else strong
        for place in (opening, closing):
            kinds[place] = found
            following = place + 1
            while following < len(kinds) and at_first[following] == "NSM":
                kinds[following] = found
                following += 1


def _pairs(signs: Sequence[str], kinds: Sequence[str]) -> Iterable[tuple[int, int]]:
    stack: list[tuple[str, int]] = []
    found = []
    for place, (sign, kind) in enumerate(zip(signs, kinds, strict=True)):
        if kind != "ON":
            continue
        sign = normalize("NFC", sign)
        if category(sign) == "Ps":
            if len(stack) == _DEEPEST:
                break
            closes = _APART.get(sign) or chr(ord(sign) + 1)
            if category(closes) == "Pe":
                stack.append((closes, place))
        elif category(sign) == "Pe":
            for depth in range(len(stack) - 1, -1, -1):
                if stack[depth][0] == sign:
                    found.append((stack[depth][1], place))
                    del stack[depth:]
                    break
    return sorted(found)


def _strong(kind: str) -> str:
    """Return the direction that a settled character has for its neighbours; numbers count as from the right."""
    return "R" if kind in ("R", "EN", "AN") else "L" if kind == "L" else ""


def _neutral(kinds: list[str], side: str) -> None:
    """Give what stands between letters their direction if both agree, else the paragraph's (rules N1 and N2)."""
    start, before = 0, side
    for neutral, run in groupby(list(kinds), key=lambda kind: kind in _NEUTRAL):
        stop = start + len(list(run))
        if neutral:
            after = _strong(kinds[stop]) if stop < len(kinds) else side
            kinds[start:stop] = [before if before == after else side] * (stop - start)
        else:
            before = _strong(kinds[stop - 1])
        start = stop


def _step(kind: str, base: int) -> int:
    """Return how much deeper than its paragraph a character lies (rules I1 and I2)."""
    if base:
        return int(kind != "R")
    return {"L": 0, "R": 1}.get(kind, 2)


def _ends(kinds: Sequence[str], result: list[int], base: int) -> None:
    """Give white space at the end of the line the direction of the paragraph (rule L1)."""
    for place in range(len(kinds) - 1, -1, -1):
        if kinds[place] not in ("WS", "BN", "B", "S"):
            break
        result[place] = base
