"""The book as the checks read it, for a judge to look at: what is told at once and what is found later is one thing."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from functools import cached_property

from lotwalk.checks.records import Records
from lotwalk.ledger.entry import Entry
from lotwalk.ledger.evidence_model import Filling, Registration, Thing
from lotwalk.ledger.read.entries import registrations
from lotwalk.ledger.write.fillings import fillings_of, still_in, thing_of
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role

_CONTACT = (Role.TOUCHED, Role.CLEARED)
_HELD = (*_CONTACT, Role.ABOUT)


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
        return thing_of(row, self._records.kinds) if row else None

    def telling(self, fact: str, code: str) -> list[Entry]:
        """Return the entries that tell the fact of the thing, by time."""
        if fact not in self._told:
            found: dict[str, list[Entry]] = defaultdict(list)
            for told in self._records.telling(fact):
                found[fold(told.code)].append(told.record)
            self._told[fact] = found
        return self._told[fact].get(fold(code), [])

    def taking(self, code: str) -> list[Entry]:
        """Return the entries that take some of the lot, by time."""
        return self._taking.get(fold(code), [])

    def uses_of(self, code: str) -> list[Entry]:
        """Return the entries that use the item in contact (touched or cleared), by time."""
        return self._contacts.get(fold(code), [])

    def fillings(self, entry: Entry) -> list[Filling]:
        """Return what an entry poured into things that hold liquids, and which of them it emptied."""
        return fillings_of(entry, self._records.kinds, self.thing)

    def still_in(self, code: str, before: Entry) -> Iterator[Filling]:
        """Yield what was poured into a thing and may still be in it when the entry `before` came, the latest first."""
        return still_in(code, self._holding.get(fold(code), []), before, self._records.kinds, self.thing)

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
        return self._naming(_CONTACT)

    @cached_property
    def _taking(self) -> Mapping[str, list[Entry]]:
        return self._naming((Role.TOOK,))

    @cached_property
    def _holding(self) -> Mapping[str, list[Entry]]:
        return self._naming(_HELD)

    def _naming(self, roles: Collection[Role]) -> Mapping[str, list[Entry]]:
        found: dict[str, list[Entry]] = defaultdict(list)
        for record in self._records.all:
            for code in dict.fromkeys(record.version.codes(*roles)):
                found[fold(code)].append(record)
        return found
