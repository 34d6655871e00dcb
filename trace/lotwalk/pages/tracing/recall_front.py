"""The first page of a recall report, by which to decide: what was asked and found, how far it goes, what to do next."""

from collections.abc import Iterator

from lotwalk.pages.tracing.desk import Desk
from lotwalk.pages.tracing.flow import SMALL, TEXT, TICK, Column, Flow
from lotwalk.pages.tracing.recall_asked import ASKED
from lotwalk.recall.answer import Answer
from lotwalk.recall.one_cause.closely import Closely
from lotwalk.recall.words.common import code_list, count
from lotwalk.recall.words.first import first_asked, first_doubts, first_facts, first_further, first_scope
from lotwalk.recall.words.tables import first_call_rows, first_cause_rows, first_level_rows

DECIDE = (
    "This lists what could share a cause: candidates on the evidence in this book, no findings. It does not say that"
    " any food is safe. Whether to recall, what, and what to say is decided with the local regulator: ring them first,"
    " and the health authority at once where somebody may be ill."
)
DAMAGED = "THE BOOK IS DAMAGED, and this may leave lots and customers out: hold and call more than it names."
_CAUSES, _CALLS, _PLACES, _LOTS = 4, 3, 4, 12
"""So many rows are told of each; the rest stands on the pages behind."""
_DOTS = "." * 30
_HELD = "\u00a0"
"""A space at which no line ends, so that a box to tick stands beside what it is for."""


def add_decision(
    flow: Flow, desk: Desk, answer: Answer, closely: Closely | None, contents: list[tuple[str, str]]
) -> None:
    """Place the first page. `contents` are names for the parts behind it, each with its heading."""
    if answer.question.although_damaged:
        flow.framed([DAMAGED])
    flow.beside("Asked", first_asked(answer, desk.kinds))
    flow.beside("Found", [*first_facts(answer.found, desk.kinds, behind=ASKED), *_way(answer, closely)])
    _add_levels(flow, answer)
    _add_causes(flow, desk, answer)
    _add_next(flow, desk, answer)
    doubts = first_doubts(answer.found, answer.narrower, answer.question.distrust, options=False)
    flow.beside("Keep in mind", doubts, size=SMALL)
    flow.contents("Pages", contents, size=SMALL)
    flow.words(DECIDE, size=SMALL, bold=True)


def _way(answer: Answer, closely: Closely | None) -> Iterator[str]:
    """How a cause in which a test found something could have come to what was asked."""
    if closely and closely.rows and closely.rows[0].positive:
        for code, steps in closely.back.items():
            if steps:
                through = [step.came for step in steps] + [steps[-1].went]
                yield f"A way from {closely.cause} to {code}: {', '.join(dict.fromkeys(through))}."


def _add_levels(flow: Flow, answer: Answer) -> None:
    first, rows = answer.urgent, first_level_rows(answer.found.totals, answer.urgent)
    columns = (
        Column("", 4, bold=True),
        Column("How wide, each with those before it", 52),
        Column("Lots", 10, right=True),
        Column("Deliveries", 12, right=True),
        Column("Customers", 12, right=True),
        Column("Still in date", 13, right=True),
    )
    flow.grid(columns, rows)
    told = f"This paper holds and calls by {first_scope(first)}: {count(len(first.calls), 'customer')}."
    flow.words(" ".join(filter(None, (told, first_further(first, options=False)))), bold=True)


def _add_causes(flow: Flow, desk: Desk, answer: Answer) -> None:
    ranked = answer.ranked_rows
    if not ranked:
        flow.beside("Causes", ["No candidate cause is in the book."])
        return
    asked = len(answer.found.asked)
    columns = (
        Column("", 3, bold=True),
        Column(f"What it could be, the likeliest of {count(len(answer.ranked), 'candidate')}", 45),
        Column("Kind", 15),
        Column("Contacts", 9, right=True),
        Column("Explains", 10, right=True),
        Column("Lots", 7, right=True),
        Column("Deliveries", 10, right=True),
    )
    flow.grid(columns, [row[:7] for row in first_cause_rows(ranked[:_CAUSES], asked, desk.kinds)])


def _add_next(flow: Flow, desk: Desk, answer: Answer) -> None:
    """Place the acts, each with a box to tick, and the lines on which the decision is written."""
    first = answer.urgent
    choices = "    ".join(
        f"[  ] {one}".replace(" ", _HELD)
        for one in (
            f"level {first.level}" if first.level == 1 else f"levels 1 to {first.level}",
            *(f"and all that {code} reached" for code in first.found),
            f"level {_DOTS[:8]}",
        )
    )
    rows = [
        (f"{TICK}1", _hold_words(answer), _DOTS),
        (
            f"{TICK}2",
            f"Ring the regulator: name {_DOTS}{_DOTS}  phone {_DOTS}\n"
            f"Told what is on this page. Answer {_DOTS}{_DOTS}{_DOTS}",
            _DOTS,
        ),
        (f"{TICK}3", _call_words(desk, answer), _DOTS),
        (
            "",
            f"Decided to recall  {choices}\n[  ] none yet, because {_DOTS}{_DOTS}{_DOTS}\n"
            f"Name {_DOTS}{_DOTS}  Signature {_DOTS}{_DOTS}",
            _DOTS,
        ),
    ]
    flow.grid((Column("", 6), Column("Do next", 72), Column("Done at, by whom", 22)), rows, size=TEXT)


def _hold_words(answer: Answer) -> str:
    lots = answer.urgent.holds.lots
    free = [one for one in lots if one.held is None]
    if not lots:
        return "Hold: nothing of it is on hand, by this book. Look in the store all the same."
    if not free:
        return f"Hold: {count(len(lots), 'lot')}, all on hold already. See that they stand apart."
    places: dict[str, list[str]] = {}
    for one in free:
        places.setdefault(one.where or "place not known", []).append(one.code)
    told = "; ".join(f"{_few(codes)} ({place})" for place, codes in list(places.items())[:_PLACES])
    more = f"; and what is in {count(len(places) - _PLACES, 'more place')}" if len(places) > _PLACES else ""
    return f"Hold {count(len(free), 'lot')}, not on hold yet: {told}{more}."


def _few(codes: list[str]) -> str:
    return code_list(codes[:_LOTS]) + (f" and {len(codes) - _LOTS} more" if len(codes) > _LOTS else "")


def _call_words(desk: Desk, answer: Answer) -> str:
    calls = answer.urgent.calls
    if not calls:
        return "Call: nobody got any of it, by this book."
    told = "; ".join(f"{row.name} {row.phone}" for row in first_call_rows(calls[:_CALLS], desk.units))
    more = f"; then {len(calls) - _CALLS} more by the call sheet" if len(calls) > _CALLS else ""
    return f"Once that is decided, call {told}{more}. Letters for them are in a folder of their own."
