"""The layers of a map from left to right, as time runs, and the order of what stands in each.

A box stands to the right of all that leads to it. A line over several layers passes through each of them, so that it
never runs behind a box.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from lotwalk.pages.maps.crossings import arranged
from lotwalk.pages.maps.model import Map
from lotwalk.recall.traceforward.reachability import Parts


@dataclass(frozen=True, slots=True)
class Layers:
    """The nodes of a map, its boxes first and then the points at which lines pass a layer.

    `chains` are the nodes of each line from left to right, one layer apart; `back` says of each whether it leads to an
    earlier box, so that its chain runs against it. `layers` is the layer of each node, and `orders` are the nodes of
    each layer from the top down.
    """

    boxes: int
    chains: tuple[tuple[int, ...], ...]
    back: tuple[bool, ...]
    layers: tuple[int, ...]
    orders: tuple[tuple[int, ...], ...]


def in_layers(drawn: Map) -> Layers:
    """Return the layers of a map. They do not depend on how large its boxes are."""
    count = len(drawn.boxes)
    order = _ordered(drawn)
    place = {box: number for number, box in enumerate(order)}
    ways = [
        (line.target, line.source, True)
        if place[line.source] > place[line.target]
        else (line.source, line.target, False)
        for line in drawn.lines
    ]
    layers = _layers(count, [(source, target) for source, target, _ in ways], order)
    chains, nodes = _chained(ways, [line.link for line in drawn.lines], layers)
    return Layers(
        count,
        tuple(map(tuple, chains)),
        tuple(back for _, _, back in ways),
        tuple(nodes),
        tuple(map(tuple, arranged(nodes, chains))),
    )


def _ordered(drawn: Map) -> list[int]:
    """The boxes so that every line leads onward, the earlier first where no line decides.

    Only a line inside a circle of lines can lead back: of those on it that nothing outside leads to any more, the
    earliest box comes first. A line both ways decides nothing.
    """
    after: list[list[int]] = [[] for _ in drawn.boxes]
    for line in drawn.lines:
        if not line.both:
            after[line.source].append(line.target)
    part_of = Parts(after).of
    inside, outside = [0] * len(after), [0] * len(after)
    for box, targets in enumerate(after):
        for target in targets:
            if part_of[box] == part_of[target]:
                inside[target] += 1
            else:
                outside[part_of[target]] += 1
    left = sorted(range(len(after)), key=lambda box: (drawn.boxes[box].time, drawn.boxes[box].stage, box))
    order: list[int] = []
    while left:
        free = [box for box in left if not outside[part_of[box]]]
        box = next((box for box in free if not inside[box]), free[0])
        left.remove(box)
        order.append(box)
        for target in after[box]:
            if part_of[box] == part_of[target]:
                inside[target] -= 1
            else:
                outside[part_of[target]] -= 1
    return order


def _layers(count: int, ways: Sequence[tuple[int, int]], ordered: Sequence[int]) -> list[int]:
    """The layer of each box: right of all that leads to it; what nothing leads to stands just left of what it goes to.

    `ordered` are the boxes so that every way leads onward in it.
    """
    after: dict[int, list[int]] = defaultdict(list)
    before: set[int] = set()
    for source, target in ways:
        after[source].append(target)
        before.add(target)
    layers = [0] * count
    for box in ordered:
        for target in after[box]:
            layers[target] = max(layers[target], layers[box] + 1)
    for box in ordered:
        if box not in before and after[box]:
            layers[box] = min(layers[target] for target in after[box]) - 1
    used = {layer: number for number, layer in enumerate(sorted(set(layers)))}
    return [used[layer] for layer in layers]


def _chained(
    ways: Sequence[tuple[int, int, bool]], links: Sequence[str], layers: Sequence[int]
) -> tuple[list[list[int]], list[int]]:
    """Each way as a chain of nodes one layer apart, and the layer of every node: the boxes and then the passing points.

    Ways of one sort with the same source pass a layer at the same point, as one line that forks.
    """
    nodes = list(layers)
    passing: dict[tuple[int, str, int], int] = {}
    chains = []
    for (source, target, back), link in zip(ways, links, strict=True):
        chain = [source]
        for layer in range(layers[source] + 1, layers[target]):
            lane = (source, f"{link}{'<' if back else ''}", layer)
            if lane not in passing:
                passing[lane] = len(nodes)
                nodes.append(layer)
            chain.append(passing[lane])
        chains.append([*chain, target])
    return chains, nodes
