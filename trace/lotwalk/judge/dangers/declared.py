"""What a product declares by now, and what it declared when something was packed as it.

A bag carries what was declared on the day on which it was filled. Whoever mends the product's record a week later
changes no bag that is out, so a pack is held against the record as it stood when it was packed.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from lotwalk.judge.case import Case, named


@dataclass(frozen=True, slots=True)
class Declared:
    """What a product's record says of allergens, and what it calls the product, since when (seconds since 1970)."""

    said: str = ""
    name: str = ""
    since: int = 0

    def day(self, place: ZoneInfo) -> str:
        """Return since when, as 2026-03-02 09:10."""
        return datetime.fromtimestamp(self.since, place).strftime("%Y-%m-%d %H:%M")


def declarations(case: Case) -> list[Declared]:
    """Return all that was ever recorded of the product that an entry names, in the order of the ledger, one at least.

    While its record was void it declared nothing.
    """
    known = (case.evidence.registrations(code) for code in named(case.entry, "product"))
    found = []
    for one in next(filter(None, known), ()):
        values = one.entry.values if one.entry else {}
        found.append(Declared(str(values.get("allergens") or ""), str(values.get("name") or ""), one.recorded_at))
    return found or [Declared()]


def when_packed(case: Case, known: Sequence[Declared]) -> list[Declared]:
    """Return those that were in force at an entry's time: several where it was recorded anew meanwhile, or may have
    been, since the entry has no hour. What was packed before anything was recorded is held against the first record."""
    start, end = case.entry.span
    first = max(start, known[0].since)
    begun = [one for one in known if one.since <= first][-1]
    return [begun, *(one for one in known if first < one.since <= end)]


def since_when(known: Sequence[Declared], declares: Callable[[Declared], bool]) -> Declared | None:
    """Return the record since which the product declares something, without a break; None: it does not now."""
    found = None
    for one in reversed(known):
        if not declares(one):
            break
        found = one
    return found
