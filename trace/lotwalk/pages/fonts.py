"""The embedded typefaces, and how text that a person typed is made printable: nothing is lost, nothing breaks a page.

The typeface is FiraGO (SIL Open Font License 1.1), which reaches Latin, Greek, Cyrillic and Georgian, from the data
package pymupdf-fonts; where that is missing, the Vera that comes with ReportLab. A character that the typeface lacks,
or that cannot be printed rightly without joining or reordering letters, is printed as its number: `[U+1F600]`.
"""

import io
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

_VERA = ("Vera.ttf", "VeraBd.ttf")
_FIRAGO = ("figo", "figbo")
_OURS = "lotwalk."
"""Before a face's name, so that no other user of ReportLab in this process registers the same name."""

_FROM_RIGHT = ("R", "AL")


@dataclass(frozen=True, slots=True)
class Fonts:
    """The names under which the regular and the bold face are registered, and what both can print.

    `table` maps a character's number to what is printed for it, for `str.translate`.
    """

    regular: str
    bold: str
    table: Mapping[int, int | str]

    def printable(self, text: str) -> str:
        """Return the text with every character that cannot be printed replaced by its number.

        Line ends stay, as `\\n`; other white space becomes a space. Letters with accents are put together first.
        """
        if text.isascii() and text.isprintable():
            return text
        composed = unicodedata.normalize("NFC", text.replace("\r\n", "\n"))
        return composed.translate(self.table)

    def width(self, text: str, size: float, *, bold: bool = False) -> float:
        """Return the width of printable text in points."""
        return float(pdfmetrics.stringWidth(text, self.bold if bold else self.regular, size))


@cache
def load_fonts() -> Fonts:
    """Return the typefaces, registered with ReportLab."""
    regular, bold = _faces()
    pdfmetrics.registerFont(regular)
    pdfmetrics.registerFont(bold)
    known = regular.face.charToGlyph.keys() & bold.face.charToGlyph.keys()
    return Fonts(regular.fontName, bold.fontName, _Table(known))


def _faces() -> tuple[TTFont, TTFont]:
    try:
        from pymupdf_fonts import myfont  # type: ignore[import-untyped]
    except ImportError:
        regular, bold = (TTFont(f"{_OURS}{name}", name) for name in _VERA)
    else:
        regular, bold = (TTFont(f"{_OURS}{name}", io.BytesIO(myfont(name))) for name in _FIRAGO)
    return regular, bold


class _Table(dict[int, int | str]):
    """What is printed for each character, worked out when it is first met."""

    def __init__(self, known: "set[int]") -> None:
        super().__init__({ord("\n"): "\n", ord("\t"): " "})
        self._known = known

    def __missing__(self, code: int) -> int | str:
        shown: int | str = code if _stands_alone(chr(code)) and code in self._known else f"[U+{code:04X}]"
        self[code] = shown
        return shown


def _stands_alone(sign: str) -> bool:
    """Return whether a character is printed rightly one after another, from left to right.

    Controls, marks that combine with a letter and letters written from the right are not.
    """
    return unicodedata.category(sign)[0] not in "CM" and unicodedata.bidirectional(sign) not in _FROM_RIGHT
