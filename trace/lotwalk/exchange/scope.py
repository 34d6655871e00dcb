"""What an export is asked for: a period, the trace of some lots, what one customer got; and what lies in that.

A trace is by ingredient: what a lot was made of, and what was made of it. Where an export is for one customer, only
what that customer got and what lies behind it is in it, and no other customer is named.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from lotwalk.errors import NotUnderstood
from lotwalk.exchange.reading import Reader, uses
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import ThingRow, Version
from lotwalk.ledger.read.likeness import like
from lotwalk.ledger.read.things import things_of
from lotwalk.ledger.read.uses import beside, versions_using
from lotwalk.ledger.read.versions import entries, of_kinds
from lotwalk.recall.asking.asked import DELIVERY, ReadAs, ask
from lotwalk.recall.asking.buyer import CUSTOMER, Buyer, bought
from lotwalk.recall.asking.period import period
from lotwalk.recall.asking.sought import sought
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role
from lotwalk.walk.model import BACK, EVER, FORWARD, INGREDIENT, Start, Walk
from lotwalk.walk.walk import check_read, walk


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked: codes (none: all), a customer's code or name, the first and last second of a period."""

    codes: tuple[str, ...] = ()
    customer: str = ""
    start: int = -EVER
    end: int = EVER

    def holds(self, version: Version) -> bool:
        """Return whether an entry's time overlaps the period."""
        return version.end >= self.start and version.start <= self.end


def read_question(
    connection: Connection,
    kinds: Kinds,
    zone: ZoneInfo,
    words: Iterable[str],
    customer: str | None = None,
    since: str | None = None,
    until: str | None = None,
) -> tuple[Question, list[ReadAs]]:
    """Return what is asked in words, and which of them were read as codes that they are not.

    `words` are codes, or what a package or a paper says; `since` and `until` are times. Raises NotUnderstood for what
    the book does not know, and for a period that ends before it begins.
    """
    start, end = period(zone, since, until)
    named = [sought(connection, one, kinds) for one in words]
    codes = tuple(dict.fromkeys(one.code for one in named))
    return Question(codes, customer or "", start, end), [one.read_as for one in named if one.read_as]


@dataclass(slots=True)
class Scope:
    """What lies in an export. `keys` are the lots and deliveries in it by their keys in the database, None for all."""

    connection: Connection
    reader: Reader
    question: Question
    customer: ThingRow | None = None
    keys: frozenset[int] | None = None
    _folds: frozenset[str] = field(default=frozenset())

    def holds(self, code: str) -> bool:
        """Return whether a lot or a delivery lies in it."""
        return self.keys is None or fold(code) in self._folds

    def tells(self, version: Version) -> bool:
        """Return whether an entry may be told: its deliveries lie in the scope, and it names no other customer."""
        if self.keys is None:
            return self.question.holds(version)
        some_of = like(version, self.reader.kinds)
        for use in uses(version, Role.MADE, Role.ABOUT, Role.TOOK, Role.TO, Role.FROM):
            thing = self.reader.thing(use.code)
            # What came back came out of a delivery, which older records took with it.
            if thing is None or (some_of and use.role is Role.TOOK and thing.kind == DELIVERY):
                continue
            if thing.kind == DELIVERY and thing.id not in self.keys:
                return False
            if self.customer and thing.kind == CUSTOMER and thing.id != self.customer.id:
                return False
        # What lies behind a customer's lots was done before the period in which they got them.
        return self.customer is not None or self.question.holds(version)

    def entries(self, kinds: Sequence[str]) -> list[Version]:
        """Return the entries in force of these kinds that may be told, by time."""
        found = self._all(kinds) if self.keys is None else self._naming(kinds)
        return [one for one in found if not one.void and self.tells(one)]

    def corrected(self, kinds: Sequence[str]) -> list[Version]:
        """Return the versions of these kinds that stand no more, and that may be told: amended, or made void."""
        if self.keys is None:
            return [one for one in of_kinds(self.connection, kinds, amended=True) if self.tells(one)]
        live = {one.seq for one in self._naming(kinds)}
        past = self._naming(kinds, past=True)
        return [one for one in past if not one.void and one.seq not in live and self.tells(one)]

    def _all(self, kinds: Sequence[str]) -> list[Version]:
        start = None if self.question.start == -EVER else self.question.start
        end = None if self.question.end == EVER else self.question.end
        found = [one for kind in kinds for one in entries(self.connection, kind, start=start, end=end)]
        return sorted(found, key=_order)

    def _naming(self, kinds: Sequence[str], *, past: bool = False) -> list[Version]:
        named = versions_using(self.connection, self.keys or (), tuple(Role), kinds, past=past)
        return sorted({one.seq: one for _, _, one in named}.values(), key=_order)


