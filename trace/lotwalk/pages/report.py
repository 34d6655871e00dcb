"""A printed log, from the ledger to the PDF."""

import unicodedata
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import BinaryIO

from reportlab.lib.pagesizes import A4, LETTER
from sqlalchemy import Connection

from lotwalk.book import rules_in_force
from lotwalk.errors import NotUnderstood, Problem, Refused
from lotwalk.judge.rules import RuleSet
from lotwalk.ledger.ledger import Ledger
from lotwalk.ledger.model import Head, Settings
from lotwalk.pages.closing import closing
from lotwalk.pages.entries import Period, entry_numbers, histories
from lotwalk.pages.fonts import load_fonts
from lotwalk.pages.frame import MARGIN, Facts, Frame
from lotwalk.pages.key import Key
from lotwalk.pages.model import Definition, ReportSummary
from lotwalk.pages.paper import Paper
from lotwalk.pages.rows import Rows
from lotwalk.pages.table import Block, Table
from lotwalk.pages.values import Values
from lotwalk.pages.wrap import wrap
from lotwalk.values.times import show_when

SIZES = {"A4": A4, "Letter": LETTER}
"""Page sizes by name, upright, in points."""

_LATE = Decimal(24 * 3600)
_LATE_LIMIT = "records.written_within"
_LEAST_HEIGHT = 120.0
_EMPTY = 13.0

Progress = Callable[[int, int], None]
"""Told how many entries are done, and how many there are."""


def write_report(
    ledger: Ledger,
    definition: Definition,
    *,
    since: date | None = None,
    until: date | None = None,
    page_size: str = "A4",
    out: BinaryIO,
    progress: Progress | None = None,
) -> ReportSummary:
    """Write the log of a period, both days included, as a PDF, and return what was printed.

    It is printed at the time of the ledger's clock; the same ledger printed at the same time gives the same bytes.
    Raises NotUnderstood for an unknown page size or a period that ends before it starts.
    """
    size = _size(page_size, definition.landscape)
    with ledger.reading() as connection:
        settings = ledger.settings(connection)
        period = Period.of(since, until, settings.zone)
        rules = rules_in_force(connection, settings)
        printed = int(ledger.clock())
        facts = _facts(definition, settings, rules, ledger.head(connection), period, printed)
        frame = Frame(definition.name, facts, size, load_fonts())
        if frame.height < _LEAST_HEIGHT:
            problem = Problem("the cautions leave no room for rows", "fewer or shorter ones", "cautions")
            raise Refused([problem.at(definition.name)])
        limit = rules.amount(_LATE_LIMIT)
        values = Values(connection, ledger.kinds, settings.zone)
        rows = Rows(definition, values, settings, period, int(limit.value if limit else _LATE))
        table = Table(definition.name, definition.columns, frame.width, load_fonts())
        key = Key(values, definition.key)
        blocks, summary = _measured(connection, rows, key, table, progress)
        meanings = [*([f"{settings.name}, {settings.location}"] if frame.cut else []), *key.sentences()]
    blocks.append(table.words(closing(definition, summary, meanings, rules.cautions)))
    top = frame.top if summary.entries else frame.top + _EMPTY * 2
    pages = list(table.paginate(blocks, frame.height - (top - frame.top)))
    canvas = _canvas(out, size, definition, settings, printed)
    frame.prepare(canvas)
    table.prepare(canvas, MARGIN, size[1] - top)
    for number, page in enumerate(pages, 1):
        frame.draw_head(canvas, number, len(pages))
        if not summary.entries:
            _draw_empty(canvas, definition.empty, frame)
        table.draw(canvas, page, MARGIN, size[1] - top)
        frame.draw_foot(canvas)
        canvas.showPage()
    canvas.save()
    return replace(summary, pages=len(pages))


def _size(name: str, landscape: bool) -> tuple[float, float]:
    sizes = {known.casefold(): size for known, size in SIZES.items()}
    if name.casefold() not in sizes:
        raise NotUnderstood(f"there is no page size {name}", " or ".join(SIZES))
    width, height = sizes[name.casefold()]
    return (height, width) if landscape else (width, height)


def _facts(
    definition: Definition, settings: Settings, rules: RuleSet, head: Head, period: Period, printed: int
) -> Facts:
    return Facts(
        title=definition.title,
        farm=settings.name,
        location=settings.location,
        about=(f"Period: {period}. Times: {settings.zone.key}.",),
        aside=(
            f"Rule set: {settings.rules} ({rules.title}), {settings.rules_digest[:8]}",
            f"Printed {show_when(printed, printed, settings.zone)}",
        ),
        cautions=definition.cautions,
        signatures=definition.signatures,
        head=f"Ledger head: size {head.size}, root {head.root.hex()}",
    )


def _measured(
    connection: Connection, rows: Rows, key: Key, table: Table, progress: Progress | None
) -> tuple[list[Block], ReportSummary]:
    """Return the whole log measured, since every page says how many there are, and what it holds."""
    numbers = entry_numbers(connection, rows.definition.kinds, rows.period)
    blocks: list[Block] = []
    counts = dict.fromkeys(("failed", "amended", "void", "late"), 0)
    for done, history in enumerate(histories(connection, numbers), 1):
        row = rows.row(history)
        for name in counts:
            counts[name] += getattr(row, name)
        blocks.append(table.block(row))
        key.add(history[-1])
        if progress:
            progress(done, len(numbers))
    return blocks, ReportSummary(rows.definition.title, len(numbers), **counts)


def _canvas(
    out: BinaryIO, size: tuple[float, float], definition: Definition, settings: Settings, printed: int
) -> Paper:
    """Return a canvas whose file depends on nothing but what is drawn, and says what it is."""
    canvas = Paper(
        out,
        pagesize=size,
        pageCompression=1,
        invariant=1,
        lang=definition.language,
        initialFontName=load_fonts().regular,  # the default would name a font that is not embedded
    )
    canvas.setTitle(f"{_told(definition.title)}, {_told(settings.name)}")
    canvas.setAuthor(_told(settings.name))
    canvas.setSubject(_told(definition.subject))
    canvas.setCreator("Lotwalk")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    made = datetime.fromtimestamp(printed, UTC).strftime("D:%Y%m%d%H%M%SZ")
    canvas.setDateFormatter(lambda *_: made)
    return canvas


def _told(text: str) -> str:
    """Return a text for the file's description, which holds any character but controls."""
    return "".join(" " if unicodedata.category(sign)[0] == "C" else sign for sign in text)


def _draw_empty(canvas: Paper, words: str, frame: Frame) -> None:
    fonts = load_fonts()
    lines = wrap(fonts.printable(words), frame.width, _EMPTY, True)[:3]
    canvas.setFont(fonts.bold, _EMPTY)
    for number, line in enumerate(lines, 1):
        canvas.drawString(MARGIN, frame.page_height - frame.top - number * _EMPTY * 1.3, line)
