"""Water that was drawn in doubt: after the last good sample and before the one that failed, as the walk has it."""

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from lotwalk.checks.records import Records
from lotwalk.checks.subjects.water.draws import Draw
from lotwalk.judge.words import listed
from lotwalk.ledger.entry import Entry

_MOST = 6
"""So many draws are named in a sentence; of more it is told how many there are of each kind."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """The draws from a source since the last good sample (None: there is none) and before a sample that failed."""

    source: str
    good: Entry | None
    draws: tuple[Draw, ...]

    @property
    def lots(self) -> list[str]:
        """The lots that they went to, by code."""
        return sorted({lot for draw in self.draws for lot in draw.lots})

    @property
    def about(self) -> list[str]:
        """The entries and the lots."""
        return [*(draw.record.name for draw in self.draws), *self.lots]

    def text(self, records: Records) -> str:
        """Return it in sentences, to stand after others; nothing where nothing was drawn."""
        if not self.draws:
            return ""
        since = f"What was drawn from {self.source} since the last good sample"
        if self.good:
            since = f"{since} ({self.good.name} of {self.good.at})"
        else:
            since = f"No good sample came before it, so all that was drawn from {self.source}"
        lots = f" It went to {listed(self.lots)}." if self.lots else ""
        return f" {since} was drawn in doubt: {self._told(records)}.{lots}"

    def do(self, test: Entry) -> str:
        """Return what is to be done about it, to stand after what is to be done about the failed test."""
        if not self.draws:
            return ""
        what = listed(self.lots) if self.lots else "what it wetted"
        return f" Decide what becomes of {what}, too, and say so in a corrective action about {test.name}."

    def _told(self, records: Records) -> str:
        entries = [draw.record for draw in self.draws]
        if len(entries) <= _MOST:
            named = [f"{_title(records, one)} {one.name} of {one.at}" for one in entries]
            return named[0] if len(named) == 1 else f"{', '.join(named[:-1])} and {named[-1]}"
        kinds = Counter(_title(records, one) for one in entries)
        counted = listed([f"{kind} ({number})" for kind, number in kinds.most_common()])
        first, last = entries[0], entries[-1]
        return f"{counted}, from {first.name} of {first.at} to {last.name} of {last.at}"


def doubt(source: str, tests: Iterable[Entry], failed: Entry, drawn: Sequence[Draw], told: Collection[int]) -> Doubt:
    """Return what was drawn in doubt before a test that failed.

    `tests` are those of the source that passed; `told` are draws (their entries' versions) that another finding names.
    """
    before = [one for one in tests if one.surely_before(failed)]
    good = max(before, key=lambda one: (one.start, one.end, one.line), default=None)
    found = [
        draw
        for draw in drawn
        if draw.record.surely_before(failed)
        and not (good and draw.record.surely_before(good))
        and draw.record.seq not in told
    ]
    return Doubt(source, good, tuple(found))


def _title(records: Records, entry: Entry) -> str:
    return records.kind(entry).title.lower()
