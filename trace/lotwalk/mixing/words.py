"""What somebody types to the calculator: `5.25 % bleach, 100 ppm, 10 L`, or `BL-1 100 ppm 10 L`."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from lotwalk.errors import NotUnderstood
from lotwalk.values.units import Amount, Units

STRENGTH = ("percent", "concentration")
_STARTS_AMOUNT = re.compile(r"[0-9.½⅓⅔¼¾⅛]")
_BARE_NUMBER = re.compile(r"[0-9./½⅓⅔¼¾⅛]+")
_WHOLE = re.compile(r"[0-9.]+")
_FRACTION = re.compile(r"[0-9]+\s*[/⁄]|[½⅓⅔¼¾⅛]")
_COMMA = re.compile(r",(?=\s|$)")
_PER = re.compile(r"\s+(?:per|to|in|for)\s+|\s*/\s*(?=[0-9]|[a-zA-Z])", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Words:
    """A product, by its code or by `strength` and `active` ingredient; the strength aimed at; the volume."""

    code: str = ""
    strength: Amount | None = None
    active: str = ""
    target: Amount | None = None
    volume: Amount | None = None


def read_words(words: Sequence[str], units: Units) -> Words:
    """Return what the words of a command line say. The strength aimed at and the volume stand in any order.

    Raises NotUnderstood.
    """
    tokens = _COMMA.sub(" ", " ".join(words)).split()
    if not tokens:
        raise NotUnderstood("no product is named", "its code, or its strength such as 5.25 % bleach")
    strength, tokens = _strength(tokens, units)
    first = next((place for place, token in enumerate(tokens) if _STARTS_AMOUNT.match(token)), len(tokens))
    if strength is None:
        first = max(first, 1)
    said, amounts = tokens[:first], _amounts(tokens[first:])
    if strength is None and len(said) > 1:
        what = f"`{' '.join(said)}` is neither a code nor a strength"
        raise NotUnderstood(what, "a code such as BL-1, or a strength such as 5.25 % bleach")
    found: dict[str, Amount] = {}
    for text in amounts:
        amount = units.read(text, (*STRENGTH, "volume"))
        name = "volume" if amount.unit == "mL" else "target"
        if name in found:
            what = f"`{found[name].written}` and `{text}` are two of a kind"
            raise NotUnderstood(what, "the product, one strength aimed at and one volume")
        found[name] = amount
    code, active = ("", " ".join(said)) if strength else (said[0], "")
    return Words(code, strength, active, found.get("target"), found.get("volume"))


def read_dose(text: str, units: Units) -> tuple[Amount, Amount]:
    """Return a label's dose, `1 fl oz per 4 gal`, as the product and the water that it is for. Raises NotUnderstood."""
    expected = "product for water, such as 1 fl oz per 4 gal"
    parts = _PER.split(text.strip(), maxsplit=1)
    if len(parts) != 2:
        raise NotUnderstood(f"`{text}` is no dose", expected)
    water = parts[1] if _STARTS_AMOUNT.match(parts[1]) else f"1 {parts[1]}"
    return units.read(parts[0], ("volume", "mass", "count")), units.read(water, ("volume",))


def _strength(tokens: list[str], units: Units) -> tuple[Amount | None, list[str]]:
    """Return the product's strength, where the words begin with one, and the words after it."""
    for count in (2, 1, 3):
        if len(tokens) >= count and _STARTS_AMOUNT.match(tokens[0]):
            try:
                return units.read(" ".join(tokens[:count]), STRENGTH), tokens[count:]
            except NotUnderstood:
                continue
    return None, tokens


def _amounts(tokens: Sequence[str]) -> list[str]:
    """Return the amounts among the words: each begins with a number and ends before the next one.

    Raises NotUnderstood for a number with another after it that is no fraction: it lacks its unit.
    """
    out: list[list[str]] = []
    for before, token in zip(["", *tokens], tokens, strict=False):
        if _WHOLE.fullmatch(before) and _STARTS_AMOUNT.match(token) and not _FRACTION.match(token):
            raise NotUnderstood(f"{before} what?", f"a number with its unit, such as {before} ppm")
        starts = bool(_STARTS_AMOUNT.match(token)) and not (out and all(_BARE_NUMBER.fullmatch(one) for one in out[-1]))
        if starts or not out:
            out.append([])
        out[-1].append(token)
    return [" ".join(one) for one in out]
