"""Where the boxes of a map stand: a layered layout, from left to right as time runs.

The layers are ours: a box stands to the right of all that leads to it. The order inside the layers, with few crossings,
and the places that keep lines straight come from fast-sugiyama (crossing minimisation after Sugiyama, coordinates after
Brandes and Koepf). A line over several layers passes through each of them, so that it never runs behind a box.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from fast_sugiyama import from_edges

from lotwalk.pages.maps.model import Map
from lotwalk.recall.bits import Parts

_LANE = 9.0
"""Points: the room that a line takes where it passes a layer."""


@dataclass(frozen=True, slots=True)
class Size:
    """Width and height of a box in points."""

    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Spot:
    """The upper left corner of a box, in points to the right and down, and its layer."""

    x: float
    y: float
    layer: int


@dataclass(frozen=True, slots=True)
class Route:
    """The way of a line: its points from its source's right side to its target's left side.

    `back` when it leads to an earlier box, so that its points run from the target to the source.
    """

    points: tuple[tuple[float, float], ...]
    back: bool


@dataclass(frozen=True, slots=True)
class Layout:
    """A spot for each box and a route for each line, and how wide and high the whole is. `columns` are left edges."""

    spots: tuple[Spot, ...]
    routes: tuple[Route, ...]
    columns: tuple[tuple[float, float], ...]
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Room:
    """The gaps between columns and between the boxes of one; no box crosses a multiple of `page` points down."""

    across: float
    down: float
    page: float


def lay_out(drawn: Map, sizes: Sequence[Size], room: Room) -> Layout:
    """Return the layout of a map whose boxes have these sizes. Lines go from left to right, or are told to be back."""
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
    heights = [size.height for size in sizes] + [_LANE] * (len(nodes) - count)
    middles = _stacked(_places(nodes, chains, max([room.down, *heights])), nodes, heights, room)
    columns = _columns(sizes, layers, room.across)
    spots = tuple(
        Spot(columns[layer][0] + (columns[layer][1] - size.width) / 2, middles[box] - size.height / 2, layer)
        for box, (size, layer) in enumerate(zip(sizes, layers, strict=True))
    )
    routes = tuple(
        _route(chain, back, nodes, middles, columns, spots, sizes)
        for chain, (_, _, back) in zip(chains, ways, strict=True)
    )
    bottom = max((spot.y + size.height for spot, size in zip(spots, sizes, strict=True)), default=0.0)
    lowest = max((y for route in routes for _, y in route.points), default=0.0)
    return Layout(
        spots, routes, tuple(columns), columns[-1][0] + columns[-1][1] if columns else 0.0, max(bottom, lowest)
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


def _places(nodes: Sequence[int], chains: Sequence[Sequence[int]], unit: float) -> list[float]:
    """How far down each node stands: each connected part below the one before it."""
    edges = sorted({pair for chain in chains for pair in pairwise(chain)})
    places = [0.0] * len(nodes)
    seen: set[int] = set()
    down = 0.0
    parts = from_edges(edges, vertex_spacing=unit, dummy_vertices=False, minimum_length=1) if edges else []
    for positions, *_ in sorted(parts, key=lambda part: min(int(node) for node, _ in part[0])):
        top = min(x for _, (x, _) in positions)
        for node, (x, _) in positions:
            places[int(node)] = down + x - top
            seen.add(int(node))
        down = max(places[int(node)] for node, _ in positions) + unit
    for node in range(len(nodes)):
        if node not in seen:
            places[node] = down
            down += unit
    return places


def _stacked(places: Sequence[float], nodes: Sequence[int], heights: Sequence[float], room: Room) -> list[float]:
    """The middle of each node: those of one layer keep their order, do not touch, and none crosses a page's end.

    Each stands as near to the place that the library gave it as the boxes' real heights allow.
    """
    by_layer: dict[int, list[int]] = defaultdict(list)
    for node in sorted(range(len(nodes)), key=lambda one: (places[one], one)):
        by_layer[nodes[node]].append(node)
    rows = sorted(set(places))
    # The library keeps a full box's room for every passing line; the distances are taken as shares of what is needed.
    needed = max((sum(heights[node] + room.down for node in column) for column in by_layer.values()), default=0.0)
    spread = (rows[-1] - rows[0]) if rows else 0.0
    scale = min(1.0, max(needed, 1.0) / spread) if spread else 1.0
    middles = [0.0] * len(nodes)
    for column in by_layer.values():
        wanted = [(places[node] - rows[0]) * scale for node in column]
        for node, middle in zip(column, _apart(wanted, [heights[node] for node in column], room), strict=True):
            middles[node] = middle
    return middles


def _apart(wanted: Sequence[float], heights: Sequence[float], room: Room) -> list[float]:
    """Middles as near to those wanted as can be, in their order, apart by the gap, whole on their pages."""
    tops: list[float] = []
    # Blocks of boxes that touch move together to the mean of what they want (pool adjacent violators).
    blocks: list[tuple[float, int, float]] = []
    offset = 0.0
    for middle, height in zip(wanted, heights, strict=True):
        blocks.append((middle - height / 2 - offset, 1, 0.0))
        offset += height + room.down
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            (first, many, _), (second, more, _) = blocks[-2:]
            blocks[-2:] = [((first * many + second * more) / (many + more), many + more, 0.0)]
    shifts = [start for start, many, _ in blocks for _ in range(many)]
    offset, low = 0.0, 0.0
    for shift, height in zip(shifts, heights, strict=True):
        top = max(low, shift + offset)
        page = int(top // room.page)
        if int((top + height) // room.page) > page and height < room.page:
            top = (page + 1) * room.page
        tops.append(top)
        low = top + height + room.down
        offset += height + room.down
    return [top + height / 2 for top, height in zip(tops, heights, strict=True)]


def _columns(sizes: Sequence[Size], layers: Sequence[int], gap: float) -> list[tuple[float, float]]:
    """Left edge and width of each column."""
    widths: dict[int, float] = defaultdict(float)
    for size, layer in zip(sizes, layers, strict=True):
        widths[layer] = max(widths[layer], size.width)
    columns, left = [], 0.0
    for layer in sorted(widths):
        columns.append((left, widths[layer]))
        left += widths[layer] + gap
    return columns


def _route(
    chain: Sequence[int],
    back: bool,
    nodes: Sequence[int],
    middles: Sequence[float],
    columns: Sequence[tuple[float, float]],
    spots: Sequence[Spot],
    sizes: Sequence[Size],
) -> Route:
    first, last = chain[0], chain[-1]
    points = [(spots[first].x + sizes[first].width, middles[first])]
    for node in chain[1:-1]:
        left, width = columns[nodes[node]]
        points += [(left, middles[node]), (left + width, middles[node])]
    points.append((spots[last].x, middles[last]))
    return Route(tuple(points), back)
