"""What was cut from each tray, harvest by harvest, against this farm's own earlier harvests of the crop.

More than a tray can bear is a slip of the pen, a batch named for another, or greens from elsewhere under this farm's
code. Only first cuttings are compared; what grew again is another matter.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from lotwalk.balance.limits import Limits
from lotwalk.balance.model import LotBalance, Taking, total
from lotwalk.science.median_deviation import Spread, spread

_RECENT = 60
"""So many of the latest earlier harvests are looked back on: varieties, seed and seasons change."""

_HARVESTED = "harvested"
_SOWN = "sown"


@dataclass(frozen=True, slots=True)
class Yield:
    """One harvest: how much was cut, in `unit`, of how many trays of which batches, and of which crop or crops."""

    entry: str
    seq: int
    start: int
    lot: str
    batches: tuple[str, ...]
    crop: tuple[str, ...]
    trays: Decimal
    amount: Decimal
    unit: str

    @property
    def per_tray(self) -> Decimal:
        """The amount from one tray."""
        return self.amount / self.trays


@dataclass(frozen=True, slots=True)
class Implausible:
    """A harvest that lies above `most` from a tray, what the spread of so many `earlier` ones allows."""

    harvest: Yield
    earlier: int
    spread: Spread
    most: Decimal


def implausible(lots: Sequence[LotBalance], limits: Limits) -> Iterator[Implausible]:
    """Yield the harvests that are more than plausible, by time. `lots` are all that a crop's history is told by."""
    if limits.deviations is None:
        return
    earlier: dict[tuple[tuple[str, ...], str], list[Decimal]] = defaultdict(list)
    for one in sorted(harvests(lots), key=lambda one: (one.start, one.seq)):
        history = earlier[one.crop, one.unit]
        if len(history) >= limits.history:
            recent = history[-_RECENT:]
            usual = spread(recent)
            most = usual.most(limits.deviations, limits.spread)
            if one.per_tray > most:
                yield Implausible(one, len(recent), usual, most)
        history.append(one.per_tray)


def harvests(lots: Sequence[LotBalance]) -> Iterator[Yield]:
    """Yield the harvests of which the crop, the trays and the amount are known."""
    made = {seq: one for one in lots for seq in one.makers}
    taken: dict[int, list[tuple[LotBalance, Taking]]] = defaultdict(list)
    for one in lots:
        for taking in one.takings:
            taken[taking.seq].append((one, taking))
    crops = _Crops(taken)
    for seq, of_entry in taken.items():
        lot, cut = made.get(seq), [pair for pair in of_entry if _HARVESTED in pair[1].facts]
        if lot is None or lot.unit is None or not lot.sums.made or not cut or lot.unit in {one.unit for one, _ in cut}:
            continue
        trays = _trays(taking.amount for _, taking in cut)
        crop = tuple(sorted(set().union(*(crops.of(one) for one, _ in cut))))
        if trays and crop:
            first = cut[0][1]
            batches = tuple(one.code for one, _ in cut)
            yield Yield(first.entry, seq, first.start, lot.code, batches, crop, trays, lot.sums.made, lot.unit)


def _trays(amounts: Iterable[Decimal | None]) -> Decimal | None:
    known = list(amounts)
    return None if None in known else total(amount for amount in known if amount is not None)


class _Crops:
    """What a lot was grown from: the types of the bought lots that were sown, soaked or not, to make it."""

    def __init__(self, taken: Mapping[int, Sequence[tuple[LotBalance, Taking]]]) -> None:
        self._taken = taken
        self._of: dict[str, frozenset[str]] = {}

    def of(self, lot: LotBalance) -> frozenset[str]:
        """Return the crops of a lot; none where they are not told."""
        if lot.code not in self._of:
            self._of[lot.code] = frozenset()  # for a lot that an amended slip made out of itself
            sown = [one for seq in lot.makers for one, taking in self._taken.get(seq, ()) if _SOWN in taking.facts]
            own = frozenset([lot.type] if lot.type and not sown else [])
            self._of[lot.code] = own.union(*(self.of(one) for one in sown))
        return self._of[lot.code]
