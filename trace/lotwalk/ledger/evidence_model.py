"""What a judge sees of the ledger, and what it answers.

The ledger owns these types and gives them out; a judge reads them and returns a `Verdict`. A verdict is a
function of the entry, the evidence and the rule set alone, so it can be computed again at any time.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

from lotwalk.ledger.entry import Entry


@dataclass(frozen=True, slots=True)
class Thing:
    """One thing the ledger knows: its code, its kind, the kind's class, and its type where it has one.

    `poured`: things of its kind may be sanitisers, detergents or mixes of them.
    """

    code: str
    kind: str
    cls: str
    type: str | None = None
    poured: bool = False


@dataclass(frozen=True, slots=True)
class Registration:
    """One version of an entry that made or registered a thing: the entry's number, when the version was recorded
    (seconds since 1970), and what it says; None where it says no more of the thing, as a void one does not."""

    number: int
    recorded_at: int
    entry: Entry | None


@dataclass(frozen=True, slots=True)
class Filling:
    """What an entry did to what a thing holds: the lots that it poured into it.

    `fresh`: the thing was emptied or washed by it, so that nothing from before is left.
    """

    entry: Entry
    item: str
    lots: tuple[str, ...]
    fresh: bool


class Evidence(Protocol):
    """What a judge may ask of a ledger. Only entries in force are given; codes are matched as people read them."""

    def maker(self, code: str) -> Entry | None:
        """Return the entry that made or registered the thing, or None."""

    def thing(self, code: str) -> Thing | None:
        """Return what the ledger knows of the thing itself, or None."""

    def telling(self, fact: str, code: str) -> list[Entry]:
        """Return the entries that tell the fact of the thing, by time."""

    def taking(self, code: str) -> list[Entry]:
        """Return the entries that take some of the lot, by time."""

    def uses_of(self, code: str) -> list[Entry]:
        """Return the entries that use the item in contact (touched or cleared), by time."""

    def fillings(self, entry: Entry) -> list[Filling]:
        """Return what an entry poured into things that hold liquids, and which of them it emptied."""

    def still_in(self, code: str, before: Entry) -> Iterator[Filling]:
        """Yield what was poured into a thing and may still be in it when the entry `before` came, the latest first."""

    def registrations(self, code: str) -> list[Registration]:
        """Return every version of the entries that made or registered the thing, those replaced and void ones too, in
        the order of the ledger."""

    def by_number(self, number: int) -> Entry | None:
        """Return the entry of this number (12 for `E12`), or None."""
