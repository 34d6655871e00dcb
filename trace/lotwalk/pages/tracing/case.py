"""A recall as it is printed: what was reckoned, and one cause of it looked at closely."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection

from lotwalk.balance.model import Balance
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.read.things import things_of
from lotwalk.recall.calls import Call
from lotwalk.recall.detail import Cause, Edge, Hint, Step
from lotwalk.recall.holds import Holds
from lotwalk.recall.model import Candidate, Recall
from lotwalk.recall.ranking import Ranked, rank
from lotwalk.values.codes import fold


@dataclass(frozen=True, slots=True)
class Case:
    """A recall that was reckoned. `scope` is what to call by, `narrower` the scope if late evidence were believed.

    `balance` is that of the scope's lots, `calls` and `holds` are whom to call and what to hold, both in order.
    `ring` and `cause` are those that restrict the scope, as asked; `distrusted`, `believed` and `through` as asked too.
    """

    found: Recall
    scope: Recall
    narrower: Recall | None
    balance: Balance
    calls: Sequence[Call]
    holds: Holds
    ring: int | None = None
    cause: str | None = None
    distrusted: tuple[str, ...] = ()
    believed: tuple[str, ...] = ()
    through: tuple[str, ...] = ()

    @property
    def codes(self) -> tuple[str, ...]:
        """The codes that were asked about."""
        return tuple(one.code for one in self.found.asked)

    def about(self, connection: Connection) -> dict[str, list[str]]:
        """Return the codes that each asked one stands for."""
        return {one.code: [thing.code for thing in things_of(connection, one.starts)] for one in self.found.asked}


@dataclass(frozen=True, slots=True)
class Closely:
    """One cause: its rows among the candidates (one a spell), how it came to each of the asked, where it stops."""

    code: str
    rows: tuple[Candidate, ...]
    back: Mapping[str, Sequence[Step]]
    edges: Sequence[Edge]
    hints: Sequence[Hint]
    walked: Cause


def look_closely(connection: Connection, kinds: Kinds, case: Case, ranked: Sequence[Ranked]) -> Closely | None:
    """Return the cause asked for, or else the first of the ranked; None where there is no candidate."""
    found = case.found
    if case.cause:
        rows = [one for one in found.candidates if fold(one.thing.code) == fold(case.cause)]
        most = max((one.explains for one in rows), default=0)
        rows = [one for one in rows if one.explains == most]
    else:
        rows = [one.candidate for one in ranked[:1]]
    if not rows:
        return None
    walked = Cause(connection, kinds, rows, found.doubt)
    back = {one.code: walked.steps_to_asked(one) for one in found.asked}
    return Closely(rows[0].thing.code, tuple(rows), back, walked.edges(), walked.hints(), walked)


def ranked_of(found: Recall) -> list[Ranked]:
    """Return the candidates as investigators rank exposures."""
    return rank(found.candidates, len(found.asked), found.further)
