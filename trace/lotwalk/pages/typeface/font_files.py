"""A typeface as ReportLab embeds it, with shapes of letters that stand for no one character: joined, stacked, raised.

HarfBuzz chooses and places the shapes. ReportLab names shapes by characters, so those that have none are given
characters of Unicode's private planes, inside this program only: the file says beside each shape what it reads as.
"""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby, pairwise
from typing import Any

import uharfbuzz
from reportlab.pdfbase.ttfonts import TTFont

_PRIVATE = 0xF0000
_MOST = 65_534
"""Half of the private characters: the other half is left for the shapes themselves, of which a face has no more."""

_SPACE = 0x20
_APART = 120.0
_BLOCK = 100
"""A map of characters has blocks of at most so many lines (PDF's rules for a CMap)."""

_NO_LIGATURES = {"Latn", "Cyrl", "Grek"}
"""Scripts in which a ligature is decoration; their letters stay apart, as in text that needs no shaping."""


@dataclass(frozen=True, slots=True)
class Glyph:
    """One shape: its character in the face, how far it moves the pen on, and its place beside the pen, in 1/1000 em."""

    sign: str
    advance: float
    right: float
    up: float


class Face(TTFont):  # type: ignore[misc]
    """One typeface in one weight."""

    def __init__(self, name: str, data: bytes) -> None:
        super().__init__(name, io.BytesIO(data))
        self.known = frozenset(self.face.charToGlyph)
        self._font = uharfbuzz.Font(self.hbFace)
        self._private: dict[tuple[int, str], str] = {}
        self._reads: dict[int, str] = {}

    def shape(self, text: str, leftward: bool) -> tuple[Glyph, ...]:
        """Return the shapes of a run of one script and one direction, from left to right."""
        buffer = uharfbuzz.Buffer()
        buffer.cluster_level = uharfbuzz.BufferClusterLevel.MONOTONE_CHARACTERS
        buffer.add_str(text)
        buffer.guess_segment_properties()
        buffer.direction = "rtl" if leftward else "ltr"
        apart = buffer.script in _NO_LIGATURES
        uharfbuzz.shape(self._font, buffer, {"kern": False, "liga": not apart, "clig": not apart})
        shapes = list(zip(buffer.glyph_infos, buffer.glyph_positions, strict=True))
        starts = [*sorted({info.cluster for info, _ in shapes}), len(text)]
        ends = dict(pairwise(starts))
        glyphs: list[Glyph] = []
        for start, run in groupby(shapes, key=lambda shape: int(shape[0].cluster)):
            parts = list(run)
            reads = _shared(text[start : ends[start]], len(parts), leftward)
            glyphs += [self._glyph(*part, read) for part, read in zip(parts, reads, strict=False)]
            glyphs += self._unseen(reads[len(parts) :])
        return tuple(glyphs)

    def _glyph(self, info: Any, place: Any, reads: str) -> Glyph:
        scale = self.pdfScale
        sign = self._sign(info.codepoint, reads)
        return Glyph(sign, scale(place.x_advance), scale(place.x_offset), scale(place.y_offset))

    def _unseen(self, reads: Sequence[str]) -> list[Glyph]:
        """Return empty shapes that read as these letters, at the end of the shape before them.

        They stand apart a little, since letters in one place are read as one, printed twice to make it bold.
        """
        shape, count = self.face.charToGlyph[_SPACE], len(reads)
        return [Glyph(self._sign(shape, read), 0, _APART * (place - count), 0) for place, read in enumerate(reads)]

    def _sign(self, shape: int, reads: str) -> str:
        face = self.face
        if len(reads) == 1 and face.charToGlyph.get(ord(reads)) == shape:
            return reads
        if len(self._private) >= _MOST:
            # Drawn rightly still, and read by nobody: a shape that reads as nothing is one for all.
            reads = ""
        sign = self._private.get((shape, reads))
        if sign is None:
            code = _PRIVATE + len(self._private)
            sign = self._private[shape, reads] = chr(code)
            face.charToGlyph[code] = shape
            face.charWidths[code] = self.pdfScale(face.hmetrics[shape][0])
            self._reads[code] = reads
        return sign

    def width_of(self, sign: str) -> float:
        """Return how far the file's own table of widths moves the pen for a character, in 1/1000 em."""
        return float(self.face.getCharWidth(ord(sign)))

    def addObjects(self, doc: Any) -> None:
        """Write the face into the file, and what each of its shapes reads as."""
        subsets = [list(subset) for subset in self.state[doc].subsets]
        before = set(doc.idToObject)
        super().addObjects(doc)
        maps = [name for name in doc.idToObject if name not in before and name.startswith("toUnicodeCMap:")]
        for name, subset in zip(maps, subsets, strict=True):
            doc.idToObject[name].content = self._read_map(name.partition(":")[2], subset)

    def _read_map(self, name: str, subset: Sequence[int]) -> str:
        reads = [self._reads.get(code, chr(code)).encode("utf-16-be").hex().upper() for code in subset]
        lines = [f"<{place:02X}> <{read}>" for place, read in enumerate(reads)]
        blocks = [lines[start : start + _BLOCK] for start in range(0, len(lines), _BLOCK)]
        return "\n".join(
            (
                "/CIDInit /ProcSet findresource begin",
                "12 dict begin",
                "begincmap",
                "/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def",
                f"/CMapName /{name} def",
                "/CMapType 2 def",
                "1 begincodespacerange",
                "<00> <FF>",
                "endcodespacerange",
                *(line for block in blocks for line in (f"{len(block)} beginbfchar", *block, "endbfchar")),
                "endcmap",
                "CMapName currentdict /CMap defineresource pop",
                "end",
                "end",
            )
        )


def _shared(reads: str, shapes: int, leftward: bool) -> list[str]:
    """Return what each of several shapes reads as, from left to right, when together they read as `reads`.

    Leftward there can be more parts than shapes: whoever reads the file turns such words round letter by letter, so
    that no shape may read as two letters.
    """
    if leftward:
        return [*reads[::-1], *[""] * (shapes - len(reads))]
    return list(reads) if len(reads) == shapes else [reads, *[""] * (shapes - 1)]


@lru_cache(maxsize=4096)
def script(sign: str) -> str:
    """Return the script of a character by its ISO 15924 code, or nothing for one that all scripts share."""
    buffer = uharfbuzz.Buffer()
    buffer.add_str(sign)
    buffer.guess_segment_properties()
    return buffer.script or ""
