"""Breaking text into lines of a given width, in time that grows with the length of the text and no faster."""

from functools import lru_cache

from lotwalk.pages.fonts import load_fonts

_AFTER = ",;:./-_)]"
"""Where a word that is too long for its line is rather broken: after one of these."""


@lru_cache(maxsize=16_384)
def wrap(text: str, width: float, size: float, bold: bool = False) -> tuple[str, ...]:
    """Return the lines of printable text, none wider than `width` points unless one character alone is.

    Spaces at a break are dropped; line ends in the text stay line ends. Empty text has no lines.
    """
    if not text:
        return ()
    if "\n" not in text and load_fonts().width(text, size, bold=bold) <= width:
        return (text,)
    lines: list[str] = []
    for part in text.split("\n"):
        lines += _wrap_part(part, width, size, bold)
    return tuple(lines)


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
    parts: list[str] = []
    start = good = 0
    used = since_good = 0.0
    firm = False
    for place, sign in enumerate(word):
        wide = _sign_width(sign, size, bold)
        while place > start and used + wide > width:
            # A good place in the first half of the line would leave too much of it empty, unless a range has its dots
            # there.
            if good > start and (firm or since_good < used / 2):
                cut, used = good, since_good
            else:
                cut, used = place, 0.0
            parts.append(word[start:cut])
            start, firm = cut, False
        used += wide
        since_good += wide
        dots = word[place - 1 : place + 1] == ".."
        if dots or (sign in _AFTER and not firm):
            good, since_good, firm = place + 1, 0.0, dots
    parts.append(word[start:])
    return parts


@lru_cache(maxsize=4096)
def _sign_width(sign: str, size: float, bold: bool) -> float:
    return load_fonts().width(sign, size, bold=bold)
