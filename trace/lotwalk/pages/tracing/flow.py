"""Text and tables flowing down pages: headings, paragraphs and grids placed one under another, as real text."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate

from reportlab.pdfgen.canvas import Canvas

from lotwalk.pages.typeface.fonts import load_fonts
from lotwalk.pages.typeface.wrap import wrap

TEXT, SMALL, HEADING, ANSWER = 8.5, 7.5, 11.5, 10.5
"""Sizes of letters in points."""

TICK = "[ ] "
"""At the start of a line in a cell: a box to be ticked by hand."""

_LEAD = 1.22
_PAD = 3.0
_GUTTER = 7.0
_HAIR, _FIRM = 0.35, 0.9
_GREY = 0.9
_LEAST = 40.0
_SEPARATOR = "  ·  "
_BESIDE = 64.0
_FEWEST = 3


@dataclass(frozen=True, slots=True)
class _Text:
    x: float
    down: float
    text: str
    size: float
    bold: bool


@dataclass(frozen=True, slots=True)
class _Rule:
    left: float
    right: float
    down: float
    weight: float


@dataclass(frozen=True, slots=True)
class _Box:
    """A rectangle: filled with grey, or drawn as an outline."""

    x: float
    down: float
    width: float
    height: float
    filled: bool


@dataclass(frozen=True, slots=True)
class _Bookmark:
    title: str
    down: float


@dataclass(frozen=True, slots=True)
class _Contents:
    """A line of titles, each with the page on which it stands, which is known once all is placed."""

    x: float
    down: float
    entries: tuple[tuple[str, str], ...]
    size: float

    def words(self, pages: Mapping[str, int]) -> str:
        return _SEPARATOR.join(f"{name} {pages[title]}" for name, title in self.entries)


Placed = _Text | _Rule | _Box | _Bookmark | _Contents


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a grid: its title, and its share of the width."""

    title: str
    share: float
    bold: bool = False
    right: bool = False


