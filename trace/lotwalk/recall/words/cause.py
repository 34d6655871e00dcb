"""One cause in words: on what the clean breaks at its edge rest, and what would narrow its scope."""

from collections.abc import Sequence
from typing import NamedTuple
from zoneinfo import ZoneInfo

from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import Version
from lotwalk.recall.one_cause.detail import Edge, Hint
from lotwalk.recall.words.common import at_words, code_list, minute, written_words
from lotwalk.recall.words.path import PathWords, reasons

_EDGE_FIELDS = ("method", "reading", "temperature", "contact", "e_coli")
"""What a clean break is judged by, as far as it fits a line."""

_READ = {"reading", "e_coli"}


class EdgeRow(NamedTuple):
    """A clean break at which a scope stops: on what it rests, and how many deliveries would come in without it."""

    entry: str
    title: str
    when: str
    cleared: str
    evidence: str
    by: str
    recorded: str
    back: str


class CauseWords:
    """Words for what `recall.detail` found of a cause."""

    def __init__(self, kinds: Kinds, zone: ZoneInfo) -> None:
        self.kinds = kinds
        self.zone = zone
        self.paths = PathWords(kinds, zone)

    def wanted(self, hint: Hint) -> str:
        """Return what would have to be shown."""
        codes = code_list(hint.codes)
        if hint.version is None:
            return f"that {codes} was cleaned, and sanitised, at the end of every day on which it was used"
        name = f"{self.paths.title(hint.version)} of {at_words(hint.version, self.zone)} ({hint.version.name})"
        if hint.what == "hour":
            return f"the hour of the {name}: that it came after all other use of {codes} that day"
        return f"that the {name} did clean {codes}. As it stands it does not count: {reasons(hint.version)}"

    def hint_rows(self, hints: Sequence[Hint]) -> list[tuple[str, str]]:
        """Return a row for each of what would narrow a scope: how many deliveries would leave it, and what it takes."""
        return [(f"-{hint.out}", self.wanted(hint)) for hint in hints]

    def edge_rows(self, edges: Sequence[Edge]) -> list[EdgeRow]:
        """Return a row for each clean break that holds deliveries back; where none does, for the first three."""
        return [
            EdgeRow(
                edge.version.name,
                self.paths.title(edge.version),
                at_words(edge.version, self.zone),
                code_list(edge.codes),
                self.told(edge),
                ", ".join(edge.version.by),
                minute(edge.version.recorded_at, self.zone),
                f"+{edge.back}" if edge.back else "0",
            )
            for edge in [edge for edge in edges if edge.back] or edges[:3]
        ]

    def told(self, edge: Edge) -> str:
        """Return on what a clean break rests: what its entry says, and the readings that stand in where it has none."""
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
