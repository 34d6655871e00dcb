"""The boxes of a form: one for each field of a kind, with what is printed in it and how much room it needs."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from lotwalk.kinds.model import Field, Kind
from lotwalk.pages.typeface.fonts import load_fonts
from lotwalk.values.units import Units

MM = 72 / 25.4
"""Points in a millimetre."""

WRITING = 9.2 * MM
"""The least height of one line to write on: for wet hands and a thick pen."""

MOST_WRITING = 14 * MM
"""Where a page has room left over, a line grows as high as this."""

TITLE = 7.6
HINT = 6.4
BESIDE = 7.0
SPACE = 5.0
"""Between a title and what stands beside it."""

_MOST_TITLE = 160.0
WORDS = 8.5
PAD = 3.5
TICK = 5 * MM
"""The side of a square to tick."""

TICK_LINE = TICK + 4
_GAP = 4.0
_AFTER = 9.0

# Room for handwriting, in points, by how the field is read: the least in a block, the least in a column, and the share
# of what a line has left over.
_ROOM = {
    "at": (92.0, 84.0, 1.0),
    "date": (72.0, 64.0, 0.5),
    "code": (74.0, 54.0, 1.0),
    "codes": (104.0, 62.0, 3.0),
    "count": (46.0, 42.0, 0.5),
    "number": (46.0, 42.0, 0.5),
    "numbers": (58.0, 52.0, 0.5),
    "amount": (62.0, 52.0, 0.7),
    "range": (70.0, 58.0, 0.7),
    "trays": (70.0, 58.0, 1.0),
    "words": (100.0, 80.0, 2.0),
    "files": (80.0, 48.0, 1.0),
    "text": (92.0, 80.0, 2.0),
}
_SIGNED = (58.0, 46.0, 1.0)
_CHIEF = 28.0
"""More for a column of codes that must be filled in: they are what the entry is about, and often a range."""

_MOST_TICKS = 250.0
"""Points. More squares than fit into this stand in several lines."""

_SUCH_AS = re.compile(r"\bsuch as (.+)$", re.DOTALL)
_MOST_HINT = 40


@dataclass(frozen=True, slots=True)
class Tick:
    """One square to tick with the word beside it."""

    choice: str
    words: str
    width: float


@dataclass(frozen=True, slots=True)
class Box:
    """One box to write in or to tick in.

    `hint` is an example, `tip` what is read aloud, `unit` what a number without a unit is taken in, `units` the units
    that the farm usually writes, `limit` what the rule set allows. `least` and `narrow` are the widths that it needs in
    points, in a block and as a column; `grow` is its share of spare room. `lines` are the lines to write on. `many`:
    several texts may stand in it, one on each line. `parts` are the boxes of one line of a list, and `lines` then the
    number of those.
    """

    field: Field
    hint: str
    tip: str
    least: float
    narrow: float
    grow: float
    lines: int = 1
    unit: str = ""
    units: str = ""
    limit: str = ""
    ticks: tuple[Tick, ...] = ()
    many: bool = False
    parts: tuple["Box", ...] = ()

    @property
    def title(self) -> str:
        """The field's title, with a star where it must be filled in."""
        return f"{self.field.title}\N{NO-BREAK SPACE}*" if self.field.required else self.field.title

    @property
    def beside(self) -> str:
        """What should stand beside the title: the limit, or else the units where there are several."""
        return self.limit or (f"in {self.units}" if self.units and not self.unit else "")


def boxes_of(
    kind: Kind, units: Units, limits: Mapping[str, str], *, lines: int | None = None, files: bool = True
) -> tuple[Box, ...]:
    """Return the boxes of one entry of a kind, in the order of its fields.

    `limits` are short words by field. `lines` is how many lines each list gets, instead of what the kind's file or the
    form thinks best. Without `files` there is none to name files in.
    """
    fields = (one for one in kind.fields.values() if files or one.read != "files")
    return tuple(_box(one, units, limits.get(one.name, ""), lines) for one in fields)


