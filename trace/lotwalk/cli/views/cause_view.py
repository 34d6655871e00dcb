"""One cause in words: how it reaches a thing, where its scope stops, and what would narrow it."""

from collections.abc import Sequence
from typing import Any
from zoneinfo import ZoneInfo

from lotwalk.cli.output import print_table, say
from lotwalk.cli.views.path_view import PathView
from lotwalk.cli.words import count, minute, spell_words
from lotwalk.kinds.library import Kinds
from lotwalk.recall.model import Candidate, Evidence
from lotwalk.recall.one_cause.closely import Closely
from lotwalk.recall.one_cause.detail import Edge, Hint, Step
from lotwalk.recall.words.cause import CauseWords
from lotwalk.recall.words.evidence import full
from lotwalk.walk.model import EVER


def closely_json(found: Closely) -> dict[str, Any]:
    """Return a cause looked at closely as JSON; entries by their names."""
    return {
        "cause": found.cause,
        "to_asked": {code: [_step(one) for one in steps] for code, steps in found.back.items()},
        "why": found.why.thing.code if found.why else None,
        "why_code": found.why.code if found.why else None,
        "why_deliveries": list(found.why.deliveries) if found.why else [],
        "to_why": [_step(one) for one in found.onward],
        "edges": [
            {"entry": one.version.name, "codes": list(one.codes), "deliveries_back": one.back} for one in found.edges
        ],
        "narrowing": [
            {
                "what": one.what,
                "entry": one.version.name if one.version else None,
                "codes": list(one.codes),
                "deliveries_out": one.out,
            }
            for one in found.hints
        ],
    }


def _step(one: Step) -> dict[str, str]:
    return {"entry": one.version.name, "through": one.came, "to": one.went}


class CauseView:
    """Words for what `recall.detail` found of a cause."""

    def __init__(self, kinds: Kinds, zone: ZoneInfo) -> None:
        self.kinds = kinds
        self.zone = zone
        self.paths = PathView(kinds, zone)
        self.words = CauseWords(kinds, zone)

    def explain(self, found: Closely) -> None:
        """Print how what is to be explained came to be reached; nothing where there is none besides what was asked."""
        if found.because:
            say(found.because)
            say()
        # What was asked about stands for a delivery, and the path to that is told below.
        if found.why and found.onward and list(found.onward) not in found.back.values():
            asked = "" if found.rows else ", which was asked about"
            title = f"{found.why.code}: if it was {found.cause}{asked}, this is how it could have come from there:"
            self.paths.print(title, found.onward)

    def table(self, found: Closely) -> None:
        """Print the rest: the cause, how it could have come to what was asked, and where its scope stops."""
        self.spells(found.cause, found.rows)
        self.evidence(found.cause, found.evidence)
        for code, steps in found.back.items():
            last = f" ({steps[-1].went})" if steps and steps[-1].went != code else ""
            self.paths.print(f"If it was {found.cause}, this is how it could have come to {code}{last}:", steps)
        if found.edges or found.hints:
            self.edges(found.edges)
            self.hints(found.hints)

    def evidence(self, code: str, found: Sequence[Evidence]) -> None:
        """Print what is in hand of a cause."""
        for one in sorted(found, key=lambda one: int(one.entry[1:])):
            say(f"{code}: {full(one, self.kinds[one.kind].title.lower())}")
        if found:
            say()

    def spells(self, code: str, rows: Sequence[Candidate]) -> None:
        """Print between which clean breaks a cause is looked at; of a person, in which time."""
        if rows and rows[0].thing.cls == "person":
            self._times(code, rows)
            return
        told = []
        what = "cleaning" if not rows or rows[0].thing.cls == "item" else "water test"
        for row in sorted(rows, key=lambda row: (row.spell.start if row.spell else None) or -EVER):
            if row.spell:
                low, high = row.spell.start, row.spell.end
                since = f"its last {what} that passed ({minute(low, self.zone)})" if low is not None else ""
                until = f"the next ({minute(high, self.zone)})" if high is not None and since else ""
                until = until or (
                    "today" if high is None else f"its first {what} that passed ({minute(high, self.zone)})"
                )
                told.append(f"from {since or 'the beginning of the book'} to {until}")
        if told:
            say(f"{code} is counted {'; and '.join(told)}.")
            say()

    def _times(self, code: str, rows: Sequence[Candidate]) -> None:
        times = [spell_words(row.spell, self.zone) for row in rows if row.spell]
        if not times or len(times) < len(rows):
            say(f"{code} is followed at all times.")
        else:
            told = "; and ".join(time if time.startswith("since") else f"from {time}" for time in times)
            say(f"{code} is followed {told}, around the time of being kept away.")
        say()

    def edges(self, edges: Sequence[Edge]) -> None:
        """Print the clean breaks at which the scope stops, and what comes back without each."""
        if not edges:
            say("No clean break bounds this scope: nothing in the book stops it earlier.")
            say()
            return
        rows = self.words.edge_rows(edges)
        cells = [(row.entry, row.when, row.cleared, row.evidence, row.by, row.recorded, row.back) for row in rows]
        columns = ("Entry", "When", "Cleared at the edge", "Evidence", "By", "Recorded", "Deliv.")
        title = (
            "Where the scope stops: the clean breaks at its edge, and how many deliveries would come into it if one of"
            " them were not believed (--distrust ENTRY shows which):"
        )
        print_table(columns, cells, title=title)
        if others := len(edges) - len(rows):
            say(f"{count(others, 'further clean break')} at the edge would let in nothing that is not in already.")
            say()

    def hints(self, hints: Sequence[Hint]) -> None:
        """Print what would take most deliveries out of the scope if it were documented."""
        if not hints:
            say("No single missing paper or hour would narrow the scope.")
            say()
            return
        title = (
            "What would narrow the scope: how many deliveries would leave it if a paper or a person could show this."
            " Record only what did happen; what is recorded late is believed only with --believe:"
        )
        print_table(("Deliv.", "If it were shown"), self.words.hint_rows(hints), title=title)
