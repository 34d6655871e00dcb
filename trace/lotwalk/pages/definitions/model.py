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
    field before it. A value that reads as one of the words in `mark` stands out, and so does an amount above the rule
    set's limit `most`, or outside its range `within`.
    """

    title: str
    values: tuple[str, ...]
    width: float
    joined: bool = False
    labelled: bool = False
    mark: tuple[str, ...] = ()
    most: str = ""
    within: str = ""


@dataclass(frozen=True, slots=True)
class Citation:
    """One rule that asks for the log: where it stands, what it says, and how sure that is."""

    rule: str
    says: str
    confidence: str


@dataclass(frozen=True, slots=True)
class Chart:
    """A picture of values over time, one for each thing that the field `by` names.

    `values` are fields that hold amounts, or what a laboratory wrote (`results`), which is drawn by tens. `limit` names
    the rule set's number that is drawn in.
    """

    title: str
    values: tuple[str, ...]
    by: str
    limit: str
    results: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """One table of a report.

    `rows` says where its rows come from: `entries` of the `kinds`, or what the program works out. `below` are values
    printed under a row, over the full width. The rows stand in the `order` of a value (time, if there is none) and are
    grouped by a value or by `day`. With `before`, what was recorded before the period stands there too. With `naming`,
    only entries that name the thing asked for. `empty` is what the section says when it has no rows.
    """

    title: str
    rows: str
    kinds: tuple[str, ...]
    columns: tuple[Column, ...]
    below: tuple[str, ...]
    group: str
    order: str
    before: bool
    naming: bool
    charts: tuple[Chart, ...]
    empty: str


Where = tuple[tuple[str, tuple[str, ...]], ...]
"""Fields with the words of which each must hold one; `verdict` holds `passed` or `failed`."""


@dataclass(frozen=True, slots=True)
class Paragraph:
    """One paragraph of a rule set, with the kinds of record that hold what it asks for and the report they print in.

    `where` restricts those to entries whose fields hold some word. `when` is a kind, with `when_where`, of which an
    entry must be on record for the paragraph to have anything to ask. `outside` says why this book holds no such
    record. Without `rules` it stands under any rule set, else under those and what is based on them. `checks` are those
    whose findings bear on it. With `weeks` it is held week by week: by the reviews of the records that ask for one.
    """

    citation: Citation
    rules: tuple[str, ...]
    kinds: tuple[str, ...]
    where: Where
    when: str
    when_where: Where
    report: str
    outside: str
    checks: tuple[str, ...] = ()
    weeks: bool = False


@dataclass(frozen=True, slots=True)
class Definition:
    """What one report shows and says.

    `asks` is the class of thing whose code it is printed for, or empty. `key` names the fields whose codes the end of
    the report explains. `passed` and `failed` are the words for a verdict. `cautions` are pairs of a subject and a
    sentence, `legend` says how to read the report, `empty` is what it says when there is nothing in it, and each of
    `signatures` gets a line to sign on every page.
    """

    name: str
    title: str
    subject: str
    language: str
    landscape: bool
    asks: tuple[str, ...]
    sections: tuple[Section, ...]
    paragraphs: tuple[Paragraph, ...]
    key: tuple[str, ...]
    passed: str
    failed: str
    cautions: tuple[tuple[str, str], ...]
    legend: tuple[str, ...]
    citations: tuple[Citation, ...]
    signatures: tuple[str, ...]
    empty: str

    @property
    def kinds(self) -> tuple[str, ...]:
        """The kinds of record that some section lists."""
        return tuple(dict.fromkeys(kind for section in self.sections for kind in section.kinds))


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
    out: bool = False


@dataclass(frozen=True, slots=True)
class ReportSummary:
    """What was printed: how many entries (or rows of another kind), and how many of them failed, have a value out of
    limits, were amended, are void or came in late. An entry that stands in several groups counts once."""

    title: str
    entries: int
    failed: int
    amended: int
    void: int
    late: int
    out: int = 0
    pages: int = 0
