"""The words in which a judge speaks of codes and amounts."""

import re
from collections.abc import Sequence
from decimal import Decimal

from lotwalk.values.units import Amount, Units

_CODE = re.compile(r"(.*?)(\d{1,12})")
_UNITS = {"mg/L": "ppm", "percent": "%"}


def listed(codes: Sequence[str]) -> str:
    """Return codes as people list them: neighbours as a range, `M-001..M-003 and M-007`."""
    parts = ranges(codes)
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def ranges(codes: Sequence[str]) -> list[str]:
    """Return codes with three neighbours and more as a range, as they may be typed: `M-001..M-003`, `M-007`."""
    runs: list[list[str]] = []
    for code in codes:
        if runs and _follows(runs[-1][-1], code):
            runs[-1].append(code)
        else:
            runs.append([code])
    return [part for run in runs for part in ([f"{run[0]}..{run[-1]}"] if len(run) > 2 else run)]


def many(codes: Sequence[object], one: str, more: str) -> str:
    """Return the words for one code or for several: `was` or `were`."""
    return one if len(codes) == 1 else more


def end(amount: Amount) -> str:
    """Return the amount that one end of a range stands for; the end itself carries the text of the whole range."""
    return f"{amount.value:f} {_UNITS.get(amount.unit, amount.unit)}"


def is_fahrenheit(amount: Amount) -> bool:
    """Return whether a temperature was written in degF."""
    return Units.load("metric").unit_of(amount) == "degF"


def degrees(celsius: Decimal, fahrenheit: Decimal | None, *, first: bool = False) -> str:
    """Return a temperature as a table prints it, `13 degC (55 degF)`; `first`: degF first."""
    if fahrenheit is None:
        return f"{celsius:f} degC"
    both = f"{celsius:f} degC", Units.load("metric").show_in(fahrenheit, "degC", "degF")
    return f"{both[first]} ({both[not first]})"


def sentence(text: str) -> str:
    """Return the text with a capital at its start, where that is no code."""
    return text[:1].upper() + text[1:]


def names_one_of(text: str, words: Sequence[str]) -> bool:
    """Return whether one of these words or phrases stands in what somebody wrote, as whole words, however cased."""
    plain = "".join(letter if letter.isalnum() else " " for letter in text.casefold())
    padded = f" {' '.join(plain.split())} "
    return any(f" {' '.join(word.casefold().split())} " in padded for word in words)


def _follows(code: str, following: str) -> bool:
    first, second = _CODE.fullmatch(code), _CODE.fullmatch(following)
    if not first or not second or first[1] != second[1] or len(first[2]) != len(second[2]):
        return False
    return int(second[2]) == int(first[2]) + 1
