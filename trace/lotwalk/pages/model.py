"""The immutable types of a printed log: its definition, and the rows that it is filled with."""

from dataclasses import dataclass
from typing import Literal

Style = Literal["plain", "bold", "struck"]
"""How words are printed. What was replaced is struck through and stays readable."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a log.

    `values` say where its words come from, each printed under the other, or with `joined` one after another. `width`
    is its share of the page's width beside the other columns' shares. With `labelled` each value has the title of its
    field before it. A value that reads as one of the words in `mark` stands out.
    """

    title: str
    values: tuple[str, ...]
    width: float
    joined: bool = False
    labelled: bool = False
    mark: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Citation:
    """One rule that asks for the log: where it stands, what it says, and how sure that is."""

    rule: str
    says: str
    confidence: str


@dataclass(frozen=True, slots=True)
class Definition:
    """What one printed log shows and says.

    `below` are values printed under a row, over the full width, and `key` names the fields whose codes the end of the
    log explains. `passed` and `failed` are the words for a verdict. `cautions` are pairs of a subject and a sentence,
    `legend` says how to read the log, `empty` is what an empty log says, and each of `signatures` gets a line to sign
    on every page.
    """

    name: str
    title: str
    subject: str
    language: str
    landscape: bool
    kinds: tuple[str, ...]
    columns: tuple[Column, ...]
    below: tuple[str, ...]
    key: tuple[str, ...]
    passed: str
    failed: str
    cautions: tuple[tuple[str, str], ...]
    legend: tuple[str, ...]
    citations: tuple[Citation, ...]
    signatures: tuple[str, ...]
    empty: str


@dataclass(frozen=True, slots=True)
class Piece:
    """Words in one style. The pieces of a cell stand under one another."""

    text: str
    style: Style = "plain"


@dataclass(frozen=True, slots=True)
class Row:
    """One entry of a log: a cell for each column, and what is printed below them over the full width."""

    entry: str
    cells: tuple[tuple[Piece, ...], ...]
    below: tuple[Piece, ...]
    failed: bool = False
    amended: bool = False
    void: bool = False
    late: bool = False


@dataclass(frozen=True, slots=True)
class ReportSummary:
    """What was printed: how many entries, and how many of them failed, were amended, are void or came in late."""

    title: str
    entries: int
    failed: int
    amended: int
    void: int
    late: int
    pages: int = 0
