"""One report laid out on pages: measured first, since every page says how many there are, then drawn anywhere."""

import unicodedata
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.pdfgen.canvas import Canvas

from lotwalk.errors import NotUnderstood, Problem, Refused
from lotwalk.ledger.model import ThingRow
from lotwalk.pages.definitions.model import Column, Definition, ReportSummary
from lotwalk.pages.rows.limits import limit_sentences
from lotwalk.pages.rows.reading import Reading
from lotwalk.pages.rows.sections import Filled, fill
from lotwalk.pages.rows.values import Values, words
from lotwalk.pages.rows.versions import Period
from lotwalk.pages.sheet.code_key import Key
from lotwalk.pages.sheet.end_notes import closing
from lotwalk.pages.sheet.flow import Drawn, Flow, Heading, Run
from lotwalk.pages.sheet.frame import MARGIN, Facts, Frame
from lotwalk.pages.sheet.table import ALONE, BOUND, Table
from lotwalk.pages.typeface.fonts import load_fonts
from lotwalk.values.times import show_when
from lotwalk.values.units import Units

SIZES = {"A4": A4, "Letter": LETTER}
"""Page sizes by name, upright, in points."""

_LEAST_HEIGHT = 120.0
_EMPTY, _SECTION, _NOTHING = 13.0, 10.0, 8.5
_FIRST_ROW = 46.0

Progress = Callable[[int, int], None]
"""Told how many entries are done, and how many there are."""


@dataclass(frozen=True, slots=True)
class Laid:
    """A report that is laid out. `marks` are the pages (counted from 0) on which its sections begin, with titles.

    `running` is the frame of the pages after the first, where that is another one.
    """

    title: str
    name: str
    size: tuple[float, float]
    frame: Frame
    running: Frame | None
    tables: Sequence[Table]
    pages: Sequence[Sequence[tuple[float, Drawn]]]
    marks: Sequence[tuple[int, str]]
    summary: ReportSummary

    def draw(self, canvas: Canvas, first: int = 1, total: int | None = None, level: int = 0) -> None:
        """Draw its pages into an open file, numbered from `first` of `total`, with bookmarks from `level` on.

        A file may hold several reports, if their names differ.
        """
        canvas.setPageSize(self.size)
        for frame in filter(None, (self.frame, self.running)):
            frame.prepare(canvas)
        for table in self.tables:
            table.prepare(canvas)
        for number, page in enumerate(self.pages):
            frame = (self.running or self.frame) if number else self.frame
            frame.draw_head(canvas, first + number, total or len(self.pages))
            self._bookmark(canvas, number, level)
            for down, drawn in page:
                drawn.draw(canvas, MARGIN, self.size[1] - frame.top - down)
            frame.draw_foot(canvas)
            canvas.showPage()
            canvas.setPageSize(self.size)

    def rows(self) -> dict[str, int]:
        """Return the page (counted from 0) on which each row that has a name begins."""
        found: dict[str, int] = {}
        for number, page in enumerate(self.pages):
            runs = (drawn for _, drawn in page if isinstance(drawn, Run))
            for placed in (placed for run in runs for placed in run.page):
                if placed.block.label:
                    found.setdefault(placed.block.label, number)
        return found

    def _bookmark(self, canvas: Canvas, number: int, level: int) -> None:
        marks = [(self.title, level)] if number == 0 else []
        marks += [(title, level + 1) for page, title in self.marks if page == number]
        for place, (title, depth) in enumerate(marks):
            key = f"{self.name}.{number}.{place}"
            canvas.bookmarkPage(key)
            canvas.addOutlineEntry(plain(title), key, depth, closed=depth > 0)


def lay_out(
    state: Reading,
    definition: Definition,
    period: Period,
    page_size: str = "A4",
    *,
    code: str = "",
    name: str = "",
    bound: bool = False,
    pages: Mapping[str, int] | None = None,
    progress: Progress | None = None,
) -> Laid:
    """Return a report of a period, laid out. `code` is the thing that it asks for.

    `name` tells it from other reports in the same file. One that is `bound` with others has its cautions and lines to
    sign on its first page alone, and larger letters. `pages` say where in that file each kind of record is printed.
    Raises NotUnderstood for an unknown page size, a code that is missing or of the wrong kind, and Refused where the
    cautions leave no room for rows.
    """
    thing = _asked(state, definition, code)
    size = paper_size(page_size, definition.landscape)
    values = Values(state.connection, state.kinds, state.settings.zone, thing.code if thing else "")
    facts = _facts(state, definition, period, thing, values)
    name = name or definition.name
    frame = Frame(name, facts, size, load_fonts())
    if frame.height < _LEAST_HEIGHT:
        problem = Problem("the cautions leave no room for rows", "fewer or shorter ones", "cautions")
        raise Refused([problem.at(definition.name)])
    running = Frame(f"{name}.running", facts, size, load_fonts(), running=True) if bound else None
    setting = BOUND if bound else ALONE
    tables = [
        Table(f"{name}.{number}", section.columns, frame.width, load_fonts(), setting)
        for number, section in enumerate(definition.sections)
    ]
    key = Key(values, definition.key)
    filled = fill(state, definition, period, thing, values, key, tables, progress, pages or {}, bound)
    flow = Flow(frame.height, running.height if running else None)
    marks = _flow(flow, definition, filled, tables, frame.width)
    meanings = [*([f"{facts.farm}, {facts.location}"] if frame.cut else []), *key.sentences()]
    end = Table(f"{name}.end", [Column("", (), 1)], frame.width, load_fonts(), setting)
    limits = limit_sentences(definition.sections, state.rules)
    cautions = () if bound else state.rules.cautions
    said = closing(definition, filled.summary, meanings, limits, cautions, _typed(state, filled))
    flow.run(end, [end.words(said)])
    summary = replace(filled.summary, pages=len(flow.pages))
    return Laid(facts.title, name, size, frame, running, tables, flow.pages, marks, summary)


