"""A chart of values over time with the limit drawn in. What is out of limits differs by its shape, not by colour.

A reading inside the limit is a small dot, one outside a large cross with the words that were written; a laboratory's
"none found" is a hollow triangle in a band of its own.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from itertools import pairwise
from typing import Literal
from zoneinfo import ZoneInfo

from reportlab.pdfgen.canvas import Canvas

from lotwalk.pages.typeface.fonts import load_fonts
from lotwalk.values.times import DAY
from lotwalk.values.units import Units

Mark = Literal["in", "out", "none"]

_TITLE, _TEXT = 8.5, 7.0
_HIGH, _LEFT, _BOTTOM, _TOP, _RIGHT = 165.0, 44.0, 34.0, 26.0, 14.0
_BAND = 22.0
_MOST_TICKS = 6
_MOST_DATES = 8
_DOT, _CROSS, _TRIANGLE = 1.4, 3.4, 3.6
_MOST_WORDS = 40


@dataclass(frozen=True, slots=True)
class Point:
    """A value at a time (epoch seconds), in canonical units; None: none found, or found and not counted."""

    at: int
    value: float | None
    mark: Mark
    written: str


@dataclass(frozen=True, slots=True)
class Scale:
    """How values are shown: shown = factor * canonical + offset, in a unit; `tens`: by powers of ten."""

    unit: str
    factor: float
    offset: float
    tens: bool

    @classmethod
    def of(cls, units: Units, unit: str, tens: bool) -> "Scale":
        """Return the scale of the farm's usual measure for a canonical unit."""
        if tens:
            return cls("in 100 mL", 1.0, 0.0, True)
        shown = [units.show(Decimal(number), unit).partition(" ") for number in (0, 100)]
        low, high = (float(number) for number, _, _ in shown)
        return cls(shown[1][2], (high - low) / 100, low, False)

    def shown(self, value: float) -> float:
        """Return a canonical value as it is shown."""
        return self.factor * value + self.offset


@dataclass(frozen=True, slots=True)
class ChartBox:
    """One chart, `width` points wide. `span` is the period in epoch seconds, None where it is open."""

    title: str
    points: Sequence[Point]
    scale: Scale
    limit: float | None
    limit_words: str
    span: tuple[int | None, int | None]
    zone: ZoneInfo
    width: float

    @property
    def height(self) -> float:
        """The height in points."""
        return _HIGH

    def draw(self, canvas: Canvas, left: float, top: float) -> None:
        """Draw it, the upper left corner given in points."""
        _Drawing(self, canvas, left, top).draw()


