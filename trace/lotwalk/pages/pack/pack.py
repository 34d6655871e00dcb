"""The inspection pack: cover, gaps, contents, every report and every attached file, in one PDF.

Each report is laid out twice: once to count its pages, since the contents stand before it and every page says how many
there are, and once to be drawn, into a file of its own that is then joined to the others. So no more than one report
is held in memory as rows, however long the period.
"""

import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import BinaryIO

from pypdf import PdfReader, PdfWriter
from pypdf.annotations import Link
from pypdf.generic import Fit, NameObject, TextStringObject
from reportlab.pdfgen.canvas import Canvas

from lotwalk.ledger.ledger import Ledger
from lotwalk.pages.definitions.report_list import Job, Order, all_jobs, read_order
from lotwalk.pages.pack.attached import Attached, add_file, attached, pages_of
from lotwalk.pages.pack.pack_cover import Cover, Line
from lotwalk.pages.report import begin
from lotwalk.pages.rows.reading import Reading, reading
from lotwalk.pages.rows.versions import Period
from lotwalk.pages.sheet.layout import lay_out, paper_size, plain

Progress = Callable[[int, int], None]
"""Told how many steps are done, and how many there are."""


@dataclass(frozen=True, slots=True)
class PackSummary:
    """What a pack holds."""

    title: str
    reports: int
    files: int
    gaps: int
    pages: int


@dataclass(slots=True)
class _Counted:
    """A report or a file with the number of its pages."""

    title: str
    said: str
    pages: int
    job: Job | None = None
    file: Attached | None = None


def write_pack(
    ledger: Ledger,
    *,
    since: date | None = None,
    until: date | None = None,
    page_size: str = "A4",
    own: Sequence[Path] = (),
    out: BinaryIO,
    progress: Progress | None = None,
) -> PackSummary:
    """Write the inspection pack of a period, both days included, and return what it holds.

    `own` are folders of the grower's own reports. Raises NotUnderstood and Refused as `write_report` does.
    """
    with reading(ledger) as state, tempfile.TemporaryDirectory() as place:
        period = Period.of(since, until, state.settings.zone)
        pack = _Pack(state, period, paper_size(page_size, False), page_size, read_order(own), Path(place), progress)
        return pack.write(all_jobs(state, own), out)


class _Pack:
    """One pack being written."""

    def __init__(
        self,
        state: Reading,
        period: Period,
        size: tuple[float, float],
        page_size: str,
        order: Order,
        place: Path,
        progress: Progress | None,
    ) -> None:
        self.state = state
        self.period = period
        self.size = size
        self.page_size = page_size
        self.order = order
        self.place = place
        self._progress = progress
        self._done = self._steps = 0

    def write(self, jobs: Sequence[Job], out: BinaryIO) -> PackSummary:
        """Write it and return what it holds."""
        files = attached(self.state, self.period)
        self._steps = 2 * (len(jobs) + len(files))
        parts = [*(self._counted(job) for job in jobs), *(self._measured(file) for file in files)]
        cover = Cover(self.state, self.period, self.order, self.size)
        gaps = cover.gaps()
        first, rest = parts[:1], parts[1:]
        lines = [Line(part.title, part.said, 0) for part in rest]
        contents = cover.contents_pages(lines)
        number = 1 + first[0].pages + contents
        total = number + sum(part.pages for part in rest)
        starts = [2]
        for part in rest:
            starts.append(number + 1)
            number += part.pages
        lines = [Line(part.title, part.said, start) for part, start in zip(parts, starts, strict=True)]
        writer = PdfWriter()
        with self._drawing("cover") as (canvas, path):
            cover.draw_cover(canvas, total, lines)
        self._join(writer, path, self.order.title)
        self._part(writer, parts[0], starts[0], total)
        with self._drawing("contents") as (canvas, path):
            places = cover.draw_contents(canvas, 2 + first[0].pages, total, lines[1:])
        self._join(writer, path, "Contents")
        for part, start in zip(rest, starts[1:], strict=True):
            self._part(writer, part, start, total)
        for page, box, target in places:
            writer.add_annotation(page - 1, Link(rect=box, target_page_index=target - 1, fit=Fit.fit()))
        self._describe(writer)
        writer.write(out)
        return PackSummary(self.order.title, len(jobs), len(files), gaps, total)

    def _counted(self, job: Job) -> _Counted:
        laid = lay_out(self.state, job.definition, self.period, self.page_size, code=job.code, name=job.name)
        self._step()
        entries = laid.summary.entries
        said = f"{entries} {'entry' if entries == 1 else 'entries'}" if entries else "nothing recorded"
        return _Counted(laid.title, said, len(laid.pages), job=job)

    def _measured(self, file: Attached) -> _Counted:
        count = len(pages_of(self.state.connection, file, self.size))
        self._step()
        return _Counted(file.title, "attached", count, file=file)

    def _part(self, writer: PdfWriter, part: _Counted, start: int, total: int) -> None:
        if part.job:
            laid = lay_out(
                self.state, part.job.definition, self.period, self.page_size, code=part.job.code, name=part.job.name
            )
            with self._drawing("part") as (canvas, path):
                laid.draw(canvas, start, total)
            self._join(writer, path, None)
        elif part.file:
            pages = pages_of(self.state.connection, part.file, self.size)
            add_file(writer, part.file, pages, start, total, self.state.head)
        self._step()

    @contextmanager
    def _drawing(self, name: str) -> Iterator[tuple[Canvas, Path]]:
        path = self.place / f"{name}.pdf"
        with path.open("wb") as file:
            canvas = begin(file, self.state, self.order.title, self.order.subject, "en")
            yield canvas, path
            canvas.save()

    def _join(self, writer: PdfWriter, path: Path, title: str | None) -> None:
        with path.open("rb") as file:
            reader = PdfReader(file)
            writer.append(reader, outline_item=title, import_outline=title is None)

    def _describe(self, writer: PdfWriter) -> None:
        made = datetime.fromtimestamp(self.state.printed, UTC).strftime("D:%Y%m%d%H%M%SZ")
        farm = plain(self.state.settings.name)
        writer.add_metadata(
            {
                "/Title": f"{plain(self.order.title)}, {farm}",
                "/Author": farm,
                "/Subject": plain(self.order.subject),
                "/Creator": "Lotwalk",
                "/CreationDate": made,
                "/ModDate": made,
            }
        )
        writer.root_object[NameObject("/Lang")] = TextStringObject("en")

    def _step(self) -> None:
        self._done += 1
        if self._progress:
            self._progress(self._done, self._steps)
