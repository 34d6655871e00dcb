"""Where the boxes of one entry stand: in one line under shared titles where they fit, else in lines of a block."""

from collections.abc import Sequence
from dataclasses import dataclass

from lotwalk.pages.forms.boxes import PAD, TITLE, WRITING, Box, widths, writing_height
from lotwalk.pages.typeface.fonts import load_fonts
from lotwalk.pages.typeface.wrap import wrap

NUMBER = 20.0
"""The width of the strip at the left that holds an entry's number."""

STRIP = TITLE + 4.5
"""The height of a box's title."""

HEAD_LEADING = TITLE + 1.6
APART = 7.0
"""Between two blocks."""


@dataclass(frozen=True, slots=True)
class Placed:
    """One box in its place: `x` from the left edge of the boxes, `down` from the top of the entry, in points.

    `strip` is the height of the title inside it, 0 where the title stands above a column. `line` is its line of a
    list, counted from 1, and `parent` the list's box; 0 and None outside of lists.
    """

    box: Box
    x: float
    down: float
    width: float
    height: float
    strip: float
    line: int = 0
    parent: Box | None = None


@dataclass(frozen=True, slots=True)
class Heading:
    """Words above a list or a column, already in lines."""

    words: tuple[str, ...]
    x: float
    down: float
    bold: bool


@dataclass(frozen=True, slots=True)
class Layout:
    """One entry laid out. `columns`: the titles stand once a page, in `titles`, `title_height` high."""

    landscape: bool
    width: float
    height: float
    placed: tuple[Placed, ...]
    headings: tuple[Heading, ...] = ()
    columns: bool = False
    titles: tuple[Heading, ...] = ()
    title_height: float = 0.0


def lay_out(boxes: Sequence[Box], upright: float, across: float, writing: float = WRITING) -> Layout:
    """Return the layout of an entry for pages of these inner widths, upright and across.

    What fits into one line becomes a table, upright if it can; everything else a block on an upright page. `writing`
    is the height of a line to write on.
    """
    if all(not box.parts and box.lines == 1 for box in boxes):
        for room, landscape in ((upright, False), (across, True)):
            if sum(box.narrow for box in boxes) <= room - NUMBER:
                return _table(boxes, room, landscape, writing)
    return _Block(boxes, upright - NUMBER, writing).layout()


def _table(boxes: Sequence[Box], room: float, landscape: bool, writing: float) -> Layout:
    inner = room - NUMBER
    wide = widths([box.narrow for box in boxes], boxes, inner)
    titles, titles_high = _titles(boxes, wide)
    height = max(writing_height(box, width, writing) for box, width in zip(boxes, wide, strict=True))
    placed, x = [], 0.0
    for box, width in zip(boxes, wide, strict=True):
        placed.append(Placed(box, x, 0.0, width, height, 0.0))
        x += width
    return Layout(landscape, inner, height, tuple(placed), columns=True, titles=titles, title_height=titles_high)


def _titles(boxes: Sequence[Box], wide: Sequence[float]) -> tuple[tuple[Heading, ...], float]:
    """Return the titles above columns, and their height. The limit, or else the units, stand under the title."""
    fonts = load_fonts()
    found, x, most = [], 0.0, 1
    for box, width in zip(boxes, wide, strict=True):
        lines = wrap(fonts.printable(box.title), width - PAD, TITLE, True)
        found.append(Heading(tuple(lines), x, 0.0, True))
        if box.beside:
            under = wrap(fonts.printable(box.beside), width - PAD, TITLE)
            found.append(Heading(tuple(under), x, len(lines) * HEAD_LEADING, False))
            lines = (*lines, *under)
        most = max(most, len(lines))
        x += width
    return tuple(found), most * HEAD_LEADING + 4


class _Block:
    """Places the boxes of one entry line by line, `inner` points wide."""

    def __init__(self, boxes: Sequence[Box], inner: float, writing: float) -> None:
        self._boxes = boxes
        self._inner = inner
        self._writing = writing
        self._down = 0.0
        self._placed: list[Placed] = []
        self._headings: list[Heading] = []

    def layout(self) -> Layout:
        """Return the layout. A list, and a box of several lines, have their lines to themselves."""
        self._flow(self._boxes)
        return Layout(False, self._inner, self._down, tuple(self._placed), tuple(self._headings))

    def _flow(self, boxes: Sequence[Box], number: int = 0, parent: Box | None = None) -> None:
        line: list[Box] = []
        for box in boxes:
            alone = bool(box.parts) or box.lines > 1
            if line and (alone or sum(one.least for one in (*line, box)) > self._inner):
                self._line(line, STRIP, number, parent)
                line = []
            if box.parts:
                self._list(box)
            elif alone:
                self._line([box], STRIP, number, parent)
            else:
                line.append(box)
        if line:
            self._line(line, STRIP, number, parent)

    def _line(self, line: Sequence[Box], strip: float, number: int, parent: Box | None) -> None:
        """Place boxes beside each other over the whole width."""
        wide = self._widths(line)
        tall = (writing_height(box, width, self._writing) for box, width in zip(line, wide, strict=True))
        height = strip + max(tall)
        x = 0.0
        for box, width in zip(line, wide, strict=True):
            self._placed.append(Placed(box, x, self._down, width, height, strip, number, parent))
            x += width
        self._down += height

    def _widths(self, line: Sequence[Box]) -> list[float]:
        least = [box.least for box in line]
        return widths(least if sum(least) <= self._inner else [box.narrow for box in line], line, self._inner)

    def _list(self, box: Box) -> None:
        """Place a list: its title over the whole width, and its lines under the titles of their columns.

        Where the columns are too many, each line of the list is a block of its own.
        """
        words = f"{box.title}: {box.field.description}" if box.field.description else box.title
        self._heading(words)
        if sum(part.narrow for part in box.parts) > self._inner:
            for number in range(1, box.lines + 1):
                self._heading(f"{box.field.title} {number}")
                self._flow(box.parts, number, box)
            return
        titles, high = _titles(box.parts, self._widths(box.parts))
        self._headings += [Heading(one.words, one.x, self._down + one.down, one.bold) for one in titles]
        self._down += high
        for number in range(1, box.lines + 1):
            self._line(box.parts, 0.0, number, box)

    def _heading(self, words: str) -> None:
        title = wrap(load_fonts().printable(words), self._inner - 2 * PAD, TITLE, True)[:1]
        self._headings.append(Heading(title, 0.0, self._down, True))
        self._down += STRIP
