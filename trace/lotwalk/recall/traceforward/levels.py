"""The scope level by level: how much each wider kind of path adds."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace

from lotwalk.recall.model import Delivered, LevelTotal, Recall
from lotwalk.walk.model import LEVEL_OF, Thing


def totals(
    things: Mapping[int, Thing], levels: Mapping[int, int], delivered: Mapping[int, Delivered]
) -> tuple[LevelTotal, ...]:
    """Return the running totals of levels 1 to 5. `levels` gives each affected thing's level, by database key."""
    return tuple(_total(level, things, levels, delivered) for level in sorted(set(LEVEL_OF)))


def in_level(found: Recall, level: int) -> Recall:
    """Return the recall with its scope restricted to this level or closer; the candidates stay."""
    return only(found, {code for code, own in found.levels.items() if own <= level})


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
    level: int, things: Mapping[int, Thing], levels: Mapping[int, int], delivered: Mapping[int, Delivered]
) -> LevelTotal:
    keys = {key for key, own in levels.items() if own <= level}
    mine = [delivered[key] for key in keys if key in delivered]
    lots = _lots(things, keys)
    return LevelTotal(level, lots, len(mine), len({one.customer for one in mine if one.customer}))


def _lots(things: Mapping[int, Thing], keys: Iterable[int]) -> int:
    return sum(1 for key in keys if things[key].cls == "lot" and things[key].counted)
