"""One cause of a recall looked at closely, and one code explained."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from lotwalk.cli.cause_view import CauseView
from lotwalk.cli.output import say
from lotwalk.cli.sought import sought
from lotwalk.errors import NotUnderstood
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import ThingRow
from lotwalk.ledger.read.things import find_thing, things_of
from lotwalk.recall.asking.buyer import customers_called
from lotwalk.recall.detail import Cause, Edge, Hint, Step, steps_from
from lotwalk.recall.listed import Listed, likeliest, listed, nearest
from lotwalk.values.codes import fold

if TYPE_CHECKING:
    from lotwalk.recall.model import Candidate, Evidence, Recall


@dataclass(frozen=True, slots=True)
class Detail:
    """What `--cause` and `--why` show. `back` leads from the cause to each of the asked, `onward` from it to what is
    asked about with `why`, which is told in `because`, a sentence, where it is a customer."""

    cause: str
    rows: tuple[Candidate, ...]
    evidence: tuple[Evidence, ...]
    why: Listed | None
    because: str
    back: dict[str, list[Step]]
    onward: list[Step]
    edges: list[Edge]
    hints: list[Hint]

    @classmethod
    def of(cls, connection: Connection, kinds: Kinds, found: Recall, cause: str | None, why: str | None) -> Detail:
        """Return the detail of a cause, or of the likeliest one that reaches what is asked about with `why`.

        That is anything on a list of the recall, by its code, by what is printed, or by a customer's name. Raises
        NotUnderstood when the cause is no candidate, or when nothing leads to what is asked about.
        """
        about = listed(found, _sought(connection, why, kinds)) if why else None
        rows = rows_of(found, cause) if cause else likeliest(found, about.code) if about else []
        start = rows[0].thing.code if rows else ""
        if about and not rows and about.code in {one.code for one in found.asked}:
            raise NotUnderstood(f"{about.code} was asked about, and no candidate cause is in the book")
        if about and not rows:
            start, rows = nearest(connection, kinds, found, _thing(connection, about))
        walked = Cause(connection, kinds, rows, found.doubt)
        asked = frozenset(one.code for one in found.asked)
        stand_for = {key for one in found.asked for key in one.starts}
        onward: list[Step] = []
        because = ""
        if about:
            target = _thing(connection, about)
            because = about.words(found.rings, asked | {thing.code for thing in things_of(connection, stand_for)})
            if about.code not in asked | {start}:
                onward = walked.steps_to(target.id) if rows else steps_from(connection, kinds, found, start, target.id)
                if not onward:
                    raise NotUnderstood(f"{about.code} is not reached from {start}", "what stands in its scope")
        back = {one.code: walked.steps_to_asked(one) for one in found.asked if rows}
        edges, hints = (walked.edges(), walked.hints()) if cause else ([], [])
        sides = [replace(one, side=one.side if len(rows) == 1 else None) for row in rows for one in row.evidence]
        return cls(start, tuple(rows), tuple(dict.fromkeys(sides)), about, because, back, onward, edges, hints)

    def explain(self, kinds: Kinds, zone: ZoneInfo) -> None:
        """Print how what is to be explained came to be reached; nothing where there is none besides what was asked."""
        if self.because:
            say(self.because)
            say()
        # What was asked about stands for a delivery, and the path to that is told below.
        if self.why and self.onward and self.onward not in self.back.values():
            asked = "" if self.rows else ", which was asked about"
            title = f"{self.why.code}: if it was {self.cause}{asked}, this is how it could have come from there:"
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
            "why": self.why.thing.code if self.why else None,
            "why_code": self.why.code if self.why else None,
            "why_deliveries": list(self.why.deliveries) if self.why else [],
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


def _sought(connection: Connection, words: str, kinds: Kinds) -> ThingRow:
    """The thing of a code, of what is printed on a package or a paper, or of a customer's name."""
    try:
        return sought(connection, words, kinds).thing
    except NotUnderstood as error:
        named = customers_called(connection, kinds, words)
        if len(named) != 1:
            raise NotUnderstood(f"{words} is not in the scope of this recall: {error.what}", error.expected) from None
        return named[0]


def _thing(connection: Connection, about: Listed) -> ThingRow:
    """What a path leads to: of a customer, the delivery to them."""
    found = find_thing(connection, about.code)
    assert found is not None, "a recall lists what is in the book"
    return found
