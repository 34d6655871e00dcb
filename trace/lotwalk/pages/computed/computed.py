"""Rows that the program works out rather than reads: from the walk, from verdicts, from the rule set's paragraphs."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from lotwalk.ledger.model import ThingRow
from lotwalk.pages.definitions.model import Column, Definition, Piece, Row, Section, Style
from lotwalk.pages.rows.reading import Reading
from lotwalk.pages.rows.recorded import MARK
from lotwalk.pages.rows.values import Values
from lotwalk.pages.rows.versions import Period


@dataclass(frozen=True, slots=True)
class Worked:
    """One row: words for each value that it has. Those of the values in `bold` stand out.

    `name` is what the row is called where it is looked for or goes on over the next page.
    """

    values: Mapping[str, str]
    bold: Sequence[str] = ()
    name: str = ""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a report is worked out from: the ledger's state, the definition, the period, and the thing asked for.

    `pages` say on which page of the file each kind of record begins, where the report is bound with others.
    """

    state: Reading
    definition: Definition
    period: Period
    thing: ThingRow | None
    values: Values
    pages: Mapping[str, int] = field(default_factory=dict)


Maker = Callable[[Asked], Iterable[Worked]]


def worked(makers: Mapping[str, Maker], section: Section, asked: Asked) -> list[Row]:
    """Return the rows of a section."""
    return [
        Row(found.name, tuple(_cell(column, found) for column in section.columns), (), failed=bool(found.bold))
        for found in makers[section.rows](asked)
    ]


def _cell(column: Column, found: Worked) -> tuple[Piece, ...]:
    pieces = []
    for name in column.values:
        if words := found.values.get(name, ""):
            bold = name in found.bold
            pieces.append(Piece(f"{MARK}{words}", "bold") if bold else Piece(words))
    if column.joined and len(pieces) > 1:
        style: Style = "bold" if any(piece.style == "bold" for piece in pieces) else "plain"
        return (Piece("  ".join(piece.text for piece in pieces), style),)
    return tuple(pieces)
