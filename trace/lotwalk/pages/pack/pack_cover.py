"""The inspection pack's first page and contents: how the farm stands, and on which page everything is printed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from reportlab.pdfgen.canvas import Canvas

from lotwalk.checks.farm_state import farm_state
from lotwalk.pages.cautions import caution
from lotwalk.pages.definitions.model import Column, Piece, Row
from lotwalk.pages.definitions.report_list import Order
from lotwalk.pages.pack.front import front_rows
from lotwalk.pages.rows.reading import Reading
from lotwalk.pages.rows.versions import Period
from lotwalk.pages.sheet.flow import Flow, Heading, Run
from lotwalk.pages.sheet.frame import MARGIN, Facts, Frame
from lotwalk.pages.sheet.table import BOUND, Block, Table
from lotwalk.pages.typeface.fonts import load_fonts
from lotwalk.values.times import show_when
from lotwalk.values.units import Units

_COLUMNS = (Column("What", (), 66), Column("Holds", (), 22), Column("Page", (), 12))
_FRONT = (Column("", (), 20), Column("", (), 71), Column("Page", (), 9))
_HEADING, _UNDER = 12.0, 40.0
_FRONT_CAUTIONS = ("cleaning-is-no-proof",)
_CAUTIONS = ("pointers", "private-addresses")
_SIGNED = ("Handed over by", "Received by")
_UNKNOWN = 999

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
    """The first page and the contents of one pack, on paper of this size; `only` are the subjects that it is of."""

    def __init__(
        self, state: Reading, period: Period, order: Order, size: tuple[float, float], only: Sequence[str] = ()
    ) -> None:
        self._state = state
        self._period = period
        self._order = order
        self._size = size
        self._only = only
        self._farm = farm_state(state.checked.records, state.checked.standing, period.start, period.end)
        fonts = load_fonts()
        self._front_frame = Frame("pack.front", self._facts(_FRONT_CAUTIONS, _SIGNED), size, fonts)
        self._frame = Frame("pack", self._facts(_CAUTIONS, ()), size, fonts)
        self._front = Table("pack.front", _FRONT, self._frame.width, fonts, BOUND)
        self._table = Table("pack.contents", _COLUMNS, self._frame.width, fonts, BOUND)
        self._words = Table("pack.words", [Column("", (), 1)], self._frame.width, fonts, BOUND)

    def gaps(self) -> int:
        """Return how many gaps stand open."""
        return sum(len(one.open) for one in self._farm.causes)

    def front_pages(self) -> int:
        """Return how many pages the front takes: one, unless very much of it is grave."""
        return len(self._front_flow({one.id: _UNKNOWN for one in self._farm.causes}).pages)

    def contents_pages(self, lines: Sequence[Line]) -> int:
        """Return how many pages the contents take."""
        return len(self._contents(lines).pages)

    def draw_front(self, canvas: Canvas, total: int, rows: Mapping[str, int]) -> None:
        """Draw how the farm stands, the first of `total` pages; `rows` say on which page each cause is printed."""
        canvas.setPageSize(self._size)
        for drawn in (self._front_frame, self._front):
            drawn.prepare(canvas)
        self._draw(canvas, self._front_frame, self._front_flow(rows), 1, total)

    def draw_contents(self, canvas: Canvas, first: int, total: int, lines: Sequence[Line]) -> list[Jump]:
        """Draw the contents from page `first` of `total` on.

        Returns where each line stands and where it leads.
        """
        flow = self._contents(lines)
        canvas.setPageSize(self._size)
        self._frame.prepare(canvas)
        self._table.prepare(canvas)
        self._draw(canvas, self._frame, flow, first, total)
        found: list[Jump] = []
        for number, page in enumerate(flow.pages):
            for down, drawn in page:
                if isinstance(drawn, Run) and drawn.table is self._table:
                    top = self._size[1] - self._frame.top - down - self._table.heading
                    for placed in drawn.page:
                        high = top - placed.down
                        box = (MARGIN, high - placed.height, MARGIN + self._frame.width, high)
                        found.append((first + number, box, int(placed.block.label)))
        return found

    def _draw(self, canvas: Canvas, frame: Frame, flow: Flow, first: int, total: int) -> None:
        for number, page in enumerate(flow.pages):
            frame.draw_head(canvas, first + number, total)
            for down, drawn in page:
                drawn.draw(canvas, MARGIN, self._size[1] - frame.top - down)
            frame.draw_foot(canvas)
            canvas.showPage()
            canvas.setPageSize(self._size)

    def _front_flow(self, rows: Mapping[str, int]) -> Flow:
        flow = Flow(self._front_frame.height)
        units = Units.load(self._state.settings.measures)
        today = self._state.checked.records.today
        flow.run(self._front, [self._front.block(row) for row in front_rows(self._farm, rows, units, today)])
        return flow

    def _contents(self, lines: Sequence[Line]) -> Flow:
        flow = Flow(self._frame.height)
        flow.put(Heading.of("Contents", _HEADING, self._frame.width), self._table.heading + _UNDER)
        flow.run(self._table, [self._block(line) for line in lines])
        flow.put(Heading.of("How to read this pack", _HEADING, self._frame.width), _UNDER)
        flow.run(self._words, [self._words.words(map(Piece, self._told()))])
        return flow

    def _block(self, line: Line) -> Block:
        cells = ((Piece(line.title),), (Piece(line.holds),), (Piece(str(line.page)),))
        return self._table.block(Row(str(line.page), cells, ()))

    def _told(self) -> list[str]:
        late = Units.load(self._state.settings.measures).show(Decimal(self._state.late), "s")
        told = [
            "The crosswalk says for each paragraph of the rule set what is held, what is open and where it is printed.",
            f"Times: {self._state.settings.zone.key}. What was written down more than {late} after it happened is"
            " marked as late.",
            "What was amended is struck through and stays readable, with who, when and why. Nothing is ever taken out.",
            f"The ledger's head on every page (size {self._state.head.size}) pins what the ledger was when this was"
            " printed: `lotwalk verify --head` finds any change made behind its back since.",
        ]
        if self._only:
            told.insert(0, f"This pack is of {', '.join(self._only)} alone. The first page is of the whole farm.")
        return [*told, *self._state.rules.cautions]

    def _facts(self, cautions: Sequence[str], signatures: tuple[str, ...]) -> Facts:
        settings = self._state.settings
        printed = self._state.printed
        days = self._period if self._period.since or self._period.until else f"{self._farm.first} to {self._farm.last}"
        subjects = f", of {', '.join(self._only)} alone" if self._only else ""
        return Facts(
            title=f"{self._order.title}{subjects}",
            farm=settings.name,
            location=settings.location,
            about=(f"Records of {days}.",),
            aside=(
                f"Rule set: {settings.rules} ({self._state.rules.title}), {settings.rules_digest[:8]}",
                f"Printed {show_when(printed, printed, settings.zone)}",
            ),
            cautions=tuple((caution(name).subject, caution(name).says) for name in cautions),
            signatures=signatures,
            head=f"Ledger head: size {self._state.head.size}, root {self._state.head.root.hex()}",
        )