class _Drawing:
    """One chart being drawn."""

    def __init__(self, box: ChartBox, canvas: Canvas, left: float, top: float) -> None:
        self.box = box
        self.canvas = canvas
        self.left, self.right = left + _LEFT, left + box.width - _RIGHT
        self.bottom, self.top = top - _HIGH + _BOTTOM, top - _TOP
        self.floor = self.bottom + (_BAND if box.scale.tens else 0)
        times = [point.at for point in box.points]
        start, end = box.span
        self.start = start if start is not None else min(times)
        self.end = max(end if end is not None else max(times), self.start + DAY)
        self.low, self.high = self._reach()

    def _reach(self) -> tuple[float, float]:
        """Return the lowest and the highest value of the axis, as shown (of tens: their logarithms)."""
        scale = self.box.scale
        values = [scale.shown(point.value) for point in self.box.points if point.value is not None]
        if scale.tens:
            return 0.0, max(2.0, math.ceil(math.log10(max([1.0, *values]))) + 0.3)
        limit = [scale.shown(self.box.limit)] if self.box.limit is not None else []
        low, high = min([*values, *limit]), max([*values, *limit])
        room = (high - low or 1) * 0.15
        return low - room, high + room

    def draw(self) -> None:
        """Draw axes, limit, points and their words."""
        canvas, fonts = self.canvas, load_fonts()
        canvas.setFont(fonts.bold, _TITLE)
        room = self.right - self.left + _LEFT
        canvas.drawString(self.left - _LEFT + 3, self.top + _TITLE, _cut(self.box.title, room, _TITLE, bold=True))
        canvas.setFont(fonts.regular, _TEXT)
        canvas.setLineWidth(0.5)
        canvas.rect(self.left, self.bottom, self.right - self.left, self.top - self.bottom)
        self._values()
        self._dates()
        self._limit()
        self._points()
        self._legend()

    def _x(self, at: float) -> float:
        share = (at - self.start) / (self.end - self.start)
        return self.left + min(max(share, 0), 1) * (self.right - self.left)

    def _y(self, shown: float) -> float:
        height = math.log10(shown) if self.box.scale.tens else shown
        return self.floor + (height - self.low) / (self.high - self.low) * (self.top - self.floor)

    def _values(self) -> None:
        scale = self.box.scale
        ticks: Sequence[float]
        if scale.tens:
            ticks = [10.0**power for power in range(int(self.high) + 1)]
            self.canvas.drawRightString(self.left - 4, self.bottom + _BAND / 2 - 2, "none found")
        else:
            ticks = _round_ticks(self.low, self.high)
        for tick in ticks:
            y = self._y(tick)
            self.canvas.line(self.left - 2, y, self.left, y)
            self.canvas.drawRightString(self.left - 4, y - 2.4, f"{tick:,.10g}")

    def _dates(self) -> None:
        days = max(1, math.ceil((self.end - self.start) / DAY / _MOST_DATES))
        for number in range(_MOST_DATES + 1):
            at = self.start + number * days * DAY
            if at > self.end:
                break
            x = self._x(at)
            self.canvas.line(x, self.bottom, x, self.bottom - 2)
            words = f"{datetime.fromtimestamp(at, self.box.zone):%Y-%m-%d}"
            draw: Callable[[float, float, str], None] = self.canvas.drawCentredString
            if self.right - x < 22:
                draw = self.canvas.drawRightString
            draw(x, self.bottom - 10, words)

    def _limit(self) -> None:
        box = self.box
        if box.scale.tens and box.limit_words:
            y = self.floor
        elif box.limit is not None:
            y = self._y(box.scale.shown(box.limit))
        else:
            return
        self.canvas.setLineWidth(1.1)
        self.canvas.setDash(5, 2)
        self.canvas.line(self.left, y, self.right, y)
        self.canvas.setDash()
        self.canvas.setFont(load_fonts().bold, _TEXT)
        self.canvas.drawRightString(self.right - 3, y + 2.5, box.limit_words)
        self.canvas.setFont(load_fonts().regular, _TEXT)

    def _points(self) -> None:
        canvas = self.canvas
        placed: list[tuple[float, float, Point]] = [(*self._place(point), point) for point in self.box.points]
        if not self.box.scale.tens:
            canvas.setLineWidth(0.35)
            canvas.lines([(*one[:2], *two[:2]) for one, two in pairwise(placed)])
        free = -math.inf
        for x, y, point in placed:
            canvas.setLineWidth(0.9)
            if point.mark == "in":
                canvas.circle(x, y, _DOT, stroke=0, fill=1)
                continue
            if point.mark == "out":
                canvas.lines([(x - _CROSS, y - _CROSS, x + _CROSS, y + _CROSS)])
                canvas.lines([(x - _CROSS, y + _CROSS, x + _CROSS, y - _CROSS)])
            else:
                _triangle(canvas, x, y)
            words = _cut(load_fonts().printable(point.written)[:_MOST_WORDS], 90, _TEXT)
            wide = load_fonts().width(words, _TEXT)
            start = min(max(x - wide / 2, self.left + 2), self.right - wide - 2)
            # Words that would stand on one another are left out: the table below has them all.
            if start > free:
                canvas.drawString(start, y + (_CROSS + 2 if point.mark == "out" else -_TRIANGLE - _TEXT), words)
                free = start + wide + 4

    def _place(self, point: Point) -> tuple[float, float]:
        if point.value is not None:
            return self._x(point.at), self._y(self.box.scale.shown(point.value) or 1)
        return self._x(point.at), self.bottom + _BAND - 7 if point.mark == "none" else self.top - 12

    def _legend(self) -> None:
        words = "Small dot: a reading within the limit. Large cross: a reading out of limits, with what was written."
        if self.box.scale.tens:
            words = (
                "Hollow triangle: none found; its words are the laboratory's. Cross: found; at the upper edge where it "
                "was not counted. The scale goes by tens."
            )
        elif self.box.limit is None:
            words = "Dots: readings. The rule set has no limit for them."
        self.canvas.drawString(self.left, self.bottom - 22, words)


def _triangle(canvas: Canvas, x: float, y: float) -> None:
    path = canvas.beginPath()
    path.moveTo(x - _TRIANGLE, y + _TRIANGLE)
    path.lineTo(x + _TRIANGLE, y + _TRIANGLE)
    path.lineTo(x, y - _TRIANGLE)
    path.close()
    canvas.drawPath(path, stroke=1, fill=0)


def _round_ticks(low: float, high: float) -> list[float]:
    """Return round values between two, a handful of them."""
    rough = (high - low) / _MOST_TICKS
    size = 10.0 ** math.floor(math.log10(rough))
    step = next(size * times for times in (1, 2, 5, 10) if size * times >= rough)
    first = math.ceil(low / step)
    return [round(number * step, 10) for number in range(first, math.floor(high / step) + 1)]


def _cut(text: str, width: float, size: float, bold: bool = False) -> str:
    """Return printable words, as many as there is room for."""
    fonts = load_fonts()
    shown = fonts.printable(text)
    while shown and fonts.width(shown, size, bold=bold) > width:
        shown = shown[: max(0, min(len(shown) - 4, len(shown) * 9 // 10))].rstrip() + "..." if len(shown) > 4 else ""
    return shown
