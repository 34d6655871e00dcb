"""How wide the columns of a table should be, so that its rows take few lines.

A column with little in it gives room to one whose words break over many lines. Widths are found from some rows of the
table; the same rows give the same widths.
"""

from collections.abc import Callable, Sequence
from math import ceil

from lotwalk.pages.definitions.model import Piece, Row

SAMPLE = 48
"""So many rows are looked at."""

_STEP = 8.0
_SPARE = 1.04
"""A line is seldom filled to its end, since words are not parted."""

_SLACK = 0.5
"""Points: so that a word which just fits is not broken for a rounding."""

_WIDEST_WORD = 0.16
"""No word asks for more than this share of the table: a longer one is broken."""

Width = Callable[[str, bool], float]
"""Returns how wide a text is in points, plain or bold."""


def fitted(titles: Sequence[str], rows: Sequence[Row], width: float, gutter: float, measure: Width) -> list[float]:
    """Return the width of each column in points, `width` together; each has `gutter` points of room around its words.

    No column is narrower than the longest word of its title, and none is left out. Room is given step by step to the
    column that makes most rows high.
    """
    cells = [[_pieces(row.cells[place], measure) for row in rows] for place in range(len(titles))]
    most = width * _WIDEST_WORD
    widths = [
        gutter
        + _SLACK
        + max(
            _longest(title, True, measure),
            min(most, max((longest for cell in column for _, longest in cell), default=0.0)),
        )
        for title, column in zip(titles, cells, strict=True)
    ]
    free = width - sum(widths)
    if free <= 0:
        return [wide * width / sum(widths) for wide in widths]
    lines = [_lines(column, wide - gutter) for column, wide in zip(cells, widths, strict=True)]
    while free > 0:
        step = min(_STEP, free)
        scores = [0.0] * len(titles)
        for number, row in enumerate(zip(*lines, strict=True)):
            highest = max(row)
            tall = [place for place, high in enumerate(row) if high == highest]
            # Where one of them has as many lines as it has pieces, no room makes the row lower.
            if all(highest > len(cells[place][number]) for place in tall):
                for place in tall:
                    scores[place] += 1 / len(tall)
        if not any(scores):
            break
        place = max(range(len(titles)), key=lambda one: scores[one])
        widths[place] += step
        free -= step
        lines[place] = _lines(cells[place], widths[place] - gutter)
    return [wide + free / len(widths) for wide in widths]


def _pieces(cell: Sequence[Piece], measure: Width) -> list[tuple[float, float]]:
    """How wide each piece of a cell is, and its longest word."""
    return [
        (measure(piece.text, piece.style == "bold"), _longest(piece.text, piece.style == "bold", measure))
        for piece in cell
    ]


def _longest(text: str, bold: bool, measure: Width) -> float:
    return max((measure(word, bold) for word in text.split()), default=0.0)


def _lines(column: Sequence[Sequence[tuple[float, float]]], room: float) -> list[int]:
    """About how many lines each cell of a column takes."""
    return [sum(1 if wide <= room else ceil(wide * _SPARE / room) for wide, _ in cell) for cell in column]
