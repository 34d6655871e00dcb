"""One cause in words: how it reaches a thing, where its scope stops, and what would narrow it."""

from collections.abc import Sequence
from zoneinfo import ZoneInfo

from lotwalk.cli.evidence_words import full
from lotwalk.cli.output import print_table, say
from lotwalk.cli.path_view import PathView, reasons
from lotwalk.cli.shapes import at_words
from lotwalk.cli.words import code_list, count, minute, written_words
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import Version
from lotwalk.recall.detail import Edge, Hint, Step
from lotwalk.recall.model import Candidate, Evidence
from lotwalk.walk.model import EVER

_EDGE_FIELDS = ("method", "reading", "temperature", "contact", "e_coli")
"""What a clean break is judged by, as far as it fits a line."""

_READ = {"reading", "e_coli"}


class CauseView:
    """Words for what `recall.detail` found of a cause."""

    def __init__(self, kinds: Kinds, zone: ZoneInfo) -> None:
        self.kinds = kinds
        self.zone = zone
        self.paths = PathView(kinds, zone)

    def evidence(self, code: str, found: Sequence[Evidence]) -> None:
        """Print what is in hand of a cause."""
        for one in sorted(found, key=lambda one: int(one.entry[1:])):
            say(f"{code}: {full(one, self.kinds[one.kind].title.lower())}")
        if found:
            say()

    def spells(self, code: str, rows: Sequence[Candidate]) -> None:
        """Print between which clean breaks a cause is looked at."""
        told = []
        for row in sorted(rows, key=lambda row: (row.spell.start if row.spell else None) or -EVER):
            if row.spell:
                low, high = row.spell.start, row.spell.end
                since = "the beginning of the book" if low is None else f"its clean break of {minute(low, self.zone)}"
                told.append(f"from {since} to {'today' if high is None else f'the one of {minute(high, self.zone)}'}")
        if told:
            say(f"{code} is looked at {'; and '.join(told)}.")
            say()

    def path(self, title: str, steps: Sequence[Step]) -> None:
        """Print a path, entry by entry, in order of time."""
        self.paths.print(title, steps)

    def edges(self, edges: Sequence[Edge]) -> None:
        """Print the clean breaks at which the scope stops, and what comes back without each."""
        if not edges:
            say("No clean break bounds this scope: nothing in the book stops it earlier.")
            say()
            return
        holding = [edge for edge in edges if edge.back] or edges[:3]
        rows = [
            (
                edge.version.name,
                at_words(edge.version, self.zone),
                code_list(edge.codes),
                self._told(edge),
                ", ".join(edge.version.by),
                minute(edge.version.recorded_at, self.zone),
                f"+{edge.back}" if edge.back else "0",
            )
            for edge in holding
        ]
        columns = ("Entry", "When", "Cleared at the edge", "Evidence", "By", "Recorded", "Deliv.")
        title = (
            "Where the scope stops: the clean breaks at its edge, and how many deliveries would come into it if one of"
            " them were not believed (--distrust ENTRY shows which):"
        )
        print_table(columns, rows, title=title)
        if others := len(edges) - len(holding):
            say(f"{count(others, 'further clean break')} at the edge would let in nothing that is not in already.")
            say()

    def hints(self, hints: Sequence[Hint]) -> None:
        """Print what would take most deliveries out of the scope if it were documented."""
        if not hints:
            say("No single missing paper or hour would narrow the scope.")
            say()
            return
        rows = [(f"-{hint.out}", self._wanted(hint)) for hint in hints]
        title = (
            "What would narrow the scope: how many deliveries would leave it if a paper or a person could show this."
            " Record only what did happen; what is recorded late is believed only with --believe:"
        )
        print_table(("Deliv.", "If it were shown"), rows, title=title)

    def _wanted(self, hint: Hint) -> str:
        codes = code_list(hint.codes)
        if hint.version is None:
            return f"that {codes} was cleaned, and sanitised, at the end of every day on which it was used"
        name = f"{self.paths.title(hint.version)} of {at_words(hint.version, self.zone)} ({hint.version.name})"
        if hint.what == "hour":
            return f"the hour of the {name}: that it came after all other use of {codes} that day"
        return f"that the {name} did clean {codes}. As it stands it does not count: {reasons(hint.version)}"

    def _told(self, edge: Edge) -> str:
        """On what a clean break rests: what its entry says, and the readings that stand in where it has none."""
        told = self._fields(edge.version, _EDGE_FIELDS)
        if not _READ & edge.version.fields.keys() and edge.readings:
            near = ", ".join(f"{one.name} {'; '.join(self._fields(one, ('reading',)))}" for one in edge.readings)
            told.insert(0, f"no reading of its own, but {near}")
        return "; ".join(told)

    def _fields(self, version: Version, names: Sequence[str]) -> list[str]:
        fields = self.kinds[version.kind].fields
        return [
            f"{fields[name].title.lower()} {written_words(version.fields[name], fields[name])}"
            for name in names
            if name in version.fields and name in fields
        ]
