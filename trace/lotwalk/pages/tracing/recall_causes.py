"""The candidate causes of a recall, and one of them looked at closely: why it is one, and where its reach stops."""

from lotwalk.pages.tracing.desk import Desk
from lotwalk.pages.tracing.flow import Column, Flow
from lotwalk.recall.answer import Answer
from lotwalk.recall.one_cause.closely import Closely
from lotwalk.recall.traceback.group_alike import alike
from lotwalk.recall.words.cause import CauseWords
from lotwalk.recall.words.common import LINKS, count, minute, spell_words
from lotwalk.recall.words.evidence import full, limits
from lotwalk.recall.words.ranking import ORDER, TOGETHER, compared_words
from lotwalk.recall.words.tables import candidate_rows, ranked_rows
from lotwalk.walk.model import EVER

MOST_ROWS, MOST_RANKED = 40, 15
"""So many rows of candidates are printed, and so many ranked."""


CANDIDATES = "Candidate causes"


def why_heading(closely: Closely) -> str:
    """Return the heading over how a cause could have come to what was asked."""
    return f"Why {closely.cause} is a candidate"


def add_closely(flow: Flow, desk: Desk, closely: Closely) -> None:
    """Place how the cause could have come to each of the asked, where its reach stops, and what would narrow it."""
    words = CauseWords(desk.kinds, desk.zone)
    flow.heading(why_heading(closely))
    first = closely.rows[0]
    flow.words(
        f"{desk.kinds.things[first.thing.kind].title} {closely.cause}"
        + "".join(f", {spell_words(one.spell, desk.zone)}" for one in closely.rows if one.spell)
        + f": {LINKS[first.link]}, level {first.level}. It reaches {count(len(first.lots), 'lot')},"
        f" {count(len(first.deliveries), 'delivery', 'deliveries')}, {count(len(first.customers), 'customer')}."
    )
    for one in first.evidence:
        flow.words(f"It was looked at: {full(one, desk.kinds[one.kind].title.lower())}")
    for code, steps in closely.back.items():
        flow.words(f"How it could have come to {code}:", bold=True)
        if not steps:
            flow.words("There is no path between them on the evidence in this book.", indent=10)
        for number, step in enumerate(steps, 1):
            told = " ".join(words.paths.lines(step, number))
            flow.words(f"{number}. {words.paths.head(step)}: {told}", indent=10)
    _add_edges(flow, desk, closely, words)
    _add_hints(flow, closely, words)


def _add_edges(flow: Flow, desk: Desk, closely: Closely, words: CauseWords) -> None:
    flow.heading(f"Where the reach of {closely.cause} stops")
    if not closely.edges:
        flow.words("No clean break bounds it.")
        return
    flow.words("Clean breaks at its edge, and the deliveries that come back if one is not believed.")
    rows = words.edge_rows(closely.edges)
    cells = [
        (f"{row.entry} {row.title}", row.when, row.cleared, row.evidence, row.by, row.recorded, row.back)
        for row in rows
    ]
    columns = (
        Column("Entry", 16, bold=True),
        Column("When", 15),
        Column("Cleared at the edge", 22),
        Column("Evidence", 20),
        Column("By", 7),
        Column("Recorded", 14),
        Column("Come back", 8, right=True),
    )
    flow.grid(columns, cells)
    if others := len(closely.edges) - len(rows):
        flow.words(f"{count(others, 'further clean break')} at its edge would let in nothing that is not in already.")


def _add_hints(flow: Flow, closely: Closely, words: CauseWords) -> None:
    flow.heading("What would narrow it, if it were documented")
    if not closely.hints:
        flow.words("No single missing paper would.")
        return
    flow.grid(
        (Column("Deliveries out", 14, right=True), Column("If this were documented", 86)),
        words.hint_rows(closely.hints),
    )


def add_candidates(flow: Flow, desk: Desk, answer: Answer) -> None:
    """Place the candidates, the narrowest first, and as investigators rank exposures."""
    found = answer.found
    flow.heading(CANDIDATES, keep=110)
    if not found.candidates:
        flow.words("No candidate cause is in the book.")
        return
    first, last = found.span
    days = f", of those from {minute(first, desk.zone)[:10]} to {minute(last, desk.zone)[:10]}" if last < EVER else ""
    flow.words(
        f"{count(len(found.candidates), 'candidate')}. If it was this one, then all of these."
        " Those that explain the most come first, and of those the narrowest."
        f" Others: further deliveries that it reaches{days}."
    )
    groups = sorted(alike(found.candidates), key=lambda group: (not group[0].positive, -group[0].explains))
    flow.grid(
        (
            Column("If it was", 22, bold=True),
            Column("Kind", 15),
            Column("Between clean breaks; tests", 25),
            Column("Link", 11),
            Column("Level", 6, right=True),
            Column("Explains", 9, right=True),
            Column("Others", 8, right=True),
            Column("Lots", 7, right=True),
            Column("Deliv.", 7, right=True),
            Column("Cust.", 7, right=True),
        ),
        candidate_rows(groups[:MOST_ROWS], len(found.asked), desk.kinds, desk.zone),
    )
    if len(groups) > MOST_ROWS:
        left = count(len(groups) - MOST_ROWS, "more row")
        flow.words(f"{left}, wider than these or explaining less: `lotwalk recall ... --all` shows them.")
    for line in limits(found.candidates):
        flow.words(line)
    _add_ranking(flow, desk, answer)


def _add_ranking(flow: Flow, desk: Desk, answer: Answer) -> None:
    if len(answer.found.asked) < 2:
        return
    flow.heading("Candidates ranked: what explains at least two in three, then what reached least else")
    flow.words(f"{ORDER} {TOGETHER}")
    ranked = answer.ranked_rows[:MOST_RANKED]
    rows = [
        (row.codes, row.spell, row.contacts, *row.cells, row.risk, row.interval, row.chance)
        for row in ranked_rows(ranked, desk.zone, digits=2, endless="none finite")
    ]
    flow.grid(
        (
            Column("Candidate", 20, bold=True),
            Column("Between clean breaks", 20),
            Column("Contacts", 9, right=True),
            Column("Asked, reached", 9, right=True),
            Column("Others, reached", 9, right=True),
            Column("Asked, not reached", 9, right=True),
            Column("Others, not reached", 9, right=True),
            Column("Relative risk", 10, right=True),
            Column("95 % interval", 15, right=True),
            Column("Fisher p", 9, right=True),
        ),
        rows,
    )
    further = count(answer.found.further, "other delivery", "other deliveries")
    flow.words(
        f"Of {further} near that time. p is Fisher's exact test, two-sided. A small p names no cause and clears none."
        f" {compared_words(len(answer.found.candidates))} The counts come from the book's own walk, so they tell who"
        " was reached, not who fell ill."
    )
    if any("0.5" in one.first.risk.note for one in ranked):
        flow.words("Where a cell is zero, 0.5 was added to each cell for the interval.")
