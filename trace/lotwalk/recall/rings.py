"""The scope ring by ring: how much each wider kind of path adds."""

from collections.abc import Iterable, Mapping

from lotwalk.recall.model import Delivered, RingTotal
from lotwalk.walk.model import Thing

RING_WORDS = {
    1: "by ingredient, through lots made on the farm",
    2: "by ingredient, through seed or supplies",
    3: "by contact, through one item",
    4: "by contact, through a chain of items",
    5: "through water or a cleaning agent",
}


def totals(
    things: Mapping[int, Thing], rings: Mapping[int, int], delivered: Mapping[int, Delivered]
) -> tuple[RingTotal, ...]:
    """Return the running totals of rings 1 to 5. `rings` gives each affected thing's ring, by database key."""
    return tuple(_total(ring, things, rings, delivered) for ring in RING_WORDS)


def within(rings: Mapping[int, int], ring: int) -> set[int]:
    """Return the things in this ring or closer."""
    return {key for key, found in rings.items() if found <= ring}


def _total(
    ring: int, things: Mapping[int, Thing], rings: Mapping[int, int], delivered: Mapping[int, Delivered]
) -> RingTotal:
    keys = within(rings, ring)
    mine = [delivered[key] for key in keys if key in delivered]
    lots = _lots(things, keys)
    return RingTotal(ring, lots, len(mine), len({one.customer for one in mine if one.customer}))


def _lots(things: Mapping[int, Thing], keys: Iterable[int]) -> int:
    return sum(1 for key in keys if things[key].cls == "lot" and things[key].counted)
