"""One cause of a recall looked at closely, and one code explained."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from lotwalk.cli.cause_view import CauseView
from lotwalk.errors import NotUnderstood
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.read.things import find_thing
from lotwalk.recall.detail import Cause, Edge, Hint, Step
from lotwalk.recall.ranking import rank
from lotwalk.values.codes import fold

if TYPE_CHECKING:
    from lotwalk.recall.model import Candidate, Evidence, Recall


@dataclass(frozen=True, slots=True)
class Detail:
    """What `--cause` and `--why` show. `back` leads from the cause to each of the asked, `onward` from it to `why`."""

    cause: str
    rows: tuple[Candidate, ...]
    evidence: tuple[Evidence, ...]
    why: str | None
    back: dict[str, list[Step]]
    onward: list[Step]
    edges: list[Edge]
    hints: list[Hint]

    @classmethod
    def of(cls, connection: Connection, kinds: Kinds, found: Recall, cause: str | None, why: str | None) -> Detail:
        """Return the detail of a cause, or of the likeliest one that reaches the code asked about.

        Raises NotUnderstood when the code is no candidate, or not in the scope.
        """
        rows = rows_of(found, cause) if cause else _likeliest(found, why or "")
        walked = Cause(connection, kinds, rows, found.doubt)
        thing = rows[0].thing
        onward: list[Step] = []
        if why and fold(why) not in {fold(code) for code in (thing.code, *(one.code for one in found.asked))}:
            target = find_thing(connection, why)
            onward = walked.steps_to(target.id) if target else []
            if not onward:
                raise NotUnderstood(f"{why} is not reached from {thing.code}", "a lot or delivery in its scope")
        back = {one.code: walked.steps_to_asked(one.starts) for one in found.asked}
        edges, hints = (walked.edges(), walked.hints()) if cause else ([], [])
        sides = [replace(one, side=one.side if len(rows) == 1 else None) for row in rows for one in row.evidence]
        evidence = tuple(dict.fromkeys(sides))
        return cls(thing.code, tuple(rows), evidence, why, back, onward, edges, hints)

    def explain(self, kinds: Kinds, zone: ZoneInfo) -> None:
        """Print how the code to be explained came to be reached; nothing where there is none besides what was asked."""
        if self.onward:
            title = f"{self.why}: if it was {self.cause}, this is how it could have come from there:"
            CauseView(kinds, zone).path(title, self.onward)

    def table(self, kinds: Kinds, zone: ZoneInfo) -> None:
        """Print the rest: the cause, how it could have come to what was asked, and where its scope stops."""
        view = CauseView(kinds, zone)
        view.spells(self.cause, self.rows)
        view.evidence(self.cause, self.evidence)
        for code, steps in self.back.items():
            last = f" ({steps[-1].went})" if steps and steps[-1].went != code else ""
            view.path(f"If it was {self.cause}, this is how it could have come to {code}{last}:", steps)
        if self.edges or self.hints:
            view.edges(self.edges)
            view.hints(self.hints)

    def json(self, kinds: Kinds, zone: ZoneInfo) -> dict[str, Any]:
        """Return it as JSON; entries by their names."""
        return {
            "cause": self.cause,
            "to_asked": {code: [_step(one) for one in steps] for code, steps in self.back.items()},
            "why": self.why,
            "to_why": [_step(one) for one in self.onward],
            "edges": [
                {"entry": one.version.name, "codes": list(one.codes), "deliveries_back": one.back} for one in self.edges
            ],
            "narrowing": [
                {
                    "what": one.what,
                    "entry": one.version.name if one.version else None,
                    "codes": list(one.codes),
                    "deliveries_out": one.out,
                }
                for one in self.hints
            ],
        }


def _step(one: Step) -> dict[str, str]:
    return {"entry": one.version.name, "through": one.came, "to": one.went}


def rows_of(found: Recall, cause: str) -> list[Candidate]:
    """Return the candidate rows of a code, one a spell: those that explain the most of what was asked.

    Raises NotUnderstood when it is no candidate.
    """
    rows = [one for one in found.candidates if fold(one.thing.code) == fold(cause)]
    if not rows:
        raise NotUnderstood(f"{cause} is no candidate cause here", "the code of a candidate, as --all lists them")
    most = max(one.explains for one in rows)
    return [one for one in rows if one.explains == most]


def _likeliest(found: Recall, why: str) -> list[Candidate]:
    if fold(why) in {fold(one.code) for one in found.asked}:
        return [one.candidate for one in rank(found.candidates, len(found.asked), found.further)][:1]
    for one in rank(found.candidates, len(found.asked), found.further):
        candidate = one.candidate
        if fold(why) in {fold(code) for code in (*candidate.lots, *candidate.deliveries, candidate.thing.code)}:
            return [candidate]
    raise NotUnderstood(f"{why} is not in the scope of this recall", "a lot or delivery that it lists")
