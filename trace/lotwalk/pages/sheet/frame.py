"""What stands on every page around its table: whose log it is, over what time, cautions, a line to sign, the head."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from reportlab.pdfgen.canvas import Canvas

from lotwalk.pages.typeface.fonts import Fonts
from lotwalk.pages.typeface.wrap import wrap

DECIDES = (
    "The local regulator, the product label and licensed advice decide. These pages show what was recorded; they do "
    "not say that food is safe."
)
"""On every page of every report, whatever its definition says."""

MARGIN = 32.0
_RUNNING_EDGE = 22.0
_TITLE, _NAME, _TEXT, _SMALL = 14.0, 10.0, 8.5, 7.0
_CAUTION, _CAUTION_LEADING = 7.5, 9.2
_SUBJECT = 0.17
_MOST_LINES = 3
_SIGNING = 22.0
_BLANKS = (("Date", 0.2), ("Name", 0.32), ("Signature", 0.48))


@dataclass(frozen=True, slots=True)
class Facts:
    """What the frame says; `aside` stands at the right of the title, under the page's number."""

    title: str
    farm: str
    location: str
    about: tuple[str, ...]
    aside: tuple[str, ...]
    cautions: tuple[tuple[str, str], ...]
    signatures: tuple[str, ...]
    head: str


@dataclass(frozen=True, slots=True)
class _Words:
    """One line: its words, size and place. `right`: it ends at x instead of starting there."""

    text: str
    x: float
    down: float
    size: float
    bold: bool = False
    right: bool = False


