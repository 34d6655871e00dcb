"""Looking up the codes that a field names, and making those that it brings in, with all that is wrong told at once."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from lotwalk.errors import NotUnderstood, Problem
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Makes, Mention, Value
from lotwalk.ledger.model import ThingRow
from lotwalk.ledger.write.names import Names
from lotwalk.store.sql import select_keys
from lotwalk.values.codes import entry_number, fold

_NOT_CODES = ("entry", "finding")
_SHOWN = 5


@dataclass(slots=True)
class Found:
    """The things of one mention, the entries it names by their numbers, and what is wrong with the other codes."""

    things: list[ThingRow] = field(default_factory=list)
    refs: set[int] = field(default_factory=set)
    problems: list[Problem] = field(default_factory=list)


class Lookup:
    """Looks codes up among the things known so far.

    `stored` is the number of entries in the ledger, `last_entry` that of the latest one of the batch too. `unread` are
    folded codes that an entry with mistakes would have made; naming them is no further mistake.
    """

    def __init__(self, names: Names, kinds: Kinds, stored: int, unread: Collection[str]) -> None:
        self.names = names
        self.kinds = kinds
        self.stored = self.last_entry = stored
        self.unread = set(unread)

    def find(self, mention: Mention, *, ranged: bool = False) -> Found:
        """Return what a mention names. `ranged`: it was written as a range, so entries may be missing inside it."""
        found = Found()
        unknown: list[str] = []
        wrong: dict[str, list[str]] = {}
        empty: list[str] = []
        allowed, instead = mention.field.things, mention.field.instead
        for code in self._not_entries(mention, ranged, found):
            thing = self.names.find(code)
            if thing is None:
                if "finding" not in allowed and fold(code) not in self.unread:
                    unknown.append(code)
            elif instead and self.kinds.thing_matches(thing.kind, instead.of):
                empty.append(thing.code)
            elif self.kinds.thing_matches(thing.kind, allowed):
                found.things.append(thing)
            else:
                wrong.setdefault(thing.kind, []).append(thing.code)
        wanted = " or ".join(one for one in allowed if one not in _NOT_CODES)
        if unknown:
            expected = f"the code of {article(wanted)} that is already in, or earlier on this sheet"
            _add(found, mention, f"{some(unknown)} {_is(unknown)} not in the book", expected)
        if empty:
            stand = "stands" if len(empty) == 1 else "stand"
            _add(found, mention, f"{some(empty)} {stand} for no lot", "the lots themselves")
        for kind, codes in wrong.items():
            _add(found, mention, f"{some(codes)} {self._is_a(kind, codes)}", article(wanted))
        return found

    def make(self, mention: Mention, amended: int | None) -> Found:
        """Return the things that a mention makes. `amended` is the version that its entry replaces, if it does."""
        found = Found()
        makes = mention.field.makes
        assert makes is not None, "the field makes things"
        try:
            kind = self._kind(makes, mention.scope)
        except NotUnderstood as error:
            self._pass_over(mention.codes)
            _add(found, mention, error.what, error.expected)
            return found
        if kind is None:
            self._pass_over(mention.codes)
            return found
        type_ = self._type(makes, mention.scope)
        taken: list[str] = []
        others: dict[str, list[str]] = {}
        for code in mention.codes:
            known = self.names.find(code)
            if known and known.kind != kind:
                others.setdefault(known.kind, []).append(code)
            elif known and self.names.in_force(known, amended):
                taken.append(code)
            else:
                found.things.append(self.names.make(code, kind, type_))
        if taken:
            expected = "a code that is free; codes stay unique for ever"
            _add(found, mention, f"{some(taken)} {_is(taken)} already in the book", expected)
        for other, codes in others.items():
            title = self.kinds.things[other].title.lower()
            noun = "the code" if len(codes) == 1 else "codes"
            _add(found, mention, f"{some(codes)} {_is(codes)} already {noun} of a {title}", "a code that is free")
        return found

    def named(self, value: Value | None) -> ThingRow | None:
        """Return the thing of a code, or of the first of several."""
        code = value[0] if isinstance(value, list) and value else value
        return self.names.find(code) if isinstance(code, str) else None

    def _not_entries(self, mention: Mention, ranged: bool, found: Found) -> Sequence[str]:
        """The codes that name no entry (`E12`); those that do go to `found`."""
        if "entry" not in mention.field.things:
            return mention.codes
        numbers = {code: number for code in mention.codes if (number := entry_number(code)) is not None}
        inside = [number for number in numbers.values() if number <= self.stored]
        sql = "SELECT e.seq, e.first FROM {listed} JOIN entry e ON e.seq = j.value"
        firsts = dict(tuple(row) for row in select_keys(self.names.connection, sql, inside))
        unknown: list[str] = []
        for code, number in numbers.items():
            first = number if self.stored < number <= self.last_entry else firsts.get(number)
            if first == number:
                found.refs.add(number)
            elif first is None:
                unknown.append(code)
            elif not ranged:
                _add(found, mention, f"{code} is no entry but a later version of E{first}", f"E{first}")
        if unknown:
            what = "no entry" if len(unknown) == 1 else "no entries"
            _add(found, mention, f"there {_is(unknown)} {what} {some(unknown)}", "an entry that is in the book")
        return [code for code in mention.codes if code not in numbers]

    def _pass_over(self, codes: Collection[str]) -> None:
        self.unread |= {fold(code) for code in codes}

    def _is_a(self, kind: str, codes: Sequence[str]) -> str:
        thing = self.kinds.things[kind]
        return f"is {article(thing.title.lower())}" if len(codes) == 1 else f"are {thing.plural.lower()}"

    def _kind(self, makes: Makes, scope: Mapping[str, Value]) -> str | None:
        """The kind of the new things; None where what would tell it is told as a mistake elsewhere."""
        if makes.kind:
            return makes.kind
        if makes.kind_from and makes.kind_from in scope:
            return str(scope[makes.kind_from])
        value = scope.get(makes.kind_of or "")
        if not value:
            asked = makes.kind_from or makes.kind_of
            raise NotUnderstood("it is not said what kind of thing the new codes are", f"the field {asked}")
        codes = value if isinstance(value, list) else [value]
        kinds = {thing.kind for code in codes if isinstance(code, str) and (thing := self.names.find(code))}
        if len(kinds) > 1:
            titles = " and ".join(sorted(self.kinds.things[kind].plural.lower() for kind in kinds))
            raise NotUnderstood(f"the new codes could be {titles}", f"things of one kind in {makes.kind_of}")
        return kinds.pop() if kinds else None

    def _type(self, makes: Makes, scope: Mapping[str, Value]) -> str | None:
        if makes.type_from:
            value = scope.get(makes.type_from)
            return None if value is None else str(value)
        if makes.type_of:
            named = self.named(scope.get(makes.type_of))
            return named.type if named else None
        return None


def some(codes: Sequence[str]) -> str:
    """Return the codes for a sentence; of many, the first few and how many more."""
    if len(codes) <= _SHOWN:
        return ", ".join(codes)
    return f"{', '.join(codes[:_SHOWN])} and {len(codes) - _SHOWN} more"


def article(noun: str) -> str:
    """Return the noun with `a` or `an` before it."""
    return f"{'an' if noun[:1].lower() in 'aeiou' else 'a'} {noun}"


def _is(codes: Sequence[str]) -> str:
    return "is" if len(codes) == 1 else "are"


def _add(found: Found, mention: Mention, what: str, expected: str) -> None:
    found.problems.append(Problem(what, expected, mention.path, line=mention.line))
