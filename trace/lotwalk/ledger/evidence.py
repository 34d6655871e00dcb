"""What a judge may see: entries in force, those of the running batch included, read back as their kinds read them.

What is asked of one judged thing is read for all of the batch at once (its cohort), so that a sheet of forty dips asks
the database a handful of questions and not thousands.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from functools import partial
from typing import Any

from sqlalchemy import Connection

from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Field, Mention
from lotwalk.kinds.roles import facts, roles
from lotwalk.ledger.entry import Content, Entry, NewText, StoredText
from lotwalk.ledger.evidence_model import Filling, Registration, Thing
from lotwalk.ledger.model import Pending, ThingRow, UseRow, Version
from lotwalk.ledger.read.entries import registrations
from lotwalk.ledger.record import parse
from lotwalk.ledger.use import Use
from lotwalk.ledger.write.fillings import fillings_of, still_in, thing_of
from lotwalk.ledger.write.names import Names
from lotwalk.store.sql import in_force, role_parts, select_keys, seq_of, texts
from lotwalk.values.codes import entry_number
from lotwalk.values.roles import MAKES, Role

_ROW = "e.seq, e.first, e.kind, e.at_from, e.at_to, {group}, e.line, e.recorded_at"
_CONTACT = (Role.TOUCHED, Role.CLEARED)
_HELD = (*_CONTACT, Role.ABOUT)
_TAKEN = (Role.TOOK,)


class BookEvidence:
    """Evidence within one transaction. Entries of the batch stand beside, and amend, those stored."""

    def __init__(self, connection: Connection, kinds: Kinds, names: Names, now: int) -> None:
        self.connection = connection
        self.kinds = kinds
        self.names = names
        self.now = now
        self.cohort: set[int] = set()
        self._pending: dict[int, Pending] = {}
        self._amended: set[int] = set()
        self._pending_of: dict[int, list[int]] = defaultdict(list)
        self._entries: dict[int, Entry] = {}
        self._stored: dict[tuple[Collection[Role], str], dict[int, list[int]]] = {}
        self._answers: dict[int, dict[str | Collection[Role], list[Entry]]] = defaultdict(dict)
        self._named: dict[int, set[int]] = {}
        self._roles_now: dict[int, dict[int, set[Role | None]]] = {}
        self._roles: dict[str, tuple[Role, ...]] = {}
        self._registered: dict[int, list[Registration]] = {}

    def add(self, pending: Pending) -> None:
        """Let the judges see an entry of the running batch."""
        self._pending[pending.seq] = pending
        self.cohort |= {use.thing.id for use, _ in pending.judged}
        if pending.amendment:
            self._amended.add(pending.amendment.seq)
        for thing in self._named_by(pending):
            self._pending_of[thing].append(pending.seq)

    def drop(self, pending: Pending) -> None:
        """Forget an entry that will not be stored after all."""
        del self._pending[pending.seq]
        self._entries.pop(pending.seq, None)
        self._roles_now.pop(pending.seq, None)
        if pending.amendment:
            self._amended.discard(pending.amendment.seq)
        for thing in self._named_by(pending):
            self._pending_of[thing].remove(pending.seq)
        del self._named[pending.seq]

    def add_again(self, pending: Pending) -> None:
        """Let the judges see an entry of the running batch as it is by now."""
        self.drop(pending)
        self.add(pending)

    def _named_by(self, pending: Pending) -> set[int]:
        """The things that an entry names; what was answered of them, and of what it amends, is asked anew."""
        # Judging settles roles, and may leave a thing without one: what was added is what is dropped.
        named = self._named.setdefault(pending.seq, {use.thing.id for use in pending.uses})
        if pending.amendment:
            self._answers.clear()
        for thing in named:
            self._answers.pop(thing, None)
        return set() if pending.amendment and pending.amendment.void else named

    def maker(self, code: str) -> Entry | None:
        """Return the entry that made or registered the thing, or None."""
        row = self.names.find(code)
        if row is None:
            return None
        answers = self._answers[row.id]
        if MAKES not in answers:
            # All that stands behind a lot is looked at, and a thousand lots have the same seed and the same product.
            answers[MAKES] = [self.entry(seq) for seq in self._users(row, MAKES)[-1:]]
        return next(iter(answers[MAKES]), None)

    def thing(self, code: str) -> Thing | None:
        """Return what the ledger knows of the thing itself, or None."""
        row = self.names.find(code)
        return thing_of(row, self.kinds) if row else None

    def telling(self, fact: str, code: str) -> list[Entry]:
        """Return the entries that tell the fact of the thing (or of the entry, for `E12`), by time."""
        number = entry_number(code)
        if number is not None:
            return self._telling_of_entry(fact, number)
        row = self.names.find(code)
        if row is None:
            return []
        answers = self._answers[row.id]
        if fact not in answers:
            if fact not in self._roles:
                self._roles[fact] = _roles_telling(fact, self.kinds)
            users = self._users(row, self._roles[fact], fact)
            told = [self.entry(seq) for seq in users if self._tells(seq, fact, row)]
            answers[fact] = sorted(told, key=_by_time)
        return answers[fact]

    def taking(self, code: str) -> list[Entry]:
        """Return the entries that take some of the lot, by time."""
        row = self.names.find(code)
        if row is None:
            return []
        answers = self._answers[row.id]
        if _TAKEN not in answers:
            answers[_TAKEN] = sorted((self.entry(seq) for seq in self._users(row, _TAKEN)), key=_by_time)
        return answers[_TAKEN]

    def uses_of(self, code: str) -> list[Entry]:
        """Return the entries that use the item in contact (touched or cleared), by time."""
        row = self.names.find(code)
        if row is None:
            return []
        answers = self._answers[row.id]
        if _CONTACT not in answers:
            answers[_CONTACT] = sorted((self.entry(seq) for seq in self._users(row, _CONTACT)), key=_by_time)
        return answers[_CONTACT]

    def fillings(self, entry: Entry) -> list[Filling]:
        """Return what an entry poured into things that hold liquids, and which of them it emptied."""
        return fillings_of(entry, self.kinds, self.thing)

    def still_in(self, code: str, before: Entry) -> Iterator[Filling]:
        """Yield what was poured into a thing and may still be in it when the entry `before` came, the latest first."""
        row = self.names.find(code)
        users = [self.entry(seq) for seq in self._users(row, _HELD)] if row else []
        return still_in(code, users, before, self.kinds, self.thing)

    def registrations(self, code: str) -> list[Registration]:
        """Return every version of the entries that made or registered the thing, in the order of the ledger."""
        row = self.names.find(code)
        if row is None:
            return []
        if row.id not in self._registered:
            new = row.id in self.names.new
            self._registered[row.id] = [] if new else registrations(self.connection, self.kinds, row.id)
        found = list(self._registered[row.id])
        for seq, pending in self._pending.items():
            made = seq in self._pending_of[row.id] and self._uses_now(seq, row, MAKES)
            if made or pending.number in {one.number for one in found}:
                found.append(Registration(pending.number, self.now, self.entry(seq) if made else None))
        return found

    def by_number(self, number: int) -> Entry | None:
        """Return the entry in force of this number, or None."""
        for pending in self._pending.values():
            if pending.number == number and pending.seq not in self._amended:
                return None if pending.amendment and pending.amendment.void else self.entry(pending.seq)
        sql = f"SELECT e.seq, e.void FROM {{listed}} JOIN entry e ON e.first = j.value WHERE {in_force()}"
        for seq, void in select_keys(self.connection, sql, [number]):
            if not void and seq not in self._amended:
                return self.entry(seq)
        return None

    def entry(self, seq: int) -> Entry:
        """Return one version as the judges see it."""
        if seq not in self._entries:
            if seq in self._pending:
                self._entries[seq] = self._from_pending(self._pending[seq])
            else:
                group = "CASE WHEN s.in_order = 1 THEN s.id ELSE 0 END"
                sql = (
                    f"SELECT {_ROW.format(group=group)} FROM {{listed}} JOIN entry e ON e.seq = j.value"
                    " LEFT JOIN sheet s ON s.id = e.sheet"
                )
                self._entries[seq] = self._from_row(select_keys(self.connection, sql, [seq])[0])
        return self._entries[seq]

    def _telling_of_entry(self, fact: str, number: int) -> list[Entry]:
        sql = (
            "SELECT r.seq FROM {listed} JOIN ref r ON r.first = j.value JOIN entry e ON e.seq = r.seq"
            f" WHERE {in_force()}"
        )
        seqs = {row[0] for row in select_keys(self.connection, sql, [number])}
        seqs |= {seq for seq, pending in self._pending.items() if number in pending.refs}
        told = []
        for seq in seqs - self._amended:
            for mention in self._mentions(seq):
                named = any(entry_number(code) == number for code in mention.codes)
                if named and fact in facts(mention.field, mention.scope, None, ()):
                    told.append(self.entry(seq))
        return sorted(told, key=_by_time)

    def _users(self, row: ThingRow, roles: Collection[Role], fact: str = "") -> list[int]:
        """The versions in force that use the thing in one of the roles; with a fact, only of kinds that tell it."""
        held = self._stored.setdefault((tuple(roles), fact), {})
        if row.id not in held:
            asked = self.cohort if row.id in self.cohort else ()
            # One by one: taking away the keys of a dict as a set goes through all that it holds.
            cohort = {row.id, *(one for one in asked if one not in held)}
            held.update({thing: [] for thing in cohort})
            # What this batch makes no stored entry can name.
            if stored := sorted(one for one in cohort if one not in self.names.new):
                self._read_users(stored, roles, fact, held)
        found = set(held[row.id])
        found.update(seq for seq in self._pending_of[row.id] if self._uses_now(seq, row, roles))
        return sorted(found - self._amended)

    def _read_users(self, things: list[int], roles: Collection[Role], fact: str, held: dict[int, list[int]]) -> None:
        kinds = f" AND e.kind IN {texts(self.kinds.telling(fact))}" if fact else ""
        stored = [*roles, *((Role.CLEARED_WATER,) if Role.CLEARED in roles else ())]
        for part in role_parts("u", *stored):
            sql = (
                f"SELECT u.thing, {_ROW.format(group='u.grp')} FROM {{listed}} JOIN use u ON u.thing = j.value"
                f" AND {part} JOIN entry e ON e.seq = {seq_of()} WHERE {in_force()}{kinds}"
            )
            for thing, *row in select_keys(self.connection, sql, things):
                held[thing].append(row[0])
                if row[0] not in self._entries:
                    self._entries[row[0]] = self._from_row(row)

    def _uses_now(self, seq: int, row: ThingRow, roles: Collection[Role]) -> bool:
        """Whether an entry of the batch uses the thing so. What waits for its verdict is in contact either way."""
        if seq not in self._roles_now:
            roles_now: dict[int, set[Role | None]] = defaultdict(set)
            for use in self._pending[seq].uses:
                roles_now[use.thing.id].add(use.role)
            self._roles_now[seq] = roles_now
        used = self._roles_now[seq][row.id]
        return not used.isdisjoint(roles) or (None in used and (Role.CLEARED in roles or Role.ABOUT in roles))

    def _tells(self, seq: int, fact: str, row: ThingRow) -> bool:
        return any(
            fact in facts(mention.field, mention.scope, (row.kind, row.cls), ())
            for mention in self._mentions(seq)
            if mention.field.facts and any(self._is(code, row) for code in mention.codes)
        )

    def _is(self, code: str, row: ThingRow) -> bool:
        found = self.names.find(code)
        return found is not None and found.id == row.id

    def _mentions(self, seq: int) -> Sequence[Mention]:
        if seq in self._pending:
            return self._pending[seq].checked.mentions
        return self.entry(seq).content.mentions

    def _from_row(self, row: Sequence[Any]) -> Entry:
        seq, number, kind, start, end, group, line, recorded_at = row
        text = StoredText(partial(self._version, seq), self.kinds)
        return Entry(seq, number, kind, start, end, group, line, recorded_at, text)

    def _version(self, seq: int) -> Version:
        sql = "SELECT e.record, e.digest FROM {listed} JOIN entry e ON e.seq = j.value"
        return parse(*select_keys(self.connection, sql, [seq])[0])

    def _from_pending(self, pending: Pending) -> Entry:
        checked = pending.checked
        waiting = {id(use): mention for use, mention in (*pending.judged, *pending.following)}
        uses = tuple(
            Use(use.role or _whatever_comes(use, waiting[id(use)]), use.thing.code, use.field, assumed=use.assumed)
            for use in pending.uses
        )
        return Entry(
            seq=pending.seq,
            number=pending.number,
            kind=checked.kind.name,
            start=checked.at.start,
            end=checked.at.end,
            group=pending.group,
            line=pending.line,
            recorded_at=self.now,
            text=NewText(
                Content(str(checked.at.written), checked.by, checked.values, uses, checked.mentions, checked.zone)
            ),
        )


def _whatever_comes(use: UseRow, mention: Mention) -> Role:
    """The role of what waits for its verdict, where both verdicts give it; else it is named at least."""
    passed, failed = (
        roles(mention.field, mention.scope, passes=passes, thing=(use.thing.kind, use.thing.cls))
        for passes in (True, False)
    )
    return next((role for role in passed if role in failed), Role.ABOUT)


def _roles_telling(fact: str, kinds: Kinds) -> tuple[Role, ...]:
    """The roles that fields which tell a fact give to the things they name."""

    def of(fields: Iterable[Field]) -> Iterable[Role]:
        for field in fields:
            if any(one.name == fact for one in field.facts):
                yield from (case.role for case in field.roles)
            yield from of(field.fields.values())

    return tuple(sorted({role for name in kinds.telling(fact) for role in of(kinds[name].fields.values())}))


def _by_time(entry: Entry) -> tuple[int, int, int]:
    return entry.start, entry.end, entry.line or entry.seq
