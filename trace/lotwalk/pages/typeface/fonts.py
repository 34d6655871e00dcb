"""The embedded typefaces, and how text that a person typed is made printable: nothing is lost, nothing breaks a page.

The typeface is FiraGO (SIL Open Font License 1.1) from the data package pymupdf-fonts, which reaches Latin, Greek,
Cyrillic, Georgian, Arabic, Hebrew, Devanagari and Thai; where it lacks a letter, Noto Sans from the same package, and
then the TrueType files that the environment variable LOTWALK_FONTS names. Where the package is missing, the Vera that
comes with ReportLab. A character that none of them has, or that is invisible, is printed as its number: `[U+1F600]`.
"""

import os
import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFOpenFile

from lotwalk.errors import NotUnderstood
from lotwalk.pages.typeface.font_fallback import Family, Pair, Run
from lotwalk.pages.typeface.font_files import Face
from lotwalk.pages.typeface.graphemes import clusters, is_mark, joins

MORE_FONTS = "LOTWALK_FONTS"
"""The environment variable that names further TrueType files, parted as paths are on this system."""

_VERA = ("Vera.ttf", "VeraBd.ttf")
_FIRAGO = ("figo", "figbo")
_NOTO = ("notos", "notosbo")
_OURS = "lotwalk."
"""Before a face's name, so that no other user of ReportLab in this process registers the same name."""

_FROM_RIGHT = ("R", "AL", "AN")
_MOST_MARKS = 4
"""So many marks hang on one letter at most; more would be drawn over the lines above and below."""


class Lead(Face):
    """The face that pages name. What it lacks is filled in by its family."""

    family: Family
    bold: bool
    simple: "re.Pattern[str]"

    def plain(self, text: str) -> bool:
        """Return whether the text's letters can be drawn one after another, each by itself."""
        return text.isascii() or self.simple.fullmatch(text) is not None

    def runs(self, text: str) -> tuple[Run, ...]:
        """Return a line laid out."""
        return self.family.runs(text, bold=self.bold)

    def stringWidth(self, text: str, size: float, encoding: str = "utf8") -> float:
        """Return the width of a line of printable text in points."""
        if self.plain(text):
            return float(super().stringWidth(text, size, encoding))
        return sum(run.width for run in self.runs(text)) * size / 1000


@dataclass(frozen=True, slots=True)
class Fonts:
    """The names under which the regular and the bold face are registered, and what both can print."""

    regular: str
    bold: str
    family: Family
    lead: Lead

    def printable(self, text: str) -> str:
        """Return the text with every character that cannot be printed replaced by its number.

        Line ends stay, as `\\n`; other white space becomes a space. Letters with accents are put together first.
        """
        if text.isascii() and text.isprintable():
            return text
        composed = unicodedata.normalize("NFC", text.replace("\r\n", "\n"))
        if self.lead.simple.fullmatch(composed):
            return composed
        return "".join(map(self._shown, clusters(composed)))

    def _shown(self, cluster: str) -> str:
        if cluster == "\n":
            return cluster
        if cluster == "\t":
            return " "
        shown = kept = ""
        marks = 0
        for sign in cluster:
            hangs = is_mark(sign)
            marks = marks + 1 if hangs else 0
            if hangs:
                visible = bool(kept) and marks <= _MOST_MARKS
            else:
                visible = unicodedata.category(sign)[0] != "C" or joins(kept[-1:], sign)
            if visible and self.family.pick(kept + sign) is not None:
                kept += sign
                shown += sign
            else:
                kept = ""
                shown += f"[U+{ord(sign):04X}]"
        return shown

    def width(self, text: str, size: float, *, bold: bool = False) -> float:
        """Return the width of a line of printable text in points."""
        return float(pdfmetrics.stringWidth(text, self.bold if bold else self.regular, size))


@cache
def load_fonts() -> Fonts:
    """Return the typefaces, registered with ReportLab.

    Raises NotUnderstood where a file that LOTWALK_FONTS names cannot be used.
    """
    try:
        from pymupdf_fonts import myfont  # type: ignore[import-untyped]
    except ImportError:
        names, read, others = _VERA, _vera, []
    else:
        names, read = _FIRAGO, myfont
        others = [partial(_pair, _NOTO, myfont)]
    regular, bold = (Lead(f"{_OURS}{name}", read(name)) for name in names)
    own = filter(None, os.environ.get(MORE_FONTS, "").split(os.pathsep))
    others += [partial(_own, path, number) for number, path in enumerate(own, 1)]
    family = Family((regular, bold), others)
    simple = re.compile(f"[{_ranges(sorted(filter(_stands_alone, regular.known & bold.known)))}\n]*")
    for face in (regular, bold):
        face.family, face.bold, face.simple = family, face is bold, simple
        _registered(face)
    return Fonts(regular.fontName, bold.fontName, family, regular)


def _vera(name: str) -> bytes:
    with TTFOpenFile(name)[1] as file:
        return bytes(file.read())


def _pair(names: tuple[str, str], read: Callable[[str], bytes]) -> Pair:
    regular, bold = (_registered(Face(f"{_OURS}{name}", read(name))) for name in names)
    return regular, bold


def _own(path: str, number: int) -> Pair:
    try:
        face = Face(f"{_OURS}{path}", Path(path).read_bytes())
    except (OSError, TTFError) as error:
        raise NotUnderstood(
            f"{MORE_FONTS} names {path}, which cannot be used: {error}", "TrueType files, ending in .ttf or .ttc"
        ) from None
    # Two files may hold typefaces of one name, which a PDF tells apart by it.
    face.face.name += b"-%d" % number
    return (_registered(face),) * 2


def _registered(face: Face) -> Face:
    # ReportLab keeps the first of two of one name, whoever brought it.
    face.unregister()
    pdfmetrics.registerFont(face)
    return face


def _stands_alone(code: int) -> bool:
    """Return whether a character is printed rightly one after another, from left to right.

    Controls, marks that combine with a letter, letters written from the right and those of Thai and Lao are not.
    """
    sign = chr(code)
    direction = unicodedata.bidirectional(sign)
    return unicodedata.category(sign)[0] not in "CM" and direction not in _FROM_RIGHT and not 0xE00 <= code < 0xF00


def _ranges(codes: list[int]) -> str:
    return "".join(map(re.escape, map(chr, codes)))
