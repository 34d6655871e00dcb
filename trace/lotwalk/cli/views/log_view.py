"""The rows of a log, for people and for programs."""

from collections.abc import Mapping, Sequence
from typing import Any
from zoneinfo import ZoneInfo

from lotwalk.cli.output import fits
from lotwalk.cli.shapes import entry_json, was_amended
from lotwalk.cli.words import code_list, minute, written_words
from lotwalk.kinds.model import Kind
from lotwalk.ledger.model import Version
from lotwalk.recall.words.common import at_words

WHOLE = 2
"""So many columns, the time and the entry, are not wrapped."""

_APART = ("at", "by")
"""Columns that have a place of their own in a log."""


class LogRows:
    """Entries of a kind; with `every` version by version, else only those in force."""

    def __init__(
        self,
        kind: Kind,
        zone: ZoneInfo,
        found: Sequence[Version],
        histories: Mapping[int, Sequence[Version]],
        every: bool,
    ) -> None:
        self.kind = kind
        self.zone = zone
        self.every = every
        self.histories = histories
        self.rows = [one for last in found for one in (histories.get(last.number, [last]) if every else [last])]
        self.fields = [name for name in kind.log if name not in _APART]

    def json(self) -> dict[str, Any]:
        """Return the entries; `amended` says that a person changed one, `in_force` that a version is the newest."""
        return {
            "kind": self.kind.name,
            "entries": [
                entry_json(one, self.zone) | {"amended": self._amended(one), "in_force": self._in_force(one)}
                for one in self.rows
            ],
        }

    def csv(self) -> tuple[Sequence[str], Sequence[Sequence[object]]]:
        """Return all columns, those that nothing was written in too."""
        names = [*self.fields, *(name for name in ("place", "note") if name not in self.fields)]
        columns = ["When", "Entry", *map(self._title, names), "By", "Verdict", "Recorded", "Marks"]
        rows = [
            [
                one.at,
                one.name,
                *(self._value(one, name) for name in names),
                code_list(one.by),
                self._verdict(one),
                minute(one.recorded_at, self.zone),
                self._marks(one),
            ]
            for one in self.rows
        ]
        return columns, rows

    def table(self) -> tuple[Sequence[str], Sequence[Sequence[object]]]:
        """Return the columns in which something stands; where they have no room, what was written in one column."""
        columns, rows = self._table([(self._title(name), [name]) for name in self.fields])
        if fits(columns, rows, whole=WHOLE):
            return columns, rows
        return self._table([("What was written", self.fields)])

    def _table(self, written: Sequence[tuple[str, Sequence[str]]]) -> tuple[list[str], list[list[str]]]:
        columns = ["When", "Entry", *(title for title, _ in written), "By", "Verdict", "Marks"]
        rows = [
            [
                at_words(one, self.zone),
                one.name,
                *(self._values(one, names) for _, names in written),
                code_list(one.by),
                self._verdict(one),
                self._marks(one),
            ]
            for one in self.rows
        ]
        used = [number for number in range(len(columns)) if any(row[number] for row in rows)]
        return [columns[number] for number in used], [[row[number] for number in used] for row in rows]

    def _values(self, version: Version, names: Sequence[str]) -> str:
        if len(names) == 1:
            return self._value(version, names[0])
        said = [(self._title(name), self._value(version, name)) for name in names]
        return "; ".join(f"{title}: {value}" for title, value in said if value)

    def _title(self, name: str) -> str:
        return self.kind.fields[name].title

    def _value(self, version: Version, name: str) -> str:
        if name == "place":
            return version.place or ""
        return written_words(version.fields[name], self.kind.fields[name]) if name in version.fields else ""

    def _verdict(self, version: Version) -> str:
        if not version.verdict:
            return ""
        passed, failed = version.verdict.passed, version.verdict.failed
        if not failed:
            return "passed"
        return "did not pass" if not passed else f"did not pass: {code_list(failed)}"

    def _marks(self, version: Version) -> str:
        if version.void:
            return f"VOID: {version.because}"
        if not self.every:
            return "amended" if self._amended(version) else ""
        anew = "judged anew" if version.verdict else "filed anew"
        mark = f"amended: {version.because}" if version.amended_by else anew if version.amends else ""
        return mark if self._in_force(version) else f"replaced{f'; {mark}' if mark else ''}"

    def _amended(self, version: Version) -> bool:
        return was_amended(self.histories.get(version.number, [version]))

    def _in_force(self, version: Version) -> bool:
        return self.histories.get(version.number, [version])[-1].seq == version.seq and not version.void
