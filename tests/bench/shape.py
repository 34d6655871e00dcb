"""The shape of made-up growers, from one small house to a hundred, over two years or twenty.

A grower is houses side by side. Each has its media, knife, bench, stores and seed lots; the first has a well of its
own, the others share two. A house does the same in each two years (a span), whatever stands beside it and whatever
came before: all of the first house's lots of the last span are the same in every size, and so is what a complaint about
them concerns. So two sizes can be asked the very same question.

Each seed lot is sown to about two hundred trays, and one tray in ten from two lots. Media are used some 35 times in two
years and sanitised between uses, save two in a hundred that are missed. Wells are tested weekly. Harvests are of one to
ten trays and share a knife that is sanitised daily; packed lots are of one to three harvests.
"""

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from random import Random
from typing import TypeVar

from tests.bench import deeds
from tests.bench.deeds import Deed

T = TypeVar("T")
DAY, MINUTE = 86_400, 60
SPAN = 728
"""Days: two years of whole weeks, so that the wells are tested on the same days of each span."""
END = int(datetime(2026, 6, 1, tzinfo=UTC).timestamp())

_TRAYS = 12
_GROWN = 10
_CUSTOMERS = 50
_MEDIA = 250
_CROPS = ("pea", "radish", "sunflower", "broccoli")
_SOWN_OF_A_LOT = 200
_STORES_LAST = 180
_COMPLAINED = 9
"""So many days after a delivery the customer rings, on the last day."""


@dataclass(frozen=True, slots=True)
class Size:
    """How large a grower is. `spans` of two years each, `days` of each span that are written (all of them).

    Who is `neglectful` never cleans a knife, nor has a well tested.
    """

    name: str
    houses: int
    spans: int
    customers: int
    days: int = SPAN
    neglectful: bool = False


SIZES = {
    "S": Size("S", 1, 1, _CUSTOMERS),
    "M": Size("M", 10, 1, 150),
    "L": Size("L", 100, 1, 500),
    "MH": Size("MH", 1, 10, _CUSTOMERS),
}


def all_deeds(size: Size, seed: int = 1) -> Iterator[Deed]:
    """Yield every entry of a grower in the order in which they are recorded; the complaints come last.

    `C-1` is about a delivery of the first house, `C-2` (where there are more houses) about one of the second.
    """
    start = END - size.spans * SPAN * DAY
    yield from _register(size, start)
    houses: list[House] = []
    for span in reversed(range(size.spans)):
        houses = [House(number, span, seed, size) for number in range(1, size.houses + 1)]
        for number in range(size.days):
            day = END - (span + 1) * SPAN * DAY + number * DAY
            yield from _farm_wide(size, number, day)
            for house in houses:
                yield from house.day(number, day, last=number >= size.days - _GROWN and span > 0)
    at = END - (SPAN - size.days) * DAY
    for number, house in enumerate(houses[:2], 1):
        assert house.complained, "a grower is in business for three weeks before somebody complains"
        yield deeds.complaint(at, house.worker, f"C-{number}", *house.complained)


def wells(size: Size) -> list[str]:
    return ["WELL-1", "WELL-2", "WELL-3"][: min(size.houses, 3)]


def _register(size: Size, start: int) -> Iterator[Deed]:
    at = start - DAY
    yield from (deeds.person(at, f"W{number}") for number in range(1, size.houses + 1))
    yield deeds.supplier(at, "W1", "LARKMERE")
    yield deeds.product(at, "W1", "GREENS")
    yield from (deeds.water_source(at, "W1", well) for well in wells(size))
    yield from (deeds.customer(at, "W1", f"K{number}", number) for number in range(1, size.customers + 1))
    for number in range(1, size.houses + 1):
        yield deeds.equipment(at, f"W{number}", _media(number), "medium")
        yield deeds.equipment(at, f"W{number}", [f"KN-{number}"], "tool")
        yield deeds.equipment(at, f"W{number}", [f"BE-{number}"], "surface")


def _farm_wide(size: Size, number: int, day: int) -> Iterator[Deed]:
    if number % 7 == 0 and not size.neglectful:
        yield from (deeds.water_test(day + 390 * MINUTE, "W1", well) for well in wells(size))


def _media(house: int) -> list[str]:
    return [f"M-{house}-{number:03d}" for number in range(1, _MEDIA + 1)]


@dataclass(slots=True)
class _Growing:
    """A batch that stands on a medium."""

    code: str
    medium: str
    sown: int


