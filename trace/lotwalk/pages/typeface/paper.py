"""The canvas that pages are drawn on: ReportLab's, which also writes what must be joined, stacked or turned round."""

from itertools import groupby
from typing import Any

from reportlab.lib.rl_accel import fp_str
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.textobject import PDFTextObject

from lotwalk.pages.typeface.font_fallback import Run
from lotwalk.pages.typeface.fonts import Lead


class Paper(Canvas):  # type: ignore[misc]
    """A canvas whose strings may hold any printable text, as `Fonts.printable` returns it, in any script."""

    def beginText(self, *args: Any, **named: Any) -> PDFTextObject:
        """Return a text object that writes any script."""
        return _Writing(self, *args, **named)


class _Writing(PDFTextObject):  # type: ignore[misc]
    def _formatText(self, text: str) -> str:
        face = pdfmetrics.getFont(self._fontname)
        if not isinstance(face, Lead) or face.plain(text):
            return str(super()._formatText(text))
        written = " ".join(self._run(run) for run in face.runs(text))
        # The last run may have been in another face: what follows names its own again.
        self._curSubset = -1
        return written

    def _run(self, run: Run) -> str:
        """Return the operators that draw shapes, each moved to its place by the numbers between them."""
        document = self._canvas._doc
        escape = self._canvas._escape
        size = fp_str(self._fontsize)
        written = []
        place = 0
        for subset, codes in run.face.splitString("".join(glyph.sign for glyph in run.glyphs), document):
            name = run.face.getSubsetInternalName(subset, document)
            written.append(f"{name} {size} Tf {fp_str(self._leading)} TL")
            shapes = list(zip(codes, run.glyphs[place : place + len(codes)], strict=True))
            place += len(codes)
            for up, raised in groupby(shapes, key=lambda shape: shape[1].up):
                moves: list[str] = []
                for code, glyph in raised:
                    after = run.face.width_of(glyph.sign) - glyph.advance + glyph.right
                    moves += _move(-glyph.right), f"({escape(bytes([code]))})", _move(after)
                drawn = f"[{' '.join(filter(None, moves))}] TJ"
                written.append(f"{fp_str(up * self._fontsize / 1000)} Ts {drawn} 0 Ts" if up else drawn)
        drawn = " ".join(written)
        if run.leftward or run.simple:
            return drawn
        # Readers take such words from here, and those that do not, from what each shape reads as. Words from right to
        # left they all put in order by themselves, and so would turn these round.
        return f"/Span <</ActualText <FEFF{run.text.encode('utf-16-be').hex().upper()}>>> BDC {drawn} EMC"


def _move(thousandths: float) -> str:
    return fp_str(thousandths) if round(thousandths, 3) else ""
