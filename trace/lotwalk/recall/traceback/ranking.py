"""Candidates ranked: those that explain most of the asked first, and of those what reached least else, most closely.

What is behind at least two in three of the asked comes first, since some complaints have another cause. Of these, what
explains many, reaches few other deliveries and stands few contacts away. How that was chosen and what it does on
made-up outbreaks stands in DEVELOPERS.md. A germ that was found is a fact, so what has one stands before all that is
only reckoned.

The 2x2 table of a candidate: asked and reached, others reached; asked not reached, others not reached. The others are
the further deliveries in the time that the asked ones span, widened by the shelf life. The candidates were chosen since
they reach the asked, and there are many of them, so a small risk of chance names no cause and clears none.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from lotwalk.recall.model import Candidate
from lotwalk.science.outbreak import Ratio, Table, fisher, relative_risk


@dataclass(frozen=True, slots=True)
class Ranked:
    """A candidate with its table, its relative risk with the 95 % interval, and Fisher's exact two-sided p.

    `row` is the number of its row, from 1 on; what the book cannot tell apart shares one.
    """

    candidate: Candidate
    table: Table
    risk: Ratio
    chance: float
    row: int = 0


@dataclass(frozen=True, slots=True)
class Together:
    """One row of the list: the likeliest of what shares it, and the codes of the others."""

    first: Ranked
    others: tuple[str, ...]

    @property
    def codes(self) -> tuple[str, ...]:
        """All codes of the row, the likeliest first."""
        return self.first.candidate.thing.code, *self.others


def rank(candidates: Iterable[Candidate], asked: int, further: int) -> list[Ranked]:
    """Return the candidates, the likeliest row first, and in each row the likeliest first.

    `asked` is how many were asked about, `further` how many other deliveries there were in the time concerned.
    """
    ordered = sorted(candidates, key=lambda one: _order(one, asked))
    rows: dict[object, int] = {}
    # What is alone is a row by its own place, which no other has.
    names = [(place,) if one.joined is None else one.joined for place, one in enumerate(ordered)]
    numbers = [rows.setdefault(name, len(rows) + 1) for name in names]
    ranked = [replace(_ranked(one, asked, further), row=row) for one, row in zip(ordered, numbers, strict=True)]
    ranked.sort(key=lambda one: one.row)
    return ranked


def rows_of(ranked: Iterable[Ranked]) -> list[Together]:
    """Return the rows of ranked candidates, in their order."""
    rows: dict[int, list[Ranked]] = {}
    for one in ranked:
        rows.setdefault(one.row, []).append(one)
    return [Together(some[0], _others(some)) for some in rows.values()]


def _others(some: Sequence[Ranked]) -> tuple[str, ...]:
    codes = dict.fromkeys(one.candidate.thing.code for one in some)
    return tuple(codes)[1:]


def _order(found: Candidate, asked: int) -> tuple[object, ...]:
    explains, reached = found.explains, found.explains + found.others + found.contacts
    # A contact on the way weighs as much as another delivery that it reaches.
    closely = explains * explains / reached if reached else 0.0
    return (
        not found.positive,
        3 * explains < 2 * asked,
        -closely,
        -explains,
        found.contacts,
        found.others,
        found.thing.code,
    )


def _ranked(one: Candidate, asked: int, further: int) -> Ranked:
    table = Table(one.explains, one.others, asked - one.explains, further - one.others)
    return Ranked(one, table, relative_risk(table), float(fisher(table)))
