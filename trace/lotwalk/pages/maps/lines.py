"""The lines of a map: solid for ingredients, dashed for contact, each drawn once and named where it leaves the page."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from reportlab.pdfgen.canvas import Canvas

from lotwalk.pages.maps.layout import Route
from lotwalk.pages.maps.model import CONTACT, STOPPED, Line, Map
from lotwalk.pages.typeface.fonts import load_fonts
from lotwalk.pages.typeface.wrap import wrap

HEAD = 10.0
"""Points above the topmost box, for the mark that may stand on it."""

_SIZE = 6.5
_LEAD = 1.18
_ARROW = 5.0
_TURN = 24.0
"""Points in which a line from another page turns to where it goes."""
_WIDEST = 50.0
_ALONG = 0.55
_BACK = "back"

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Tile:
    """The part of a map on one page: its columns, how far down it begins, and how far right the first column stands."""

    left: float
    right: float
    top: float
    indent: float

    def at(self, x: float, y: float) -> Point:
        """Return where a point of the layout stands on the page, upward as the canvas counts."""
        return x - self.left + self.indent, self.top - y - HEAD


class Lines:
    """The lines of a map on one page that is `width` points wide."""

    def __init__(self, canvas: Canvas, tile: Tile, width: float, drawn: Map, routes: Sequence[Route]) -> None:
        self._canvas = canvas
        self._tile = tile
        self._width = width
        self._map = drawn
        self._routes = routes
        self._fonts = load_fonts()
        self._leaving: dict[tuple[bool, float], dict[str, None]] = defaultdict(dict)
        self._words: dict[Point, dict[str, None]] = defaultdict(dict)

    def draw(self) -> None:
        """Draw all lines; the boxes go over them."""
        pieces: dict[tuple[str, bool, Point, Point, bool], None] = {}
        heads: dict[tuple[Point, int], None] = {}
        for line, route in zip(self._map.lines, self._routes, strict=True):
            style = _BACK if route.back else line.link
            for number, (start, end) in enumerate(pairwise(route.points)):
                self._piece(pieces, style, number % 2 == 1, start, end, line, route)
            if line.link != STOPPED:
                if line.both or not route.back:
                    heads[route.points[-1], -1] = None
                if line.both or route.back:
                    heads[route.points[0], 1] = None
            self._say(line, route)
        for style, straight, start, end, _ in pieces:
            self._canvas.setDash({CONTACT: [3, 2], _BACK: [0.8, 2.2]}.get(style, []))
            self._canvas.setLineWidth(0.9)
            self._stroke(straight, start, end)
        self._canvas.setDash()
        for (point, way), _ in heads.items():
            if self._tile.left <= point[0] <= self._tile.right:
                self._head(*self._tile.at(*point), way)

    def write(self) -> None:
        """Write the words on the lines, and what those lead to that leave the page; over everything else."""
        for (x, y), words in self._words.items():
            self._write(list(words), x, y)
        for (right, y), names in self._leaving.items():
            first, *more = names
            told = f"{'to' if right else 'from'} {first}{f' and {len(more)} more' if more else ''}"
            lines = wrap(self._fonts.printable(told), _WIDEST, _SIZE)[:2]
            self._canvas.setFont(self._fonts.regular, _SIZE)
            for number, text in enumerate(reversed(lines)):
                up = y + 1.8 + number * _SIZE * _LEAD
                width = self._fonts.width(text, _SIZE)
                self._canvas.drawString(self._width - 1 - width if right else 1, up, text)

    def _piece(
        self,
        pieces: dict[tuple[str, bool, Point, Point, bool], None],
        style: str,
        straight: bool,
        start: Point,
        end: Point,
        line: Line,
        route: Route,
    ) -> None:
        """Keep one piece of a line, cut where it leaves the page."""
        tile = self._tile
        if end[0] < tile.left or start[0] > tile.right:
            return
        first, last = tile.at(*start), tile.at(*end)
        if end[0] > tile.right:
            # It goes on at the same height on the page where its end stands.
            self._note(True, first[1], line.source if route.back else line.target)
            pieces[style, True, first, (self._width, first[1]), True] = None
        elif start[0] < tile.left:
            self._note(False, first[1], line.target if route.back else line.source)
            turn = (tile.indent - _TURN, first[1])
            pieces[style, True, (0.0, first[1]), turn, True] = None
            pieces[style, False, turn, last, True] = None
        else:
            pieces[style, straight, first, last, False] = None

    def _note(self, right: bool, y: float, box: int) -> None:
        self._leaving[right, y][self._map.boxes[box].title] = None

    def _stroke(self, straight: bool, start: Point, end: Point) -> None:
        path = self._canvas.beginPath()
        path.moveTo(*start)
        if straight:
            path.lineTo(*end)
        else:
            middle = (start[0] + end[0]) / 2
            path.curveTo(middle, start[1], middle, end[1], end[0], end[1])
        self._canvas.drawPath(path, stroke=1, fill=0)

    def _head(self, x: float, y: float, way: int) -> None:
        """Draw an arrow head at a point, pointing right (-1) or left (1)."""
        head = self._canvas.beginPath()
        head.moveTo(x, y)
        head.lineTo(x + way * _ARROW, y + _ARROW * 0.45)
        head.lineTo(x + way * _ARROW, y - _ARROW * 0.45)
        head.close()
        self._canvas.drawPath(head, stroke=0, fill=1)

    def _say(self, line: Line, route: Route) -> None:
        """Keep the words of a line for the middle of its first piece."""
        words = (*line.words, *([_BACK] if route.back and not line.both else []))
        (x, y), (right, end) = route.points[0], route.points[1]
        if words and self._tile.left <= x <= self._tile.right:
            right = min(right, self._tile.right + _WIDEST)
            # Nearer to its end, where lines that fork have parted: the curve's own point there.
            spot = self._tile.at(x + (right - x) * _ALONG, y + (end - y) * (3 * _ALONG**2 - 2 * _ALONG**3))
            self._words[spot].update(dict.fromkeys(words))

    def _write(self, words: Sequence[str], x: float, y: float) -> None:
        """Write words on white around a point."""
        lines = [part for text in words for part in wrap(self._fonts.printable(text), _WIDEST, _SIZE)[:2]]
        self._canvas.setFont(self._fonts.regular, _SIZE)
        top = y + len(lines) * _SIZE * _LEAD / 2
        for number, text in enumerate(lines):
            width = self._fonts.width(text, _SIZE)
            base = top - (number + 1) * _SIZE * _LEAD + 1.5
            self._canvas.setFillGray(1)
            self._canvas.rect(x - width / 2 - 1, base - 1.5, width + 2, _SIZE * _LEAD, stroke=0, fill=1)
            self._canvas.setFillGray(0)
            self._canvas.drawCentredString(x, base, text)
