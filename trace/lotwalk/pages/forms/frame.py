"""What stands above and below the boxes on each page of a form."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from lotwalk.kinds.model import Kind
from lotwalk.pages.forms.about import DECIDES, About, Said
from lotwalk.pages.forms.pen import Pen
from lotwalk.pages.typeface.fonts import Fonts
from lotwalk.pages.typeface.wrap import wrap

MARGIN = 32.0

_TITLE, _NAME, _TEXT, _SMALL = 18.0, 10.5, 8.5, 7.0
_LEADING = 10.6
_INSET = 5.0
_SUBJECT = 0.17
_SIGNING = 25.0
_FOOT = 30.0
_MOST_NAME = 2
_CUT = 2.2
"""The width of the sign that words were cut off, to the size of letters."""

_BLANKS = (("Date", 0.2), ("Name", 0.33), ("Signature", 0.47))
_BLANK_LABEL = "Product ____________________   strength from _________ to _________   contact time _________"
_FILLED_IN = "Filled in by"

HOW = (
    "* must be filled in. Time: 2026-03-02 09:10, or the date with am or pm. Codes as in the record book; several with "
    "commas, or as M-001..M-024. Write amounts with their unit."
)
_ONE_UNIT = " Where one unit is printed, a number alone is taken in it."


@dataclass(frozen=True, slots=True)
class _Words:
    """Words with their place from the left edge and from the top."""

    text: str
    x: float
    down: float
    size: float
    bold: bool = False


class FormFrame:
    """The frame of a kind's form on pages of so many points. The boxes stand from `top` down, `height` high."""

    def __init__(
        self, kind: Kind, about: About, said: Said, size: tuple[float, float], fonts: Fonts, *, signed: bool
    ) -> None:
        self._kind = kind
        self._fonts = fonts
        self._size = size
        self._about = about
        self._signatures = (_FILLED_IN, *said.signatures) if signed else ()
        self.width = size[0] - 2 * MARGIN
        self._words: list[_Words] = []
        self._boxes: list[tuple[float, float, float]] = []
        down = self._heading()
        down = self._boxed("Limits", self._limits(said, blanks=signed), down, 1.2)
        down = self._boxed("Cautions", said.cautions, down, 0.6)
        self.top = down + 8
        self._foot = len(self._signatures) * _SIGNING + _FOOT
        self.height = size[1] - MARGIN - self._foot - self.top

    def _heading(self) -> float:
        about, kind, down = self._about, self._kind, MARGIN
        down = self._put(kind.title, down, _TITLE, self.width * 0.75, bold=True, most=1)
        farm = f"{about.farm}, {about.location}" if about.farm else "Farm ________________________________________"
        down = self._put(farm, down + 3, _NAME, self.width, bold=True, most=_MOST_NAME)
        down = self._put(kind.description, down + 3, _TEXT, self.width, most=3)
        has_units = any(len(field.dimensions) == 1 for field in kind.fields.values())
        return self._put(HOW + (_ONE_UNIT if has_units else ""), down, _TEXT, self.width, most=3)

    def _put(self, text: str, down: float, size: float, room: float, *, bold: bool = False, most: int) -> float:
        lines = wrap(self._fonts.printable(text), room, size, bold)
        if len(lines) > most:
            lines = wrap(self._fonts.printable(text), room - size * _CUT, size, bold)[:most]
            lines = (*lines[:-1], f"{lines[-1]} [...]")
        for line in lines:
            down += size * 1.25
            self._words.append(_Words(line, MARGIN, down, size, bold))
        return down

    def _limits(self, said: Said, *, blanks: bool) -> Iterable[tuple[str, str]]:
        if said.labels is not None:
            for number, line in enumerate(said.labels):
                yield "" if number else "By the labels", line
            if blanks and not said.labels:
                yield "By the label", _BLANK_LABEL
            elif not said.labels:
                yield "By the label", "Keep to the strength and the contact time that the product's label asks."
        for number, line in enumerate(said.limits):
            yield "" if number else f"Rule set {self._about.rules_name}", line

    def _boxed(self, name: str, lines: Iterable[tuple[str, str]], down: float, thick: float) -> float:
        """Measure a box of subjects and sentences; return how far down it reaches."""
        lines = tuple(lines)
        if not lines:
            return down
        top = down + 6
        down = top + 2
        left = MARGIN + _INSET
        for number, (subject, sentence) in enumerate(lines):
            subject = subject or ("" if number else name)
            named = wrap(self._fonts.printable(subject), self.width * _SUBJECT - _INSET, _TEXT, True)
            told = wrap(self._fonts.printable(sentence), self.width * (1 - _SUBJECT) - 2 * _INSET, _TEXT)
            for row in range(max(len(named), len(told))):
                down += _LEADING
                if row < len(named):
                    self._words.append(_Words(named[row], left, down, _TEXT, bold=True))
                if row < len(told):
                    self._words.append(_Words(told[row], left + self.width * _SUBJECT, down, _TEXT))
        self._boxes.append((top, down + 5, thick))
        return down + 5

    def draw(self, pen: Pen, number: int, total: int) -> None:
        """Draw the frame of page `number` of `total`."""
        right, height = self._size[0] - MARGIN, self._size[1]
        for top, bottom, thick in self._boxes:
            pen.box(MARGIN, top, self.width, bottom - top, thick)
        for words in self._words:
            pen.words(words.text, words.x, words.down, words.size, bold=words.bold)
        pen.words(f"Page {number} of {total}", right, MARGIN + _TITLE * 1.25, _NAME, bold=True, right=True)
        down = height - MARGIN - self._foot + 4
        for who in self._signatures:
            down += _SIGNING
            self._sign(pen, self._fonts.printable(who), down)
        pen.words(_fit(self._fonts, DECIDES, self.width), MARGIN, height - MARGIN - 9, _SMALL, bold=True)
        rules = self._about.rules
        made = f"Form: {self._kind.name}, {self._kind.digest[:8]}. "
        made += f"Rule set: {self._about.rules_name} ({rules.title}), {rules.digest[:8]}."
        pen.words(_fit(self._fonts, made, self.width), MARGIN, height - MARGIN, _SMALL)

    def _sign(self, pen: Pen, who: str, down: float) -> None:
        """Draw a line to sign: date, name, signature."""
        pen.words(who, MARGIN, down, _TEXT, bold=True)
        x = MARGIN + max(62.0, self._fonts.width(who, _TEXT, bold=True) + 10)
        room = self._size[0] - MARGIN - x
        for blank, share in _BLANKS:
            pen.words(blank, x, down, _TEXT)
            start = x + self._fonts.width(blank, _TEXT) + 5
            x += room * share
            pen.lines([(start, down + 2, x - (0 if blank == _BLANKS[-1][0] else 10), down + 2)])


def _fit(fonts: Fonts, text: str, width: float) -> str:
    lines: Sequence[str] = wrap(fonts.printable(text), width, _SMALL, True)
    return lines[0] if len(lines) == 1 else f"{lines[0]} [...]"
