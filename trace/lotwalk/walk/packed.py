"""Uses packed as plain numbers: a walk through a hundred thousand entries keeps half a million of them."""

from array import array
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain

from lotwalk.walk.model import Touch

_WIDTH = len(Touch._fields)


class Packed:
    """Uses in the order in which a walk met them. A row is what a Touch is made of."""

    __slots__ = ("_numbers",)

    def __init__(self) -> None:
        self._numbers = array("q")

    def add(self, rows: Iterable[Sequence[int]]) -> None:
        """Keep these rows too."""
        self._numbers.extend(chain.from_iterable(rows))

    def __iter__(self) -> Iterator[Touch]:
        return map(Touch._make, zip(*[iter(self._numbers)] * _WIDTH, strict=True))

    def column(self, name: str) -> Sequence[int]:
        """Return one field of all uses."""
        return self._numbers[Touch._fields.index(name) :: _WIDTH]

    def by_thing(self) -> dict[int, list[int]]:
        """Return the places of each thing's uses, for `at`."""
        places: dict[int, list[int]] = defaultdict(list)
        for place, thing in enumerate(self.column("thing")):
            places[thing].append(place)
        return places

    def at(self, places: Iterable[int]) -> Iterator[Touch]:
        """Yield the uses at these places."""
        return (Touch._make(self._numbers[_WIDTH * place : _WIDTH * place + _WIDTH]) for place in places)
