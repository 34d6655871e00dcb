"""The recall report: the answer first, then whom to call and what to say, what to hold, and why; with its maps."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import BinaryIO

from lotwalk.pages.cautions import caution
from lotwalk.pages.maps.build import Builder, Subject
from lotwalk.pages.maps.model import Map
from lotwalk.pages.maps.path import path_map
from lotwalk.pages.tracing.case import Case, Closely, look_closely, ranked_of
from lotwalk.pages.tracing.desk import Desk
from lotwalk.pages.tracing.document import Document
from lotwalk.pages.tracing.grouped import add_groups
from lotwalk.pages.tracing.recall_calls import add_calls, add_notice
from lotwalk.pages.tracing.recall_causes import add_candidates, add_closely
from lotwalk.pages.tracing.recall_front import add_answer, add_asked
from lotwalk.pages.tracing.recall_scope import add_balance, add_holds, add_lots, add_rings
from lotwalk.recall.asking.asked import COMPLAINT
from lotwalk.recall.words.common import code_list
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import EVER, FORWARD, Start

NAME = "recall"
TITLE = "Recall report"
SIGNATURES = ("Prepared by", "Reviewed by")
_CAUTIONS = ("recall", "illness", "private-addresses")
_CLOSING = ("cleaning-is-no-proof", "holding", "pointers")

SOURCES = (
    "The notice holds what 21 CFR 7.49 asks of a recall message (read in a copy; the hazard, an easy reply and nothing"
    " promotional from memory). Classes I, II and III stand in 21 CFR 7.3(m) (read in a copy): the regulator assigns"
    " them, not this book. What the calls bring back answers to the status report of 21 CFR 7.53 (from memory)."
)


@dataclass(frozen=True, slots=True)
class Written:
    """What was printed."""

    title: str
    pages: int


def write_recall(desk: Desk, case: Case, *, page_size: str = "", out: BinaryIO) -> Written:
    """Write the report of a recall as a PDF. It is printed at the time of the ledger's clock.

    Raises NotUnderstood for an unknown page size.
    """
    cautions = [(one.subject, one.says) for one in map(caution, _CAUTIONS)]
    about = f"Asked about: {code_list(case.codes)}"
    document = Document(NAME, desk.facts(TITLE, [about], cautions, SIGNATURES), page_size or desk.paper)
    flow = document.flow
    ranked = ranked_of(case.found)
    closely = look_closely(desk.connection, desk.kinds, case, ranked)
    add_answer(flow, desk, case, closely)
    add_asked(flow, desk, case)
    add_calls(flow, desk, case)
    add_notice(flow, desk, case)
    add_holds(flow, desk, case)
    add_balance(flow, desk, case.balance)
    add_rings(flow, case)
    maps = list(_maps(desk, case, closely, document))
    for drawn in maps:
        document.add_map(drawn)
    add_groups(flow, maps)
    if closely:
        add_closely(flow, desk, case, closely)
    add_candidates(flow, desk, case, ranked)
    add_lots(flow, desk, case)
    _add_closing(document)
    pages = document.write(
        out, desk, title=f"{TITLE}: {', '.join(case.codes)}", subject="Recall of lots and deliveries"
    )
    return Written(TITLE, pages)


def _maps(desk: Desk, case: Case, closely: Closely | None, document: Document) -> Iterable[Map]:
    """The path from the cause to what was asked, what that cause reaches, and the whole scope."""
    builder = Builder(desk.connection, desk.kinds, desk.zone)
    about = case.about(desk.connection)
    along: frozenset[str] = frozenset()
    if closely:
        title = f"If it was {closely.code}: how it could have come to what was asked"
        path = path_map(desk.connection, desk.kinds, desk.zone, title, closely.code, closely.back, about)
        along = frozenset(code for box in path.boxes for code in box.members)
        yield path
    complaints = [one for one in case.found.asked if one.kind == COMPLAINT]
    asked, cause = frozenset(case.codes), closely.code if closely else None
    reach = None
    if closely:
        title = f"If it was {cause}: all that it reaches"
        # A scope that was chosen by a cause is drawn as that cause reaches it.
        within = _drawn_codes(case) | {closely.code} if case.cause else None
        subject = Subject(asked, cause, along, within=within, complaints=complaints)
        reach = builder.build(title, closely.walked.frontier, subject, document.fits)
        if case.cause:
            yield reach
            return
    subject = Subject(asked, cause, rings=case.found.rings, within=_drawn_codes(case), complaints=complaints)
    whole = builder.build("The scope, whichever candidate it was", _everything(desk, case), subject, document.fits)
    if reach and _codes(reach) == _codes(whole):
        yield replace(reach, title=f"{reach.title}, which is the whole scope")
        return
    yield from filter(None, (reach, whole))


def _drawn_codes(case: Case) -> set[str]:
    """What is drawn of a scope: its lots, deliveries and customers, and what is no lot in its rings."""
    scope, found = case.scope, case.found
    listed = {*found.lots, *(one.code for one in found.deliveries)}
    others = {code for code, ring in found.rings.items() if ring <= (case.ring or 5) and code not in listed}
    return {*scope.lots, *(one.code for one in scope.deliveries), *scope.customers, *case.codes} | others


def _codes(drawn: Map) -> set[str]:
    """All that is drawn in a map, however it is put together."""
    return {code for box in drawn.boxes for code in box.members}


def _everything(desk: Desk, case: Case) -> Frontier:
    """The walk forward from all candidates and from what was asked."""
    starts = [
        Start(
            one.thing.id,
            None
            if one.spell is None
            else (
                -EVER if one.spell.start is None else one.spell.start,
                EVER if one.spell.end is None else one.spell.end,
            ),
        )
        for one in case.found.candidates
    ]
    frontier = Frontier(desk.connection, FORWARD, case.found.doubt)
    frontier.run([*starts, *(Start(key) for one in case.found.asked for key in one.starts)])
    return frontier


def _add_closing(document: Document) -> None:
    flow = document.flow
    flow.heading("What this report is not")
    for name in _CLOSING:
        told = caution(name)
        flow.words(f"{told.subject}. {told.says}")
    flow.words(SOURCES)
    document.close()
