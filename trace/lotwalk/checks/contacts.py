"""What reusable items touched, and where they were cleaned: their uses in the order of time."""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from lotwalk.checks.records import Records, by_time
from lotwalk.ledger.entry import Entry
from lotwalk.values.roles import Role


@dataclass(frozen=True, slots=True)
class Contact:
    """One use of an item. `clears`: a clean break. `soils`: in contact with a crop, food or anything but a wash."""

    record: Entry
    clears: bool
    soils: bool
    assumed: bool


class History:
    """The uses of one item by time. A knife's can be thousands long, so each question looks only near a time."""

    def __init__(self, uses: Sequence[Contact]) -> None:
        self.uses = sorted(uses, key=lambda use: by_time(use.record))
        self.soils = [use for use in self.uses if use.soils]
        self.breaks = [use for use in self.uses if use.clears]
        self._uses_from = [use.record.start for use in self.uses]
        self._soils_from = [use.record.start for use in self.soils]
        self._breaks_from = [use.record.start for use in self.breaks]
        self._longest = max((use.record.end - use.record.start for use in self.uses), default=0)

    def before(self, use: Contact) -> Iterator[Contact]:
        """Yield the earlier soilings that may still be on the item at a use, the latest first.

        No clean break lies surely between. "Surely" is that of the walk, so a cleaning with a date alone is no break
        between that morning's harvest and the afternoon's sowing.
        """
        last = self._last_break(use.record)
        for place in range(bisect_right(self._soils_from, use.record.start) - 1, -1, -1):
            one = self.soils[place]
            if last and one.record.start + self._longest < last.start:
                return
            covered = last is not None and one.record.surely_before(last)
            if one.record.seq != use.record.seq and not covered and not use.record.surely_before(one.record):
                yield one

    def _last_break(self, record: Entry) -> Entry | None:
        """The clean break surely before an entry that starts latest: what it does not cover, no other does."""
        for place in range(bisect_right(self._breaks_from, record.end) - 1, -1, -1):
            if self.breaks[place].record.surely_before(record):
                return self.breaks[place].record
        return None

    def soiled_after(self, record: Entry) -> Contact | None:
        """Return the first use that soils the item and comes surely after an entry."""
        for place in range(bisect_left(self._soils_from, record.start), len(self.soils)):
            if record.surely_before(self.soils[place].record):
                return self.soils[place]
        return None

    def cleaned_between(self, after: Entry, before: Entry | None) -> Contact | None:
        """Return a clean break that may come after one entry and comes surely before another (None: until now)."""
        for place in range(bisect_left(self._breaks_from, after.start - self._longest), len(self.breaks)):
            one = self.breaks[place].record
            if before and one.start > before.end:
                return None
            later = one.seq != after.seq and not one.surely_before(after)
            if later and (before is None or one.surely_before(before)):
                return self.breaks[place]
        return None

    def tries(self, after: Entry, before: Entry) -> list[Entry]:
        """Return the cleanings, passed or not, that may lie between two entries."""
        first = bisect_left(self._uses_from, after.start - self._longest)
        last = bisect_right(self._uses_from, before.end)
        return [
            one.record
            for one in self.uses[first:last]
            if not one.soils
            and one.record.version.verdict
            and not one.record.surely_before(after)
            and not before.surely_before(one.record)
        ]


class Contacts:
    """The uses of the farm's items, read at once."""

    def __init__(self, records: Records) -> None:
        self.records = records

    @cached_property
    def of(self) -> Mapping[str, History]:
        """The history of each item by its code."""
        records = self.records
        codes = {thing.id: thing.code for thing in records.things.values() if thing.cls == "item"}
        entries = {record.seq: record for record in records.all}
        cleaning = {name for name in records.kinds.names if records.kinds[name].verdict}
        washing = set(records.kinds.telling("washed"))
        found: dict[str, list[Contact]] = defaultdict(list)
        for thing, seq, clears, assumed in records.contacts():
            record, code = entries[seq], codes[thing]
            # What failed to clean an item soils it no more than a washing does.
            no_soil = record.kind in washing or (record.kind in cleaning and code in judged(record))
            found[code].append(Contact(record, clears, not clears and not no_soil, assumed))
        return {code: History(uses) for code, uses in found.items()}

    def of_kinds(self, kinds: Collection[str]) -> Iterator[tuple[str, History]]:
        """Yield the items of these kinds of thing with their histories, by code."""
        for code in sorted(self.of):
            thing = self.records.thing(code)
            if thing and thing.kind in kinds:
                yield code, self.of[code]


def judged(record: Entry) -> set[str]:
    """Return the codes that an entry's verdict speaks of."""
    verdict = record.version.judged
    return {*verdict.passed, *verdict.failed}


def lots_made(record: Entry) -> list[str]:
    """Return the lots that an entry made."""
    return [use.code for use in record.version.uses if use.role is Role.MADE]
