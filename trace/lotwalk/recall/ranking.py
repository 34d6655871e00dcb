"""Candidates ranked as investigators rank exposures: what explains most of the asked, and least else.

The 2x2 table of a candidate: asked and reached, others reached; asked not reached, others not reached. The others are
the further deliveries in the time that the asked ones span, widened by the shelf life. A small risk of chance names no
cause and clears none. A germ that was found is a fact, so what has one stands before all that is only reckoned.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from lotwalk.recall.model import Candidate
from lotwalk.science.outbreak import Ratio, Table, fisher, relative_risk


@dataclass(frozen=True, slots=True)
class Ranked:
    """A candidate with its table, its relative risk with the 95 % interval, and Fisher's exact two-sided p."""

    candidate: Candidate
    table: Table
    risk: Ratio
    chance: float


def rank(candidates: Iterable[Candidate], asked: int, further: int) -> list[Ranked]:
    """Return the candidates, the likeliest first.

    `asked` is how many were asked about, `further` how many other deliveries there were in the time concerned. In
    order: what tested positive, what explains more of the asked, the smaller p, fewer others, the code.
    """
    ranked = [_ranked(one, asked, further) for one in candidates]
    ranked.sort(key=_order)
    return ranked


def _order(one: Ranked) -> tuple[bool, int, float, int, str]:
    found = one.candidate
    return not found.positive, -found.explains, one.chance, found.others, found.thing.code


def _ranked(one: Candidate, asked: int, further: int) -> Ranked:
    table = Table(one.explains, one.others, asked - one.explains, further - one.others)
    return Ranked(one, table, relative_risk(table), float(fisher(table)))
