"""The book as the checks read it, for a judge to look at: what is told at once and what is found later is one thing."""

from collections import defaultdict
from collections.abc import Mapping
from functools import cached_property

from lotwalk.checks.records import Records
from lotwalk.ledger.entry import Entry
from lotwalk.ledger.evidence_model import Registration, Thing
from lotwalk.ledger.read.entries import registrations
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role

_CONTACT = (Role.TOUCHED, Role.CLEARED)


class RecordsEvidence:
    """What a judge may ask of a book, answered from what the checks have read already."""

    def __init__(self, records: Records) -> None:
        self._records = records
        self._told: dict[str, Mapping[str, list[Entry]]] = {}
        self._registered: dict[int, list[Registration]] = {}

    def maker(self, code: str) -> Entry | None:
        """Return the entry that made or registered the thing, or None."""
        return self._records.maker(code)

    def thing(self, code: str) -> Thing | None:
        """Return what the ledger knows of the thing itself, or None."""
        row = self._records.thing(code)
        return Thing(row.code, row.kind, row.cls, row.type) if row else None

    def telling(self, fact: str, code: str) -> list[Entry]:
        """Return the entries that tell the fact of the thing, by time."""
        if fact not in self._told:
            found: dict[str, list[Entry]] = defaultdict(list)
            for told in self._records.telling(fact):
                found[fold(told.code)].append(told.record)
            self._told[fact] = found
        return self._told[fact].get(fold(code), [])

    def uses_of(self, code: str) -> list[Entry]:
        """Return the entries that use the item in contact (touched or cleared), by time."""
        return self._contacts.get(fold(code), [])

    def registrations(self, code: str) -> list[Registration]:
        """Return every version of the entries that made or registered the thing, in the order of the ledger."""
        row = self._records.thing(code)
        if row is None:
            return []
        if row.id not in self._registered:
            self._registered[row.id] = registrations(self._records.connection, self._records.kinds, row.id)
        return self._registered[row.id]

    def by_number(self, number: int) -> Entry | None:
        """Return the entry of this number (12 for `E12`), or None."""
        return next((record for record in self._records.all if record.number == number), None)

    @cached_property
    def _contacts(self) -> Mapping[str, list[Entry]]:
        found: dict[str, list[Entry]] = defaultdict(list)
        for record in self._records.all:
            for code in dict.fromkeys(record.version.codes(*_CONTACT)):
                found[fold(code)].append(record)
        return found
