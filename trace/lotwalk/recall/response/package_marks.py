"""What stands on the package of a packed lot, for those who hold the package and know no code of this book."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection

from lotwalk.kinds.library import Kinds
from lotwalk.ledger.read.likeness import first_said, sayers
from lotwalk.ledger.read.things import keys_of
from lotwalk.recall.words.common import code_list

_BEST_BEFORE, _PRINTED = "best_before", "printed"
"""The fields in which the entry that made a lot says it."""
_AT_ONCE = 500
"""So many lots are looked up at once: the scope of a large farm has tens of thousands, each with an entry to read."""


@dataclass(frozen=True, slots=True)
class Bag:
    """The best-before date and the printed code as they were written down; empty where they were not."""

    best_before: str = ""
    printed: str = ""

    @property
    def words(self) -> str:
        """Both in words; nothing where neither is known."""
        told = (
            f"best before {self.best_before}" if self.best_before else "",
            f"printed {self.printed}" if self.printed else "",
        )
        return ", ".join(filter(None, told))

    def beside(self, lot: str) -> str:
        """Return a lot, or what is said of it, with what stands on its package."""
        return f"{lot} ({self.words})" if self.words else lot


BARE = Bag()
"""A package of which nobody wrote down what stands on it."""


def bags(connection: Connection, kinds: Kinds, codes: Sequence[str]) -> dict[str, Bag]:
    """Return what stands on the packages of lots, by their codes; only of those of which it is written down.

    What came back and was restocked is still in the package of the lot that it is of.
    """
    found: dict[str, Bag] = {}
    for first in range(0, len(codes), _AT_ONCE):
        found.update(_bags(connection, kinds, codes[first : first + _AT_ONCE]))
    return found


def _bags(connection: Connection, kinds: Kinds, codes: Sequence[str]) -> dict[str, Bag]:
    keys = keys_of(connection, codes)
    found = {
        keys[key]: Bag(*(str(first_said(versions, name) or "") for name in (_BEST_BEFORE, _PRINTED)))
        for key, versions in sayers(connection, kinds, keys).items()
    }
    return {code: bag for code, bag in found.items() if bag.words}


def bag_list(codes: Sequence[str], found: Mapping[str, Bag]) -> str:
    """Return lots in their order, those that follow each other with the same on their packages together."""
    runs: list[tuple[Bag, list[str]]] = []
    for code in codes:
        bag = found.get(code, BARE)
        if runs and runs[-1][0] == bag:
            runs[-1][1].append(code)
        else:
            runs.append((bag, [code]))
    return "; ".join(bag.beside(code_list(run)) for bag, run in runs)
