"""A table drawn straight to the canvas: rows measured, parted over pages, and drawn, in time that grows with the rows.

Every line of a row has the same height, so a row that is taller than a page goes on over the next one at any line.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate

from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.textobject import PDFTextObject

from lotwalk.pages.definitions.model import Column, Piece, Row, Style
from lotwalk.pages.sheet.fitting import fitted
from lotwalk.pages.typeface.fonts import Fonts
from lotwalk.pages.typeface.wrap import wrap


@dataclass(frozen=True, slots=True)
class Setting:
    """How rows are set, in points: letters, from line to line, around a row, and above what stands below it."""

    size: float
    leading: float
    pad: float
    gap: float


ALONE = Setting(7.5, 9.2, 3.0, 2.0)
"""Of a report that is printed by itself."""

BOUND = Setting(8.5, 9.3, 1.0, 0.0)
"""Of a report that is bound with others: larger letters, less white between rows."""

_GUTTER = 6.0
_INDENT = 12.0
_FEWEST = 3
"""A row is parted only where at least so many of its lines fit on the page."""

_GREY = 0.9
_HAIR = 0.35
_STRIKE = 0.6

Line = tuple[str, Style]


@dataclass(frozen=True, slots=True)
class Block:
    """A row that is measured: `tall` lines side by side in columns, then lines over the full width.

    With `keep` it is a heading: it does not stand at the foot of a page, away from what it heads.
    """

    label: str
    cells: tuple[tuple[Line, ...], ...]
    below: tuple[Line, ...]
    tall: int
    keep: bool = False

    @property
    def lines(self) -> int:
        """The number of lines in all."""
        return self.tall + len(self.below)


@dataclass(frozen=True, slots=True)
class Placed:
    """Lines `start` to `stop` of a block, `down` points below the top of the table's body."""

    block: Block
    start: int
    stop: int
    down: float
    setting: Setting = ALONE

    @property
    def height(self) -> float:
        """The height in points. A part that goes on from another page says so on a line of its own."""
        gap = self.setting.gap if self.start < self.block.tall < self.stop else 0
        lines = self.stop - self.start + (self.start > 0)
        return lines * self.setting.leading + gap + 2 * self.setting.pad


Page = list[Placed]


