"""The fields that make a form one to fill in on a screen: over each box that is drawn, one to type or to tick in."""

from reportlab.lib.colors import Color, black

from lotwalk.forms.names import MARK, Name
from lotwalk.pages.forms.boxes import TICK
from lotwalk.pages.forms.entry import ticks_at
from lotwalk.pages.forms.layout import Layout, Placed
from lotwalk.pages.typeface.paper import Paper

_TINT = Color(0.92, 0.95, 1.0)
_INSET = 1.5
_SIZE = 11
_SMALL = 9
"""The size of letters where what is typed goes on in a second line."""


def add_fields(canvas: Paper, layout: Layout, kind: str, number: int, left: float, down: float, height: float) -> None:
    """Add the fields of entry `number` on a page so many points high; the corner is that of its leftmost box."""
    for placed in layout.placed:
        x, y = left + placed.x, down + placed.down
        name = _name(placed, kind, number)
        tip = _tip(placed, number)
        if placed.box.ticks:
            _ticks(canvas, placed, name, tip, x, height - y)
        else:
            _text(canvas, placed, name, tip, x, height - y)


def add_mark(canvas: Paper, mark: str) -> None:
    """Add the hidden field that says which form this is."""
    canvas.acroForm.textfield(
        name=MARK,
        value=mark,
        width=1,
        height=1,
        fontSize=1,
        maxlen=None,
        borderWidth=0,
        annotationFlags="hidden",
        fieldFlags="readOnly",
    )


def _name(placed: Placed, kind: str, number: int) -> Name:
    field = placed.box.field.name
    if placed.parent is None:
        return Name(kind, number, field)
    return Name(kind, number, placed.parent.field.name, placed.line, field)


def _tip(placed: Placed, number: int) -> str:
    """Return what is read aloud: the row, the line of a list, the title and the description."""
    place = f"Row {number}, "
    if placed.parent is not None:
        place += f"{placed.parent.field.title} line {placed.line}, "
    return place + placed.box.tip


def _text(canvas: Paper, placed: Placed, name: Name, tip: str, x: float, y: float) -> None:
    box = placed.box
    lines = box.many or box.field.read == "text"
    room = 22.0 if box.unit else 0.0
    canvas.acroForm.textfield(
        name=str(name),
        tooltip=tip,
        x=x + _INSET,
        y=y - placed.height + _INSET,
        width=placed.width - 2 * _INSET - room,
        height=placed.height - placed.strip - 2 * _INSET,
        fontSize=_SMALL if lines else _SIZE,
        maxlen=None,
        borderWidth=0,
        fillColor=_TINT,
        textColor=black,
        fieldFlags="multiline" if lines else "",
    )


def _ticks(canvas: Paper, placed: Placed, name: Name, tip: str, x: float, y: float) -> None:
    for tick, left, top in ticks_at(placed):
        chosen = Name(name.kind, name.row, name.field, name.line, name.inner, tick.choice)
        canvas.acroForm.checkbox(
            name=str(chosen),
            tooltip=f"{tip}: {tick.choice}",
            x=x + left,
            y=y - top - TICK,
            size=TICK,
            buttonStyle="check",
            borderWidth=1,
            borderColor=black,
            fillColor=_TINT,
            textColor=black,
            fieldFlags="",
        )
