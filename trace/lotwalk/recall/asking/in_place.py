"""What stands for other things, and is replaced by them before an entry is checked and hashed.

A hold of a delivery or of a complaint would hold nothing: what is in the store are lots. So the entry says the lots,
each whole, and in a field of its own what was named. Which fields that concerns stands in the kind files (`x-instead`).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection

from lotwalk.balance.movements import wrapping
from lotwalk.balance.reckoning import balance
from lotwalk.errors import NotUnderstood, Refused
from lotwalk.judge.words import listed
from lotwalk.kinds.check import check
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Checked, Field, Kind, Setting
from lotwalk.kinds.readers import read_codes
from lotwalk.kinds.roles import roles
from lotwalk.kinds.written import as_written
from lotwalk.ledger.model import ThingRow
from lotwalk.ledger.read.things import find_lots, find_thing, find_things, things_of
from lotwalk.ledger.read.uses import beside
from lotwalk.recall.asking.asked import ask
from lotwalk.recall.response.holds import HELD
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role
from lotwalk.values.text import Fields, Listing, Text, Written, line_of

_COMPLAINT_NAMES = ("deliveries", "lots")
"""The fields in which a complaint names what it is about."""


@dataclass(slots=True)
class Entries:
    """Entries with what stood for lots replaced; `notices` are what to tell of each, by its place among them."""

    entries: list[Mapping[str, Any]]
    notices: dict[int, list[str]] = field(default_factory=dict)


def in_place(connection: Connection, kinds: Kinds, setting: Setting, entries: Sequence[Mapping[str, Any]]) -> Entries:
    """Return the entries as they are to be checked, and what the person should know of those that were changed.

    What stands for no lot stays as it is named: the ledger refuses it, together with all other mistakes.
    """
    out = Entries(list(entries))
    for number, entry in enumerate(entries):
        name = str(entry.get("kind", ""))
        for one in kinds[name].replaced if name in kinds.names else ():
            told = _replace(_Book(connection, kinds, setting, entries[:number]), entry, one)
            if told.entry is not None:
                out.entries[number] = entry = told.entry
            if told.notices:
                out.notices.setdefault(number, []).extend(told.notices)
    return out


@dataclass(slots=True)
class _Told:
    entry: Fields | None
    notices: list[str]


def _replace(book: "_Book", entry: Mapping[str, Any], one: Field) -> _Told:
    """One field of an entry: what in it stands for lots, and of the lots those that the book does not show on hand."""
    instead = one.instead
    assert instead is not None, "the field says what it is replaced by"
    try:
        codes = read_codes(as_written(entry[one.name]), one) if one.name in entry else []
    except NotUnderstood:
        return _Told(None, [])
    stood = {code: book.lots_of(code, instead.of) for code in codes}
    named = [code for code in codes if stood[code]]
    kept = list({fold(lot): lot for code in codes for lot in stood[code] or [code]}.values())
    notices = [f"{code} stands for {listed(stood[code])}, written in its place, each lot whole" for code in named]
    if any(fact.name == HELD and fact.when is None for fact in one.facts):
        notices += book.not_on_hand(kept)
    if not named:
        return _Told(None, notices)
    line = line_of(entry[one.name]) or line_of(entry)
    out = Fields(entry, line=line_of(entry), empty=entry.empty if isinstance(entry, Fields) else ())
    out[one.name] = Listing([Text(code, line) for code in kept], line=line)
    before = _listed(entry.get(instead.told))
    more = [code for code in named if fold(code) not in map(fold, before)]
    out[instead.told] = Listing([Text(code, line) for code in (*before, *more)], line=line)
    return _Told(out, notices)


def _listed(value: object) -> list[str]:
    written: Written = as_written(value) if value is not None else []
    parts = written.split(",") if isinstance(written, str) else written
    return [part.strip() for part in parts if isinstance(part, str) and part.strip()]


@dataclass(slots=True)
class _Book:
    """The book, and the entries that stand before one on its sheet, which may make what it names."""

    connection: Connection
    kinds: Kinds
    setting: Setting
    before: Sequence[Mapping[str, Any]]

    def lots_of(self, code: str, of: Sequence[str]) -> list[str]:
        """Return the lots for which a code stands; none where it stands for itself, or for no lot."""
        thing = find_thing(self.connection, code)
        if thing is not None:
            return self._stored(thing) if self.kinds.thing_matches(thing.kind, of) else []
        return self._on_sheet(code, of)

    def _stored(self, thing: ThingRow) -> list[str]:
        try:
            starts = ask(self.connection, [thing.code])[0].starts
        except NotUnderstood:
            return []
        found = [one for one in things_of(self.connection, starts) if self._counted(one.kind)]
        apart = [one for one in things_of(self.connection, starts) if not self._counted(one.kind)]
        found += [inside for one in apart for inside in self._inside(one)]
        return list(dict.fromkeys(one.code for one in found))

    def _inside(self, thing: ThingRow) -> list[ThingRow]:
        """What was taken for a thing, such as the lots in a delivery; else what came in under its name."""
        taken = {one.other for one in beside(self.connection, [thing.id], [Role.MADE], [Role.TOOK])}
        made = {one.other for one in beside(self.connection, [thing.id], [Role.TOOK], [Role.MADE])}
        inside = [one for one in things_of(self.connection, taken or made) if self._counted(one.kind)]
        return [one for one in inside if one.kind not in wrapping(self.kinds)] if taken else inside

    def _counted(self, kind: str) -> bool:
        return self.kinds.things[kind].cls == "lot" and self.kinds.things[kind].counted

    def _on_sheet(self, code: str, of: Sequence[str]) -> list[str]:
        """The lots that an entry before this one on the sheet names, where that entry makes the code."""
        for entry in reversed(self.before):
            if not any(isinstance(value, str) and fold(value.strip()) == fold(code) for value in entry.values()):
                continue
            checked = self._checked(entry)
            made = [mention for mention in checked.mentions if mention.field.makes] if checked else []
            makes = [one.field.makes for one in made if fold(code) in map(fold, one.codes)]
            if checked and any(one and one.kind and self.kinds.thing_matches(one.kind, of) for one in makes):
                return self._named(checked, of)
        return []

    def _named(self, checked: Checked, of: Sequence[str]) -> list[str]:
        lots: list[str] = []
        for mention in checked.mentions:
            around = wrapping(self.kinds).issuperset(mention.field.things)
            taken = not around and Role.TOOK in roles(mention.field, mention.scope, passes=None, thing=None)
            if taken or mention.field.name in _COMPLAINT_NAMES:
                for code in mention.codes:
                    lots += self.lots_of(code, of) or [code]
        things = find_things(self.connection, lots)
        return [lot for lot in dict.fromkeys(lots) if fold(lot) not in things or self._counted(things[fold(lot)].kind)]

    def _checked(self, entry: Mapping[str, Any]) -> Checked | None:
        try:
            kind: Kind = self.kinds[str(entry.get("kind", ""))]
            return check(kind, entry, self.setting, self.kinds)
        except (NotUnderstood, Refused):
            return None

    def not_on_hand(self, codes: Sequence[str]) -> list[str]:
        """Return what to tell of the lots among these of which the book shows nothing on hand."""
        lots = find_lots(self.connection, codes)
        known = [one.code for one in lots.values() if self._counted(one.kind)]
        gone = [
            one.code
            for one in balance(self.connection, known, self.kinds).lots
            if (left := one.sums.unaccounted if one.sums.on_hand is None else one.sums.on_hand) is None or left <= 0
        ]
        if not gone:
            return []
        is_are = "is" if len(gone) == 1 else "are"
        return [f"{listed(gone)} {is_are} not shown to be on hand, and held all the same; look in the store"]