def _box(one: Field, units: Units, limit: str = "", lines: int | None = None) -> Box:
    tip = f"{one.title}: {one.description}" if one.description else one.title
    if one.form == "rows":
        parts = tuple(_box(inner, units) for inner in one.fields.values())
        usual = one.lines if one.lines > 1 else (3 if len(parts) > 5 else 4)
        return Box(one, "", tip, 0, 0, 1, lines=lines or usual, parts=parts)
    unit, shown = _units(one, units)
    ticks = _ticks(one)
    least, narrow, grow = _SIGNED if one.name == "by" and one.common else _ROOM.get(one.read, _ROOM["text"])
    if one.read == "codes" and one.required and not one.common:
        narrow += _CHIEF
    if ticks:
        side_by_side = sum(tick.width for tick in ticks)
        least = max(min(side_by_side, _MOST_TICKS), *(tick.width for tick in ticks)) + 2 * PAD
        narrow = side_by_side + PAD
        grow = 0.3 if side_by_side <= _MOST_TICKS else 2.0
    box = Box(
        field=one,
        hint=_hint(one),
        tip=f"{tip} ({limit})" if limit else tip,
        least=least,
        narrow=narrow,
        grow=grow,
        lines=one.lines,
        unit=unit,
        units=shown,
        limit=limit,
        ticks=ticks,
        many=one.read in ("codes", "trays", "words", "files"),
    )
    fonts = load_fonts()
    title = fonts.width(fonts.printable(box.title), TITLE, bold=True) + 2 * PAD
    longest = max(fonts.width(word, TITLE, bold=True) for word in fonts.printable(box.title).split(" ")) + PAD
    beside = fonts.width(fonts.printable(box.beside), BESIDE) + SPACE if box.beside else 0.0
    return replace(
        box,
        least=max(least, min(title + beside, _MOST_TITLE)),
        narrow=max(narrow, min(longest, _MOST_TITLE)),
    )


def _ticks(one: Field) -> tuple[Tick, ...]:
    fonts = load_fonts()
    return tuple(
        Tick(choice, words, TICK + _GAP + fonts.width(words, WORDS) + _AFTER)
        for choice in one.choices
        for words in [fonts.printable(choice)]
    )


def _units(one: Field, units: Units) -> tuple[str, str]:
    """Return the one unit that a number alone is taken in, where only one is usual, and those that are usual.

    Of several dimensions, the first that the kind's file names counts as usual.
    """
    labels = next(filter(None, map(units.usual, one.dimensions)), ())
    return labels[0] if len(labels) == len(one.dimensions) == 1 else "", ", ".join(labels)


def _hint(one: Field) -> str:
    """Return an example from the field's description, where it gives a short one."""
    found = _SUCH_AS.search(one.description)
    example = found[1].partition(";")[0].strip() if found else ""
    return load_fonts().printable(example) if 0 < len(example) <= _MOST_HINT and not one.choices else ""


def tick_lines(ticks: Sequence[Tick], width: float) -> list[list[Tick]]:
    """Return the squares to tick in lines that are no wider than so many points, unless one square alone is."""
    lines: list[list[Tick]] = []
    used = 0.0
    for tick in ticks:
        if not lines or used + tick.width > width + 0.01:
            lines.append([])
            used = 0.0
        lines[-1].append(tick)
        used += tick.width
    return lines


def writing_height(box: Box, width: float, writing: float) -> float:
    """Return the height of what is written or ticked in a box of this width, its title not counted.

    `writing` is the height of a line to write on.
    """
    if not box.ticks:
        return writing * box.lines
    return max(writing, len(tick_lines(box.ticks, width - PAD)) * TICK_LINE + PAD)


def widths(least: Sequence[float], boxes: Sequence[Box], room: float) -> list[float]:
    """Return the widths of boxes beside each other that fill the room: each its least, the rest by their shares.

    Where the room is too small for all, each gives up the same part.
    """
    spare = room - sum(least)
    if spare < 0:
        return [one * room / sum(least) for one in least]
    shares = sum(box.grow for box in boxes)
    return [one + spare * box.grow / shares for one, box in zip(least, boxes, strict=True)]
