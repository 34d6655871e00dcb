"""Reads a form that was filled in on a screen as a sheet of entries; mistakes are told by the row and field printed."""

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from hashlib import sha256
from pathlib import Path

from lotwalk.errors import NotUnderstood, Problem, Refused
from lotwalk.forms.names import MARK, Made, read_mark, read_name
from lotwalk.forms.pdf import is_pdf, read_fields
from lotwalk.forms.rows import Cells, write_row
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Field, Kind
from lotwalk.sheets.reader import Sheet, read_sheet_file
from lotwalk.values.text import Fields, plain

_TO_ESCAPE = re.compile("[\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff]")
_PATH = re.compile(r"(\w+)(?:\[(\d+)\])?(?:\.(\w+))?")


@dataclass(frozen=True, slots=True)
class Row:
    """One filled row as it is printed: its kind, its words such as `row 2`, and the printed lines of its lists."""

    kind: Kind
    words: str
    lines: Mapping[str, tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class Filled:
    """A filled form: the sheet that says the same, whose lines are the form's rows, and what is to be told of it."""

    sheet: Sheet
    rows: Mapping[int, Row] = field(default_factory=dict)
    notices: tuple[str, ...] = ()

    def told(self, problem: Problem) -> Problem:
        """Return a problem of the sheet in the form's own words: `row 2, Reading` in place of a line and a name."""
        row = self.rows.get(problem.line)
        if row is None:
            return replace(problem, line=0)
        where = ", ".join([f"{problem.source} {row.words}", *_printed(problem.field, row)])
        return Problem(problem.what, problem.expected, source=where)


def read_file(path: Path, kinds: Kinds) -> Sheet | Filled:
    """Return the sheet in a file, or the form filled in where it is a PDF by its content.

    Raises Refused with every problem found.
    """
    try:
        with path.open("rb") as file:
            if not is_pdf(file.read(2_000)):
                return read_sheet_file(path)
            file.seek(0)
            content = file.read()
    except (OSError, ValueError):
        return read_sheet_file(path)  # which says what is wrong with it
    return read_filled(content, str(path), kinds)


def read_filled(content: bytes, name: str, kinds: Kinds) -> Filled:
    """Return what a filled form holds; `name` is its file's name, for messages. Rows without a word are passed over.

    Every value is text as it was typed; what it means is not looked at here. Raises Refused with every problem.
    """
    try:
        fields = read_fields(content)
        made = _made(fields, kinds)
    except NotUnderstood as error:
        raise Refused([error.problem().at(name)]) from None
    notices = tuple(
        f"the form was made for another version of {kinds[kind].title}; what it holds was read by the one in force. "
        "Look the entries over, and print new forms"
        for kind, one in made.items()
        if one.digest != kinds[kind].digest
    )
    starts = dict(zip(made, _starts(made), strict=True))
    problems: list[Problem] = []
    rows: dict[int, Row] = {}
    entries: list[Fields] = []
    for kind, number, cells in _grouped(fields, made):
        line = starts[kind] + number
        written, lines, wrong = write_row(kinds[kind], cells, made[kind].units, line)
        words = f"row {number}" if len(made) == 1 else f"{kinds[kind].title} row {number}"
        rows[line] = Row(kinds[kind], words, lines)
        entries.append(written)
        problems += [problem.at(name) for problem in wrong]
    nothing = Sheet(name, "", "", in_order=False, again=False, entries=(), what="form")
    if problems:
        raise Refused([Filled(nothing, rows).told(problem) for problem in problems])
    if not entries:
        raise Refused(
            [Problem("nothing is filled in", "a form with at least one row, saved after filling", source=name)]
        )
    text = _as_sheet(entries)
    digest = sha256(text.encode("utf-8")).hexdigest()
    return Filled(replace(nothing, text=text, digest=digest, entries=tuple(entries)), rows, notices)


def _as_sheet(entries: Iterable[Fields]) -> str:
    """Return the sheet that says the same: JSON, with escapes for what YAML reads as a line's end or not at all."""
    listed = ",\n".join(json.dumps(plain(entry), ensure_ascii=False) for entry in entries)
    return "[\n" + _TO_ESCAPE.sub(lambda found: f"\\u{ord(found[0]):04x}", listed) + "\n]\n"


def is_filled(content: bytes) -> bool:
    """Return whether a PDF is a form of ours, of any version, in which something is typed or ticked."""
    try:
        fields = read_fields(content)
    except NotUnderstood:
        return False
    return MARK in fields and any(read_name(name) and _holds(value) for name, value in fields.items())


def _holds(value: str | bool) -> bool:
    return value if isinstance(value, bool) else bool(value.strip())


def _made(fields: Mapping[str, str | bool], kinds: Kinds) -> dict[str, Made]:
    """Return what the form says of its kinds. Raises NotUnderstood for a form of something else."""
    mark = fields.get(MARK)
    if mark is None:
        expected = "one printed with `lotwalk form KIND --fillable`"
        raise NotUnderstood("this PDF is no form of this record book", expected)
    made = read_mark(str(mark))
    if made is None:
        raise NotUnderstood(
            "what the form says of itself cannot be read; it was changed, or is of a newer Lotwalk",
            "a form as it was printed, or a newer Lotwalk",
        )
    for kind in made:
        kinds[kind]  # raises for a kind that this book does not know
    return made


def _starts(made: Mapping[str, Made]) -> Iterable[int]:
    """Yield for each kind of a form how many rows the kinds before it have, so that each row has a line of its own."""
    before = 0
    for one in made.values():
        yield before
        before += one.rows


def _grouped(fields: Mapping[str, str | bool], made: Mapping[str, Made]) -> Iterable[tuple[str, int, Cells]]:
    """Yield the rows in which something stands, in the order of the form, with their boxes by name."""
    rows: dict[tuple[str, int], Cells] = {}
    for text, value in fields.items():
        name = read_name(text)
        if name and _holds(value) and name.kind in made and name.row <= made[name.kind].rows:
            rows.setdefault((name.kind, name.row), {})[name] = value
    order = {kind: number for number, kind in enumerate(made)}
    for kind, row in sorted(rows, key=lambda one: (order[one[0]], one[1])):
        yield kind, row, rows[kind, row]


def _printed(path: str, row: Row) -> Iterable[str]:
    """Yield the titles that a field's path stands for, as the form prints them: `From line 2`, `Batch`."""
    found = _PATH.fullmatch(path)
    if not found:
        yield from [path] if path else []
        return
    outer = row.kind.fields.get(found[1])
    lines = row.lines.get(found[1], ())
    at = int(found[2]) if found[2] else -1
    title = outer.title if outer else found[1]
    yield f"{title} line {lines[at]}" if 0 <= at < len(lines) else title
    if found[3]:
        inner: Field | None = outer.fields.get(found[3]) if outer else None
        yield inner.title if inner else found[3]
