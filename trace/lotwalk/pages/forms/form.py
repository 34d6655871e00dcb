"""Blank forms of one kind of record or of several, as one PDF."""

import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import BinaryIO

from lotwalk.errors import NotUnderstood
from lotwalk.forms import pdf
from lotwalk.forms.names import Made, write_mark
from lotwalk.kinds.model import Kind
from lotwalk.pages.forms.about import About
from lotwalk.pages.forms.boxes import MOST_WRITING, WRITING, boxes_of
from lotwalk.pages.forms.entry import draw_entry, draw_titles
from lotwalk.pages.forms.frame import MARGIN, FormFrame
from lotwalk.pages.forms.layout import APART, NUMBER, Layout, lay_out
from lotwalk.pages.forms.pen import Pen
from lotwalk.pages.forms.widgets import add_fields, add_mark
from lotwalk.pages.sheet.layout import SIZES
from lotwalk.pages.typeface.fonts import load_fonts
from lotwalk.pages.typeface.paper import Paper

MOST_ROWS = 2_000
MOST_LINES = 40
_STEPS = 12


@dataclass(frozen=True, slots=True)
class FormSummary:
    """What was printed: how many kinds, pages, and rows in all."""

    kinds: int
    pages: int
    rows: int


@dataclass(frozen=True, slots=True)
class _Form:
    """One kind's form, measured: `rows` entries, `each` of them on a page."""

    kind: Kind
    layout: Layout
    frame: FormFrame
    size: tuple[float, float]
    rows: int
    each: int

    @property
    def pages(self) -> int:
        """How many pages it has."""
        return -(-self.rows // self.each)


def write_forms(
    kinds: Sequence[Kind],
    about: About,
    *,
    out: BinaryIO,
    paper: str = "A4",
    rows: int | None = None,
    lines: int | None = None,
    fillable: bool = False,
) -> FormSummary:
    """Write blank forms as a PDF and return what was printed; the same forms give the same bytes.

    `rows` is how many entries each form has room for, a page of them where nothing is said; `lines` how many lines each
    list in an entry has. With `fillable` the boxes can be filled in on a screen, and `lotwalk.forms.filled` reads them.
    Raises NotUnderstood for an unknown paper, or for more than a page can hold.
    """
    _check("rows", rows, MOST_ROWS)
    _check("lines", lines, MOST_LINES)
    forms = [_measured(kind, about, paper, rows, lines, signed=not fillable) for kind in kinds]
    drawn = io.BytesIO()
    canvas = _canvas(drawn, forms, about)
    if fillable:
        add_mark(canvas, write_mark({form.kind.name: _made(form) for form in forms}))
    for form in forms:
        if len(forms) > 1:
            canvas.bookmarkPage(form.kind.name)
            canvas.addOutlineEntry(form.kind.title, form.kind.name)
        _draw(canvas, form, fillable)
    canvas.save()
    if fillable and drawn.tell() > pdf.LARGEST // 2:
        # What is typed comes on top of it, and the whole must be small enough to be read back.
        raise NotUnderstood(f"a form of {drawn.tell() // 1_000_000} MB", "fewer rows or lines in one form")
    out.write(drawn.getvalue())
    return FormSummary(len(forms), sum(form.pages for form in forms), sum(form.rows for form in forms))


def _check(what: str, number: int | None, most: int) -> None:
    if number is not None and not 1 <= number <= most:
        raise NotUnderstood(f"{number} {what}", f"1 to {most}")


def _measured(kind: Kind, about: About, paper: str, rows: int | None, lines: int | None, *, signed: bool) -> _Form:
    upright = paper_size(paper)
    across = (upright[1], upright[0])
    said = about.said(kind)

    def lay(writing: float = WRITING, lines: int | None = lines) -> Layout:
        boxes = boxes_of(kind, about.units, said.short, lines=lines, files=not signed)
        return lay_out(boxes, upright[0] - 2 * MARGIN, across[0] - 2 * MARGIN, writing)

    layout = lay()
    size = across if layout.landscape else upright
    frame = FormFrame(kind, about, said, size, load_fonts(), signed=signed)
    each = _each(layout, frame)
    if each < 1:
        raise NotUnderstood(f"one {kind.title.lower()} does not fit on a page", "fewer lines for each list")
    return _Form(kind, _filling(lay, layout, frame, each, lines), frame, size, rows or each, each)


def _each(layout: Layout, frame: FormFrame) -> int:
    """Return how many entries a page has room for."""
    apart = 0.0 if layout.columns else APART
    return int((frame.height - layout.title_height + apart) // (layout.height + apart))


def _filling(lay: Callable[..., Layout], layout: Layout, frame: FormFrame, each: int, lines: int | None) -> Layout:
    """Return the layout that leaves the least of a page empty: with more lines in its lists, or with higher ones."""
    given = max((placed.line for placed in layout.placed), default=0)
    if given and lines is None:
        for more in range(given + 1, MOST_LINES + 1):
            larger = lay(lines=more)
            if _each(larger, frame) < each:
                break
            layout = larger
        return layout
    for step in range(1, _STEPS + 1):
        higher = lay(WRITING + (MOST_WRITING - WRITING) * step / _STEPS)
        if _each(higher, frame) < each:
            break
        layout = higher
    return layout


def paper_size(name: str) -> tuple[float, float]:
    """Return the width and height of a paper, upright, in points. Raises NotUnderstood."""
    for known, size in SIZES.items():
        if known.casefold() == name.casefold():
            return size[0], size[1]
    raise NotUnderstood(f"there is no paper {name}", " or ".join(SIZES))


def _made(form: _Form) -> Made:
    units: dict[str, str] = {}
    for placed in form.layout.placed:
        if placed.box.unit:
            inside = f"{placed.parent.field.name}." if placed.parent else ""
            units[inside + placed.box.field.name] = placed.box.unit
    return Made(form.kind.digest, form.rows, units)


def _draw(canvas: Paper, form: _Form, fillable: bool) -> None:
    canvas.setPageSize(form.size)
    pen = Pen(canvas, form.size[1], load_fonts())
    layout = form.layout
    step = layout.height + (0.0 if layout.columns else APART)
    for page in range(form.pages):
        form.frame.draw(pen, page + 1, form.pages)
        down = form.frame.top
        if layout.columns:
            draw_titles(pen, layout, MARGIN, down)
            down += layout.title_height
        for number in range(page * form.each + 1, min(form.rows, (page + 1) * form.each) + 1):
            draw_entry(pen, layout, number, MARGIN, down)
            if fillable:
                add_fields(canvas, layout, form.kind.name, number, MARGIN + NUMBER, down, form.size[1])
            down += step
        canvas.showPage()


def _canvas(out: BinaryIO, forms: Sequence[_Form], about: About) -> Paper:
    """Return a canvas whose file says what it is, and depends on nothing but what is drawn."""
    fonts = load_fonts()
    canvas = Paper(
        out,
        pagesize=forms[0].size,
        pageCompression=1,
        invariant=1,
        lang=about.said(forms[0].kind).language,
        initialFontName=fonts.regular,
    )
    what = f"{forms[0].kind.title}, form" if len(forms) == 1 else "Forms"
    canvas.setTitle(f"{what}, {about.farm}" if about.farm else what)
    canvas.setAuthor(about.farm or "Lotwalk")
    canvas.setSubject(f"A form to fill in: {', '.join(form.kind.name for form in forms)}")
    canvas.setCreator("Lotwalk")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    return canvas
