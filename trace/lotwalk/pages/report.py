"""A printed report, from the ledger to the PDF."""

from datetime import UTC, date, datetime
from typing import BinaryIO, Protocol

from reportlab.pdfgen.canvas import Canvas

from lotwalk.ledger.ledger import Ledger
from lotwalk.ledger.model import Settings
from lotwalk.pages.definitions.model import Definition, ReportSummary
from lotwalk.pages.rows.reading import reading
from lotwalk.pages.rows.versions import Period
from lotwalk.pages.sheet.layout import Progress, lay_out, plain
from lotwalk.pages.typeface.fonts import load_fonts
from lotwalk.pages.typeface.paper import Paper


def write_report(
    ledger: Ledger,
    definition: Definition,
    *,
    since: date | None = None,
    until: date | None = None,
    page_size: str = "A4",
    code: str = "",
    out: BinaryIO,
    progress: Progress | None = None,
) -> ReportSummary:
    """Write the report of a period, both days included, as a PDF, and return what was printed.

    `code` is the thing that the report asks for, where it asks for one. It is printed at the time of the ledger's
    clock; the same ledger printed at the same time gives the same bytes. Raises NotUnderstood for an unknown page
    size, a period that ends before it starts, and a code that is not in the book.
    """
    with reading(ledger) as state:
        period = Period.of(since, until, state.settings.zone)
        laid = lay_out(state, definition, period, page_size, code=code, progress=progress)
        canvas = begin(out, state, laid.title, definition.subject, definition.language)
        laid.draw(canvas)
        canvas.save()
    return laid.summary


class Printed(Protocol):
    """Whose pages they are, and when they are printed (epoch seconds)."""

    @property
    def settings(self) -> Settings:
        """The farm's settings."""

    @property
    def printed(self) -> int:
        """The moment, by the ledger's clock."""


def begin(out: BinaryIO, state: Printed, title: str, subject: str, language: str) -> Canvas:
    """Return a canvas whose file depends on nothing but what is drawn, and says what it is."""
    canvas = Paper(
        out,
        pageCompression=1,
        invariant=1,
        lang=language,
        initialFontName=load_fonts().regular,  # the default would name a font that is not embedded
    )
    canvas.setTitle(f"{plain(title)}, {plain(state.settings.name)}")
    canvas.setAuthor(plain(state.settings.name))
    canvas.setSubject(plain(subject))
    canvas.setCreator("Lotwalk")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    made = datetime.fromtimestamp(state.printed, UTC).strftime("D:%Y%m%d%H%M%SZ")
    canvas.setDateFormatter(lambda *_: made)
    return canvas