@dataclass(slots=True)
class House:
    """One house through one span of two years. `complained`: who will complain, and of which delivery."""

    number: int
    span: int
    seed: int
    size: Size
    complained: tuple[str, str] | None = None
    worker: str = field(init=False)
    _random: Random = field(init=False)
    _well: str = field(init=False)
    _tag: str = field(init=False)
    _free: deque[str] = field(init=False)
    _growing: deque[_Growing] = field(init=False)
    _packed: list[tuple[str, int]] = field(init=False)
    _seeds: list[tuple[str, int]] = field(init=False)
    _counts: dict[str, int] = field(init=False)
    _stores: tuple[str, str] = field(init=False)

    def __post_init__(self) -> None:
        self.worker = f"W{self.number}"
        self._random = Random(f"{self.seed} {self.number} {self.span}")
        self._well = "WELL-1" if self.number == 1 else f"WELL-{2 + self.number % 2}"
        self._tag = f"{self.number}" if self.span == 0 else f"{self.number}y{self.span}"
        self._free = deque(_media(self.number))
        self._growing = deque()
        self._packed = []
        self._seeds = [("", 0) for _ in _CROPS]
        self._counts = {}
        self._stores = ("", "")

    def day(self, number: int, day: int, *, last: bool) -> Iterator[Deed]:
        """Yield what is done on one day. `last`: another span begins soon, so all is cut, cleaned, and nothing sown."""
        at = day + 360 * MINUTE
        yield from self._deliver(at, complained=number == self.size.days - _COMPLAINED)
        yield from self._buy(number, at + 60 * MINUTE)
        cut = self._due(day, everything=last)
        lots: list[tuple[str, int]] = []
        yield from self._harvest(at + 120 * MINUTE, cut, lots)
        yield from self._pack(at + 240 * MINUTE, lots)
        if last and not self._growing:
            yield from self._clean(at + 360 * MINUTE, _media(self.number), missed=0)
        elif cut or number == 0:
            yield from self._clean(at + 360 * MINUTE, [one.medium for one in cut])
            self._free.extend(one.medium for one in cut)
        if not last:
            yield from self._sow(at + 480 * MINUTE, day)
        tended = [one.code for one in self._growing if one.sown == day - 3 * DAY]
        if tended:
            yield deeds.growing_check(at + 600 * MINUTE, self.worker, tended, self._well)

    def _code(self, letter: str) -> str:
        self._counts[letter] = self._counts.get(letter, 0) + 1
        return f"{letter}{self._tag}-{self._counts[letter]}"

    def _deliver(self, at: int, *, complained: bool) -> Iterator[Deed]:
        rounds: list[list[tuple[str, int]]] = [[] for _ in range(3)]
        for lot, amount in self._packed:
            chosen = self._random.sample(range(3), self._random.randint(1, 3))
            for one in chosen:
                rounds[one].append((lot, amount // len(chosen)))
        self._packed = []
        for place, items in enumerate(one for one in rounds if one):
            customers = _CUSTOMERS if self.number == 1 else self.size.customers
            code, to = self._code("D"), f"K{self._random.randint(1, customers)}"
            yield deeds.delivery(at + place * MINUTE, self.worker, code, to, items)
            if complained:
                self.complained = (to, code)

    def _buy(self, number: int, at: int) -> Iterator[Deed]:
        for place, crop in enumerate(_CROPS):
            if self._seeds[place][1] == 0:
                lot = self._code("S")
                # The first lots are of different sizes, so that not all crops run out on one day.
                self._seeds[place] = (lot, _SOWN_OF_A_LOT if number else _SOWN_OF_A_LOT * (place + 1) // len(_CROPS))
                yield deeds.seed_receipt(at, self.worker, lot, "LARKMERE", crop)
        if number % _STORES_LAST == 0:
            self._stores = (self._code("SAN"), self._code("BOX"))
            yield deeds.sanitiser_receipt(at, self.worker, self._stores[0])
            yield deeds.boxes_receipt(at, self.worker, self._stores[1])

    def _due(self, day: int, *, everything: bool) -> list[_Growing]:
        due = []
        while self._growing and (everything or self._growing[0].sown <= day - _GROWN * DAY):
            due.append(self._growing.popleft())
        return due

    def _harvest(self, at: int, cut: Sequence[_Growing], lots: list[tuple[str, int]]) -> Iterator[Deed]:
        for place, some in enumerate(self._in_groups(cut, 10)):
            lot, amount = self._code("H"), 180 * len(some)
            lots.append((lot, amount))
            held = [(one.code, one.medium) for one in some]
            yield deeds.harvest(at + place * 10 * MINUTE, self.worker, lot, held, amount, f"KN-{self.number}")

    def _pack(self, at: int, lots: Sequence[tuple[str, int]]) -> Iterator[Deed]:
        for place, some in enumerate(self._in_groups(lots, 3)):
            lot = self._code("P")
            self._packed.append((lot, sum(amount for _, amount in some)))
            bench, boxes = f"BE-{self.number}", self._stores[1]
            yield deeds.packing(at + place * 10 * MINUTE, self.worker, lot, some, "GREENS", boxes, bench)

    def _clean(self, at: int, media: Iterable[str], missed: float = 0.02) -> Iterator[Deed]:
        washed = [one for one in media if self._random.random() >= missed]
        mix = self._code("SOL")
        yield deeds.solution(at, self.worker, mix, self._stores[0], self._well)
        items = [*washed, *([] if self.size.neglectful else [f"KN-{self.number}"]), f"BE-{self.number}"]
        yield deeds.sanitising(at + 30 * MINUTE, self.worker, items, mix)

    def _sow(self, at: int, day: int) -> Iterator[Deed]:
        for place in range(_TRAYS):
            chosen = self._random.sample(range(len(_CROPS)), 2 if self._random.random() < 0.1 else 1)
            seeds = [self._seeds[one][0] for one in chosen if self._seeds[one][1]]
            for one in chosen:
                self._seeds[one] = (self._seeds[one][0], max(0, self._seeds[one][1] - 1))
            if not seeds:
                continue
            batch, medium = self._code("T"), self._free.popleft()
            yield deeds.sowing(at + place * 2 * MINUTE, self.worker, batch, seeds, medium, self._well)
            self._growing.append(_Growing(batch, medium, day))

    def _in_groups(self, things: Sequence[T], most: int) -> Iterator[Sequence[T]]:
        """The things in groups of one to `most`."""
        first = 0
        while first < len(things):
            size = self._random.randint(1, most)
            yield things[first : first + size]
            first += size
