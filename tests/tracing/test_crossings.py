"""The order in the layers: few lines cross, whatever numbers the nodes have."""

from itertools import combinations, pairwise, permutations, product

from hypothesis import given
from hypothesis import strategies as st

from lotwalk.pages.maps.crossings import arranged, crossings
from lotwalk.pages.maps.layers import in_layers
from lotwalk.pages.maps.layout import Room, Size, lay_out
from lotwalk.pages.maps.model import INGREDIENT, Box, Line, Map


@st.composite
def layered(draw, most=4, layers=3):
    """Nodes in layers, and edges from one layer to the next, each node with at least one."""
    counts = [draw(st.integers(1, most)) for _ in range(layers)]
    numbers = draw(st.permutations(range(sum(counts))))
    by_layer, used = [], 0
    for count in counts:
        by_layer.append(list(numbers[used : used + count]))
        used += count
    edges = set()
    for left, right in pairwise(by_layer):
        edges |= set(draw(st.lists(st.tuples(st.sampled_from(left), st.sampled_from(right)), max_size=8)))
        edges |= {(draw(st.sampled_from(left)), node) for node in right}
    of_node = {node: layer for layer, nodes in enumerate(by_layer) for node in nodes}
    return [of_node[node] for node in range(used)], sorted(edges)


def _counted(orders, edges):
    """By the definition: two edges between the same layers cross where their ends stand in opposite orders."""
    place = {node: (layer, at) for layer, order in enumerate(orders) for at, node in enumerate(order)}
    found = 0
    for (a, b), (c, d) in combinations(edges, 2):
        if place[a][0] == place[c][0]:
            found += (place[a][1] - place[c][1]) * (place[b][1] - place[d][1]) < 0
    return found


def _fewest(layers, edges):
    """The fewest crossings there can be, of all orders that there are."""
    of_layer = [[node for node, layer in enumerate(layers) if layer == one] for one in range(max(layers) + 1)]
    return min(_counted(orders, edges) for orders in product(*(map(list, permutations(one)) for one in of_layer)))


@given(layered(most=6, layers=4))
def test_crossings_are_counted_as_they_are_defined_and_each_node_stands_once(drawn):
    layers, edges = drawn
    orders = arranged(layers, edges)
    assert sorted(node for order in orders for node in order) == list(range(len(layers)))
    assert all(layers[node] == number for number, order in enumerate(orders) for node in order)
    after = [[target for source, target in edges if source == node] for node in range(len(layers))]
    assert crossings(orders, after) == _counted(orders, edges)


@given(layered(most=3))
def test_as_few_lines_cross_as_can_be_in_a_small_map(drawn):
    layers, edges = drawn
    assert _counted(arranged(layers, edges), edges) == _fewest(layers, edges)


@given(st.data())
def test_a_tree_crosses_nowhere(data):
    """Each node hangs on one of the layer before, and the numbers tell nothing."""
    parents = [data.draw(st.integers(0, number - 1)) for number in range(1, 16)]
    depths = [0]
    for parent in parents:
        depths.append(depths[parent] + 1)
    numbers = data.draw(st.permutations(range(16)))
    layers = [0] * 16
    for node, depth in enumerate(depths):
        layers[numbers[node]] = depth
    edges = [(numbers[parent], numbers[node]) for node, parent in enumerate(parents, 1)]
    assert _counted(arranged(layers, edges), edges) == 0


def test_parts_that_no_line_joins_stand_one_below_the_other():
    """Two seed lots, 0 and 1, each with its own tray and harvest; and a lot that stands alone."""
    chains = [(0, 2, 4), (1, 3, 5)]
    assert arranged([0, 0, 1, 1, 2, 2, 1], chains) == [[0, 1], [2, 3, 6], [4, 5]]
    assert arranged([], []) == []


def test_a_line_over_several_layers_runs_straight():
    """H goes into P by way of A, B and C, and straight into P as well: that line keeps one height in between."""
    boxes = tuple(Box(title, (), "lot", (title,), time, 0) for time, title in enumerate("HABCP"))
    lines = tuple(Line(one, other, INGREDIENT) for one, other in [(0, 1), (1, 2), (2, 3), (3, 4), (0, 4)])
    laid = lay_out(in_layers(Map("any", boxes, lines)), [Size(80, 40)] * 5, Room(30, 10, 400))
    between = {round(height, 1) for _, height in laid.routes[4].points[1:-1]}
    assert len(between) == 1
    assert [round(laid.spots[box].y, 1) for box in (1, 2, 3)] == [round(laid.spots[1].y, 1)] * 3
