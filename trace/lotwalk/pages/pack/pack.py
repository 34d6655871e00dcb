"""The inspection pack: how the farm stands, contents, every report and every attached file, in one PDF.

Each report is laid out twice: once to count its pages, since the contents stand before it and every page says how many
there are, and once to be drawn, into a file of its own that is then joined to the others. So no more than one report
is held in memory as rows, however long the period.
"""

import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import BinaryIO

from pypdf import PdfReader, PdfWriter
from pypdf.annotations import Link
from pypdf.generic import Fit, NameObject, TextStringObject
from reportlab.pdfgen.canvas import Canvas

from lotwalk.ledger.ledger import Ledger
from lotwalk.pages.definitions.report_list import Job, Order, Subject, all_jobs, read_order
from lotwalk.pages.pack.attached import Attached, add_file, attached, pages_of
from lotwalk.pages.pack.pack_cover import Cover, Line
from lotwalk.pages.report import begin
from lotwalk.pages.rows.reading import Checked, Reading, reading
from lotwalk.pages.rows.versions import Period
from lotwalk.pages.sheet.layout import Laid, lay_out, paper_size, plain

Progress = Callable[[int, int], None]
"""Told how many steps are done, and how many there are."""

_UNKNOWN = 999
_GAPS = "gaps-"


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
    """A report or a file with the number of its pages. `rows` are the pages (from 0) of the rows that have a name."""

    title: str
    said: str
    pages: int
    job: Job | None = None
    file: Attached | None = None
    rows: dict[str, int] = field(default_factory=dict)


def write_pack(
    ledger: Ledger,
    *,
    since: date | None = None,
    until: date | None = None,
    page_size: str = "A4",
    own: Sequence[Path] = (),
    only: Sequence[str] = (),
    out: BinaryIO,
    progress: Progress | None = None,
) -> PackSummary:
    """Write the inspection pack of a period, both days included, and return what it holds.

    `own` are folders of the grower's own reports, `only` the subjects of which it is to be: none for all. Raises
    NotUnderstood, also for a subject that there is not, and Refused as `write_report` does.
    """
    with reading(ledger) as state, tempfile.TemporaryDirectory() as place:
        period = Period.of(since, until, state.settings.zone)
        order = read_order(own)
        subject = order.only(only) if only else None
        pack = _Pack(state, period, paper_size(page_size, False), page_size, order, Path(place), progress)
        return pack.write(_jobs(all_jobs(state, own), subject), out, only, subject)


def _jobs(jobs: Sequence[Job], subject: Subject | None) -> list[Job]:
    """The reports to print: all, or the crosswalk and the gaps as far as they bear on a subject, and its own."""
    if subject is None:
        return list(jobs)
    chosen = [job for job in jobs if job.definition.name in subject.reports]
    kinds = {kind for job in chosen for kind in job.definition.kinds}
    found = []
    for job in jobs:
        definition = job.definition
        if definition.paragraphs:
            bearing = [
                one
                for one in definition.paragraphs
                if kinds.intersection(one.kinds) or subject.checks.intersection(one.checks)
            ]
            found.append(Job(replace(definition, paragraphs=tuple(bearing)), job.code))
        elif job in chosen or any(section.rows.startswith(_GAPS) for section in definition.sections):
            found.append(job)
    return found


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
        self._pages: dict[str, int] = {}

    def write(self, jobs: Sequence[Job], out: BinaryIO, only: Sequence[str], subject: Subject | None) -> PackSummary:
        """Write it and return what it holds."""
        files = attached(self.state, self.period) if subject is None else []
        cover = Cover(self.state, self.period, self.order, self.size, only)
        if subject:
            self.state = replace(self.state, checked=Checked(self.state.checked.records, subject.checks))
        self._steps = 2 * (len(jobs) + len(files))
        # Pages of three digits stand for those that are not known yet, so that no line grows when they are.
        self._pages = {kind: _UNKNOWN for job in jobs for kind in job.definition.kinds}
        parts = [*(self._counted(job) for job in jobs), *(self._measured(file) for file in files)]
        front = cover.front_pages()
        number = front + cover.contents_pages([Line(part.title, part.said, 0) for part in parts])
        total = number + sum(part.pages for part in parts)
        starts: list[int] = []
        for part in parts:
            starts.append(number + 1)
            number += part.pages
        lines = [Line(part.title, part.said, start) for part, start in zip(parts, starts, strict=True)]
        self._pages = {}
        rows: dict[str, int] = {}
        for part, start in zip(parts, starts, strict=True):
            # The history of one thing prints records that stand in a log of their own, too.
            for kind in part.job.definition.kinds if part.job and not part.job.code else ():
                self._pages.setdefault(kind, start)
            for name, page in part.rows.items():
                rows.setdefault(name, start + page)
        writer = PdfWriter()
        with self._drawing("cover") as (canvas, path):
            cover.draw_front(canvas, total, rows)
        self._join(writer, path, self.order.title)
        with self._drawing("contents") as (canvas, path):
            places = cover.draw_contents(canvas, 1 + front, total, lines)
        self._join(writer, path, "Contents")
        for part, start in zip(parts, starts, strict=True):
            self._part(writer, part, start, total)
        for page, box, target in places:
            writer.add_annotation(page - 1, Link(rect=box, target_page_index=target - 1, fit=Fit.fit()))
        self._describe(writer)
        writer.write(out)
        return PackSummary(self.order.title, len(jobs), len(files), cover.gaps(), total)

    def _counted(self, job: Job) -> _Counted:
        laid = self._laid(job)
        self._step()
        entries = laid.summary.entries
        what = ("entry", "entries") if job.definition.kinds else ("line", "lines")
        said = f"{entries} {what[entries != 1]}" if entries else "nothing recorded"
        return _Counted(
            laid.title, said, len(laid.pages), job=job, rows=laid.rows() if not job.definition.kinds else {}
        )

    def _laid(self, job: Job) -> Laid:
        return lay_out(
            self.state,
            job.definition,
            self.period,
            self.page_size,
            code=job.code,
            name=job.name,
            bound=True,
            pages=self._pages,
        )

    def _measured(self, file: Attached) -> _Counted:
        count = len(pages_of(self.state.connection, file, self.size))
        self._step()
        return _Counted(file.title, "attached", count, file=file)

    def _part(self, writer: PdfWriter, part: _Counted, start: int, total: int) -> None:
        if part.job:
            laid = self._laid(part.job)
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