def paper_size(page_size: str, landscape: bool) -> tuple[float, float]:
    """Return width and height in points of a paper by its name. Raises NotUnderstood for one that is not known."""
    sizes = {known.casefold(): size for known, size in SIZES.items()}
    if page_size.casefold() not in sizes:
        raise NotUnderstood(f"there is no page size {page_size}", " or ".join(SIZES))
    width, height = sizes[page_size.casefold()]
    return (height, width) if landscape else (width, height)


def plain(text: str) -> str:
    """Return a text for the file's description and bookmarks, which hold any character but controls."""
    return "".join(" " if unicodedata.category(sign)[0] == "C" else sign for sign in text)


def _asked(state: Reading, definition: Definition, code: str) -> ThingRow | None:
    wanted = " or ".join(name.replace("-", " ") for name in definition.asks)
    if definition.asks and not code:
        raise NotUnderstood(f"the report {definition.name} is printed for one thing", f"the code of a {wanted}")
    if code and not definition.asks:
        raise NotUnderstood(f"the report {definition.name} is not printed for one thing", f"no code, instead of {code}")
    return state.thing(code, definition.asks) if code else None


def _facts(state: Reading, definition: Definition, period: Period, thing: ThingRow | None, values: Values) -> Facts:
    settings = state.settings
    return Facts(
        title=f"{definition.title}: {thing.code}" if thing else definition.title,
        farm=settings.name,
        location=settings.location,
        about=(*([_described(state, thing, values)] if thing else []), _period(state, period)),
        aside=(
            f"Rule set: {settings.rules} ({state.rules.title}), {settings.rules_digest[:8]}",
            f"Printed {show_when(state.printed, state.printed, settings.zone)}",
        ),
        cautions=definition.cautions,
        signatures=definition.signatures,
        head=f"Ledger head: size {state.head.size}, root {state.head.root.hex()}",
    )


def _described(state: Reading, thing: ThingRow, values: Values) -> str:
    """Return what the report is printed for: its code, kind, name and what its own record says."""
    said = values.maker(thing.code)
    told = [words(said[field]) for field in ("name", "type", "product", "crop", "variety", "material") if field in said]
    return f"{thing.code}: {', '.join(dict.fromkeys([state.kinds.things[thing.kind].title, *told]))}."


def _typed(state: Reading, filled: Filled) -> list[str]:
    """How the rows came into the book: from sheets or one by one, when, by whom, and where the slips are kept."""
    typing, zone = filled.typing, state.settings.zone
    count = sum(typing.by.values())
    if not count:
        return []
    first, last = (show_when(second, second, zone) for second in (typing.first, typing.last))
    when = first if first == last else f"{first} to {last}"
    by = ", ".join(f"{who or 'nobody named'} {number}" for who, number in sorted(typing.by.items()))
    kinds = [name for name in state.kinds.names if state.kinds[name].settings]
    settings = max(state.checked.records.of_kinds(kinds), key=lambda one: one.seq, default=None)
    slips = words(settings.version.fields.get("slips", "")) if settings else ""
    return [
        f"{typing.sheets} of {count} entries were typed in sheets from slips or forms; recorded {when}."
        f" Typed by: {by}.",
        f"The slips are kept: {slips or 'not written'}.",
    ]


def _period(state: Reading, period: Period) -> str:
    late = Units.load(state.settings.measures).show(Decimal(state.late), "s")
    return (
        f"Period: {period}. Times: {state.settings.zone.key}. "
        f"What was written down more than {late} after it happened is marked as late."
    )


def _flow(
    flow: Flow, definition: Definition, filled: Filled, tables: Sequence[Table], width: float
) -> list[tuple[int, str]]:
    """Put the sections one under another; return the page on which each begins."""
    marks: list[tuple[int, str]] = []
    if not any(part.blocks for part in filled.parts):
        flow.put(Heading.of(definition.empty, _EMPTY, width))
        return marks
    for section, part, table in zip(definition.sections, filled.parts, tables, strict=True):
        first = table.heading + _FIRST_ROW
        if section.title:
            flow.put(Heading.of(section.title, _SECTION, width), part.charts[0].height if part.charts else first)
            marks.append((len(flow.pages) - 1, section.title))
        if not part.blocks:
            flow.put(Heading.of(section.empty, _NOTHING, width, bold=False))
        for chart in part.charts:
            flow.put(chart)
        flow.run(table, part.blocks)
    return marks
