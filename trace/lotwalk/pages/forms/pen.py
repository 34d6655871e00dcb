"""Drawing on a page of a form in points from its upper left corner."""

from collections.abc import Iterable

from lotwalk.pages.typeface.fonts import Fonts
from lotwalk.pages.typeface.paper import Paper

GREY = 0.35


class Pen:
    """Draws words, lines and boxes on a canvas whose pages are so many points high."""

    def __init__(self, canvas: Paper, height: float, fonts: Fonts) -> None:
        self.canvas = canvas
        self.height = height
        self.fonts = fonts

    def words(
        self,
        text: str,
        x: float,
        down: float,
        size: float,
        *,
        bold: bool = False,
        right: bool = False,
        grey: bool = False,
    ) -> None:
        """Write printable text with its foot so far down; `right`: it ends at x."""
        canvas = self.canvas
        canvas.setFont(self.fonts.bold if bold else self.fonts.regular, size)
        canvas.setFillGray(GREY if grey else 0)
        (canvas.drawRightString if right else canvas.drawString)(x, self.height - down, text)

    def box(self, x: float, down: float, width: float, height: float, line: float = 0.6, fill: float = 1.0) -> None:
        """Draw a box with its upper left corner at x and so far down; `fill` is its grey, 1 for none."""
        canvas = self.canvas
        canvas.setLineWidth(line)
        canvas.setFillGray(fill)
        canvas.rect(x, self.height - down - height, width, height, stroke=1 if line else 0, fill=1 if fill < 1 else 0)

    def lines(self, ends: Iterable[tuple[float, float, float, float]], width: float = 0.6) -> None:
        """Draw lines, each from x and down to x and down."""
        self.canvas.setLineWidth(width)
        self.canvas.lines([(x, self.height - down, to, self.height - low) for x, down, to, low in ends])
