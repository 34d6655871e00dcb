"""One label laid out: its machine-readable code, the code in big letters, and lines that all fit, or it is refused."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from reportlab.lib.units import mm

from lotwalk.errors import NotUnderstood
from lotwalk.pages.labels.label_symbols import LEAST_MODULE, MOST_MODULE, Choices, Symbol
from lotwalk.pages.typeface.fonts import load_fonts
from lotwalk.pages.typeface.paper import Paper
from lotwalk.pages.typeface.wrap import wrap

HOLD = "HOLD"

_EDGE = 1.5 * mm
"""Left free all round, since cutting and feeding are never exact."""

_GAP = 1.5 * mm
_LEADING = 1.22
_BASE = 0.95
"""Of the letters' size: from the top of a line to the letters' foot."""

_BIG = (34, 30, 26, 22, 19, 16, 14, 12, 10.5, 9, 8, 7)
_SMALL = (14, 12, 10, 9, 8.5, 8, 7.5, 7, 6.5, 6, 5.5)
"""Sizes of the code and of the other lines, in points, the best first."""

_EASY = 9.0
_MOST_CODE_LINES = 6
_SHARES = (0.5, 0.35, 0.25, 0.18)
"""Of the height for words that the code in big letters takes at most, the best first, unless it stands alone."""

_PROUD = 12.0
"""Lines that may go make way for a code in smaller letters than this."""

_PLAINER = 0.8
"""Of the code's size: the other lines are no larger, so that the code is seen first."""

_MODULES = tuple(MOST_MODULE + (LEAST_MODULE - MOST_MODULE) * step / 5 for step in range(6))
_BETWEEN = "\u00a0\u00b7 "

_BAND = 5.5 * mm
_HEADING = 1.35
"""What the thing is called stands so much larger than the lines below it."""


@dataclass(frozen=True, slots=True)
class Said:
    """A line of words. `may_go` where there is no room; `loud` in bold."""

    text: str
    may_go: bool = False
    loud: bool = False


@dataclass(frozen=True, slots=True)
class Content:
    """What a label says: the code in big letters, the symbols to choose from, lines, and whether its lot is on hold."""

    code: str
    symbols: Choices
    lines: Sequence[Said]
    held: bool = False


@dataclass(frozen=True, slots=True)
class _Words:
    text: str
    x: float
    y: float
    size: float
    bold: bool


@dataclass(slots=True)
class Label:
    """A label of `width` by `height` points, laid out from its lower left corner; `merit` is how well it is read."""

    content: Content
    width: float
    height: float
    words: list[_Words] = field(default_factory=list)
    symbol: Symbol | None = None
    module: float = 0.0
    corner: tuple[float, float] = (0.0, 0.0)
    band: float = 0.0
    merit: float = 0.0

    def draw(self, paper: Paper) -> None:
        """Draw the label, its lower left corner at the origin."""
        fonts = load_fonts()
        paper.setFillGray(0)
        if self.band:
            self._draw_band(paper)
        self._draw_symbol(paper)
        for words in self.words:
            paper.setFont(fonts.bold if words.bold else fonts.regular, words.size)
            paper.drawString(words.x, words.y, words.text)

    def _draw_band(self, paper: Paper) -> None:
        fonts = load_fonts()
        size = self.band * 0.8
        paper.rect(0, self.height - self.band, self.width, self.band, stroke=0, fill=1)
        paper.setFillGray(1)
        paper.setFont(fonts.bold, size)
        paper.drawCentredString(self.width / 2, self.height - self.band * 0.78, HOLD)
        paper.setFillGray(0)

    def _draw_symbol(self, paper: Paper) -> None:
        """Draw the dark modules of each row, those that touch as one: printers leave hairs of white between two."""
        if not self.symbol:
            return
        path = paper.beginPath()
        left, bottom = (edge + self.symbol.quiet * self.module for edge in self.corner)
        top = bottom + len(self.symbol.rows) * self.module
        for number, row in enumerate(self.symbol.rows, 1):
            start = 0
            for place in range(1, len(row) + 1):
                if place == len(row) or row[place] != row[start]:
                    if row[start]:
                        path.rect(
                            left + start * self.module,
                            top - number * self.module,
                            (place - start) * self.module,
                            self.module,
                        )
                    start = place
        paper.drawPath(path, stroke=0, fill=1)


