"""Labels on paper: from the ledger to the PDF, on sheets or one label a page."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import BinaryIO

from lotwalk.errors import NotUnderstood, Problem, Refused
from lotwalk.ledger.ledger import Ledger
from lotwalk.pages.labels.label_content import AUTO, Contents
from lotwalk.pages.labels.label_layout import Content, Label, lay_out
from lotwalk.pages.labels.label_sheets import Sheet
from lotwalk.pages.typeface.fonts import load_fonts
from lotwalk.pages.typeface.paper import Paper

MOST_LABELS = 20_000


@dataclass(frozen=True, slots=True)
class LabelSummary:
    """What was printed: labels, pages, the codes of lots on hold, and what the person should know."""

    labels: int
    pages: int
    held: tuple[str, ...]
    notices: tuple[str, ...]


def write_labels(
    ledger: Ledger,
    codes: str,
    sheet: Sheet,
    *,
    out: BinaryIO,
    new: str | None = None,
    symbol: str = AUTO,
    first: int = 1,
    copies: int = 1,
    outlines: bool = False,
) -> LabelSummary:
    """Write labels for codes and ranges as a PDF, and return what was printed.

    `first` is the label of the sheet to begin with, counted from 1 along the rows. `new` is the kind of things that
    are not registered yet. `symbol` is one of `label_content.SYMBOLS`. Raises NotUnderstood or Refused where a code is
    not in the book, or its label has no room for what must stand on it; nothing is written then.
    """
    if not 1 <= first <= sheet.labels:
        raise NotUnderstood(f"the sheet has no label {first}", f"1 to {sheet.labels}")
    with ledger.reading() as connection:
        contents = Contents(connection, ledger.kinds, ledger.settings(connection), symbol)
        wanted = contents.ahead(codes, new) if new else contents.of(codes)
        farm = contents.settings.name
    if not wanted or len(wanted) * copies > MOST_LABELS:
        raise NotUnderstood(f"that would be {len(wanted) * copies} labels", f"1 to {MOST_LABELS}")
    labels = _laid_out(wanted, sheet)
    pages = _draw(labels, sheet, out, farm, first - 1, copies, outlines)
    held = tuple(content.code for content in wanted if content.held)
    return LabelSummary(len(wanted) * copies, pages, held, tuple(contents.notices))


def _laid_out(wanted: Sequence[Content], sheet: Sheet) -> list[Label]:
    labels: list[Label] = []
    problems: list[Problem] = []
    for content in wanted:
        try:
            labels.append(lay_out(content, sheet.width, sheet.height))
        except NotUnderstood as why:
            problems.append(why.problem())
    if problems:
        raise Refused(problems)
    return labels


def _draw(
    labels: Sequence[Label], sheet: Sheet, out: BinaryIO, farm: str, place: int, copies: int, outlines: bool
) -> int:
    """Draw each label once, and place it as often as it is wanted. Return how many pages there are."""
    paper = Paper(
        out, pagesize=sheet.page, pageCompression=1, invariant=1, lang="en", initialFontName=load_fonts().regular
    )
    paper.setTitle(f"Labels, {load_fonts().printable(farm)}")
    paper.setCreator("Lotwalk")
    paper.setViewerPreference("DisplayDocTitle", "true")
    # A label that was fitted to the page no longer meets its sheet.
    paper.setViewerPreference("PrintScaling", "None")
    pages = 0
    for number, label in enumerate(labels):
        name = f"label.{number}"
        paper.beginForm(name, 0, 0, label.width, label.height)
        label.draw(paper)
        paper.endForm()
        for _ in range(copies):
            if place == sheet.labels:
                paper.showPage()
                place, pages = 0, pages + 1
            _place(paper, name, sheet, place, outlines)
            place += 1
    paper.showPage()
    paper.save()
    return pages + 1


def _place(paper: Paper, name: str, sheet: Sheet, place: int, outlines: bool) -> None:
    x, y = sheet.corner(place)
    paper.saveState()
    paper.translate(x, y)
    paper.doForm(name)
    if outlines:
        paper.setLineWidth(0.3)
        paper.setStrokeGray(0.5)
        paper.roundRect(0, 0, sheet.width, sheet.height, 3)
    paper.restoreState()
