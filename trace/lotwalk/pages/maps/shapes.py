"""The outlines of a map's boxes, told apart without colour, and what each stands for."""

from collections.abc import Callable, Mapping

from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from lotwalk.kinds.model import ThingKind
from lotwalk.pages.maps.model import Shape
from lotwalk.recall.asking.asked import COMPLAINT, DELIVERY

_OF_CLASS: Mapping[str, Shape] = {"item": "item", "water-source": "water", "partner": "customer"}

_CUT = 7.0
_WAVE = 3.0
_POINT = 9.0

NAMES: Mapping[Shape, str] = {
    "bought": "bought seed or supplies",
    "water": "water",
    "item": "medium, tray, tool or other item",
    "lot": "lot made here",
    "delivery": "delivery",
    "customer": "customer or supplier",
    "complaint": "complaint",
    "named": "person or place",
    "break": "clean break: the cleaning or test at which the walk stops",
}
"""What each outline stands for, in the order of a legend."""

INSETS: Mapping[Shape, tuple[float, float, float, float]] = {
    "delivery": (5, 3, _POINT + 2, 3),
    "customer": (5, 3 + _CUT, 5, 3),
    "item": (9, 3, 9, 3),
    "water": (5, 3, 5, 3 + 2 * _WAVE),
    "complaint": (8, 3, 8, 3),
    "bought": (7, 3, 7, 3),
    "break": (9, 1, 9, 1),
    "named": (9, 3, 9, 3),
}
"""Room between outline and words: left, top, right, bottom, in points. Other shapes have PLAIN."""
PLAIN = (5.0, 3.0, 5.0, 3.0)


def shape_of(kind: ThingKind) -> Shape:
    """Return the outline for things of a kind."""
    if kind.name in (DELIVERY, COMPLAINT):
        return "delivery" if kind.name == DELIVERY else "complaint"
    if kind.cls == "lot":
        return "bought" if kind.bought else "lot"
    return _OF_CLASS.get(kind.cls, "named")


def outline(canvas: Canvas, shape: Shape, x: float, y: float, width: float, height: float) -> None:
    """Draw the outline of a box, filled with white, its lower left corner at x and y."""
    path = canvas.beginPath()
    _PATHS.get(shape, _lot)(path, x, y, width, height)
    canvas.setFillGray(1)
    canvas.drawPath(path, stroke=1, fill=1)
    canvas.setFillGray(0)


def bar(canvas: Canvas, x: float, y: float, height: float) -> None:
    """Draw the bar of a clean break, its lower end at x and y."""
    canvas.saveState()
    canvas.setLineCap(0)
    canvas.setDash()
    canvas.setLineWidth(1.6)
    for across in (0.0, 3.2):
        canvas.line(x + across, y, x + across, y + height)
    canvas.restoreState()


def _lot(path: PDFPathObject, x: float, y: float, width: float, height: float) -> None:
    path.rect(x, y, width, height)


def _corners(path: PDFPathObject, *points: tuple[float, float]) -> None:
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)
    path.close()


def _bought(path: PDFPathObject, x: float, y: float, width: float, height: float) -> None:
    """A sack: its upper corners are cut."""
    top, right = y + height, x + width
    _corners(path, (x, y), (right, y), (right, top - _CUT), (right - _CUT, top), (x + _CUT, top), (x, top - _CUT))


def _item(path: PDFPathObject, x: float, y: float, width: float, height: float) -> None:
    path.roundRect(x, y, width, height, min(height / 2, 11))


def _delivery(path: PDFPathObject, x: float, y: float, width: float, height: float) -> None:
    """A box that points to where it goes."""
    top, right = y + height, x + width
    _corners(path, (x, y), (right - _POINT, y), (right, y + height / 2), (right - _POINT, top), (x, top))


def _customer(path: PDFPathObject, x: float, y: float, width: float, height: float) -> None:
    """A house."""
    top, right = y + height, x + width
    _corners(path, (x, y), (right, y), (right, top - _CUT), (x + width / 2, top), (x, top - _CUT))


def _complaint(path: PDFPathObject, x: float, y: float, width: float, height: float) -> None:
    """All corners cut."""
    top, right, cut = y + height, x + width, min(_CUT, height / 3)
    _corners(
        path,
        (x + cut, y), (right - cut, y), (right, y + cut), (right, top - cut),
        (right - cut, top), (x + cut, top), (x, top - cut), (x, y + cut),
    )  # fmt: skip


def _water(path: PDFPathObject, x: float, y: float, width: float, height: float) -> None:
    """Waves below."""
    high = min(_WAVE, height / 7)
    top, right, low = y + height, x + width, y + high
    path.moveTo(x, low)
    path.lineTo(x, top)
    path.lineTo(right, top)
    path.lineTo(right, low)
    step = width / 4
    for number in range(4):
        start = right - number * step
        rise = high * 2 if number % 2 else -high * 2
        path.curveTo(start - step / 3, low + rise, start - 2 * step / 3, low + rise, start - step, low)
    path.close()


def _named(path: PDFPathObject, x: float, y: float, width: float, height: float) -> None:
    path.ellipse(x, y, width, height)


_PATHS: Mapping[Shape, Callable[[PDFPathObject, float, float, float, float], None]] = {
    "bought": _bought,
    "item": _item,
    "delivery": _delivery,
    "customer": _customer,
    "complaint": _complaint,
    "water": _water,
    "named": _named,
}