def lay_out(content: Content, width: float, height: float) -> Label:
    """Return the label laid out. Raises NotUnderstood where the code or a line that must stand on it has no room."""
    band = max(_BAND, height * 0.16) if content.held else 0.0
    inner = (width - 2 * _EDGE, height - band - 2 * _EDGE)
    beside = inner[0] >= inner[1] * 1.1
    most = min(inner[1], inner[0] * 0.5) if beside else min(inner[0], inner[1] * 0.5)
    for make in content.symbols:
        symbol = make()
        if symbol.across * LEAST_MODULE <= most:
            break
    else:
        least = symbol.across * LEAST_MODULE / mm
        raise _no_room(content, f"its machine-readable code, which is {least:.0f} mm across at least")
    lines = list(content.lines)
    while True:
        modules = [min(module, most / symbol.across) for module in _MODULES]
        tried = [_tried(content, lines, symbol, module, (width, height), band, beside) for module in modules]
        best = max(filter(None, tried), key=lambda label: label.merit, default=None)
        gone = next((place for place in reversed(range(len(lines))) if lines[place].may_go), None)
        if best and (gone is None or best.words[0].size >= _PROUD):
            return best
        if gone is None:
            raise _no_room(content, "; ".join(["its code in letters", *(one.text for one in lines)]))
        del lines[gone]


def _tried(
    content: Content,
    lines: Sequence[Said],
    symbol: Symbol,
    module: float,
    size: tuple[float, float],
    band: float,
    beside: bool,
) -> Label | None:
    """Return the label with modules of that size, its words beside or below the symbol, or None without room."""
    width, height = size
    side = module * symbol.across
    top = height - band - _EDGE
    if beside:
        corner = (_EDGE, (top + _EDGE - side) / 2)
        found = _words(content.code, lines, _EDGE + side + _GAP, top, width - 2 * _EDGE - side - _GAP, top - _EDGE)
    else:
        corner = ((width - side) / 2, top - side)
        top -= side + _GAP
        found = _words(content.code, lines, _EDGE, top, width - 2 * _EDGE, top - _EDGE)
    if found is None:
        return None
    words, merit = found
    return Label(content, width, height, words, symbol, module, corner, band, merit + module / _MODULES[0])


def _no_room(content: Content, what: str) -> NotUnderstood:
    return NotUnderstood(f"the label of {content.code} has no room for {what}", "a larger label")


_Line = tuple[str, float, bool]


def _words(
    code: str, lines: Sequence[Said], left: float, top: float, width: float, height: float
) -> tuple[list[_Words], float] | None:
    """Return the code and the lines in a box and how well they are read, or None where they do not fit."""
    found: list[tuple[list[_Words], float]] = []
    for apart, said in ((1, lines), (0, _flowing(lines))):
        for share in _SHARES if lines else (1.0,):
            big = _fitting(code, width, height * share)
            if big is None:
                continue
            tall = _tall(big)
            below = _below(said, left, top - tall, width, height - tall, big[0][1] * _PLAINER)
            if below is not None:
                small = min((one.size for one in below), default=_EASY)
                # How large the lines are counts most, up to a size that is read with ease.
                merit = 4 * min(small, _EASY) / _EASY + 2 * min(big[0][1], _BIG[2]) / _BIG[2] + apart / 2
                found.append((_stacked(big, left, top) + below, merit))
    return max(found, key=lambda one: one[1], default=None)


def _flowing(lines: Sequence[Said]) -> list[Said]:
    """Return the lines as two: the loud one, and the others as one text."""
    rest = _BETWEEN.join(one.text for one in lines if not one.loud)
    return [*(one for one in lines if one.loud), *([Said(rest)] if rest else [])]


def _tall(lines: Sequence[_Line]) -> float:
    return sum(size * _LEADING for _, size, _ in lines)


def _fitting(code: str, width: float, height: float) -> list[_Line] | None:
    """Return the code in the largest letters with which it fits, on as few lines as leave them large."""
    fonts = load_fonts()
    text = fonts.printable(code)
    found: list[list[_Line]] = []
    for most in range(1, _MOST_CODE_LINES + 1):
        for size in _BIG:
            lines = wrap(text, width, size, True)
            wide = max(fonts.width(line, size, bold=True) for line in lines)
            if len(lines) <= most and wide <= width and len(lines) * size * _LEADING <= height:
                found.append([(line, size, True) for line in lines])
                break
    # Two lines of letters must be worth it: half as large again as one line of them.
    return max(found, key=lambda lines: lines[0][1] / 1.5 ** len(lines), default=None)


def _below(
    lines: Sequence[Said], left: float, top: float, width: float, height: float, largest: float
) -> list[_Words] | None:
    """Return the lines in the largest letters with which they fit, none larger than `largest`."""
    fonts = load_fonts()
    for size in (one for one in _SMALL if one * _HEADING <= largest or one == _SMALL[-1]):
        laid: list[_Line] = []
        for said in lines:
            of = size * _HEADING if said.loud else size
            laid += [(line, of, said.loud) for line in wrap(fonts.printable(said.text), width, of, said.loud)]
        if _tall(laid) <= height and all(fonts.width(line, of, bold=bold) <= width for line, of, bold in laid):
            return _stacked(laid, left, top)
    return None


def _stacked(lines: Sequence[_Line], left: float, top: float) -> list[_Words]:
    words = []
    for text, size, bold in lines:
        words.append(_Words(text, left, top - size * _BASE, size, bold))
        top -= size * _LEADING
    return words
