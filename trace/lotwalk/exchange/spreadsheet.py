"""Writes the electronic sortable spreadsheet: what it is and what is missing first, then a sheet an event.

Words are cells of text whatever they look like, days are days and amounts numbers, so that a column sorts as it should.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, BinaryIO

import xlsxwriter

from lotwalk.errors import NotUnderstood
from lotwalk.exchange.farm import Farm
from lotwalk.exchange.rows import Cell, Sheet
from lotwalk.recall.words.common import code_list, count
from lotwalk.values.times import show_when

MOST_ROWS = 1_048_575
"""A sheet has room for so many rows under its titles."""
LONGEST = 32_767
"""Characters. No cell holds more."""

_ABOUT = "About"
_WIDEST = 48
_NARROWEST = 9
_SAMPLED = 500


@dataclass(frozen=True, slots=True)
class Answer:
    """What was asked, in words, and the sheets that answer it. `says` are the cautions."""

    farm: Farm
    asked: str
    period: str
    customer: str
    says: Sequence[str]
    sheets: Sequence[Sheet]


def write_spreadsheet(answer: Answer, out: BinaryIO) -> None:
    """Write the workbook. Raises NotUnderstood when an event has more rows than a sheet can hold."""
    for sheet in answer.sheets:
        if len(sheet.rows) > MOST_ROWS:
            raise NotUnderstood(
                f"{sheet.event.title} has {len(sheet.rows):,} rows, and a sheet holds {MOST_ROWS:,}",
                "a shorter time in --from and --until, or `export csv`",
            )
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    book = xlsxwriter.Workbook(out, options)
    # The ledger's own time and not the clock's: the same ledger gives the same file.
    created = answer.farm.newest.replace(tzinfo=None)
    book.set_properties({"title": _title(answer), "author": answer.farm.settings.name, "created": created})
    styles = {
        "head": book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"}),
        "strong": book.add_format({"bold": True, "valign": "top"}),
        "words": book.add_format({"text_wrap": True, "valign": "top"}),
        "text": book.add_format({"num_format": "@"}),
        "day": book.add_format({"num_format": "yyyy-mm-dd"}),
        "number": book.add_format({"num_format": "0.###"}),
    }
    _about(book.add_worksheet(_ABOUT), styles, answer)
    for sheet in answer.sheets:
        _sheet(book.add_worksheet(sheet.event.title), styles, sheet)
    book.close()


def _title(answer: Answer) -> str:
    return f"Traceability records of {answer.farm.settings.name}"


def _about(page: Any, styles: dict[str, Any], answer: Answer) -> None:
    page.set_column(0, 0, 26)
    page.set_column(1, 1, 44)
    page.set_column(2, 3, 12)
    page.set_column(4, 4, 70)
    page.hide_gridlines(2)
    row = 0
    _text(page, row, 0, _title(answer), styles["strong"])
    for name, words in _facts(answer):
        row += 1
        _text(page, row, 0, name, styles["strong"])
        _text(page, row, 1, words)
    row += 1
    for words in answer.says:
        row += 1
        page.merge_range(row, 0, row, 4, "", styles["words"])
        _text(page, row, 0, words, styles["words"])
        page.set_row(row, 15 * (1 + len(words) // 150))
    row = _listed(page, styles, row + 2, ("Sheet", "Rule", "Rows", "Entries", "Says"), _sheets(answer))
    titles = ("Sheet", "Required element not in the book", "Entries", "Of", "Missing in")
    gaps = list(_gaps(answer))
    if gaps:
        _listed(page, styles, row + 1, titles, gaps)
    else:
        _text(page, row + 1, 0, "No required element is missing in these rows.", styles["strong"])


def _facts(answer: Answer) -> Iterator[tuple[str, str]]:
    farm = answer.farm
    newest = int(farm.newest.timestamp())
    yield "Farm", farm.location.words
    for title, name in (("Contact", "contact"), ("Email", "email"), ("Company prefix", "company_prefix")):
        if words := farm.field(name):
            yield title, words
    yield "Asked for", answer.asked
    yield "Period", answer.period
    if answer.customer:
        yield "For", answer.customer
    yield "Ledger head", farm.head
    yield "Newest entry recorded", show_when(newest - newest % 60, newest - newest % 60 + 59, farm.settings.zone)
    yield "Times and days", farm.settings.zone.key
    yield "Rule set", farm.settings.rules


def _sheets(answer: Answer) -> Iterator[tuple[Cell, ...]]:
    for sheet in answer.sheets:
        entries = len(set(sheet.entries))
        yield sheet.event.title, sheet.event.rule, Decimal(len(sheet.rows)), Decimal(entries), sheet.event.says


def _gaps(answer: Answer) -> Iterator[tuple[Cell, ...]]:
    for sheet in answer.sheets:
        whole = len(set(sheet.entries))
        for title, names in sheet.gaps.items():
            ordered = sorted(names, key=lambda name: int(name[1:]))
            told = "all" if len(names) == whole else code_list(ordered)
            yield sheet.event.title, title, Decimal(len(names)), Decimal(whole), told


def _listed(
    page: Any, styles: dict[str, Any], row: int, titles: Sequence[str], lines: Iterator[tuple[Cell, ...]] | list[Any]
) -> int:
    """Write a small table and return the row after it."""
    for column, title in enumerate(titles):
        _text(page, row, column, title, styles["head"])
    for line in lines:
        row += 1
        for column, cell in enumerate(line):
            _cell(page, row, column, cell, styles)
    return row + 1


def _sheet(page: Any, styles: dict[str, Any], sheet: Sheet) -> None:
    for column, title in enumerate(sheet.titles):
        _text(page, 0, column, title, styles["head"])
        longest = max((len(str(row[column])) for row in sheet.rows[:_SAMPLED]), default=0)
        page.set_column(column, column, min(_WIDEST, max(_NARROWEST, longest + 2, len(title) // 2 + 3)))
    for number, row in enumerate(sheet.rows, 1):
        for column, cell in enumerate(row):
            _cell(page, number, column, cell, styles)
    page.freeze_panes(1, 1)
    page.set_row(0, 32)
    page.autofilter(0, 0, max(1, len(sheet.rows)), len(sheet.titles) - 1)
    page.set_landscape()
    page.repeat_rows(0)
    page.fit_to_pages(1, 0)
    page.set_footer(f"&L{sheet.event.title.replace('&', '&&')}, {sheet.event.rule}&R&P / &N")


def _cell(page: Any, row: int, column: int, cell: Cell, styles: dict[str, Any]) -> None:
    if isinstance(cell, Decimal):
        page.write_number(row, column, float(cell), styles["number"])
    elif isinstance(cell, date):
        page.write_datetime(row, column, cell, styles["day"])
    elif cell:
        _text(page, row, column, cell, styles["text"])


def _text(page: Any, row: int, column: int, words: str, style: Any = None) -> None:
    words = words.replace("\r\n", "\n")
    cut = words if len(words) <= LONGEST else f"{words[: LONGEST - 40]}... ({count(len(words), 'character')} in all)"
    page.write_string(row, column, cut, style)
