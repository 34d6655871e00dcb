"""A recall's totals ring by ring, and its candidates ranked as investigators rank exposures."""

from collections.abc import Sequence
from typing import Any
from zoneinfo import ZoneInfo

from lotwalk.cli.output import print_table, say
from lotwalk.cli.words import RINGS, count, spell_words
from lotwalk.recall.model import Recall, RingTotal
from lotwalk.recall.ranking import Ranked, rank
from lotwalk.recall.words.evidence import mark

_BEST = 12
"""So many ranked candidates are shown."""


def ring_table(totals: Sequence[RingTotal], chosen: int) -> None:
    """Print the running totals ring by ring, with a mark at the ring chosen."""
    rows = [
        (
            f"{one.ring}{' *' if one.ring == chosen else ''}",
            RINGS[one.ring],
            str(one.lots),
            str(one.deliveries),
            str(one.customers),
        )
        for one in totals
    ]
    columns = ("Ring", "Reached from what was asked", "Lots", "Deliv.", "Cust.")
    print_table(columns, rows, title="The scope ring by ring, each with those before it:")


def ranking_json(found: Recall) -> list[dict[str, Any]]:
    """Return the ranked candidates as JSON; an infinite risk is null, with a note."""
    return [_json(one) for one in rank(found.candidates, len(found.asked), found.further)]


def _json(one: Ranked) -> dict[str, Any]:
    risk = one.risk
    return {
        "code": one.candidate.thing.code,
        "explains": one.candidate.explains,
        "others": one.candidate.others,
        "table": list(one.table.cells),
        "relative_risk": risk.value,
        "interval": None if risk.low is None else [risk.low, risk.high],
        "note": risk.note,
        "fisher_p": one.chance,
    }


def print_ranking(found: Recall, zone: ZoneInfo) -> None:
    """The candidates as investigators rank exposures."""
    ranked = rank(found.candidates, len(found.asked), found.further)[:_BEST]
    rows = [
        (
            one.candidate.thing.code,
            "; ".join(filter(None, (spell_words(one.candidate.spell, zone), mark(one.candidate.evidence)))),
            "/".join(map(str, one.table.cells)),
            "no limit" if one.risk.value is None else f"{one.risk.value:.1f}",
            "" if one.risk.low is None else f"{one.risk.low:.1f} to {one.risk.high:.1f}",
            f"{one.chance:.2g}",
        )
        for one in ranked
    ]
    columns = ("Candidate", "Between; tests", "Table", "Rel. risk", "95 %", "Fisher p")
    print_table(
        columns,
        rows,
        title="Ranked as investigators do: first what explains most of what was asked about and least else.",
    )
    say(
        f"Table: asked about and reached by it / other deliveries reached / asked about, not reached / others not"
        f" reached. There were {count(found.further, 'other delivery', 'other deliveries')} near that time. Rel. risk:"
        " how many times likelier what it reached was asked about than what it did not reach, and within which bounds."
        " Fisher p: how often chance alone would fall out so unevenly. A small p proves no cause, and a large one"
        " clears none."
    )
    if any("0.5" in one.risk.note for one in ranked):
        say("No limit: nothing that it did not reach was asked about; for the bounds 0.5 was added to each cell.")
    say()
