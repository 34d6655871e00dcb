"""A laid-out map drawn with lines and real text, over as many pages as it needs to stay legible."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from reportlab.pdfgen.canvas import Canvas

from lotwalk.pages.maps.layers import in_layers
from lotwalk.pages.maps.layout import Layout, Room, Size, Spot, lay_out
from lotwalk.pages.maps.lines import HEAD, Lines, Tile
from lotwalk.pages.maps.model import Box, Map
from lotwalk.pages.maps.shapes import INSETS, PLAIN, bar, outline
from lotwalk.pages.typeface.fonts import load_fonts
from lotwalk.pages.typeface.wrap import wrap

TITLE, TEXT = 8.5, 7.0
"""Sizes of a box's letters in points, before a map is made smaller."""
SMALLEST = 6.0
"""No letter is printed smaller."""

_LEAD = 1.18
_ACROSS, _DOWN = 30.0, 11.0
_TRIES = ((_ACROSS, 104.0), (18.0, 104.0), (14.0, 86.0))
"""Gaps between columns and the widest box: the narrower ones where the map is only a little too wide for one page."""
_WORDED = ((62.0, 104.0), (50.0, 86.0))
"""The same where words stand on the lines."""
_TAG = 6.5
_STACK = 2.6
_EDGE = 4.0
_MARGIN = 78.0
"""Room at the side of a page from which lines go on to another."""


@dataclass(frozen=True, slots=True)
class _Words:
    """A box's words, wrapped, and its size."""

    title: tuple[str, ...]
    lines: tuple[str, ...]
    size: Size


class Drawing:
    """A map made ready for pages on which it has `width` by `height` points."""

    def __init__(self, drawn: Map, width: float, height: float) -> None:
        self.map = drawn
        page = height / _smallest_scale() - HEAD
        tries = _WORDED if any(line.words for line in drawn.lines) else _TRIES
        nodes = in_layers(drawn)
        # What no narrowness brings onto one page has the room that reads best.
        for across, widest in (*tries, tries[0]):
            self._words = [_worded(box, widest) for box in drawn.boxes]
            sizes = [words.size for words in self._words]
            self.layout: Layout = lay_out(nodes, sizes, Room(across, _DOWN, page))
            if (self.layout.width + 2 * _EDGE) * _smallest_scale() <= width:
                break
        wide, high = self.layout.width + 2 * _EDGE, self.layout.height + HEAD + _EDGE
        self.scale = max(_smallest_scale(), min(1.0, width / max(wide, 1), height / max(high, 1)))
        self.width, self.height = width / self.scale, height / self.scale
        self._tiles = list(self._tiled())

    @property
    def pages(self) -> int:
        """How many pages the map takes."""
        return len(self._tiles)

    @property
    def rows(self) -> int:
        """How many rows of pages the map takes."""
        return max(1, math.ceil((self.layout.height + HEAD) / self.height))

    def _tiled(self) -> Iterator[Tile]:
        """Yield the parts of the map, by columns from left to right and then down."""
        whole = self.layout.width + 2 * _EDGE <= self.width
        room = self.width - 2 * (_EDGE if whole else _MARGIN)
        bands: list[tuple[float, float]] = []
        for left, width in self.layout.columns:
            if bands and left + width - bands[-1][0] <= room:
                bands[-1] = (bands[-1][0], left + width)
            else:
                bands.append((left, left + width))
        for row in range(self.rows):
            for number, (left, right) in enumerate(bands or [(0.0, 0.0)]):
                spare = (self.width - (right - left)) / 2
                indent = max(_EDGE, min(spare, _MARGIN if number else _ACROSS))
                yield Tile(left, right, row * (self.height - HEAD), indent)

    def draw(self, canvas: Canvas, page: int, x: float, top: float) -> None:
        """Draw one page of the map with its upper left corner there."""
        tile = self._tiles[page]
        canvas.saveState()
        canvas.translate(x, top)
        canvas.scale(self.scale, self.scale)
        clip = canvas.beginPath()
        clip.rect(0, -self.height, self.width, self.height)
        canvas.clipPath(clip, stroke=0, fill=0)
        lines = Lines(canvas, tile, self.width, self.map, self.layout.routes)
        lines.draw()
        pen = _Pen(canvas, tile)
        for box, words, spot in zip(self.map.boxes, self._words, self.layout.spots, strict=True):
            if tile.left <= spot.x <= tile.right and tile.top <= spot.y < tile.top + self.height - HEAD:
                pen.box(box, words, spot)
        lines.write()
        canvas.restoreState()


def _smallest_scale() -> float:
    return SMALLEST / min(TEXT, _TAG)


def _worded(box: Box, widest: float) -> _Words:
    fonts = load_fonts()
    left, top, right, bottom = INSETS.get(box.shape, PLAIN)
    room = widest - left - right
    title = wrap(fonts.printable(box.title), room, TITLE, True)
    printed = [*box.lines, *([f"list {box.group}"] if box.group else [])]
    lines = tuple(line for text in printed for line in wrap(fonts.printable(text), room, TEXT)[:3])
    widths = [fonts.width(line, TITLE, bold=True) for line in title] + [fonts.width(line, TEXT) for line in lines]
    height = len(title) * TITLE * _LEAD + len(lines) * TEXT * _LEAD + top + bottom
    return _Words(title, lines, Size(max(widths, default=0.0) + left + right, height))


class _Pen:
    """Draws the boxes of one page."""

    def __init__(self, canvas: Canvas, tile: Tile) -> None:
        self._canvas = canvas
        self._tile = tile
        self._fonts = load_fonts()

    def box(self, box: Box, words: _Words, spot: Spot) -> None:
        """Draw a box with its words."""
        canvas, size = self._canvas, words.size
        x, y = self._tile.at(spot.x, spot.y + size.height)
        left, top, right, _ = INSETS.get(box.shape, PLAIN)
        if box.shape == "break":
            self._break(words, x, y)
        else:
            if box.group:
                canvas.setLineWidth(0.6)
                outline(canvas, box.shape, x + _STACK, y + _STACK, size.width, size.height)
            canvas.setLineWidth(2.4 if box.mark else 0.8)
            outline(canvas, box.shape, x, y, size.width, size.height)
        if box.mark:
            self._tag("ASKED" if box.mark == "asked" else "IF IT WAS THIS", x, y + size.height)
        down = y + size.height - top
        for lines, bold, letters in ((words.title, True, TITLE), (words.lines, False, TEXT)):
            canvas.setFont(self._fonts.bold if bold else self._fonts.regular, letters)
            for line in lines:
                down -= letters * _LEAD
                middle = x + left + (size.width - left - right) / 2
                canvas.drawCentredString(middle, down + letters * 0.25, line)

    def _break(self, words: _Words, x: float, y: float) -> None:
        bar(self._canvas, x + 1, y, words.size.height)

    def _tag(self, text: str, x: float, top: float) -> None:
        """Write a mark on black above a box."""
        width = self._fonts.width(text, _TAG, bold=True) + 6
        self._canvas.rect(x, top, width, _TAG + 1.5, stroke=0, fill=1)
        self._canvas.setFillGray(1)
        self._canvas.setFont(self._fonts.bold, _TAG)
        self._canvas.drawString(x + 3, top + 1.8, text)
        self._canvas.setFillGray(0)
