"""Breaking text into lines of a given width, in time that grows with the length of the text and no faster."""

from collections.abc import Sequence
from functools import lru_cache

from lotwalk.pages.typeface.font_fallback import Line
from lotwalk.pages.typeface.fonts import load_fonts
from lotwalk.pages.typeface.graphemes import clusters
from lotwalk.values.bidi import direction

_AFTER = ",;:./-_)]"
"""Where a word that is too long for its line is rather broken: after one of these."""

_SLACK = 0.5
"""Of the letters' size: left free where they join, since the first and the last of a line have shapes of their own."""


@lru_cache(maxsize=16_384)
def wrap(text: str, width: float, size: float, bold: bool = False) -> tuple[str, ...]:
    """Return the lines of printable text, none wider than `width` points unless one character alone is.

    Spaces at a break are dropped; line ends in the text stay line ends. Empty text has no lines. A line knows the
    direction of its paragraph, even if it starts with a word that runs the other way.
    """
    if not text:
        return ()
    if "\n" not in text and load_fonts().width(text, size, bold=bold) <= width:
        return (text,)
    lines: list[str] = []
    for part in text.split("\n"):
        parts = _wrap_part(part, width, size, bold)
        lines += parts if part.isascii() else _turned(parts, direction(part))
    return tuple(lines)


def _turned(lines: list[str], base: int) -> list[str]:
    return [line if direction(line) == base else Line(line, base) for line in lines]


def _wrap_part(text: str, width: float, size: float, bold: bool) -> list[str]:
    fonts = load_fonts()
    space = fonts.width(" ", size, bold=bold)
    lines: list[str] = []
    words: list[str] = []
    used = 0.0
    for word in text.split(" "):
        wide = fonts.width(word, size, bold=bold)
        if words and used + space + wide <= width:
            words.append(word)
            used += space + wide
            continue
        if words:
            lines.append(" ".join(words))
        words, used = [word], wide
        if wide > width:
            *whole, rest = _broken(word, width, size, bold)
            lines += whole
            words, used = [rest], fonts.width(rest, size, bold=bold)
    lines.append(" ".join(words))
    return lines


def _broken(word: str, width: float, size: float, bold: bool) -> list[str]:
    """Return the parts of a word that is wider than a line; there is always at least one."""
    if word.isascii():
        return _parts(word, [_sign_width(sign, size, bold) for sign in word], width)
    signs = list(clusters(word))
    alone = [_sign_width(sign, size, bold) for sign in signs]
    # Letters that join are wider or narrower than each by itself.
    joined = load_fonts().width(word, size, bold=bold) / (sum(alone) or 1)
    parts = _parts(signs, [wide * joined for wide in alone], width - size * _SLACK)
    return [piece for part in parts for piece in _halved(part, width, size, bold)]


def _halved(part: str, width: float, size: float, bold: bool) -> list[str]:
    """Return a part in halves if it turns out to be too wide after all."""
    signs = list(clusters(part))
    if len(signs) < 2 or load_fonts().width(part, size, bold=bold) <= width:
        return [part]
    middle = len(signs) // 2
    halves = ("".join(signs[:middle]), "".join(signs[middle:]))
    return [piece for half in halves for piece in _halved(half, width, size, bold)]


def _parts(signs: Sequence[str], widths: Sequence[float], width: float) -> list[str]:
    parts: list[str] = []
    start = good = 0
    used = since_good = 0.0
    firm = False
    for place, (sign, wide) in enumerate(zip(signs, widths, strict=True)):
        while place > start and used + wide > width:
            # A good place in the first half of the line would leave too much of it empty, unless a range has its dots
            # there.
            if good > start and (firm or since_good < used / 2):
                cut, used = good, since_good
            else:
                cut, used = place, 0.0
            parts.append("".join(signs[start:cut]))
            start, firm = cut, False
        used += wide
        since_good += wide
        dots = sign == "." and place > 0 and signs[place - 1] == "."
        if dots or (sign in _AFTER and not firm):
            good, since_good, firm = place + 1, 0.0, dots
    parts.append("".join(signs[start:]))
    return parts


@lru_cache(maxsize=4096)
def _sign_width(sign: str, size: float, bold: bool) -> float:
    return load_fonts().width(sign, size, bold=bold)
