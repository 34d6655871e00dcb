"""Rows of a log from the entries of a ledger: what was recorded, what became of it, and what the book makes of it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.ledger.keep.older_judge import reason
from lotwalk.ledger.model import Settings, Version
from lotwalk.pages.definitions.model import Column, Definition, Piece, Row, Section
from lotwalk.pages.definitions.section_file import REST, TOLD, VERDICT
from lotwalk.pages.rows.limits import outside
from lotwalk.pages.rows.values import Values, no_time
from lotwalk.pages.rows.verdicts import breaks, out_of_limits, result, sentences
from lotwalk.pages.rows.versions import Period
from lotwalk.values.times import show_when
from lotwalk.values.units import Units

MARK = "! "
"""Before what stands out, beside its bold print."""


_SEPARATOR = "  |  "
_MINUTE, _HOUR, _DAY = 60, 3600, 86_400


@dataclass(frozen=True, slots=True)
class Rows:
    """Makes rows for one table. An entry recorded more than `late` seconds after it ended is marked."""

    definition: Definition
    section: Section
    values: Values
    settings: Settings
    rules: RuleSet
    period: Period
    late: int

    def row(self, history: Sequence[Version], about: str = "") -> Row:
        """Return the row of an entry from all its versions, the oldest first.

        With `about`, a code, the verdict is told for that thing alone.
        """
        void = history[-1].void
        content = history[-2] if void else history[-1]
        is_late = self._is_late(history[0], content)
        return Row(
            entry=content.name,
            cells=tuple(self._cell(column, history, content, void, about) for column in self.section.columns),
            below=tuple(self._below(history, content, is_late, void, about)),
            failed=not void and bool(breaks(content, about)),
            out=not void and any(self._outside(column, content) for column in self.section.columns),
            amended=any(version.amends and not version.evidence and not version.void for version in history),
            void=void,
            late=is_late,
        )

    def _cell(
        self, column: Column, history: Sequence[Version], content: Version, void: bool, about: str
    ) -> tuple[Piece, ...]:
        now = self._pieces(column, content, about)
        if len(history) > 1:
            kept = {piece.text for piece in now}
            earlier = [old for old in history[:-1] if old is not content]
            before = [piece.text for old in earlier for piece in self._pieces(column, old, about, now=False)]
            gone = [Piece(text, "struck") for text in dict.fromkeys(before) if text not in kept]
            if void:
                now = tuple(Piece(piece.text, "struck") for piece in now)
                now += (Piece(f"{MARK}VOID", "bold"),) if "entry" in column.values else ()
            now = (*gone, *now)
        return (*now, *self._marks(column, history[0], content)) if "at" in column.values else now

    def _pieces(self, column: Column, version: Version, about: str, *, now: bool = True) -> tuple[Piece, ...]:
        """The values of a version; of one that is not in force `now`, without those that other entries tell."""
        pieces: list[Piece] = []
        too_far = self._outside(column, version)
        for name in column.values:
            if name.startswith(f"{TOLD}.") and not now:
                continue
            if name == VERDICT:
                pieces += result(version, self.definition.passed, self.definition.failed, MARK, about)
                continue
            if name == REST:
                told = [f"{title}: {text}" for title, text in self._titled(version, self._rest(version))]
                pieces += [Piece(_SEPARATOR.join(told))] if told else []
                continue
            stands_out = too_far or out_of_limits(version, name)
            title = f"{self.values.title(version, name)}: " if column.labelled else ""
            for text in self.values.read(version, name):
                bold = stands_out or text in column.mark
                pieces.append(Piece(f"{MARK}{title}{text}", "bold") if bold else Piece(f"{title}{text}"))
        return _joined(pieces) if column.joined and len(pieces) > 1 else tuple(pieces)

    def _outside(self, column: Column, version: Version) -> bool:
        if not (column.most or column.within):
            return False
        return any(outside(self.values.amount(version, name), column, self.rules) for name in column.values)

    def _rest(self, version: Version) -> list[str]:
        """Return the fields of an entry that stand in no other column, and not below."""
        shown = {name.partition(".")[0] for column in self.section.columns for name in column.values}
        return [name for name in self.values.names(version) if name not in shown and name not in self.section.below]

    def _marks(self, column: Column, first: Version, content: Version) -> Iterable[Piece]:
        if no_time(content):
            yield Piece("(no time given)")
        if self._is_late(first, content):
            yield Piece(f"{MARK}late", "bold")
        if first.recorded_at < content.start:
            yield Piece(f"{MARK}written down before", "bold")

    def _is_late(self, first: Version, content: Version) -> bool:
        return first.recorded_at - content.end > self.late

    def _below(
        self, history: Sequence[Version], content: Version, is_late: bool, void: bool, about: str
    ) -> Iterable[Piece]:
        reasons = () if void else sentences(content, about)
        for sentence, is_note in reasons:
            if not is_note:
                yield Piece(f"{MARK}{sentence}", "bold")
        told = [f"{title}: {text}" for title, text in self._told(content)]
        told += [sentence for sentence, is_note in reasons if is_note]
        timing = self._timing(history[0], content, is_late)
        if void and told:
            yield Piece(_SEPARATOR.join(told), "struck")
            told = []
        if told or timing:
            yield Piece(_SEPARATOR.join([*told, *timing]))
        for before, after in pairwise(history):
            yield self._amendment(before, after)
        if not self.period.holds(content):
            yield Piece("By its present time it is outside this period; an earlier version was inside.")

    def _told(self, content: Version) -> Iterable[tuple[str, str]]:
        yield from self._titled(content, self.section.below)
        if content.verdict and content.rules != self.settings.rules_digest:
            yield "Judged by the rule set", content.rules[:8]

    def _titled(self, content: Version, names: Iterable[str]) -> Iterable[tuple[str, str]]:
        for name in names:
            text = ", ".join(self.values.read(content, name))
            if text:
                yield self.values.title(content, name) or name.capitalize(), text

    def _amendment(self, before: Version, after: Version) -> Piece:
        when = self._when(after)
        learned = bool(after.verdict) and after.because == reason(after.judged.judge)
        if after.evidence or learned:
            because = "since the program has learned" if learned else f"because of {', '.join(after.evidence)}"
            was = "; ".join(piece.text for piece in result(before, self.definition.passed, self.definition.failed, ""))
            why = " ".join(sentence for sentence, is_note in sentences(before) if not is_note)
            return Piece(f"Judged again {when}, {because}. Until then: {was or 'not judged'}. {why}")
        by = ", ".join(after.amended_by) or "nobody named"
        typed = f" (typed by {after.typed_by})" if after.typed_by and after.typed_by not in after.amended_by else ""
        because = f"by {by}{typed}, because: {after.because.rstrip('.')}."
        if after.void:
            return Piece(f"{MARK}VOID since {when}, {because}", "bold")
        changes = "; ".join(self.values.changed(before, after))
        return Piece(f"Amended {when}, {because} {changes}.")

    def _when(self, version: Version) -> str:
        return show_when(version.recorded_at, version.recorded_at, self.settings.zone)

    def _timing(self, first: Version, content: Version, is_late: bool) -> list[str]:
        if is_late:
            seconds = first.recorded_at - content.end
            step = _HOUR if seconds > 2 * _DAY else _MINUTE
            span = Units.load(self.settings.measures).show(Decimal(seconds // step * step), "s")
            return [f"Late: recorded {self._when(first)}, {span} after it."]
        if first.recorded_at < content.start:
            return [f"Recorded {self._when(first)}, before the time that it gives."]
        return []


def _joined(pieces: Sequence[Piece]) -> tuple[Piece]:
    bold = any(piece.style == "bold" for piece in pieces)
    return (Piece(", ".join(piece.text for piece in pieces), "bold" if bold else "plain"),)