def read_scope(connection: Connection, reader: Reader, question: Question) -> Scope:
    """Return what lies in what is asked. Raises NotUnderstood for codes that no trace starts from, and for a customer
    who is not in the book or got nothing of it; and Damaged where what was read is not what was recorded."""
    if not question.codes and not question.customer:
        return Scope(connection, reader, question)
    walks = _Walks(connection, reader.kinds)
    try:
        return _read_scope(walks, reader, question)
    finally:
        # Also before it is said that somebody got nothing: an index that lost a row would say the same.
        walks.check()


def _read_scope(walks: "_Walks", reader: Reader, question: Question) -> Scope:
    connection = walks.connection
    asked = ask(connection, question.codes)
    starts = {key for one in asked for key in one.starts}
    keys = starts | walks.reached(BACK, starts)
    customer = None
    if question.customer:
        buyer = Buyer(question.customer, start=question.start, end=question.end)
        customer, kept, _ = bought(connection, reader.kinds, buyer, reader.zone)
        deliveries = {one.delivery for one in kept}
        if question.codes:
            forward = starts | walks.reached(FORWARD, starts)
            deliveries &= forward
            _check_got(walks, question, customer, deliveries)
            keys |= deliveries | (forward & walks.reached(BACK, deliveries))
        else:
            keys = deliveries | walks.reached(BACK, deliveries)
    else:
        keys |= walks.reached(FORWARD, starts)
    return Scope(connection, reader, question, customer, frozenset(keys), _folds(connection, keys))


def _check_got(walks: "_Walks", question: Question, customer: ThingRow, deliveries: set[int]) -> None:
    """Refuse to tell a customer of a lot that they never had."""
    for code in question.codes:
        starts = {key for one in ask(walks.connection, [code]) for key in one.starts}
        if not deliveries & (starts | walks.reached(FORWARD, starts)):
            raise NotUnderstood(f"{customer.code} got nothing of {code}", "a lot or a delivery that this customer got")


class _Walks:
    """The walks by ingredient that a scope asks for, each walked once, and held against the tables all together."""

    def __init__(self, connection: Connection, kinds: Kinds) -> None:
        self.connection = connection
        self._kinds = kinds
        self._done: dict[tuple[str, frozenset[int]], Walk] = {}

    def reached(self, direction: str, starts: set[int]) -> set[int]:
        """Return the lots reached by ingredient."""
        if not starts:
            return set()
        known = direction, frozenset(starts)
        if known not in self._done:
            self._done[known] = walk(self.connection, direction, [Start(key) for key in sorted(starts)], spells=False)
        found = self._done[known]
        lots = {one.thing.id: one.thing for one in found.reached if one.link == INGREDIENT and one.thing.cls == "lot"}
        deliveries = {key for key, thing in lots.items() if thing.kind == DELIVERY}
        # An older record of what came back took the whole delivery. Only the lot that it names was restocked.
        if beside(self.connection, deliveries, [Role.TOOK], [Role.MADE]):
            return lots.keys() & _through_lots(self.connection, direction, starts)
        return set(lots)

    def check(self) -> None:
        """Raise Damaged where what was walked is not what was recorded."""
        starts = {key for _, keys in self._done for key in keys}
        check_read(self.connection, self._kinds, starts, list(self._done.values()))


def _through_lots(connection: Connection, direction: str, starts: set[int]) -> set[int]:
    """What the starts were made of, or what was made of them, never by way of a delivery that was taken back."""
    found: set[int] = set()
    fresh = set(starts)
    while fresh:
        if direction == BACK:
            rows = beside(connection, fresh, [Role.MADE], [Role.TOOK])
            reached = {one.other for one in rows if one.kind != DELIVERY}
        else:
            lots = {thing.id for thing in things_of(connection, fresh) if thing.kind != DELIVERY}
            reached = {one.other for one in beside(connection, lots, [Role.TOOK], [Role.MADE])}
        fresh = reached - found
        found |= reached
    return found


def _folds(connection: Connection, keys: set[int]) -> frozenset[str]:
    return frozenset(fold(thing.code) for thing in things_of(connection, keys))


def _order(version: Version) -> tuple[int, int, int]:
    return version.start, version.end, version.number
