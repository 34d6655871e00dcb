"""The order of the nodes in the layers of a map, so that few lines cross.

Sweeps from left to right and back put each node at the median, or at the mean, of its neighbours in the layer before;
then neighbours in a layer change places as long as lines cross less often for it. In every other pair of sweeps what is
equal changes places too, so that a search goes on from where it stuck. The best order met is kept. Nothing is left to
chance: the same map is always arranged the same.

By the mean go K. Sugiyama, S. Tagawa and M. Toda, Methods for visual understanding of hierarchical system structures
(1981); by the weighted median and exchanges E. R. Gansner, E. Koutsofios, S. C. North and K.-P. Vo, A technique for
drawing directed graphs (1993), section 3.
"""

from bisect import bisect_right, insort
from collections.abc import Callable, Sequence
from itertools import combinations, pairwise

_SWEEPS = 24
"""As many as Gansner et al. take; it ends earlier where `_PATIENCE` in a row brought nothing."""
_PATIENCE = 4
_EXCHANGES = 6

_Orders = list[list[int]]
_Middle = Callable[[list[int]], float]
"""Where a node should stand by the places of its neighbours in another layer, which are in order and not none."""


def arranged(layers: Sequence[int], chains: Sequence[Sequence[int]]) -> _Orders:
    """Return the nodes of each layer from the top down. `layers` is each node's layer, and a chain goes on by one each.

    Parts of the map that no line joins stand one below the other, that of the smallest node first. Of an order and its
    mirror image, in which as many lines cross, that is taken in which smaller nodes rather stand above.
    """
    edges = sorted({pair for chain in chains for pair in pairwise(chain)})
    orders: _Orders = [[] for _ in range(max(layers, default=-1) + 1)]
    for part in _parts(len(layers), edges):
        inside = set(part)
        best = _Part(layers, part, [edge for edge in edges if edge[0] in inside]).arrange()
        turned = _upside_down(best)
        for order, more in zip(orders, best, strict=True):
            order += reversed(more) if turned else more
    return orders


def _upside_down(orders: _Orders) -> bool:
    """Whether the smaller of two nodes in a layer stands below the larger more often than above it."""
    below = [upper > lower for order in orders for upper, lower in combinations(order, 2)]
    return 2 * sum(below) > len(below)


def crossings(orders: Sequence[Sequence[int]], after: Sequence[Sequence[int]]) -> int:
    """Return how often edges cross, each from a node to one of those `after` it in the next layer."""
    total = 0
    for left, right in pairwise(orders):
        place = {node: number for number, node in enumerate(right)}
        ends: list[int] = []
        for node in left:
            targets = sorted(place[target] for target in after[node])
            for target in targets:
                total += len(ends) - bisect_right(ends, target)
            for target in targets:
                insort(ends, target)
    return total


def _parts(count: int, edges: Sequence[tuple[int, int]]) -> list[list[int]]:
    """The nodes that edges join, part by part."""
    beside: list[list[int]] = [[] for _ in range(count)]
    for source, target in edges:
        beside[source].append(target)
        beside[target].append(source)
    seen = [False] * count
    parts = []
    for start in range(count):
        if seen[start]:
            continue
        seen[start] = True
        part = [start]
        for node in part:
            for other in beside[node]:
                if not seen[other]:
                    seen[other] = True
                    part.append(other)
        parts.append(sorted(part))
    return parts


