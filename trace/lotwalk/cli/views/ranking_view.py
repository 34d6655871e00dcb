"""A recall's totals level by level, and its candidates ranked as investigators rank exposures."""

from collections.abc import Sequence
from typing import Any

from lotwalk.cli.output import print_table, say
from lotwalk.cli.words import count
from lotwalk.recall.answer import Answer
from lotwalk.recall.model import LevelTotal
from lotwalk.recall.traceback.ranking import Ranked
from lotwalk.recall.words.ranking import ORDER, TOGETHER, compared_words
from lotwalk.recall.words.tables import level_rows, ranked_rows

_BEST = 12
"""So many ranked candidates are shown."""


def level_table(totals: Sequence[LevelTotal], chosen: int) -> None:
    """Print the running totals level by level, with a mark at the level chosen."""
    rows = [row._replace(level=f"{row.level} *") if row.level == str(chosen) else row for row in level_rows(totals)]
    columns = ("Level", "Reached from what was asked", "Lots", "Deliv.", "Cust.")
    print_table(columns, rows, title="The scope level by level, each with those before it:")


def ranked_json(one: Ranked) -> dict[str, Any]:
    """Return a ranked candidate as JSON; an infinite risk is null, with a note."""
    risk = one.risk
    return {
        "code": one.candidate.thing.code,
        "row": one.row,
        "explains": one.candidate.explains,
        "contacts": one.candidate.contacts,
        "others": one.candidate.others,
        "table": list(one.table.cells),
        "relative_risk": risk.value,
        "interval": None if risk.low is None else [risk.low, risk.high],
        "note": risk.note,
        "fisher_p": one.chance,
    }


def print_ranking(found: Answer) -> None:
    """Print the candidates, the likeliest first."""
    ranked = found.ranked_rows[:_BEST]
    rows = [
        (
            row.codes,
            "; ".join(filter(None, (row.spell, row.tests))),
            row.contacts,
            "/".join(row.cells),
            row.risk,
            row.interval,
            row.chance,
        )
        for row in ranked_rows(ranked, found.zone, digits=1, endless="no limit")
    ]
    columns = ("Candidate", "Between; tests", "Contacts", "Table", "Rel. risk", "95 %", "Fisher p")
    print_table(
        columns,
        rows,
        title="Ranked: first what explains at least two in three of what was asked about and reached least else.",
    )
    further = count(found.found.further, "other delivery", "other deliveries")
    say(f"{ORDER} {TOGETHER}")
    say(
        "Table: asked about and reached by it / other deliveries reached / asked about, not reached / others not"
        f" reached. There were {further} near that time. Rel. risk:"
        " how many times likelier what it reached was asked about than what it did not reach, and within which bounds."
        " Fisher p: how often chance alone would fall out so unevenly. A small p proves no cause, and a large one"
        f" clears none. {compared_words(len(found.found.candidates))}"
    )
    if any("0.5" in one.first.risk.note for one in ranked):
        say("No limit: nothing that it did not reach was asked about; for the bounds 0.5 was added to each cell.")
    say()
