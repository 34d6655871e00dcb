"""What a judge sees of the ledger, and what it answers.

The ledger owns these types and gives them out; a judge reads them and returns a `Verdict`. A verdict is a
function of the entry, the evidence and the rule set alone, so it can be computed again at any time.
"""

from dataclasses import dataclass
from typing import Protocol

from lotwalk.ledger.entry import Entry


@dataclass(frozen=True, slots=True)
class Thing:
    """One thing the ledger knows: its code, its kind, the kind's class, and its type where it has one."""

    code: str
    kind: str
    cls: str
    type: str | None = None


@dataclass(frozen=True, slots=True)
class Registration:
    """One version of an entry that made or registered a thing: the entry's number, when the version was recorded
    (seconds since 1970), and what it says; None where it says no more of the thing, as a void one does not."""

    number: int
    recorded_at: int
    entry: Entry | None


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

    def registrations(self, code: str) -> list[Registration]:
        """Return every version of the entries that made or registered the thing, those replaced and void ones too, in
        the order of the ledger."""

    def by_number(self, number: int) -> Entry | None:
        """Return the entry of this number (12 for `E12`), or None."""
