"""Putting alike things of a map together until it can be read, as little as will do."""

from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Hashable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from lotwalk.pages.maps.stops import Stop


@dataclass(frozen=True, slots=True)
class Grouping:
    """The boxes of a map: for each the places of its stops in the list. `told` says what was put together.

    `exact` when what stands together was used together, so that nothing of the walk is lost; `last` when nothing
    coarser follows.
    """

    boxes: tuple[tuple[int, ...], ...]
    told: str
    exact: bool
    last: bool


@dataclass(frozen=True, slots=True)
class _Way:
    told: str
    exact: bool
    key: Callable[[Stop, ZoneInfo], Hashable]


_MOST_STRETCHES = 4
"""An item that was asked about stands in one box for each stretch between cleanings, or in one where there are more."""

_WAYS = (
    _Way("", True, lambda stop, zone: (stop.thing.id, stop.stretch)),
    _Way(
        "Things of a kind that were used in the same entries stand in one box.",
        True,
        lambda stop, zone: (stop.thing.kind, stop.level, frozenset(stop.uses)),
    ),
    _Way(
        "Things of a kind and a level stand in one box for each day.",
        False,
        lambda stop, zone: (stop.thing.kind, stop.level, _day(stop, zone)),
    ),
    _Way(
        "Things of a kind and a level stand in one box for each week.",
        False,
        lambda stop, zone: (stop.thing.kind, stop.level, _week(stop, zone)),
    ),
    _Way("Things of a kind and a level stand in one box.", False, lambda stop, zone: (_sort(stop), stop.level)),
    _Way(
        "Lots of a kind and a level stand in one box, and so do all items of a level.",
        False,
        lambda stop, zone: (_sort(stop, items=True), stop.level),
    ),
    _Way("Lots of a kind stand in one box, and so do all items.", False, lambda stop, zone: _sort(stop, items=True)),
)
"""From the finest to the coarsest."""


def groupings(stops: Sequence[Stop], apart: Collection[int], zone: ZoneInfo) -> Iterator[Grouping]:
    """Yield the ways to group, from the finest to the coarsest.

    `apart` are the places of stops that stay on their own, such as what was asked.
    """
    for way in _WAYS:
        yield _by(way, stops, apart, zone)


def _by(way: _Way, stops: Sequence[Stop], apart: Collection[int], zone: ZoneInfo) -> Grouping:
    found: dict[Hashable, list[int]] = defaultdict(list)
    stretches = Counter(stops[number].thing.id for number in apart)
    for number, stop in enumerate(stops):
        if number in apart:
            key: Hashable = ("apart", stop.thing.id, number if stretches[stop.thing.id] <= _MOST_STRETCHES else 0)
        else:
            key = ("together", way.key(stop, zone))
        found[key].append(number)
    boxes = tuple(tuple(numbers) for numbers in found.values())
    return Grouping(boxes, way.told if len(boxes) < len(stops) else "", way.exact, way is _WAYS[-1])


def _sort(stop: Stop, items: bool = False) -> str:
    return stop.thing.cls if items and stop.thing.cls == "item" else stop.thing.kind


def _day(stop: Stop, zone: ZoneInfo) -> str:
    return datetime.fromtimestamp(stop.start, zone).date().isoformat()


def _week(stop: Stop, zone: ZoneInfo) -> tuple[int, int]:
    return datetime.fromtimestamp(stop.start, zone).isocalendar()[:2]
