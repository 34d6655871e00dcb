"""Drawing one entry's boxes: lines to write on, squares to tick, titles, examples and units."""

from collections.abc import Iterable

from lotwalk.pages.forms.boxes import BESIDE, HINT, PAD, SPACE, TICK, TICK_LINE, TITLE, WORDS, Tick, tick_lines
from lotwalk.pages.forms.layout import HEAD_LEADING, NUMBER, Heading, Layout, Placed
from lotwalk.pages.forms.pen import Pen
from lotwalk.pages.typeface.fonts import Fonts
from lotwalk.pages.typeface.wrap import wrap

_THICK = 1.4
_THIN = 0.5
_SHADE = 0.93
_RULED = 0.82
_UNIT = 7.0


def draw_titles(pen: Pen, layout: Layout, left: float, down: float) -> None:
    """Draw the titles above the columns of a table, once a page."""
    pen.box(left, down, layout.width + NUMBER, layout.title_height, _THICK, _SHADE)
    _headings(pen, layout.titles, left + NUMBER, down)
    edges = {placed.x for placed in layout.placed}
    pen.lines([(left + NUMBER + x, down, left + NUMBER + x, down + layout.title_height) for x in edges], _THIN)


def draw_entry(pen: Pen, layout: Layout, number: int, left: float, down: float) -> None:
    """Draw the boxes of entry `number`, its upper left corner at `left` and so far down."""
    x = left + NUMBER
    pen.box(left, down, NUMBER, layout.height, _THIN, _SHADE)
    size = 11.0 if number < 100 else 8.0
    words = str(number)
    pen.words(words, left + (NUMBER - pen.fonts.width(words, size, bold=True)) / 2, down + 15, size, bold=True)
    for placed in layout.placed:
        pen.box(x + placed.x, down + placed.down, placed.width, placed.height, _THIN)
        _inside(pen, placed, x + placed.x, down + placed.down)
    _headings(pen, layout.headings, x, down)
    pen.box(left, down, layout.width + NUMBER, layout.height, _THICK)


def _headings(pen: Pen, headings: Iterable[Heading], left: float, down: float) -> None:
    for heading in headings:
        for number, line in enumerate(heading.words, 1):
            y = down + heading.down + number * HEAD_LEADING
            pen.words(line, left + heading.x + PAD / 2, y, TITLE, bold=heading.bold)


def _inside(pen: Pen, placed: Placed, x: float, down: float) -> None:
    box = placed.box
    if placed.strip:
        _title(pen, placed, x, down)
    for tick, left, top in ticks_at(placed):
        pen.box(x + left, down + top, TICK, TICK, 0.9)
        pen.words(tick.words, x + left + TICK + 4, down + top + TICK * 0.72, WORDS)
    if box.lines > 1:
        high = (placed.height - placed.strip) / box.lines
        ruled = [down + placed.strip + high * line for line in range(1, box.lines)]
        pen.canvas.setStrokeGray(_RULED)
        pen.lines([(x + PAD, y, x + placed.width - PAD, y) for y in ruled], _THIN)
        pen.canvas.setStrokeGray(0)
    if box.unit:
        pen.words(box.unit, x + placed.width - PAD, down + placed.height - 5, _UNIT + 2, right=True)


def _title(pen: Pen, placed: Placed, x: float, down: float) -> None:
    """Write the title at the top of a box, and as much beside it as there is room for."""
    fonts, box = pen.fonts, placed.box
    room = placed.width - PAD - 1
    foot = down + TITLE + 1.5
    title = _cut(fonts, fonts.printable(box.title), room)
    pen.words(title, x + PAD / 2 + 1, foot, TITLE, bold=True)
    used = fonts.width(title, TITLE, bold=True) + SPACE
    choices = [(fonts.printable(box.beside), BESIDE, False)] if box.beside else []
    choices += [(f"such as {box.hint}", HINT, True)] if box.hint and not box.unit else []
    for words, size, grey in choices:
        if used + fonts.width(words, size) <= room:
            pen.words(words, x + PAD / 2 + 1 + used, foot, size, grey=grey)
            return


def _cut(fonts: Fonts, text: str, room: float) -> str:
    if fonts.width(text, TITLE, bold=True) <= room:
        return text
    return wrap(text, room, TITLE, True)[0]


def ticks_at(placed: Placed) -> Iterable[tuple[Tick, float, float]]:
    """Yield the squares to tick with their upper left corner, from the box's own."""
    if not placed.box.ticks:
        return
    lines = tick_lines(placed.box.ticks, placed.width - PAD)
    free = placed.height - placed.strip - len(lines) * TICK_LINE
    top = placed.strip + max(0.0, free / 2) + (TICK_LINE - TICK) / 2
    for line in lines:
        left = PAD
        for tick in line:
            yield tick, left, top
            left += tick.width
        top += TICK_LINE
