"""What the outlines and lines of a map stand for, on every page of it."""

from reportlab.pdfgen.canvas import Canvas

from lotwalk.pages.maps.shapes import NAMES, bar, outline
from lotwalk.pages.typeface.fonts import load_fonts

_SIZE = 6.5
_ROW = 13.0
_SAMPLE = 20.0
_LINES = (
    ("went into it", (), "solid"),
    ("in contact with it", (3, 2), "dashed"),
    ("back to an earlier one", (0.8, 2.2), "dotted"),
)
_FURTHER = (
    "Time runs from left to right along every line. A thick box was asked about, or is the cause looked at. A box on"
    " another stands for several things: the list after the maps says which. Items used for one lot meet in that lot."
)


def legend_height() -> float:
    """Return the height of a legend in points."""
    return 3 * _ROW + 4


def draw_legend(canvas: Canvas, x: float, bottom: float, width: float) -> None:
    """Draw the legend with its lower left corner there."""
    fonts = load_fonts()
    right, left, y = x + width, x, bottom + 2 * _ROW
    canvas.setLineWidth(0.35)
    canvas.line(x, y + _ROW, right, y + _ROW)
    for shape, words in NAMES.items():
        room = _SAMPLE + 6 + fonts.width(words, _SIZE) + 12
        if left + room > right:
            left, y = x, y - _ROW
        canvas.setLineWidth(0.7)
        if shape == "break":
            canvas.line(left, y + 5, left + 8, y + 5)
            bar(canvas, left + 9, y, 10)
        else:
            outline(canvas, shape, left, y, _SAMPLE, 10)
        _write(canvas, words, left + _SAMPLE + 4, y + 3)
        left += room
    for words, dash, name in _LINES:
        told = f"{name}: {words}"
        room = _SAMPLE + 6 + fonts.width(told, _SIZE) + 12
        if left + room > right:
            left, y = x, y - _ROW
        canvas.setDash(list(dash))
        canvas.setLineWidth(0.9)
        canvas.line(left, y + 5, left + _SAMPLE, y + 5)
        canvas.setDash()
        _write(canvas, told, left + _SAMPLE + 4, y + 3)
        left += room
    _write(canvas, _FURTHER, x, bottom + 2)


def _write(canvas: Canvas, words: str, x: float, y: float) -> None:
    canvas.setFont(load_fonts().regular, _SIZE)
    canvas.drawString(x, y, words)
