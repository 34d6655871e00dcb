"""Letters with all that hangs on them: what must not be parted at the end of a line or printed in two typefaces."""

from collections.abc import Iterator
from unicodedata import bidirectional, category, combining

_VIRAMA = 9
"""The combining class of the sign that joins the consonants of an Indic script."""

_HANGS = "\u0e33\u0eb3"
"""Thai and Lao am: letters by name, but half of them stands over the letter before."""

_JOINERS = "\u200c\u200d"

_LONGEST = 16
"""Consonants are joined up to so many characters, so that no hand at play can make a letter as long as a line."""


def is_mark(sign: str) -> bool:
    """Return whether a character hangs on the one before it."""
    return category(sign)[0] == "M" or sign in _HANGS


def joins(before: str, sign: str) -> bool:
    """Return whether a character is an invisible (non-)joiner in a place where a script's spelling needs it."""
    return sign in _JOINERS and bool(before) and (bidirectional(before) == "AL" or combining(before) == _VIRAMA)


def clusters(text: str) -> Iterator[str]:
    """Yield the parts of a text, one letter with its marks each; together they are the text."""
    start = 0
    for place in range(1, len(text)):
        sign, before = text[place], text[place - 1]
        last = text[place - 2 : place - 1] if before in _JOINERS else before
        joined = bool(last) and combining(last) == _VIRAMA
        if is_mark(sign) or joins(before, sign) or (joined and category(sign) == "Lo" and place - start < _LONGEST):
            continue
        yield text[start:place]
        start = place
    if text:
        yield text[start:]