class _Part:
    """One part of a map: its nodes in their layers, and who stands beside whom."""

    def __init__(self, layers: Sequence[int], nodes: Sequence[int], edges: Sequence[tuple[int, int]]) -> None:
        self._layers = layers
        self._nodes = nodes
        self._count = max(layers) + 1
        self._after: list[list[int]] = [[] for _ in layers]
        self._before: list[list[int]] = [[] for _ in layers]
        for source, target in edges:
            self._after[source].append(target)
            self._before[target].append(source)

    def arrange(self) -> _Orders:
        """Return the order with the fewest crossings that is met from several beginnings."""
        best: _Orders = []
        fewest = -1
        for begin in (self._from_left, self._from_right):
            for middle in (_median, _mean):
                orders, found = self._swept(begin(), middle)
                if fewest < 0 or found < fewest:
                    best, fewest = orders, found
                if fewest == 0:
                    return best
        return best

    def _from_left(self) -> _Orders:
        return self._begun(self._after, self._before)

    def _from_right(self) -> _Orders:
        return self._begun(self._before, self._after)

    def _begun(self, onward: Sequence[Sequence[int]], backward: Sequence[Sequence[int]]) -> _Orders:
        """Orders to begin with: each node where a search from one side comes to it, so that a tree crosses nowhere."""
        orders: _Orders = [[] for _ in range(self._count)]
        seen: set[int] = set()
        for start in (node for node in self._nodes if not backward[node]):
            left = [start]
            while left:
                node = left.pop()
                if node not in seen:
                    seen.add(node)
                    orders[self._layers[node]].append(node)
                    left += reversed(onward[node])
        return orders

    def _swept(self, orders: _Orders, middle: _Middle) -> tuple[_Orders, int]:
        self._exchange(orders)
        best, fewest, since = [list(order) for order in orders], crossings(orders, self._after), 0
        for sweep in range(_SWEEPS):
            if fewest == 0 or since == _PATIENCE:
                break
            right, turned = sweep % 2 == 0, sweep % 4 > 1
            beside = self._before if right else self._after
            for number in range(1, self._count) if right else range(self._count - 2, -1, -1):
                fixed = orders[number - 1 if right else number + 1]
                orders[number] = _sorted(orders[number], fixed, beside, middle, turned=turned)
            self._exchange(orders, turned=turned)
            found = crossings(orders, self._after)
            since += 1
            if found < fewest:
                best, fewest, since = [list(order) for order in orders], found, 0
        return best, fewest

    def _exchange(self, orders: _Orders, *, turned: bool = False) -> None:
        """Let neighbours change places while that takes crossings away; with `turned`, also where it makes none."""
        for _ in range(_EXCHANGES):
            changed = [self._exchange_in(orders, number, least=0 if turned else 1) for number in range(len(orders))]
            if not any(changed):
                break

    def _exchange_in(self, orders: _Orders, number: int, *, least: int) -> bool:
        """Go once down a layer, and return whether neighbours changed places: where at least so much is gained."""
        order = orders[number]
        places = [
            {node: place for place, node in enumerate(orders[other])} if 0 <= other < len(orders) else {}
            for other in (number - 1, number + 1)
        ]
        near = {
            node: (
                sorted(places[0][other] for other in self._before[node]),
                sorted(places[1][other] for other in self._after[node]),
            )
            for node in order
        }
        changed = False
        for at in range(len(order) - 1):
            upper, lower = near[order[at]], near[order[at + 1]]
            gain = sum(_over(one, other) - _over(other, one) for one, other in zip(upper, lower, strict=True))
            if gain >= least:
                order[at], order[at + 1] = order[at + 1], order[at]
                changed = True
        return changed


def _over(upper: Sequence[int], lower: Sequence[int]) -> int:
    """How often the edges of a node cross those of the node below it, by the places of their other ends, in order."""
    total = passed = 0
    for place in upper:
        while passed < len(lower) and lower[passed] < place:
            passed += 1
        total += passed
    return total


def _sorted(
    order: list[int], fixed: Sequence[int], beside: Sequence[Sequence[int]], middle: _Middle, *, turned: bool
) -> list[int]:
    """A layer sorted by the middles of its nodes' neighbours in the fixed one; a node that has none keeps its place.

    Those with equal middles keep their order, or turn it.
    """
    place = {node: number for number, node in enumerate(fixed)}
    wanted = {node: middle(sorted(place[other] for other in beside[node])) for node in order if beside[node]}
    moved = iter(sorted(reversed(wanted) if turned else wanted, key=lambda node: wanted[node]))
    return [next(moved) if node in wanted else node for node in order]


def _mean(places: list[int]) -> float:
    return sum(places) / len(places)


def _median(places: list[int]) -> float:
    """The weighted median: of an even number, nearer to the side on which the places stand closer together."""
    half = len(places) // 2
    if len(places) % 2:
        return places[half]
    if len(places) == 2:
        return sum(places) / 2
    left, right = places[half - 1] - places[0], places[-1] - places[half]
    if left + right == 0:
        return sum(places[half - 1 : half + 1]) / 2
    return (places[half - 1] * right + places[half] * left) / (left + right)
