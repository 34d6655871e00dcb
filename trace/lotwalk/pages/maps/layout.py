"""Where the boxes of a map stand: a layered layout, from left to right as time runs.

The layers and the order in them are given (`layers.py`). Each node then stands as near as it can to what it is joined
to, those of one layer apart in their order; a line over several layers pulls the most, so that it runs straight. The
sum of the steps of all lines is made small, by least squares that are weighed anew in each sweep. The weights of lines
are those of E. R. Gansner, E. Koutsofios, S. C. North and K.-P. Vo, A technique for drawing directed graphs (1993), 4.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from lotwalk.pages.maps.layers import Layers

_LANE = 9.0
"""Points: the room that a line takes where it passes a layer."""
_PULLS = (1.0, 2.0, 8.0)
"""How much a line pulls between two boxes, between a box and a passing point, and between two passing points."""
_LOOSE = 0.01
"""How much a node that nothing is joined to holds its place."""
_EVEN = 2.0
"""Points: a smaller step than this is as good as none."""
_SWEEPS = 40
"""More of them straighten hardly any line more in the maps of a farm of some years."""


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


def lay_out(nodes: Layers, sizes: Sequence[Size], room: Room) -> Layout:
    """Return the layout of a map whose boxes have these sizes. Lines go from left to right, or are told to be back."""
    heights = [size.height for size in sizes] + [_LANE] * (len(nodes.layers) - nodes.boxes)
    middles = _on_pages(nodes, _straightened(nodes, heights, room), heights, room)
    layers = nodes.layers[: nodes.boxes]
    columns = _columns(sizes, layers, room.across)
    spots = tuple(
        Spot(columns[layer][0] + (columns[layer][1] - size.width) / 2, middles[box] - size.height / 2, layer)
        for box, (size, layer) in enumerate(zip(sizes, layers, strict=True))
    )
    routes = tuple(
        _route(chain, back, nodes.layers, middles, columns, spots, sizes)
        for chain, back in zip(nodes.chains, nodes.back, strict=True)
    )
    bottom = max((spot.y + size.height for spot, size in zip(spots, sizes, strict=True)), default=0.0)
    lowest = max((y for route in routes for _, y in route.points), default=0.0)
    return Layout(
        spots, routes, tuple(columns), columns[-1][0] + columns[-1][1] if columns else 0.0, max(bottom, lowest)
    )


def _straightened(nodes: Layers, heights: Sequence[float], room: Room) -> list[float]:
    """The middle of each node, before pages are thought of: near to those that it is joined to, apart from its own."""
    beside: list[list[tuple[int, float]]] = [[] for _ in heights]
    for source, target in sorted({pair for chain in nodes.chains for pair in pairwise(chain)}):
        pull = _PULLS[(source >= nodes.boxes) + (target >= nodes.boxes)]
        beside[source].append((target, pull))
        beside[target].append((source, pull))
    middles = [0.0] * len(heights)
    for order in nodes.orders:
        down = 0.0
        for node in order:
            middles[node] = down + heights[node] / 2
            down += heights[node] + room.down
    for sweep in range(_SWEEPS):
        for order in nodes.orders if sweep % 2 == 0 else nodes.orders[::-1]:
            wanted, pulls = [], []
            for node in order:
                # Divided by its own step, a line counts by how far it steps and not by the square: few steps are made.
                near = [
                    (middles[other], pull / (_EVEN + abs(middles[other] - middles[node])))
                    for other, pull in beside[node]
                ]
                pulls.append(sum(pull for _, pull in near) or _LOOSE)
                wanted.append(sum(middle * pull for middle, pull in near) / pulls[-1] if near else middles[node])
            placed = _apart(wanted, pulls, [heights[node] for node in order], room.down)
            for node, middle in zip(order, placed, strict=True):
                middles[node] = middle
    return middles


def _apart(wanted: Sequence[float], pulls: Sequence[float], heights: Sequence[float], gap: float) -> list[float]:
    """The middles with the least sum of pulled squares away from those wanted, in their order and apart by the gap."""
    # Blocks of boxes that touch move together to the mean of what they want (pool adjacent violators).
    blocks: list[tuple[float, float, int]] = []
    offsets = []
    offset = 0.0
    for middle, pull, height in zip(wanted, pulls, heights, strict=True):
        offset += height / 2
        offsets.append(offset)
        blocks.append((middle - offset, pull, 1))
        offset += height / 2 + gap
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            (first, much, many), (second, more, few) = blocks[-2:]
            blocks[-2:] = [((first * much + second * more) / (much + more), much + more, many + few)]
    shifts = [start for start, _, many in blocks for _ in range(many)]
    return [shift + offset for shift, offset in zip(shifts, offsets, strict=True)]


def _on_pages(nodes: Layers, middles: Sequence[float], heights: Sequence[float], room: Room) -> list[float]:
    """The middles from the top of the first page down, where none crosses a page's end."""
    top = min((middle - height / 2 for middle, height in zip(middles, heights, strict=True)), default=0.0)
    placed = [0.0] * len(middles)
    for order in nodes.orders:
        low = 0.0
        for node in order:
            upper = max(low, middles[node] - heights[node] / 2 - top)
            page = int(upper // room.page)
            if int((upper + heights[node]) // room.page) > page and heights[node] < room.page:
                upper = (page + 1) * room.page
            placed[node] = upper + heights[node] / 2
            low = upper + heights[node] + room.down
    return placed


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
