"""What stands on the pages of a report one under another: headings, charts and tables, each where there is room."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

from reportlab.pdfgen.canvas import Canvas

from lotwalk.pages.sheet.table import Block, Page, Table
from lotwalk.pages.typeface.fonts import load_fonts
from lotwalk.pages.typeface.wrap import wrap

_LINE = 1.3
_MOST_LINES = 3


class Drawn(Protocol):
    """Something that is so many points high, and can be drawn with its upper left corner anywhere."""

    @property
    def height(self) -> float:
        """The height in points."""

    def draw(self, canvas: Canvas, left: float, top: float) -> None:
        """Draw it."""


@dataclass(frozen=True, slots=True)
class Heading:
    """Words over the full width, with some room around them."""

    lines: Sequence[str]
    size: float
    bold: bool = True

    @classmethod
    def of(cls, words: str, size: float, width: float, bold: bool = True) -> "Heading":
        """Return the heading of these words."""
        return cls(wrap(load_fonts().printable(words), width, size, bold)[:_MOST_LINES], size, bold)

    @property
    def height(self) -> float:
        """The height in points."""
        return (len(self.lines) + 1) * self.size * _LINE

    def draw(self, canvas: Canvas, left: float, top: float) -> None:
        """Draw the words, the upper left corner given in points."""
        canvas.setFont(load_fonts().bold if self.bold else load_fonts().regular, self.size)
        for number, line in enumerate(self.lines, 1):
            canvas.drawString(left, top - (number + 0.25) * self.size * _LINE, line)


@dataclass(frozen=True, slots=True)
class Run:
    """The part of a table that stands on one page."""

    table: Table
    page: Page

    @property
    def height(self) -> float:
        """The height in points, with the titles of the columns where there are rows under them."""
        last = self.page[-1]
        titles = self.table.heading if any(placed.block.cells for placed in self.page) else 0
        return titles + last.down + last.height

    def draw(self, canvas: Canvas, left: float, top: float) -> None:
        """Draw it, the upper left corner given in points."""
        self.table.draw(canvas, self.page, left, top)


class Flow:
    """Fills pages that are `height` points high, those after the first `following` points where that is given.

    `pages` hold what stands on each, with how far down it stands.
    """

    def __init__(self, height: float, following: float | None = None) -> None:
        self.pages: list[list[tuple[float, Drawn]]] = [[]]
        self._height = height
        self._following = following or height
        self._down = 0.0

    def put(self, drawn: Drawn, below: float = 0.0) -> None:
        """Put something on this page, or on the next one where it and `below` points more have no room here."""
        if self._down and self._down + drawn.height + below > self._height:
            self._turn()
        self._add(drawn)

    def run(self, table: Table, blocks: Iterable[Block]) -> None:
        """Put the rows of a table here and on as many pages as they need."""
        for number, page in enumerate(table.paginate(blocks, self._height, self._down, self._following)):
            if number:
                self._turn()
            if page:
                self._add(Run(table, page))

    def _turn(self) -> None:
        self.pages.append([])
        self._down = 0.0
        self._height = self._following

    def _add(self, drawn: Drawn) -> None:
        self.pages[-1].append((self._down, drawn))
        self._down += drawn.height
