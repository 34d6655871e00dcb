"""Where labels stand: sheets of them by their dimensions, and single labels for label printers."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import cm, inch, mm

from lotwalk.data import folder
from lotwalk.errors import NotUnderstood, Problem, Refused
from lotwalk.values.text import Fields, Listing, Written, line_of
from lotwalk.values.yaml_text import lines_of

_PAGES = {"A4": A4, "Letter": LETTER}
_UNITS = {"mm": mm, "cm": cm, "in": inch}
_LENGTH = re.compile(r"([0-9]{1,4}(?:\.[0-9]{1,4})?)\s*(mm|cm|in)")
_SIZE = re.compile(r"([0-9]{1,4}(?:\.[0-9]{1,4})?)\s*[x×*]\s*([0-9]{1,4}(?:\.[0-9]{1,4})?)\s*(mm|cm|in)")
_KEYS = ("page", "columns", "rows", "width", "height", "left", "top", "across", "down")
_NEEDED = _KEYS[:5]
_LEAST, _MOST = 10 * mm, 300 * mm
_MOST_COUNT = 50
_ROUNDING = 0.2 * mm


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet of labels, in points. `left` and `top` are the edges of the first label, from the paper's upper left."""

    name: str
    page: tuple[float, float]
    columns: int
    rows: int
    width: float
    height: float
    left: float = 0.0
    top: float = 0.0
    across: float = 0.0
    down: float = 0.0

    @property
    def labels(self) -> int:
        """How many labels a sheet has."""
        return self.columns * self.rows

    def corner(self, place: int) -> tuple[float, float]:
        """Return the lower left corner of a label, counted from 0 along the rows, from the paper's lower left."""
        row, column = divmod(place, self.columns)
        x = self.left + column * (self.width + self.across)
        return x, self.page[1] - self.top - row * (self.height + self.down) - self.height


@cache
def shipped_sheets() -> Mapping[str, Sheet]:
    """Return the sheets that come with the program, by name."""
    path = folder("reports") / "labels" / "sheets.yaml"
    return {sheet.name: sheet for sheet in _read(path)}


def find_sheet(name: str) -> Sheet:
    """Return a sheet by its name or the beginning of it, or out of a file of one's own.

    Raises NotUnderstood where there is none or the name begins several, Refused with every mistake in a file.
    """
    own = Path(name)
    if own.suffix in (".yaml", ".yml"):
        sheets = _read(own)
        if len(sheets) != 1:
            raise NotUnderstood(f"{name} holds {len(sheets)} sheets", "one")
        return sheets[0]
    found = [sheet for key, sheet in shipped_sheets().items() if key.casefold().startswith(name.casefold())]
    exact = [sheet for sheet in found if sheet.name.casefold() == name.casefold()]
    if len(exact or found) != 1:
        known = ", ".join(sheet.name for sheet in found) or ", ".join(shipped_sheets())
        what = f"several label sheets are named {name}..." if found else f"there is no label sheet {name}"
        raise NotUnderstood(what, f"one of {known}; or a file of your own, or --size for a label printer")
    return (exact or found)[0]


def one_up(size: str) -> Sheet:
    """Return a page that is one label, such as 62x29mm: across first. Raises NotUnderstood."""
    found = _SIZE.fullmatch(size.strip().casefold())
    if not found:
        raise NotUnderstood(f"`{size}` is no size of a label", "its width and height, such as 62x29mm or 2.25x1.25in")
    width, height = (float(found[side]) * _UNITS[found[3]] for side in (1, 2))
    for length in (width, height):
        if not _LEAST <= length <= _MOST:
            raise NotUnderstood(f"no label is {size}", "a width and a height of 10 to 300 mm")
    return Sheet(f"{found[1]}x{found[2]}{found[3]}", (width, height), 1, 1, width, height)


def _read(path: Path) -> list[Sheet]:
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as why:
        raise Refused([Problem(f"cannot be read: {why}", "a text file", source=path.name)]) from None
    problems: list[Problem] = []
    documents = lines_of(text, [path.name], problems)
    root = documents[0] if len(documents) == 1 else None
    listed = root if isinstance(root, Listing) else [root]
    sheets = []
    for fields in listed:
        if isinstance(fields, Fields):
            sheets += _Reader(fields, path.name, problems).sheets()
        elif not problems:
            problems.append(Problem("this is no label sheet", ", ".join(_KEYS), source=path.name, line=line_of(fields)))
    if problems:
        raise Refused(problems)
    return sheets


class _Reader:
    """Reads one sheet; what is wrong with it is added to the problems."""

    def __init__(self, fields: Fields, source: str, problems: list[Problem]) -> None:
        self._fields, self._source, self._problems = fields, source, problems

    def sheets(self) -> list[Sheet]:
        """Return the sheet, or none where anything is wrong."""
        before = len(self._problems)
        for key in self._fields:
            if key not in _KEYS:
                self._wrong(key, f"a sheet has no {key}", ", ".join(_KEYS))
        for key in _NEEDED:
            if key not in self._fields:
                self._wrong(key, "it is missing", "every sheet has one")
        page = str(self._fields.get("page", ""))
        names = {name.casefold(): name for name in _PAGES}
        if "page" in self._fields and page.casefold() not in names:
            self._wrong("page", f"there is no page {page}", " or ".join(_PAGES))
        columns, rows = self._count("columns"), self._count("rows")
        width, height = self._length("width", _LEAST), self._length("height", _LEAST)
        across, down = self._length("across"), self._length("down")
        if len(self._problems) > before:
            return []
        paper = _PAGES[names[page.casefold()]]
        used = (columns * width + (columns - 1) * across, rows * height + (rows - 1) * down)
        left = self._length("left") if "left" in self._fields else (paper[0] - used[0]) / 2
        top = self._length("top") if "top" in self._fields else (paper[1] - used[1]) / 2
        for key, over in (("columns", left + used[0] - paper[0]), ("rows", top + used[1] - paper[1])):
            if over > _ROUNDING or left < 0 or top < 0:
                self._wrong(key, "the labels do not fit on the page", "fewer or smaller ones")
        name = f"{names[page.casefold()]}-{columns}x{rows}-{self._said()}"
        sheet = Sheet(name, paper, columns, rows, width, height, left, top, across, down)
        return [sheet] if len(self._problems) == before else []

    def _said(self) -> str:
        """Return the size as it is written, such as 70x37mm."""
        wide, high = ("".join(str(self._fields[key]).split()) for key in ("width", "height"))
        same = next((unit for unit in _UNITS if wide.endswith(unit) and high.endswith(unit)), "")
        return f"{wide.removesuffix(same)}x{high}"

    def _wrong(self, key: str, what: str, expected: str) -> None:
        line = line_of(self._fields.get(key)) or self._fields.line
        self._problems.append(Problem(what, expected, key, self._source, line))

    def _count(self, key: str) -> int:
        text = str(self._fields.get(key, "1"))
        if not (text.isascii() and text.isdigit() and 1 <= int(text) <= _MOST_COUNT):
            self._wrong(key, f"`{text[:20]}` is no number of labels", f"1 to {_MOST_COUNT}")
            return 1
        return int(text)

    def _length(self, key: str, least: float = 0.0) -> float:
        written: Written | None = self._fields.get(key)
        if written is None:
            return least
        found = _LENGTH.fullmatch(str(written))
        length = float(found[1]) * _UNITS[found[2]] if found else -1.0
        if not least <= length <= _MOST:
            self._wrong(key, f"`{written}` is no such length", f"{least / mm:.0f} to 300 mm, such as 38.1 mm or 1.5 in")
            return least
        return length
