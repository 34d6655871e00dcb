"""Printing: tables for people, JSON and CSV for programs. Nothing here knows what is printed."""

from __future__ import annotations

import sys
import unicodedata
from collections.abc import Callable, Collection, Iterable, Sequence
from typing import TYPE_CHECKING, Any, Literal, Protocol, TypeVar

import click

from lotwalk.values.text import safe_cell

if TYPE_CHECKING:
    from rich.text import Text

WIDEST = 100
"""Columns. Wider lines are hard to read, and do not fit a printed page."""
NARROW = 80
"""Columns of an answer that is to be read at one look, on any screen."""
NARROWEST = 40
_SHORTEST = 6
"""Columns: a cell is cut to no less."""
GAP = 2
"""Columns between two columns of a table."""

_Command = TypeVar("_Command", bound=Callable[..., Any])
_DIRECTING = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Characters that turn the direction of text: a record could show as what it is not."""


def format_option(command: _Command) -> _Command:
    """Add `--format table|json|csv` to a command, as `form`."""
    return click.option(
        "--format",
        "form",
        type=click.Choice(["table", "json", "csv"]),
        default="table",
        show_default=True,
        help="A table to read, or JSON or CSV for other programs.",
    )(command)


def shown(text: object) -> str:
    """Return text that is safe on a screen: what people typed may hold anything, but does not steer the terminal."""
    plain = str(text).replace("\r\n", "\n").replace("\t", " ")
    return "".join("\ufffd" if _steers(letter) else letter for letter in plain)


def _steers(letter: str) -> bool:
    return letter in _DIRECTING or (letter != "\n" and unicodedata.category(letter) == "Cc")


def say(text: str = "", *, indent: int = 0, hang: int = 0, at_most: int = WIDEST) -> None:
    """Print a paragraph, wrapped by words, its lines set in by so many columns, and by `hang` more after the first."""
    from rich.padding import Padding
    from rich.text import Text

    deep = indent + hang
    lines = _drawn(Padding(Text(shown(text)), (0, 0, 0, deep)) if deep else Text(shown(text)), at_most)
    for number, line in enumerate(lines):
        click.echo(line if number else line[hang:])


def say_behind(name: str, paragraphs: Iterable[str], *, at_most: int = WIDEST) -> None:
    """Print paragraphs, wrapped by words, in a column of their own behind a name."""
    from rich.table import Table
    from rich.text import Text

    table = Table.grid(padding=(0, 1))
    table.add_column(no_wrap=True, width=6)
    table.add_column(overflow="fold")
    for number, paragraph in enumerate(paragraphs):
        table.add_row(Text("" if number else name), Text(shown(paragraph)))
    _print(table, at_most)


def print_lines(columns: Sequence[str], rows: Sequence[Sequence[object]], *, right: Collection[int] = ()) -> None:
    """Print a close table of at most 80 columns, one line a row.

    `right` are the columns with numbers: they stand to the right, and stay whole. Of the others the widest gives way,
    and what is too long for its column is cut with a mark.
    """
    from rich.table import Table
    from rich.text import Text

    cells = [[Text(shown(cell)) for cell in row] for row in (columns, *rows)]
    widths = [max(cell.cell_len for cell in column) for column in zip(*cells, strict=True)]
    loose = [place for place in range(len(columns)) if place not in right]
    while sum(widths) > min(width(), NARROW) - len(widths) + 1 and loose:
        widest = max(loose, key=lambda place: widths[place])
        if widths[widest] <= _SHORTEST:
            break
        widths[widest] -= 1
    table = Table.grid(padding=(0, 1, 0, 0))
    for place, column in enumerate(widths):
        justify: Literal["left", "right"] = "right" if place in right else "left"
        table.add_column(justify=justify, no_wrap=True, overflow="ellipsis", width=column)
    for row in cells:
        table.add_row(*row)
    _print(table, NARROW)


def say_command(text: str) -> None:
    """Print a command on a line of its own that nothing wraps, so that it can be copied whole."""
    click.echo(f"  {shown(text)}")


def print_table(columns: Sequence[str], rows: Iterable[Sequence[object]], *, title: str = "", whole: int = 0) -> None:
    """Print a table of at most 100 columns' width, cells wrapped by words.

    The first `whole` columns (codes, times) are not wrapped; no word is broken while there is room for it.
    """
    from rich import box
    from rich.table import Table
    from rich.text import Text as Cell

    heads = [Cell(column) for column in columns]
    cells = [[Cell(shown(cell)) for cell in row] for row in rows]
    lines = box.SIMPLE_HEAD if _draws_lines() else box.ASCII2
    table = Table(box=lines, show_edge=False, pad_edge=False, padding=(0, 1, 0, 0))
    for head, column in zip(heads, _widths(heads, cells, whole), strict=True):
        table.add_column(head, overflow="fold", width=column)
    for row in cells:
        table.add_row(*row)
    if title:
        say(title)
    _print(table)
    click.echo()


def fits(columns: Sequence[str], rows: Iterable[Sequence[object]], *, whole: int = 0) -> bool:
    """Return whether a table fits without breaking a word."""
    from rich.text import Text as Cell

    cells = [[Cell(shown(cell)) for cell in row] for row in (columns, *rows)]
    return sum(_unbroken(cells, whole)) <= _room(len(columns))


def _widths(heads: Sequence[Text], rows: Sequence[Sequence[Text]], whole: int) -> list[int]:
    """The columns' widths: as wide as what stands in them, or the room shared out, words unbroken if they can be."""
    cells = [heads, *rows]
    wanted = [max(1, *(cell.cell_len for cell in column)) for column in zip(*cells, strict=True)]
    widths = _unbroken(cells, whole)
    while sum(widths) > _room(len(heads)) and max(widths) > 1:
        widths[widths.index(max(widths))] -= 1
    for _ in range(_room(len(heads)) - sum(widths)):
        needs = [want / width for want, width in zip(wanted, widths, strict=True)]
        if max(needs, default=0) <= 1:
            break
        widths[needs.index(max(needs))] += 1
    return widths


