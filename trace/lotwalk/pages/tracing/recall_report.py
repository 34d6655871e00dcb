"""The recall report: a page by which to decide, the call sheet, what to hold, and why; with its maps."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import BinaryIO

from lotwalk.pages.cautions import caution
from lotwalk.pages.maps.build import Builder, Subject
from lotwalk.pages.maps.model import Map
from lotwalk.pages.maps.path import path_map
from lotwalk.pages.tracing.desk import Desk
from lotwalk.pages.tracing.document import Document
from lotwalk.pages.tracing.grouped import add_groups
from lotwalk.pages.tracing.recall_asked import ASKED, add_asked
from lotwalk.pages.tracing.recall_calls import SHEET, add_calls
from lotwalk.pages.tracing.recall_causes import CANDIDATES, add_candidates, add_closely, why_heading
from lotwalk.pages.tracing.recall_front import add_decision
from lotwalk.pages.tracing.recall_scope import BALANCE, HOLD, LOTS, add_balance, add_holds, add_lots
from lotwalk.recall.answer import Answer
from lotwalk.recall.asking.asked import COMPLAINT
from lotwalk.recall.model import Candidate
from lotwalk.recall.one_cause.closely import Closely, look_closely
from lotwalk.recall.traceback.candidates import window_of
from lotwalk.recall.words.common import code_list
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import FORWARD, Start

NAME = "recall"
TITLE = "Recall report"
ABOUT = "For the farm and the regulator. Not for customers: they have letters of their own."
CLOSING = "What this report is not"
_CLOSING = ("recall", "illness", "holding", "cleaning-is-no-proof", "pointers")

SOURCES = (
    "The letters hold what 21 CFR 7.49 asks of a recall message (read in a copy; the hazard, an easy reply and nothing"
    " promotional from memory). Classes I, II and III stand in 21 CFR 7.3(m) (read in a copy): the regulator assigns"
    " them, not this book. What the calls bring back answers to the status report of 21 CFR 7.53 (from memory)."
)


@dataclass(frozen=True, slots=True)
class Written:
    """What was printed."""

    title: str
    pages: int


def write_recall(desk: Desk, answer: Answer, *, page_size: str = "", out: BinaryIO) -> Written:
    """Write the report of a recall as a PDF. It is printed at the time of the ledger's clock.

    Raises NotUnderstood for an unknown page size.
    """
    about = filter(None, (desk.reached_by, f"Asked about: {code_list(answer.codes)}. {ABOUT}"))
    facts = desk.facts(TITLE, list(about), (), ())
    facts = replace(facts, aside=(*facts.aside, f"In date as of {answer.urgent.on}"))
    document = Document(NAME, facts, page_size or desk.paper)
    flow = document.flow
    closely = _closely(desk, answer)
    maps = list(_maps(desk, answer, closely, document))
    add_decision(flow, desk, answer, closely, _contents(maps, closely))
    add_calls(flow, desk, answer)
    add_holds(flow, desk, answer)
    add_asked(flow, desk, answer)
    if closely:
        add_closely(flow, desk, closely)
    for drawn in maps:
        document.add_map(drawn)
    add_groups(flow, maps)
    add_candidates(flow, desk, answer)
    add_balance(flow, desk, answer.balance)
    add_lots(flow, desk, answer)
    _add_closing(document)
    pages = document.write(
        out, desk, title=f"{TITLE}: {', '.join(answer.codes)}", subject="Recall of lots and deliveries"
    )
    return Written(TITLE, pages)


def _contents(maps: Sequence[Map], closely: Closely | None) -> list[tuple[str, str]]:
    """What stands behind the first page, each with the heading that it begins with."""
    return [
        ("call sheet", SHEET),
        ("lots to hold", HOLD),
        ("what was asked", ASKED),
        *([(f"why {closely.cause}", why_heading(closely))] if closely else []),
        *((f"map {number}", drawn.title) for number, drawn in enumerate(maps, 1)),
        ("candidates", CANDIDATES),
        ("balance", BALANCE),
        ("all lots and deliveries", LOTS),
        ("cautions and sources", CLOSING),
    ]


def _maps(desk: Desk, answer: Answer, closely: Closely | None, document: Document) -> Iterable[Map]:
    """The path from the cause to what was asked, what that cause reaches, and the whole scope."""
    builder = Builder(desk.connection, desk.kinds, desk.zone)
    along: frozenset[str] = frozenset()
    if closely:
        title = f"If it was {closely.cause}: how it could have come to what was asked"
        path = path_map(desk.connection, desk.kinds, desk.zone, title, closely.cause, closely.back, answer.stands_for)
        along = frozenset(code for box in path.boxes for code in box.members)
        yield path
    complaints = [one for one in answer.found.asked if one.kind == COMPLAINT]
    asked, cause = frozenset(answer.codes), closely.cause if closely else None
    reach = None
    if closely:
        title = f"If it was {cause}: all that it reaches"
        # A scope that was chosen by a cause is drawn as that cause reaches it.
        within = _drawn_codes(answer) | {closely.cause} if answer.question.cause else None
        subject = Subject(asked, cause, along, within=within, complaints=complaints)
        reach = builder.build(title, _walked(desk, answer, closely.rows), subject, document.fits)
        if answer.question.cause:
            yield reach
            return
    subject = Subject(asked, cause, levels=answer.found.levels, within=_drawn_codes(answer), complaints=complaints)
    everything = _walked(
        desk, answer, answer.found.candidates, *(key for one in answer.found.asked for key in one.starts)
    )
    whole = builder.build("The scope, whichever candidate it was", everything, subject, document.fits)
    if reach and _codes(reach) == _codes(whole):
        yield replace(reach, title=f"{reach.title}, which is the whole scope")
        return
    yield from filter(None, (reach, whole))


def _drawn_codes(answer: Answer) -> set[str]:
    """What is drawn of a scope: its lots, deliveries and customers, and what is no lot in its levels."""
    scope, found = answer.scope, answer.found
    listed = {*found.lots, *(one.code for one in found.deliveries)}
    others = {
        code for code, level in found.levels.items() if level <= (answer.question.level or 5) and code not in listed
    }
    return {*scope.lots, *(one.code for one in scope.deliveries), *scope.customers, *answer.codes} | others


def _codes(drawn: Map) -> set[str]:
    """All that is drawn in a map, however it is put together."""
    return {code for box in drawn.boxes for code in box.members}


def _closely(desk: Desk, answer: Answer) -> Closely | None:
    """The cause that was asked for, or else the first of the ranked; None where there is no candidate."""
    if answer.question.cause:
        return answer.detail
    rows = [one.candidate for one in answer.ranked[:1]]
    return look_closely(desk.connection, desk.kinds, answer.found, rows) if rows else None


def _walked(desk: Desk, answer: Answer, rows: Iterable[Candidate], *keys: int) -> Frontier:
    """The walk forward from some of the candidates, and from things by their keys."""
    frontier = Frontier(desk.connection, FORWARD, answer.found.doubt)
    frontier.run([*(Start(one.thing.id, window_of(one)) for one in rows), *map(Start, keys)])
    return frontier


def _add_closing(document: Document) -> None:
    flow = document.flow
    flow.heading(CLOSING)
    for name in _CLOSING:
        told = caution(name)
        flow.words(f"{told.subject}. {told.says}")
    flow.words(SOURCES)
    document.close()
