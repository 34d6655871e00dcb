"""Which entries finish a growing lot, by all that the book says: whole, or on some of what it stands on.

A cut of which nobody says whether some of the lot was left finishes it, unless fewer trays were taken by then than were
sown, or a later entry cuts it again. What such a row names is free all the same. What takes the last tray finishes the
lot too.
"""

from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import TAKEN, Fact, Mention
from lotwalk.kinds.roles import facts, left_by_the_book
from lotwalk.ledger.bearing.facts import FINISHED, GIVEN_UP, HARVESTED, REGROWN, SOWN
from lotwalk.ledger.entry import Entry
from lotwalk.ledger.evidence_model import Evidence
from lotwalk.values.codes import fold
from lotwalk.values.units import Amount


@dataclass(frozen=True, slots=True)
class Taking:
    """What an entry took of a lot.

    `amount`: how much, or how many trays, in the lot's unit; None where that is not said. `items`: the folded codes of
    what it took them off, where it names it. `finishes`: it tells that it finished the lot; `denies`: it says that it
    did not. `shown_by`: the facts by which a later entry shows that some was left, where this one says nothing of it.
    `tells`: its facts of the lot. `crop`: which crop of the lot it took, () for the first; None where it took the lot
    away, so that none grows of it again.
    """

    entry: Entry
    amount: Decimal | None
    items: frozenset[str]
    finishes: bool
    denies: bool
    shown_by: frozenset[str]
    tells: frozenset[str]
    crop: tuple[str, ...] | None


class History:
    """What was taken of a lot, and which entries finished it."""

    def __init__(self, evidence: Evidence, lot: str) -> None:
        self._evidence = evidence
        self._lot = lot
        self._thing = evidence.thing(lot)
        self._made, self._sown = _made(evidence, lot)
        self.takings = [taking for entry in evidence.taking(lot) if (taking := self._taking(entry))]
        self._lost_known = self._sown is None or all(one.amount is None for one in self.takings)

    def left(self, number: int) -> bool:
        """Return whether an entry, by its number, says nothing of what it left, and yet left some of the lot."""
        taking = self._by_number(number)
        return taking is not None and self._left(taking)

    def says_nothing(self, number: int) -> bool:
        """Return whether an entry, by its number, says nothing of whether it left some of the lot."""
        taking = self._by_number(number)
        return taking is not None and bool(taking.shown_by)

    def missing(self, number: int) -> tuple[Decimal, Decimal] | None:
        """Return how many trays are taken by an entry's time, and how many were sown, where those are fewer."""
        taking = self._by_number(number)
        taken = self._short(taking) if taking and taking.finishes else None
        return None if taken is None or self._sown is None else (taken, self._sown)

    def ends(self, items: Collection[str]) -> list[Entry]:
        """Return the entries after which the lot stands no more on an item, by time; `items` are its codes so far."""
        folded = {fold(code) for code in items}
        if not any(self._finishes(one) for one in self.takings):
            self._count_lost()
        found = [one.entry for one in self.takings if self._finishes(one) or self._frees(one, folded)]
        known = {one.entry.number for one in self.takings}
        found += [entry for entry in self._evidence.telling(FINISHED, self._lot) if entry.number not in known]
        return sorted(found, key=lambda one: (one.start, one.end, one.line or one.seq))

    def _by_number(self, number: int) -> Taking | None:
        return next((one for one in self.takings if one.entry.number == number), None)

    def _finishes(self, taking: Taking) -> bool:
        if taking.finishes:
            return not self._left(taking)
        # More than was sown is no last tray: it was cut and grew again, or somebody miscounted.
        last = self._sown is not None and not taking.denies and self._taken(taking) == self._sown
        counted = all(one.amount is not None for one in self.takings if one.denies)
        return last and counted and not any(_after(one, taking) for one in self.takings)

    def _left(self, taking: Taking) -> bool:
        if not taking.shown_by:
            return False
        if not taking.finishes:
            return not self._used_up(taking)
        if any(one.tells & taking.shown_by and _after(one, taking) for one in self.takings):
            return True
        return self._short(taking) is not None

    def _short(self, taking: Taking) -> Decimal | None:
        """How many trays were taken by then, where those are fewer than were sown; None where they are not."""
        if self._sown is None or taking.amount is None:
            return None
        taken = self._taken(taking)
        if taken is not None and taken < self._sown and not self._lost_known:
            self._count_lost()
            taken = self._taken(taking)
        return taken if taken is not None and taken < self._sown else None

    def _count_lost(self) -> None:
        """Count the trays that were given up too. They are read only where those taken are too few."""
        if not self._lost_known:
            self._lost_known = True
            self.takings += self._given_up()

    def _used_up(self, taking: Taking) -> bool:
        """Whether nothing was left, of which an entry says nothing: all was taken by then, and nothing since.

        What may have come before it and may have come after it counts as after it.
        """
        entry = taking.entry
        before = [one for one in self.takings if one is not taking and one.entry.surely_before(entry)]
        after = [one for one in self.takings if one is not taking and one not in before]
        if self._made is None or any(one.tells & taking.shown_by for one in after):
            return False
        return sum((one.amount for one in (*before, taking) if one.amount is not None), Decimal()) >= self._made.value

    def _frees(self, taking: Taking, items: Collection[str]) -> bool:
        """Whether a cut that says nothing of the rest was the last of what it names."""
        if not taking.finishes or not taking.shown_by or not taking.items & set(items):
            return False
        later = [one for one in self.takings if _after(one, taking)]
        return not any(one.items & set(items) or (one.crop and not one.items) for one in later)

    def _taken(self, taking: Taking) -> Decimal | None:
        """How many trays at the least were taken by then, of the same crop or for good; None where nobody knows."""
        by_then = [one for one in self.takings if one is taking or not _after(one, taking)]
        alike = [one for one in by_then if one.crop is None or taking.crop is None or one.crop == taking.crop]
        if any(one.amount is None and one.finishes for one in alike):
            return None
        return sum((one.amount for one in alike if one.amount is not None), Decimal())

    def _taking(self, entry: Entry) -> Taking | None:
        rows = [
            mention
            for mention in entry.content.mentions
            if mention.field.makes is None and any(fold(code) == fold(self._lot) for code in mention.codes)
        ]
        if not rows:
            return None
        told = [frozenset(facts(row.field, row.scope, self._names)) for row in rows]
        shown = [left_by_the_book(row.field, row.scope, self._names) for row in rows]
        says = any(FINISHED in one and not by for one, by in zip(told, shown, strict=True))
        amounts = [self._amount(row) for row in rows]
        return Taking(
            entry,
            None if None in amounts else sum((one for one in amounts if one is not None), Decimal()),
            frozenset(fold(code) for row in rows for code in row.with_only or ()),
            any(FINISHED in one for one in told),
            any(_denies(row) for row in rows),
            frozenset() if says else frozenset[str]().union(*shown),
            frozenset({TAKEN}).union(*told),
            next((crop for row in rows if (crop := _crop(row, self._names)) is not None), None),
        )

    @property
    def _names(self) -> tuple[str, str] | None:
        return (self._thing.kind, self._thing.cls) if self._thing else None

    def _amount(self, row: Mention) -> Decimal | None:
        if row.with_only is not None:
            # A tray and the mat in it are one: of several kinds of thing, the most of one.
            things = [thing for code in row.with_only if (thing := self._evidence.thing(code))]
            return Decimal(max(Counter(thing.kind for thing in things).values(), default=0))
        unit = self._made.unit if self._made else None
        if row.packs is not None:
            return Decimal(row.packs) if unit == "count" else None
        return row.amount.value if row.amount and row.amount.unit == unit else None

    def _given_up(self) -> Iterator[Taking]:
        """The trays that were given up. Where several lots are named, nobody knows of which."""
        for entry in self._evidence.telling(GIVEN_UP, self._lot):
            for row in entry.content.mentions:
                number = _number(row, self._names)
                if number is not None and len(row.codes) == 1 and fold(row.codes[0]) == fold(self._lot):
                    nothing = frozenset[str]()
                    yield Taking(entry, number, nothing, False, False, nothing, frozenset({GIVEN_UP}), None)


