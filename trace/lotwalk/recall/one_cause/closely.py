"""One cause of a recall looked at closely, and one code explained."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from sqlalchemy import Connection

from lotwalk.errors import NotUnderstood
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import ThingRow
from lotwalk.ledger.read.things import find_thing, things_of
from lotwalk.recall.asking.buyer import customers_called
from lotwalk.recall.asking.sought import sought
from lotwalk.recall.model import Candidate, Evidence, Recall
from lotwalk.recall.one_cause.detail import Cause, Edge, Hint, Step, steps_from
from lotwalk.recall.one_cause.listed import Listed, likeliest, listed, nearest
from lotwalk.values.codes import fold


@dataclass(frozen=True, slots=True)
class Closely:
    """One cause: its rows among the candidates (one a spell), and how it came to each of the asked, by their codes.

    `edges` are the clean breaks where its reach stops, `hints` what would narrow it; both are looked for where the
    cause was asked for. `why` is what was to be explained, `onward` the path to it from the cause, and `because` a
    sentence about it where it is a customer. Without rows, `cause` is itself what was asked about.
    """

    cause: str
    rows: tuple[Candidate, ...]
    back: dict[str, list[Step]]
    edges: tuple[Edge, ...] = ()
    hints: tuple[Hint, ...] = ()
    why: Listed | None = None
    because: str = ""
    onward: tuple[Step, ...] = ()

    @property
    def evidence(self) -> list[Evidence]:
        """What is in hand of the cause; of several spells without the side on which it lies of each."""
        sides = [
            replace(one, side=one.side if len(self.rows) == 1 else None) for row in self.rows for one in row.evidence
        ]
        return list(dict.fromkeys(sides))


def look_closely(connection: Connection, kinds: Kinds, found: Recall, rows: Sequence[Candidate]) -> Closely:
    """Return a cause of a recall looked at closely, by its rows among the candidates: at least one."""
    walked = Cause(connection, kinds, rows, found.doubt)
    return _closely(walked, found, rows[0].thing.code, rows, bounds=True)


def explain(connection: Connection, kinds: Kinds, found: Recall, cause: str | None, why: str | None) -> Closely:
    """Return a cause looked at closely, or the likeliest one that reaches what is asked about with `why`.

    That is anything on a list of the recall, by its code, by what is printed, or by a customer's name. Raises
    NotUnderstood when the cause is no candidate, or when nothing leads to what is asked about.
    """
    about = listed(found, _sought(connection, why, kinds)) if why else None
    rows = rows_of(found, cause) if cause else likeliest(found, about.code) if about else []
    start = rows[0].thing.code if rows else ""
    asked = frozenset(one.code for one in found.asked)
    if about and not rows and about.code in asked:
        raise NotUnderstood(f"{about.code} was asked about, and no candidate cause is in the book")
    if about and not rows:
        start, rows = nearest(connection, kinds, found, _thing(connection, about))
    walked = Cause(connection, kinds, rows, found.doubt)
    onward: Sequence[Step] = ()
    because = ""
    if about:
        target = _thing(connection, about)
        stand_for = {key for one in found.asked for key in one.starts}
        because = about.words(found.levels, asked | {thing.code for thing in things_of(connection, stand_for)})
        if about.code not in asked | {start}:
            onward = walked.steps_to(target.id) if rows else steps_from(connection, kinds, found, start, target.id)
            if not onward:
                raise NotUnderstood(f"{about.code} is not reached from {start}", "what stands in its scope")
    closely = _closely(walked, found, start, rows, bounds=bool(cause))
    return replace(closely, why=about, because=because, onward=tuple(onward))


def rows_of(found: Recall, cause: str) -> list[Candidate]:
    """Return the candidate rows of a code, one a spell: those that explain the most of what was asked.

    Raises NotUnderstood when it is no candidate.
    """
    rows = [one for one in found.candidates if fold(one.thing.code) == fold(cause)]
    if not rows:
        raise NotUnderstood(f"{cause} is no candidate cause here", "the code of a candidate, as --all lists them")
    most = max(one.explains for one in rows)
    return [one for one in rows if one.explains == most]


def _closely(walked: Cause, found: Recall, code: str, rows: Sequence[Candidate], *, bounds: bool) -> Closely:
    back = {one.code: walked.steps_to_asked(one) for one in found.asked if rows}
    edges, hints = (walked.edges(), walked.hints()) if bounds else ([], [])
    return Closely(code, tuple(rows), back, tuple(edges), tuple(hints))


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