def _room(columns: int) -> int:
    return width() - GAP * columns + 1


def _unbroken(cells: Sequence[Sequence[Text]], whole: int) -> list[int]:
    """The narrowest widths at which no word is broken, and the first columns not wrapped."""
    return [
        max(1, *(cell.cell_len if number < whole else _longest_word(cell) for cell in column))
        for number, column in enumerate(zip(*cells, strict=True))
    ]


def _longest_word(text: Text) -> int:
    """The columns that the longest word of a text needs; a letter of some scripts needs two."""
    from rich.cells import cell_len

    return max((cell_len(word) for word in text.plain.split()), default=0)


def print_pairs(pairs: Iterable[tuple[str, object]]) -> None:
    """Print what is what, one a line, the names in a column of their own."""
    from rich.table import Table
    from rich.text import Text

    table = Table.grid(padding=(0, 2))
    table.add_column(no_wrap=True)
    table.add_column(overflow="fold")
    for name, value in pairs:
        table.add_row(Text(f"  {name}"), Text(shown(value)))
    _print(table)


def _print(what: object, at_most: int = WIDEST) -> None:
    for line in _drawn(what, at_most):
        click.echo(line)


def _drawn(what: object, at_most: int) -> list[str]:
    import io

    from rich.console import Console

    drawn = io.StringIO()
    console = Console(
        file=drawn,
        width=min(width(), at_most),
        color_system=None,
        highlight=False,
        markup=False,
        emoji=False,
        legacy_windows=False,
    )
    console.print(what)
    return [line.rstrip() for line in drawn.getvalue().splitlines()]


def width() -> int:
    """Return how many columns there are to print on."""
    if not sys.stdout.isatty():
        return WIDEST
    import shutil

    return max(NARROWEST, min(WIDEST, shutil.get_terminal_size().columns))


def _draws_lines() -> bool:
    try:
        "─".encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


class View(Protocol):
    """An answer that can be told in three ways."""

    def json(self) -> dict[str, Any]:
        """Return it as JSON."""

    def csv(self) -> tuple[Sequence[str], Iterable[Sequence[object]]]:
        """Return it as columns and rows."""

    def table(self) -> None:
        """Print it for people."""


def print_view(view: View, form: str) -> None:
    """Print an answer in the form that `--format` asks for."""
    if form == "json":
        print_json(view.json())
    elif form == "csv":
        print_csv(*view.csv())
    else:
        view.table()


def print_json(value: object) -> None:
    """Print JSON; where the output is not UTF-8, in letters that every encoding has."""
    import json

    utf8 = (sys.stdout.encoding or "").lower().replace("-", "") == "utf8"
    click.echo(json.dumps(value, ensure_ascii=not utf8, indent=2))


def print_csv(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    """Print CSV with a line of column names; no cell starts as a formula would in a spreadsheet."""
    import csv
    import io

    drawn = io.StringIO()
    writer = csv.writer(drawn, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([safe_cell(value) for value in row] for row in rows)
    click.echo(drawn.getvalue(), nl=False)
