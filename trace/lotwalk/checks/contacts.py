"""What reusable items touched, and where they were cleaned: their uses in the order of time."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from sqlalchemy import text

from lotwalk.checks.records import Record, Records
from lotwalk.store.tables import ROLES, in_roles

_TOUCHED, _CLEARED = ROLES["touched"], ROLES["cleared"]
_USES = (
    "SELECT u.thing, e.seq, u.role, u.assumed FROM use u JOIN entry e ON e.seq = (u.node >> 1)"
    f" WHERE {in_roles('u', _TOUCHED, _CLEARED)} AND e.void = 0"
    " AND NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.seq)"
)


@dataclass(frozen=True, slots=True)
class Contact:
    """One use of an item. `clears`: a clean break. `soils`: in contact with a crop, food or anything but a wash."""

    record: Record
    clears: bool
    soils: bool
    assumed: bool


class Contacts:
    """The uses of the farm's items, read at once."""

    def __init__(self, records: Records) -> None:
        self.records = records

    @cached_property
    def of(self) -> Mapping[str, Sequence[Contact]]:
        """The uses of each item by its code, by time."""
        records = self.records
        codes = {thing.id: thing.code for thing in records.things.values() if thing.cls == "item"}
        entries = {record.seq: record for record in records.all}
        cleaning = {name for name in records.kinds.names if records.kinds[name].verdict}
        washing = set(records.kinds.telling("washed"))
        found: dict[str, list[Contact]] = defaultdict(list)
        for thing, seq, role, assumed in records.connection.execute(text(_USES)):
            record, code = entries[seq], codes[thing]
            # What failed to clean an item soils it no more than a washing does.
            no_soil = record.kind in washing or (record.kind in cleaning and code in judged(record))
            found[code].append(Contact(record, role == _CLEARED, role != _CLEARED and not no_soil, bool(assumed)))
        for uses in found.values():
            uses.sort(key=lambda use: (use.record.start, use.record.end, use.record.line, use.record.seq))
        return found

    def of_kinds(self, kinds: Collection[str]) -> Iterator[tuple[str, Sequence[Contact]]]:
        """Yield the items of these kinds of thing with their uses, by code."""
        for code in sorted(self.of):
            thing = self.records.thing(code)
            if thing and thing.kind in kinds:
                yield code, self.of[code]


def judged(record: Record) -> set[str]:
    """Return the codes that an entry's verdict speaks of."""
    verdict = record.version.verdict or {}
    listed = [verdict.get("passed"), verdict.get("failed")]
    return {str(code) for codes in listed if isinstance(codes, list) for code in codes}


def failed(record: Record) -> list[str]:
    """Return the codes that did not pass an entry's verdict."""
    codes = (record.version.verdict or {}).get("failed")
    return [str(code) for code in codes] if isinstance(codes, list) else []


def reasons(record: Record, kind: str) -> list[Mapping[str, object]]:
    """Return the reasons of an entry's verdict that are of one kind: `break`, `residue` or `note`."""
    told = (record.version.verdict or {}).get("reasons")
    return [one for one in told if isinstance(one, dict) and one.get("kind") == kind] if isinstance(told, list) else []


def soiled_before(uses: Sequence[Contact], use: Contact) -> list[Contact]:
    """Return the earlier soilings of an item that may still be on it at a use: no clean break lies surely between.

    `uses` are all of the item's, by time. "Surely" is that of the walk, so a cleaning with a date alone is no break
    between that morning's harvest and the afternoon's sowing.
    """
    breaks = [one.record for one in uses if one.clears and one.record.surely_before(use.record)]
    return [
        one
        for one in uses
        if one.soils
        and one.record.seq != use.record.seq
        and not use.record.surely_before(one.record)
        and one.record.start <= use.record.start
        and not any(one.record.surely_before(between) for between in breaks)
    ]


def next_soiling(uses: Sequence[Contact], after: Record) -> Contact | None:
    """Return the first use that soils the item and comes surely after an entry."""
    return next((one for one in uses if one.soils and after.surely_before(one.record)), None)


def cleaned_between(uses: Sequence[Contact], after: Record, before: Record | None) -> Contact | None:
    """Return a clean break that comes after one entry and surely before another (None: until now)."""
    for one in uses:
        later = one.clears and not one.record.surely_before(after) and one.record.seq != after.seq
        if later and (before is None or one.record.surely_before(before)):
            return one
    return None


def lots_made(record: Record) -> list[str]:
    """Return the lots that an entry made."""
    return [str(use["code"]) for use in record.version.uses if use["role"] == "made"]
