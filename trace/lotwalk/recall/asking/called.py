"""What people call a lot: by its product, or by the seed it grew from. For a caller who reads no code from a label."""

import re
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping

from sqlalchemy import Connection

from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import Version
from lotwalk.ledger.read.things import things_of
from lotwalk.ledger.read.uses import beside, makers
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role

_PAPER = "paper"


class Called:
    """The names of lots (database keys), nearest first: those of its product, then of what it was made of."""

    def __init__(self, connection: Connection, kinds: Kinds, lots: Collection[int]) -> None:
        self._behind: dict[int, list[int]] = defaultdict(list)
        known, fresh = set(lots), set(lots)
        while fresh:
            # What a lot was made of, and the papers, such as its product, that its making names.
            rows = beside(connection, fresh, [Role.MADE], [Role.TOOK, Role.ABOUT])
            behind = dict.fromkeys((one.thing, one.other) for one in rows if one.role is Role.TOOK or one.cls == _PAPER)
            for made, other in behind:
                self._behind[made].append(other)
            fresh = {other for _, other in behind} - known
            known |= fresh
        self._codes = {thing.id: thing.code for thing in things_of(connection, sorted(known))}
        self._own = {
            key: names
            for key, version in makers(connection, sorted(known)).items()
            if (names := names_of(version, self._codes[key], kinds))
        }

    def name(self, lot: int) -> str:
        """Return what the lot is called: the nearest names there are (of a blend, all of them); nothing for none."""
        for level in self._levels(lot):
            found = {self._own[key][0] for key in level if key in self._own}
            if found:
                return " and ".join(sorted(found))
        return ""

    def is_called(self, lot: int, asked: str) -> bool:
        """Return whether the lot, its product or anything in it is called so: each word asked for is among its names.

        Case and the plural make no difference. The whole code of its product is a name too.
        """
        wanted, code = _words(asked), fold(asked.strip())
        keys = {key for level in self._levels(lot) for key in level if key in self._own}
        return bool(wanted) and any(
            fold(self._codes[key]) == code or wanted <= _words(" ".join(self._own[key])) for key in keys
        )

    def _levels(self, lot: int) -> Iterator[set[int]]:
        seen: set[int] = set()
        level = {lot}
        while level:
            yield level
            seen |= level
            level = {other for key in level for other in self._behind[key]} - seen


def names_of(version: Version, code: str, kinds: Kinds) -> list[str]:
    """Return the texts by which the thing that an entry made is called; none where its kind says none."""
    fields: Mapping[str, object] = version.fields
    for name, field in kinds[version.kind].fields.items():
        if field.called and fold(str(fields.get(name, ""))) == fold(code):
            return [str(fields[one]) for one in field.called if one in fields]
    return []


def _words(text: str) -> set[str]:
    return {_singular(word) for word in re.findall(r"\w+", fold(text))}


def _singular(word: str) -> str:
    """The word without the ending of an English plural. Both sides are cut alike, so `cress` still finds `cress`."""
    for ending, instead in (("ies", "y"), ("shes", "sh"), ("ches", "ch"), ("oes", "o"), ("s", "")):
        if len(word) > len(ending) + 2 and word.endswith(ending):
            return word.removesuffix(ending) + instead
    return word