class Frame:
    """The frame of a page of so many points. Its table stands `top` points under the upper edge, `height` high.

    `name` tells it from other frames in the same file. A `running` one stands on the pages after the first of a report
    that is bound with others: whose it is and of what time in one line, without cautions and lines to sign.
    """

    def __init__(self, name: str, facts: Facts, size: tuple[float, float], fonts: Fonts, running: bool = False) -> None:
        self._name = name
        self._size = size
        self._fonts = fonts
        self._facts = facts
        self.width = size[0] - 2 * MARGIN
        self.cut = False
        self._words: list[_Words] = []
        self._boxes: list[tuple[float, float]] = []
        self._running = running
        self._edge = _RUNNING_EDGE if running else MARGIN
        if running:
            self._facts = replace(facts, cautions=(), signatures=())
            self.top = self._running_line() + 6
        else:
            self.top = self._cautions(self._heading() + 4) + 8
        self._foot = len(self._facts.signatures) * _SIGNING + (24 if running else 30)
        self.height = size[1] - self._edge - self._foot - self.top

    def _heading(self) -> float:
        """Measure title, farm and period; return how far down they reach."""
        facts, down = self._facts, MARGIN
        for text, size, bold in (
            (facts.title, _TITLE, True),
            (f"{facts.farm}, {facts.location}", _NAME, True),
            *((line, _TEXT, False) for line in facts.about),
        ):
            for line in self._few(text, self.width * 0.72, size, bold):
                down += size * 1.25
                self._words.append(_Words(line, MARGIN, down, size, bold))
        aside = MARGIN + _TITLE * 1.25
        for text in facts.aside:
            for line in self._few(text, self.width * 0.26, _TEXT, False):
                aside += _TEXT * 1.25
                self._words.append(_Words(line, self._size[0] - MARGIN, aside, _TEXT, right=True))
        return max(down, aside)

    def _running_line(self) -> float:
        """Measure the one line of a running frame; return how far down it reaches."""
        facts, down = self._facts, self._edge + _TEXT
        told = f"{facts.title}.  {facts.farm}, {facts.location}.  {' '.join(facts.about[-1:]).partition('. ')[0]}."
        lines = wrap(self._fonts.printable(told), self.width * 0.86, _TEXT)
        self._words.append(_Words(lines[0], MARGIN, down, _TEXT))
        return down

    def _few(self, text: str, width: float, size: float, bold: bool) -> Sequence[str]:
        """Return the lines of a text that someone typed, at most three; `cut` says whether there were more."""
        lines = wrap(self._fonts.printable(text), width, size, bold)
        if len(lines) <= _MOST_LINES:
            return lines
        self.cut = True
        return (*lines[: _MOST_LINES - 1], "[...]")

    def _cautions(self, down: float) -> float:
        """Measure the box of cautions; return how far down it reaches."""
        if not self._facts.cautions:
            return down
        top, inset = down + 4, 5.0
        down = top + 2
        left = MARGIN + inset
        subjects = self.width * _SUBJECT
        for subject, sentence in self._facts.cautions:
            named = wrap(self._fonts.printable(subject), subjects - inset, _CAUTION, True)
            told = wrap(self._fonts.printable(sentence), self.width - subjects - 2 * inset, _CAUTION)
            for number in range(max(len(named), len(told))):
                down += _CAUTION_LEADING
                if number < len(named):
                    self._words.append(_Words(named[number], left, down, _CAUTION, bold=True))
                if number < len(told):
                    self._words.append(_Words(told[number], left + subjects, down, _CAUTION))
        down += 5
        self._boxes.append((top, down))
        return down

    def prepare(self, canvas: Canvas) -> None:
        """Store what is the same on every page in the file once."""
        canvas.beginForm(self._form("head"))
        self._draw_head(canvas)
        canvas.endForm()
        canvas.beginForm(self._form("foot"))
        self._draw_foot(canvas)
        canvas.endForm()

    def draw_head(self, canvas: Canvas, number: int, total: int) -> None:
        """Draw what stands above the table of page `number` of `total`."""
        canvas.doForm(self._form("head"))
        right = self._size[0] - MARGIN
        size, down = (_TEXT, self._edge + _TEXT) if self._running else (_NAME, MARGIN + _TITLE)
        self._write(canvas, _Words(f"Page {number} of {total}", right, down, size, bold=True, right=True))

    def draw_foot(self, canvas: Canvas) -> None:
        """Draw what stands below the table."""
        canvas.doForm(self._form("foot"))

    def _form(self, part: str) -> str:
        return f"{self._name}.{part}"

    def _draw_head(self, canvas: Canvas) -> None:
        height = self._size[1]
        canvas.setLineWidth(0.8)
        for top, bottom in self._boxes:
            canvas.rect(MARGIN, height - bottom, self.width, bottom - top)
        for words in self._words:
            self._write(canvas, words)

    def _draw_foot(self, canvas: Canvas) -> None:
        height = self._size[1]
        down = height - self._edge - self._foot
        for who in self._facts.signatures:
            down += _SIGNING
            self._sign(canvas, who, down)
        self._write(canvas, _Words(DECIDES, MARGIN, height - self._edge - 9, _SMALL, bold=True))
        self._write(canvas, _Words(self._facts.head, MARGIN, height - self._edge, _SMALL))

    def _sign(self, canvas: Canvas, who: str, down: float) -> None:
        """Draw a line to sign: date, name, signature."""
        label = self._fonts.printable(who)
        self._write(canvas, _Words(label, MARGIN, down, _TEXT, bold=True))
        x = MARGIN + self._fonts.width(label, _TEXT, bold=True) + 14
        room = self._size[0] - MARGIN - x
        canvas.setLineWidth(0.6)
        y = self._size[1] - down - 2
        for blank, share in _BLANKS:
            self._write(canvas, _Words(blank, x, down, _TEXT))
            start = x + self._fonts.width(blank, _TEXT) + 5
            x += room * share
            canvas.line(start, y, x - 10 if blank != _BLANKS[-1][0] else x, y)

    def _write(self, canvas: Canvas, words: _Words) -> None:
        canvas.setFont(self._fonts.bold if words.bold else self._fonts.regular, words.size)
        y = self._size[1] - words.down
        if words.right:
            canvas.drawRightString(words.x, y, words.text)
        else:
            canvas.drawString(words.x, y, words.text)