class Flow:
    """What was placed so far, page by page, on a body of `width` by `height` points."""

    def __init__(self, width: float, height: float) -> None:
        self.pages: list[list[Placed]] = [[]]
        self.width = width
        self.height = height
        self._down = 0.0
        self._fonts = load_fonts()

    def page(self) -> None:
        """Go on at the top of a new page, unless this one is empty."""
        if self.pages[-1]:
            self.pages.append([])
            self._down = 0.0

    def restart(self) -> None:
        """Begin anew at the top of an empty page, after the pages so far were taken."""
        self.pages = [[]]
        self._down = 0.0

    def space(self, points: float) -> None:
        """Leave room, save at the top of a page."""
        if self._down:
            self._down += points

    def heading(self, title: str, keep: float = _LEAST) -> None:
        """Place a heading that stays with `keep` points of what follows, and is a bookmark of the file."""
        if self._down + HEADING * _LEAD + keep > self.height:
            self.page()
        self.space(9)
        self.pages[-1].append(_Bookmark(title, self._down))
        self._words(title, HEADING, True, 0.0)
        self._put(_Rule(0, self.width, self._down + 1.5, _FIRM))
        self._down += 5

    def words(self, text: str, *, size: float = TEXT, bold: bool = False, indent: float = 0.0) -> None:
        """Place a paragraph."""
        self._words(text, size, bold, indent)
        self._down += 2.5

    def beside(self, label: str, texts: Iterable[str], *, size: float = TEXT) -> None:
        """Place sentences, each on lines of its own, with a word in bold at their left."""
        self.keep(2 * size * _LEAD)
        page, top = self.pages[-1], self._down
        for text in texts:
            self._words(text, size, False, _BESIDE)
        page.append(_Text(0, top + size * (_LEAD - 0.25), self._fonts.printable(label), size, True))
        self._down += 3

    def contents(self, label: str, entries: Iterable[tuple[str, str]], *, size: float = TEXT) -> None:
        """Place names with the pages of headings: each entry is a name, and the heading's title."""
        room = self.width - _BESIDE
        lines: list[list[tuple[str, str]]] = [[]]
        for entry in entries:
            told = _SEPARATOR.join(f"{name} 000" for name, _ in [*lines[-1], entry])
            if lines[-1] and self._fonts.width(told, size) > room:
                lines.append([])
            lines[-1].append(entry)
        self.keep(len(lines) * size * _LEAD)
        for number, line in enumerate(lines):
            self._down += size * _LEAD
            base = self._down - size * 0.25
            if number == 0:
                self._put(_Text(0, base, self._fonts.printable(label), size, True))
            self._put(_Contents(_BESIDE, base, tuple(line), size))
        self._down += 3

    def keep(self, points: float) -> None:
        """Go on at the top of a new page where less than so much room is left on this one."""
        if self._down + points > self.height:
            self.page()

    def framed(self, texts: Iterable[str]) -> None:
        """Place sentences in a frame, the first of them bold: what must be read if nothing else is."""
        inset = 7.0
        lines = [
            (line, number == 0)
            for number, text in enumerate(texts)
            for line in wrap(self._fonts.printable(text), self.width - 2 * inset, ANSWER, number == 0)
        ]
        self.space(4)
        while lines:
            room = int((self.height - self._down - 2 * inset) / (ANSWER * _LEAD))
            if room < min(_FEWEST, len(lines)) and self.pages[-1]:
                self.page()
                continue
            part, lines = lines[: max(room, 1)], lines[max(room, 1) :]
            top = self._down
            self._down += inset
            for line, bold in part:
                self._down += ANSWER * _LEAD
                self._put(_Text(inset, self._down - ANSWER * 0.25, line, ANSWER, bold))
            self._down += inset
            self._put(_Box(0, top, self.width, self._down - top, False))
        self._down += 5

    def grid(self, columns: Sequence[Column], rows: Iterable[Sequence[str]], *, size: float = SMALL) -> None:
        """Place a table. A row that is taller than a page goes on over the next, and the titles stand on each page."""
        lefts = [0.0, *accumulate(column.share for column in columns)]
        lefts = [left / lefts[-1] * self.width for left in lefts]
        grid = _Grid(columns, lefts, size)
        titles = grid.measure([column.title for column in columns], bold=True)
        for number, row in enumerate(rows):
            cells = grid.measure(row)
            height = max(map(len, cells)) * size * _LEAD + 2 * _PAD
            if number == 0 or (self._down + height > self.height and height <= self.height - _LEAST):
                if self._down + min(height, 3 * _LEAST) + _LEAST / 2 > self.height or number:
                    self.page()
                self._titles(grid, titles)
            self._row(grid, cells, titles)
        self._down += 5

    def _titles(self, grid: "_Grid", titles: Sequence[Sequence[str]]) -> None:
        height = max(map(len, titles)) * grid.size * _LEAD + 2 * _PAD
        self._put(_Box(0, self._down, self.width, height, True))
        self._lines(grid, titles, True)
        self._down += height

    def _row(self, grid: "_Grid", cells: Sequence[Sequence[str]], titles: Sequence[Sequence[str]]) -> None:
        most = max(map(len, cells))
        start = 0
        while start < most or most == 0:
            room = max(1, int((self.height - self._down - 2 * _PAD) / (grid.size * _LEAD)))
            if room < min(_FEWEST, most - start):
                self.page()
                self._titles(grid, titles)
                continue
            part = [cell[start : start + room] for cell in cells]
            self._lines(grid, part, False)
            self._down += max(1, max(map(len, part))) * grid.size * _LEAD + 2 * _PAD
            self._put(_Rule(0, self.width, self._down, _HAIR))
            start += room
            if start < most:
                self.page()
                self._titles(grid, titles)
            if most == 0:
                break

    def _lines(self, grid: "_Grid", cells: Sequence[Sequence[str]], titles: bool) -> None:
        for column, cell, left, right in zip(grid.columns, cells, grid.lefts, grid.lefts[1:], strict=False):
            down = self._down + _PAD
            for line in cell:
                down += grid.size * _LEAD
                x = left + _GUTTER / 2
                base = down - grid.size * 0.28
                bold = titles or column.bold
                if line.startswith(TICK):
                    line = line.removeprefix(TICK)
                    self._put(_Box(x, base - grid.size * 0.8, grid.size * 0.85, grid.size * 0.85, False))
                    x += grid.size * 1.3
                if column.right:
                    x = right - _GUTTER / 2 - self._fonts.width(line, grid.size, bold=bold)
                self._put(_Text(x, base, line, grid.size, bold))

    def _words(self, text: str, size: float, bold: bool, indent: float) -> None:
        for line in wrap(self._fonts.printable(text), self.width - indent, size, bold):
            if self._down + size * _LEAD > self.height:
                self.page()
            self._down += size * _LEAD
            self._put(_Text(indent, self._down - size * 0.25, line, size, bold))

    def _put(self, placed: Placed) -> None:
        self.pages[-1].append(placed)


