"""Layered layouts of any map: boxes apart, lines to the right or told to be back, nothing behind a box."""

from itertools import combinations, pairwise

import networkx
from hypothesis import given, settings
from hypothesis import strategies as st

from lotwalk.pages.maps.layers import in_layers
from lotwalk.pages.maps.layout import Room, Size, lay_out
from lotwalk.pages.maps.model import CONTACT, INGREDIENT, Box, Line, Map

ROOM = Room(across=30, down=9, page=400)


@st.composite
def maps(draw):
    count = draw(st.integers(1, 24))
    boxes = [
        Box(f"B-{number}", (), "lot", (f"B-{number}",), draw(st.integers(0, 12)), draw(st.integers(0, 3)))
        for number in range(count)
    ]
    ends = st.integers(0, count - 1)
    pairs = draw(st.sets(st.tuples(ends, ends).filter(lambda pair: pair[0] != pair[1]), max_size=40))
    lines = [Line(*pair, draw(st.sampled_from([INGREDIENT, CONTACT]))) for pair in sorted(pairs)]
    sizes = [Size(draw(st.integers(20, 110)), draw(st.integers(12, 70))) for _ in boxes]
    return Map("any", tuple(boxes), tuple(lines)), sizes


@settings(deadline=None)
@given(maps())
def test_no_two_boxes_touch_and_none_is_cut_by_the_end_of_a_page(drawn):
    drawn, sizes = drawn
    laid = lay_out(in_layers(drawn), sizes, ROOM)
    edges = [
        (spot.x, spot.y, spot.x + size.width, spot.y + size.height)
        for spot, size in zip(laid.spots, sizes, strict=True)
    ]
    for one, other in combinations(edges, 2):
        apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] + 0.01 or other[3] <= one[1] + 0.01
        assert apart, (one, other)
    for _, top, _, bottom in edges:
        assert top >= -0.01
        assert bottom <= laid.height + 0.01
        assert int((top + 0.01) // ROOM.page) == int((bottom - 0.01) // ROOM.page)


@settings(deadline=None)
@given(maps())
def test_every_line_runs_with_time_to_the_right_or_is_told_to_be_back(drawn):
    drawn, sizes = drawn
    laid = lay_out(in_layers(drawn), sizes, ROOM)
    graph = networkx.DiGraph((line.source, line.target) for line in drawn.lines)
    for line, route in zip(drawn.lines, laid.routes, strict=True):
        first, last = (line.target, line.source) if route.back else (line.source, line.target)
        assert laid.spots[first].layer < laid.spots[last].layer
        assert all(left[0] <= right[0] for left, right in pairwise(route.points))
        assert route.points[0][0] == laid.spots[first].x + sizes[first].width
        assert route.points[-1][0] == laid.spots[last].x
        if route.back:
            assert networkx.has_path(graph, line.target, line.source), "it leads round in a circle"


@settings(deadline=None)
@given(maps())
def test_no_line_passes_behind_a_box_in_the_layers_between(drawn):
    drawn, sizes = drawn
    laid = lay_out(in_layers(drawn), sizes, ROOM)
    for route in laid.routes:
        for (left, height), (right, _) in list(pairwise(route.points))[1::2]:
            for spot, size in zip(laid.spots, sizes, strict=True):
                inside = spot.x < right and left < spot.x + size.width and spot.y < height < spot.y + size.height
                assert not inside


@settings(deadline=None, max_examples=20)
@given(maps())
def test_the_same_map_is_laid_out_the_same_each_time(drawn):
    drawn, sizes = drawn
    assert lay_out(in_layers(drawn), sizes, ROOM) == lay_out(in_layers(drawn), sizes, ROOM)