class Table:
    """The columns of a table that is `width` points wide, and `heading` points high above its rows.

    `name` tells it from other tables in the same file.
    """

    def __init__(
        self, name: str, columns: Sequence[Column], width: float, fonts: Fonts, setting: Setting = ALONE
    ) -> None:
        self._form = f"{name}.heading"
        self.setting = setting
        self.width = width
        self._fonts = fonts
        self._columns = columns
        total = sum(column.width for column in columns)
        self._place([column.width / total * width for column in columns])

    def fit(self, rows: Sequence[Row]) -> None:
        """Give the columns the widths by which rows such as these take few lines. No row is measured before."""
        if len(self._columns) > 1 and rows:
            fonts, size = self._fonts, self.setting.size
            titles = [fonts.printable(column.title) for column in self._columns]
            self._place(
                fitted(titles, rows, self.width, _GUTTER, lambda words, bold: fonts.width(words, size, bold=bold))
            )

    def _place(self, widths: Sequence[float]) -> None:
        setting, fonts = self.setting, self._fonts
        self._lefts = [0.0, *accumulate(widths)]
        self._rooms = [right - left - _GUTTER for left, right in zip(self._lefts, self._lefts[1:], strict=False)]
        self._titles = [
            wrap(fonts.printable(column.title), room, setting.size, True)
            for column, room in zip(self._columns, self._rooms, strict=True)
        ]
        self.heading = max(len(lines) for lines in self._titles) * setting.leading + 2 * setting.pad

    def block(self, row: Row) -> Block:
        """Return a row measured."""
        cells = tuple(
            self._lines(cell, room) if cell else () for cell, room in zip(row.cells, self._rooms, strict=True)
        )
        below = self._lines(row.below, self.width - 2 * _INDENT) if row.below else ()
        return Block(row.entry, cells, below, max(map(len, cells)))

    def words(self, pieces: Iterable[Piece], keep: bool = False) -> Block:
        """Return words over the full width as a block without columns, or as a heading between rows."""
        return Block("", (), self._lines(pieces, self.width - 2 * _INDENT), 0, keep)

    def _lines(self, pieces: Iterable[Piece], room: float) -> tuple[Line, ...]:
        printable = self._fonts.printable
        return tuple(
            (line, piece.style)
            for piece in pieces
            for line in wrap(printable(piece.text), room, self.setting.size, piece.style == "bold")
        )

    def paginate(
        self, blocks: Iterable[Block], height: float, used: float = 0.0, following: float | None = None
    ) -> Iterator[Page]:
        """Yield pages of blocks whose bodies are `height` points high, the heading included.

        On the first page so many points are `used` already; it is empty when nothing fits under them. All others are
        `following` points high, where that is given.
        """
        pad, gap, leading = self.setting.pad, self.setting.gap, self.setting.leading
        whole = (following or height) - self.heading
        room = height - self.heading - used
        page: Page = []
        down = 0.0
        first = used > 0
        for block in blocks:
            start = 0
            while start < block.lines:
                left = int((room - down - 2 * pad - gap) / leading) - (start > 0)
                fits = block.lines - start + (_FEWEST + 1 if block.keep else 0) <= left
                splits = block.lines * leading + 2 * pad + gap > whole and left >= _FEWEST
                if not fits and not splits and (page or first):
                    yield page
                    page, down, room, first = [], 0.0, whole, False
                    continue
                # An empty page takes at least one line, however low it is, so that every page brings the log forward.
                stop = block.lines if fits else min(block.lines, start + max(left, 1))
                placed = Placed(block, start, stop, down, self.setting)
                page.append(placed)
                start, down = stop, down + placed.height
        if page:
            yield page

    def prepare(self, canvas: Canvas) -> None:
        """Store the heading in the file once."""
        canvas.beginForm(self._form)
        # What is left of or below a form's origin would be cut off.
        self._draw_heading(canvas, 0, self.heading)
        canvas.endForm()

    def draw(self, canvas: Canvas, page: Page, left: float, top: float) -> None:
        """Draw one page of the table with its upper left corner there, in points."""
        body = top
        if any(placed.block.cells for placed in page):
            canvas.saveState()
            canvas.translate(left, top - self.heading)
            canvas.doForm(self._form)
            canvas.restoreState()
            body -= self.heading
        text = canvas.beginText()
        strikes: list[tuple[float, float, float, float]] = []
        rules: list[tuple[float, float, float, float]] = []
        pen = _Pen(text, self._fonts, self.setting, strikes)
        for placed in page:
            self._draw_block(pen, placed, left, body - placed.down)
            bottom = body - placed.down - placed.height
            if placed.block.cells:
                rules.append((left, bottom, left + self.width, bottom))
        canvas.drawText(text)
        canvas.setLineWidth(_HAIR)
        canvas.lines(rules)
        canvas.setLineWidth(_STRIKE)
        canvas.lines(strikes)

    def _draw_heading(self, canvas: Canvas, left: float, top: float) -> None:
        canvas.setFillGray(_GREY)
        canvas.rect(left, top - self.heading, self.width, self.heading, stroke=0, fill=1)
        canvas.setFillGray(0)
        text = canvas.beginText()
        pen = _Pen(text, self._fonts, self.setting, [])
        for lines, x in zip(self._titles, self._lefts, strict=False):
            pen.write([(line, "bold") for line in lines], left + x + _GUTTER / 2, top - self.setting.pad)
        canvas.drawText(text)

    def _draw_block(self, pen: "_Pen", placed: Placed, left: float, top: float) -> None:
        block, start, stop = placed.block, placed.start, placed.stop
        leading = self.setting.leading
        y = top - self.setting.pad
        if start > 0:
            pen.write([(f"{block.label} (continued)".lstrip(), "bold")], left + _GUTTER / 2, y)
            y -= leading
        if start < block.tall:
            for cell, x in zip(block.cells, self._lefts, strict=False):
                if len(cell) > start:
                    pen.write(cell[start:stop], left + x + _GUTTER / 2, y)
            y -= (min(stop, block.tall) - start) * leading + self.setting.gap
        if stop > block.tall:
            lines = block.below[max(0, start - block.tall) : stop - block.tall]
            pen.write(lines, left + (_INDENT if block.cells else _GUTTER / 2), y)


class _Pen:
    """Writes lines into one text object, changing the face only where the style changes."""

    def __init__(
        self, text: PDFTextObject, fonts: Fonts, setting: Setting, strikes: list[tuple[float, float, float, float]]
    ) -> None:
        self._text = text
        self._fonts = fonts
        self._size, self._leading = setting.size, setting.leading
        self._strikes = strikes
        self._bold: bool | None = None

    def write(self, lines: Sequence[Line], x: float, top: float) -> None:
        """Write lines under one another, the first just below `top`."""
        text = self._text
        y = top - self._size
        text.setTextOrigin(x, y)
        for line, style in lines:
            bold = style == "bold"
            if bold is not self._bold:
                text.setFont(self._fonts.bold if bold else self._fonts.regular, self._size, self._leading)
                self._bold = bold
            text.textLine(line)
            if style == "struck":
                middle = y + self._size * 0.28
                self._strikes.append((x, middle, x + self._fonts.width(line, self._size), middle))
            y -= self._leading