def crops(kinds: Kinds) -> frozenset[str]:
    """Return the kinds of lot that are cut, which may finish them though nobody says so."""
    leaving = kinds.leaving()
    return frozenset[str]().union(*(leaving[name] for name in kinds.telling(HARVESTED) if name in leaving))


def _after(one: Taking, other: Taking) -> bool:
    """Whether an entry comes after another; where nobody knows, whether its time does."""
    first, second = other.entry, one.entry
    if first.surely_before(second):
        return True
    return not second.surely_before(first) and _place(second) > _place(first)


def _place(entry: Entry) -> tuple[int, int, int, int]:
    return entry.start, entry.end, entry.line, entry.number


def _denies(row: Mention) -> bool:
    """Whether a row answers no where a yes would say that the lot is finished."""
    asked = {key for fact in row.field.facts if fact.name == FINISHED for key in _lines(fact)}
    return any(row.scope.get(key) is False for key in asked)


def _crop(row: Mention, thing: tuple[str, str] | None) -> tuple[str, ...] | None:
    """Which crop of a lot a row took, by the fields on which it hangs whether it had grown again."""
    regrown = [fact for fact in row.field.facts if fact.name == REGROWN]
    if not regrown:
        return None
    if REGROWN not in facts(row.field, row.scope, thing):
        return ()
    return tuple(str(row.scope.get(key)) for fact in regrown for key in _lines(fact))


def _number(row: Mention, thing: tuple[str, str] | None) -> Decimal | None:
    """How many trays of a lot were given up, by the field whose being filled in says so."""
    if GIVEN_UP not in facts(row.field, row.scope, thing):
        return None
    named = [_lines(fact).get("given") for fact in row.field.facts if fact.name == GIVEN_UP]
    found = [row.scope.get(key) for names in named if isinstance(names, list) for key in names if key]
    return next((Decimal(one) for one in found if isinstance(one, int)), None)


def _lines(fact: Fact) -> Mapping[str, str | list[str | None] | None]:
    return fact.when if isinstance(fact.when, Mapping) else {}


def _made(evidence: Evidence, lot: str) -> tuple[Amount | None, Decimal | None]:
    """How much of a lot was made, and how many trays were sown; None where nobody wrote it, and of what is no crop."""
    maker = evidence.maker(lot)
    mentions = maker.content.mentions if maker else ()
    sown = any(fact.name == SOWN for mention in mentions for fact in mention.field.facts)
    for mention in mentions:
        if mention.field.makes and any(fold(code) == fold(lot) for code in mention.codes) and mention.amount:
            amount = mention.amount
            return amount, amount.value if sown and amount.unit == "count" else None
    return None, None
