"""The inspection pack's cover and contents: whose it is, what is missing, and on which page everything stands."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from reportlab.pdfgen.canvas import Canvas

from lotwalk.finding import SEVERITIES
from lotwalk.pages.cautions import caution
from lotwalk.pages.computed.gaps import open_causes, standing
from lotwalk.pages.definitions.model import Column, Piece, Row
from lotwalk.pages.definitions.report_list import Order
from lotwalk.pages.rows.reading import Reading
from lotwalk.pages.rows.versions import Period
from lotwalk.pages.sheet.flow import Flow, Heading, Run
from lotwalk.pages.sheet.frame import MARGIN, Facts, Frame
from lotwalk.pages.sheet.table import LEADING, Block, Table
from lotwalk.pages.typeface.fonts import load_fonts
from lotwalk.values.times import show_when
from lotwalk.values.units import Units

_COLUMNS = (Column("What", (), 66), Column("Holds", (), 22), Column("Page", (), 12))
_HEADING = 12.0
_CAUTIONS = ("cleaning-is-no-proof", "pointers", "private-addresses")
_SIGNED = ("Handed over by", "Received by")

Box = tuple[float, float, float, float]
"""A rectangle on a page in points: left, bottom, right, top."""

Jump = tuple[int, Box, int]
"""A page, the rectangle of a line on it, and the page that the line leads to."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the contents."""

    title: str
    holds: str
    page: int


class Cover:
    """The cover and the contents of one pack, on paper of this size."""

    def __init__(self, state: Reading, period: Period, order: Order, size: tuple[float, float]) -> None:
        self._state = state
        self._period = period
        self._order = order
        self._size = size
        self._open = [one.finding for one in standing(state, period) if one.open]
        self._causes = len(open_causes(state, period))
        self._frame = Frame("pack", self._facts(), size, load_fonts())
        self._table = Table("pack.contents", _COLUMNS, self._frame.width, load_fonts())

    def gaps(self) -> int:
        """Return how many gaps stand open."""
        return len(self._open)

    def contents_pages(self, lines: Sequence[Line]) -> int:
        """Return how many pages the contents take."""
        return len(self._contents(lines).pages)

    def draw_cover(self, canvas: Canvas, total: int, lines: Sequence[Line]) -> None:
        """Draw the cover, the first of `total` pages; the first of the lines is the list of gaps."""
        flow = Flow(self._frame.height)
        flow.put(Heading.of("What is missing", _HEADING, self._frame.width))
        table = Table("pack.cover", [Column("", (), 1)], self._frame.width, load_fonts())
        flow.run(table, [table.words(self._gap_words(lines[0]))])
        flow.put(Heading.of("What this pack holds", _HEADING, self._frame.width))
        flow.run(table, [table.words(self._held_words(lines, total))])
        canvas.setPageSize(self._size)
        self._frame.prepare(canvas)
        self._draw(canvas, flow, 1, total)

    def draw_contents(
        self, canvas: Canvas, first: int, total: int, lines: Sequence[Line]
    ) -> list[tuple[int, Box, int]]:
        """Draw the contents from page `first` of `total` on.

        Returns where each line stands and where it leads.
        """
        flow = self._contents(lines)
        canvas.setPageSize(self._size)
        self._frame.prepare(canvas)
        self._table.prepare(canvas)
        self._draw(canvas, flow, first, total)
        found: list[Jump] = []
        for number, page in enumerate(flow.pages):
            for down, drawn in page:
                if isinstance(drawn, Run):
                    top = self._size[1] - self._frame.top - down - self._table.heading
                    for placed in drawn.page:
                        high = top - placed.down
                        box = (MARGIN, high - placed.height, MARGIN + self._frame.width, high)
                        found.append((first + number, box, int(placed.block.label)))
        return found

    def _draw(self, canvas: Canvas, flow: Flow, first: int, total: int) -> None:
        for number, page in enumerate(flow.pages):
            self._frame.draw_head(canvas, first + number, total)
            for down, drawn in page:
                drawn.draw(canvas, MARGIN, self._size[1] - self._frame.top - down)
            self._frame.draw_foot(canvas)
            canvas.showPage()
            canvas.setPageSize(self._size)

    def _contents(self, lines: Sequence[Line]) -> Flow:
        flow = Flow(self._frame.height)
        flow.put(Heading.of("Contents", _HEADING, self._frame.width), self._table.heading + 3 * LEADING)
        flow.run(self._table, [self._block(line) for line in lines])
        return flow

    def _block(self, line: Line) -> Block:
        cells = ((Piece(line.title),), (Piece(line.holds),), (Piece(str(line.page)),))
        return self._table.block(Row(str(line.page), cells, ()))

    def _gap_words(self, gaps: Line) -> list[Piece]:
        count = Counter(finding.severity for finding in self._open)
        due = self._state.checked.ahead
        late = sum(1 for one in due if one.by < self._state.checked.records.today)
        told = [
            Piece(f"{count[severity]} {severity}", "bold" if count[severity] else "plain") for severity in SEVERITIES
        ]
        if not self._open:
            told = [Piece("The checks found no open gap in these records. That is no proof that nothing is wrong.")]
        else:
            told.insert(0, Piece(f"{len(self._open)} gaps stand open in this period, of {self._causes} causes:"))
        told += [
            Piece(f"{len(due)} things are overdue or due within the next weeks; {late} of them are overdue."),
            Piece(f"All of them, with what was done about each, from page {gaps.page} on."),
        ]
        return told

    def _held_words(self, lines: Sequence[Line], total: int) -> list[Piece]:
        head = self._state.head
        sentences = (
            f"{total} pages: first what is missing, then the contents, then every report of the period, last the files "
            f"that were attached. There are {len(lines)} parts.",
            "What was amended is struck through and stays readable, with who, when and why. Nothing is ever taken out.",
            f"The ledger's head on every page (size {head.size}) pins what the ledger was when this was printed: "
            "`lotwalk verify --head` finds any change made behind its back since.",
        )
        return [Piece(sentence) for sentence in sentences]

    def _facts(self) -> Facts:
        settings = self._state.settings
        late = Units.load(settings.measures).show(Decimal(self._state.late), "s")
        printed = self._state.printed
        return Facts(
            title=self._order.title,
            farm=settings.name,
            location=settings.location,
            about=(
                f"Period: {self._period}. Times: {settings.zone.key}. "
                f"What was written down more than {late} after it happened is marked as late.",
            ),
            aside=(
                f"Rule set: {settings.rules} ({self._state.rules.title}), {settings.rules_digest[:8]}",
                f"Printed {show_when(printed, printed, settings.zone)}",
            ),
            cautions=tuple((caution(name).subject, caution(name).says) for name in _CAUTIONS),
            signatures=_SIGNED,
            head=f"Ledger head: size {self._state.head.size}, root {self._state.head.root.hex()}",
        )
