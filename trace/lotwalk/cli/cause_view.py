"""One cause in words: how it reaches a thing, where its scope stops, and what would narrow it."""

from collections.abc import Sequence
from typing import Any
from zoneinfo import ZoneInfo

from lotwalk.cli.evidence_words import full
from lotwalk.cli.output import print_table, say
from lotwalk.cli.shapes import at_words
from lotwalk.cli.words import ROLES, code_list, minute, written_words
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import Version
from lotwalk.recall.detail import Edge, Hint, Step
from lotwalk.recall.model import Evidence

_USES = {1: "took", 2: "drew", 3: "handled", 4: "touched", 5: "tended", 6: "made", 7: "cleared", 8: "cleared"}
_EDGE_FIELDS = ("reading", "contact", "e_coli")


class CauseView:
    """Words for what `recall.detail` found of a cause."""

    def __init__(self, kinds: Kinds, zone: ZoneInfo) -> None:
        self.kinds = kinds
        self.zone = zone

    def evidence(self, code: str, found: Sequence[Evidence]) -> None:
        """Print what is in hand of a cause."""
        for one in found:
            say(f"{code} was looked at: {full(one, self.kinds[one.kind].title.lower())}")
        if found:
            say()

    def path(self, title: str, steps: Sequence[Step]) -> None:
        """Print a path, entry by entry, in order of time."""
        say(title)
        if not steps:
            say("  There is no path between them on the evidence in this book.")
        for number, step in enumerate(steps, 1):
            who = f", by {', '.join(step.version.by)}" if step.version.by else ""
            when = at_words(step.version, self.zone)
            say(f"  {number}. {step.version.name} {self._title(step.version)}, {when}{who}:")
            say(
                f"     {self._use(step.came, step.came_role)}; {self._use(step.went, step.went_role)}.{self._why(step)}"
            )
        say()

    def edges(self, edges: Sequence[Edge]) -> None:
        """Print the clean breaks at which the scope stops, and what comes back without each."""
        if not edges:
            say("No clean break bounds this scope.")
            say()
            return
        rows = [
            (
                edge.version.name,
                at_words(edge.version, self.zone),
                code_list(edge.codes),
                self._told(edge.version),
                ", ".join(edge.version.by),
                minute(edge.version.recorded_at, self.zone),
                f"+{edge.back}" if edge.back else "0",
            )
            for edge in edges
        ]
        columns = ("Entry", "When", "Cleared at the edge", "Evidence", "By", "Recorded", "Deliv.")
        print_table(
            columns, rows, title="Where it stops, and the deliveries that come back if the cleaning is not believed:"
        )

    def hints(self, hints: Sequence[Hint]) -> None:
        """Print what would take most deliveries out of the scope if it were documented."""
        if not hints:
            say("No single missing paper would narrow it.")
            say()
            return
        rows = [(f"-{hint.out}", self._wanted(hint)) for hint in hints]
        print_table(("Deliv.", "If this were documented"), rows, title="What would narrow it:")

    def _wanted(self, hint: Hint) -> str:
        codes = code_list(hint.codes)
        if hint.version is None:
            return f"that {codes} was cleaned at the end of each day of use"
        name = f"{hint.version.name} ({self._title(hint.version)}, {at_words(hint.version, self.zone)})"
        if hint.what == "hour":
            return f"the hour of {name}: that it came after all other use of {codes} that day"
        return f"that {name} was good for {codes}: {self._reasons(hint.version)}"

    def _why(self, step: Step) -> str:
        """Why an entry that is judged, and passed the path on, was no clean break."""
        verdict: Any = step.version.verdict
        if not verdict or step.came not in verdict["failed"]:
            return ""
        return f" No clean break: {self._reasons(step.version, step.came)}"

    def _reasons(self, version: Version, code: str = "") -> str:
        verdict: Any = version.verdict or {"reasons": []}
        told = [
            str(reason["text"])
            for reason in verdict["reasons"]
            if reason["kind"] == "break" and (not code or not reason["codes"] or code in reason["codes"])
        ]
        return "; ".join(told) or "it did not pass"

    def _told(self, version: Version) -> str:
        fields = self.kinds[version.kind].fields
        return "; ".join(
            f"{fields[name].title.lower()} {written_words(version.fields[name], fields[name])}"
            for name in _EDGE_FIELDS
            if name in version.fields and name in fields
        )

    def _title(self, version: Version) -> str:
        return self.kinds[version.kind].title.lower()

    @staticmethod
    def _use(code: str, role: int) -> str:
        return f"{code} {ROLES[_USES[role]] if role in _USES else 'named'}"
