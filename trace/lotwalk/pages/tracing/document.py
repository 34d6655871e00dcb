"""A document of flowing pages and maps in one file: upright pages for text, lying ones for maps, counted together."""

import io
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import BinaryIO

from pypdf import PdfWriter
from reportlab.pdfgen.canvas import Canvas

from lotwalk.pages.maps.draw import Drawing
from lotwalk.pages.maps.legend import draw_legend, legend_height
from lotwalk.pages.maps.model import Map
from lotwalk.pages.pack.attached import Attached, add_file, pages_of
from lotwalk.pages.report import begin
from lotwalk.pages.sheet.frame import MARGIN, Facts, Frame
from lotwalk.pages.sheet.layout import paper_size, plain
from lotwalk.pages.tracing.desk import Desk
from lotwalk.pages.tracing.flow import Flow, Placed, bookmark, draw_flow, pages_of_headings
from lotwalk.pages.typeface.fonts import load_fonts
from lotwalk.pages.typeface.wrap import wrap

MOST_MAP_PAGES = 2
"""Things are put together until a map takes no more pages."""

_TITLE, _NOTE = 10.5, 7.5
_PART = " (part 0 of 0, from left to right and then down)"
_LEAD = 1.25


@dataclass(slots=True)
class _MapPage:
    drawing: Drawing
    number: int


Sheet = list[Placed] | _MapPage


@dataclass(slots=True)
class Document:
    """A document in the making. `flow` takes the text; `add_map` closes the text's page and adds the map's own."""

    name: str
    facts: Facts
    page_size: str
    flow: Flow = field(init=False)
    _sheets: list[Sheet] = field(default_factory=list)
    _upright: Frame = field(init=False)
    _lying: Frame = field(init=False)
    _size: tuple[float, float] = field(init=False)

    def __post_init__(self) -> None:
        self._size = paper_size(self.page_size, False)
        fonts = load_fonts()
        self._upright = Frame(self.name, self.facts, self._size, fonts)
        self._lying = Frame(f"{self.name}.map", _short(self.facts), (self._size[1], self._size[0]), fonts)
        self.flow = Flow(self._upright.width, self._upright.height)

    def close(self) -> None:
        """Place what the head of the pages had no room for, and say that this is the end."""
        if self._upright.cut or self._lying.cut:
            self.flow.words(f"{self.facts.farm}, {self.facts.location}. {' '.join(self.facts.about)}")
        self.flow.words("End of the report.", bold=True)

    def fits(self, drawn: Map) -> bool:
        """Return whether a map is small enough to be drawn as it is."""
        return self._drawing(drawn).pages <= MOST_MAP_PAGES

    def add_map(self, drawn: Map) -> None:
        """Add a map on pages of its own."""
        self._close()
        drawing = self._drawing(drawn)
        for number in range(drawing.pages):
            self._sheets.append(_MapPage(drawing, number))

    def write(self, out: BinaryIO, desk: Desk, *, title: str, subject: str, files: Sequence[Attached] = ()) -> int:
        """Write the file, with the pages of attached files after its own, and return its number of pages."""
        self._close()
        attached = [(file, pages_of(desk.connection, file, self._size)) for file in files]
        total = len(self._sheets) + sum(len(pages) for _, pages in attached)
        if not attached:
            self._draw(out, desk, total, title, subject)
            return total
        own = io.BytesIO()
        self._draw(own, desk, total, title, subject)
        writer = PdfWriter(clone_from=own)
        start = len(self._sheets) + 1
        for file, pages in attached:
            add_file(writer, file, pages, start, total, desk.head)
            start += len(pages)
        writer.write(out)
        return total

    def _draw(self, out: BinaryIO, desk: Desk, total: int, title: str, subject: str) -> None:
        canvas = begin(out, desk, title, subject, "en")
        for frame, size in ((self._upright, self._size), (self._lying, self._size[::-1])):
            canvas.setPageSize(size)  # what is stored once is cut to the page's size
            frame.prepare(canvas)
        pages = pages_of_headings([[] if isinstance(sheet, _MapPage) else sheet for sheet in self._sheets])
        for number, sheet in enumerate(self._sheets, 1):
            if isinstance(sheet, _MapPage):
                pages.setdefault(sheet.drawing.map.title, number)
        for number, sheet in enumerate(self._sheets, 1):
            lying = isinstance(sheet, _MapPage)
            frame = self._lying if lying else self._upright
            canvas.setPageSize(self._size[::-1] if lying else self._size)
            frame.draw_head(canvas, number, total)
            if isinstance(sheet, _MapPage):
                self._draw_map(canvas, sheet)
            else:
                draw_flow(canvas, sheet, MARGIN, self._size[1] - frame.top, pages)
            frame.draw_foot(canvas)
            canvas.showPage()
        canvas.save()

    def _close(self) -> None:
        """Put the text's pages that are done among the sheets."""
        if any(self.flow.pages):
            self._sheets += [page for page in self.flow.pages if page]
            self.flow.restart()

    def _drawing(self, drawn: Map) -> Drawing:
        return Drawing(drawn, self._lying.width, self._lying.height - self._words_height(drawn) - legend_height())

    def _words_height(self, drawn: Map) -> float:
        return len(self._title_lines(drawn)) * _TITLE * _LEAD + len(self._note_lines(drawn)) * _NOTE * _LEAD + 6

    def _title_lines(self, drawn: Map, part: str = _PART) -> list[str]:
        return list(wrap(load_fonts().printable(drawn.title + part), self._lying.width, _TITLE, True))

    def _note_lines(self, drawn: Map) -> list[str]:
        fonts = load_fonts()
        return list(wrap(fonts.printable(" ".join(drawn.notes)), self._lying.width, _NOTE))

    def _draw_map(self, canvas: Canvas, sheet: _MapPage) -> None:
        fonts, drawn = load_fonts(), sheet.drawing.map
        pages = sheet.drawing.pages
        way = "from left to right" + (" and then down" if sheet.drawing.rows > 1 else "")
        part = f" (part {sheet.number + 1} of {pages}, {way})" if pages > 1 else ""
        y = self._size[0] - self._lying.top
        if sheet.number == 0:
            bookmark(canvas, f"Map: {plain(drawn.title)}", y)
        canvas.setFont(fonts.bold, _TITLE)
        for number, line in enumerate(self._title_lines(drawn, part)):
            y -= _TITLE * _LEAD if number else _TITLE
            canvas.drawString(MARGIN, y, line)
        canvas.setFont(fonts.regular, _NOTE)
        for line in self._note_lines(drawn):
            y -= _NOTE * _LEAD
            canvas.drawString(MARGIN, y, line)
        sheet.drawing.draw(canvas, sheet.number, MARGIN, y - 6)
        bottom = self._size[0] - self._lying.top - self._lying.height
        draw_legend(canvas, MARGIN, bottom, self._lying.width)


def _short(facts: Facts) -> Facts:
    """What stands around a map: no lines to sign, and one caution, so that there is room for it."""
    return Facts(facts.title, facts.farm, facts.location, facts.about, facts.aside, facts.cautions[:1], (), facts.head)
