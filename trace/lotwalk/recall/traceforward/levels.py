"""The scope ring by ring: how much each wider kind of path adds."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace

from lotwalk.recall.model import Delivered, Recall, RingTotal
from lotwalk.walk.model import RINGS, Thing


def totals(
    things: Mapping[int, Thing], rings: Mapping[int, int], delivered: Mapping[int, Delivered]
) -> tuple[RingTotal, ...]:
    """Return the running totals of rings 1 to 5. `rings` gives each affected thing's ring, by database key."""
    return tuple(_total(ring, things, rings, delivered) for ring in sorted(set(RINGS)))


def in_ring(found: Recall, ring: int) -> Recall:
    """Return the recall with its scope restricted to this ring or closer; the candidates stay."""
    return only(found, {code for code, own in found.rings.items() if own <= ring})


def only(found: Recall, codes: Collection[str]) -> Recall:
    """Return the recall with its scope restricted to these codes of lots and deliveries."""
    deliveries = tuple(
        replace(one, items=tuple(item for item in one.items if item.lot in codes))
        for one in found.deliveries
        if one.code in codes
    )
    return replace(
        found,
        lots=tuple(code for code in found.lots if code in codes),
        deliveries=deliveries,
        customers=tuple(sorted({one.customer for one in deliveries if one.customer})),
    )


def _total(
    ring: int, things: Mapping[int, Thing], rings: Mapping[int, int], delivered: Mapping[int, Delivered]
) -> RingTotal:
    keys = {key for key, own in rings.items() if own <= ring}
    mine = [delivered[key] for key in keys if key in delivered]
    lots = _lots(things, keys)
    return RingTotal(ring, lots, len(mine), len({one.customer for one in mine if one.customer}))


def _lots(things: Mapping[int, Thing], keys: Iterable[int]) -> int:
    return sum(1 for key in keys if things[key].cls == "lot" and things[key].counted)
