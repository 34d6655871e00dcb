"""What a judge sees of the ledger, and what it answers.

The ledger owns these types and gives them out; a judge reads them and returns a `Verdict`. A verdict is a
function of the entry, the evidence and the rule set alone, so it can be computed again at any time.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, Protocol

from lotwalk.kinds.model import Value

ReasonKind = Literal["break", "residue", "note"]
"""`break`: the code fails because of it. `residue`: too strong, yet no failure. `note`: worth knowing."""


@dataclass(frozen=True, slots=True)
class Use:
    """One link from an entry to a thing. `path` is the field it came from: `items`, `from[2].batch`."""

    role: str
    code: str
    path: str


@dataclass(frozen=True, slots=True)
class Thing:
    """One thing the ledger knows: its code, its kind, the kind's class, and its type where it has one."""

    code: str
    kind: str
    cls: str
    type: str | None = None


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry in force.

    `name` is the number of its first version (`E12`), `seq` that of this version. `start` and `end` are the
    first and last second of its time, `at` the time as written. `group` is the attested sheet or 0, `line`
    its line there. `values` is what its fields were read as; `uses` its links to things.
    """

    name: int
    seq: int
    kind: str
    start: int
    end: int
    at: str
    group: int
    line: int
    recorded_at: int
    by: tuple[str, ...]
    values: Mapping[str, Value]
    uses: tuple[Use, ...]

    def surely_before(self, other: "Entry") -> bool:
        """Return whether this entry surely comes before the other.

        It does when it ends before the other starts, or when the times overlap, both stand in one sheet
        attested in order, and this one on the earlier line.
        """
        if self.end < other.start:
            return True
        overlap = self.start <= other.end
        return overlap and self.group != 0 and self.group == other.group and self.line < other.line


class Evidence(Protocol):
    """What a judge may ask of a ledger. Only entries in force are given; codes are matched as people read them."""

    def maker(self, code: str) -> Entry | None:
        """Return the entry that made or registered the thing, or None."""

    def thing(self, code: str) -> Thing | None:
        """Return what the ledger knows of the thing itself, or None."""

    def telling(self, fact: str, code: str) -> list[Entry]:
        """Return the entries that tell the fact of the thing, by time."""

    def uses_of(self, code: str) -> list[Entry]:
        """Return the entries that use the item in contact (touched or cleared), by time."""

    def by_name(self, name: int) -> Entry | None:
        """Return the entry with this first number, or None."""


@dataclass(frozen=True, slots=True)
class Reason:
    """One plain sentence on one or more of the judged codes (`codes` empty: all), and the act that mends it."""

    codes: tuple[str, ...]
    text: str
    do: str
    kind: ReasonKind = "break"

    def __str__(self) -> str:
        return f"{self.text}: {self.do}." if self.do else f"{self.text}."


@dataclass(frozen=True, slots=True)
class Verdict:
    """Which codes passed, which failed, why, and the entry names that the answer rests on.

    `now` is what to do now in one sentence, without its full stop, where several acts are needed; else it is empty.
    """

    passed: tuple[str, ...]
    failed: tuple[str, ...]
    reasons: tuple[Reason, ...]
    evidence: tuple[int, ...]
    now: str = ""