@dataclass(frozen=True, slots=True)
class _Grid:
    columns: Sequence[Column]
    lefts: Sequence[float]
    size: float

    def measure(self, row: Sequence[str], *, bold: bool = False) -> list[tuple[str, ...]]:
        """Return the lines of each cell."""
        fonts = load_fonts()
        out = []
        for column, text, left, right in zip(self.columns, row, self.lefts, self.lefts[1:], strict=False):
            room = right - left - _GUTTER
            lines: list[str] = []
            for part in text.split("\n"):
                tick = TICK if part.startswith(TICK) else ""
                printed = fonts.printable(part.removeprefix(TICK))
                inner = wrap(printed, room - (self.size * 1.3 if tick else 0), self.size, bold or column.bold)
                lines += [f"{tick}{inner[0]}" if inner else tick, *inner[1:]] if inner or tick else []
            out.append(tuple(lines))
        return out


def pages_of_headings(pages: Sequence[Sequence[Placed]]) -> dict[str, int]:
    """Return on which of these pages, counted from 1, each heading stands first."""
    found: dict[str, int] = {}
    for number, page in enumerate(pages, 1):
        for one in page:
            if isinstance(one, _Bookmark):
                found.setdefault(one.title, number)
    return found


def draw_flow(
    canvas: Canvas, page: Sequence[Placed], left: float, top: float, pages: Mapping[str, int] | None = None
) -> None:
    """Draw one page of a flow with the upper left corner of its body there; `pages` are those of the headings."""
    fonts = load_fonts()
    for one in page:
        if isinstance(one, _Box) and one.filled:
            canvas.setFillGray(_GREY)
            canvas.rect(left + one.x, top - one.down - one.height, one.width, one.height, stroke=0, fill=1)
            canvas.setFillGray(0)
    text = canvas.beginText()
    for one in page:
        match one:
            case _Text():
                text.setFont(fonts.bold if one.bold else fonts.regular, one.size)
                text.setTextOrigin(left + one.x, top - one.down)
                text.textOut(one.text)
            case _Contents():
                text.setFont(fonts.regular, one.size)
                text.setTextOrigin(left + one.x, top - one.down)
                text.textOut(one.words(pages or {}))
            case _Rule():
                canvas.setLineWidth(one.weight)
                canvas.line(left + one.left, top - one.down, left + one.right, top - one.down)
            case _Box(filled=False):
                canvas.setLineWidth(_FIRM)
                canvas.rect(left + one.x, top - one.down - one.height, one.width, one.height)
            case _Bookmark():
                bookmark(canvas, one.title, top - one.down)
    canvas.drawText(text)


def bookmark(canvas: Canvas, title: str, up: float) -> None:
    """Let the file's outline lead here, `up` points above the page's lower edge."""
    key = f"{canvas.getPageNumber()}.{up:.1f}.{title}"
    canvas.bookmarkHorizontal(key, 0, up)
    canvas.addOutlineEntry(title, key, 0)
