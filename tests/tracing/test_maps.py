"""Maps of the sample farm's walks: everything is drawn once, and what is put together adds up."""

import io
import re

import pytest
from reportlab.pdfgen.canvas import Canvas
from tests.tracing.conftest import Read

from lotwalk.ledger.read.things import find_thing
from lotwalk.pages.maps.build import MOST_BOXES, MOST_LINES, Builder, Subject
from lotwalk.pages.maps.draw import SMALLEST, Drawing
from lotwalk.pages.maps.model import STOPPED
from lotwalk.recall.response.delivered import delivered_of
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import BACK, FORWARD, Doubt, Start

WALKS = [
    ("P-0202-5", FORWARD),
    ("P-0202-5", BACK),
    ("D-1121", BACK),
    ("S-FEN-1", FORWARD),
    ("KN-2", FORWARD),
    ("T-116", FORWARD),
    ("WELL", FORWARD),
]
WIDTH, HEIGHT = 728.0, 400.0


def _walk(desk, code, way):
    frontier = Frontier(desk.connection, way, Doubt())
    frontier.run([Start(find_thing(desk.connection, code).id)])
    return frontier


def _build(desk, code, way, fits=lambda drawn: True):
    frontier = _walk(desk, code, way)
    return frontier, Builder(desk.connection, desk.kinds, desk.zone).build(
        "any", frontier, Subject(frozenset({code})), fits
    )


def _two_pages(drawn):
    return Drawing(drawn, WIDTH, HEIGHT).pages <= 2


def _customers(desk, frontier, code):
    keys = [key for key in frontier.lowest if frontier.things[key].kind == "delivery"]
    thing = find_thing(desk.connection, code)
    keys += [thing.id] if thing.kind == "delivery" else []
    return {one.customer for one in delivered_of(desk.connection, keys, set()).values() if one.customer}


@pytest.mark.parametrize(("code", "way"), WALKS)
def test_everything_reached_is_drawn_and_the_counts_add_up(desk, code, way):
    frontier, drawn = _build(desk, code, way, _two_pages)
    reached = {frontier.things[key].code for key in frontier.lowest} | {code} | _customers(desk, frontier, code)
    things = [box for box in drawn.boxes if box.shape != "break"]
    assert {member for box in things for member in box.members} == reached
    for box in things:
        number = re.match(r"(\d+) ", box.title)
        assert int(number[1]) == len(set(box.members)) if box.group else box.members == (box.title,)
    assert [box.members for box in things if box.mark == "asked"] == [(code,)] * sum(b.mark == "asked" for b in things)
    assert any(box.mark == "asked" for box in things)
    numbers = sorted(box.group for box in drawn.boxes if box.group)
    assert numbers == list(range(1, len(numbers) + 1))


@pytest.mark.parametrize(("code", "way"), WALKS)
def test_lines_lead_from_what_was_asked_to_every_box(desk, code, way):
    _, drawn = _build(desk, code, way, _two_pages)
    onward = {}
    for line in drawn.lines:
        forward = way == FORWARD or drawn.boxes[line.target].shape in ("customer", "complaint")
        pairs = [(line.source, line.target)] if forward else [(line.target, line.source)]
        if line.both:
            pairs += [(line.target, line.source), (line.source, line.target)]
        for source, target in pairs:
            onward.setdefault(source, set()).add(target)
    seen = {number for number, box in enumerate(drawn.boxes) if box.mark == "asked"}
    queue = list(seen)
    while queue:
        for other in onward.get(queue.pop(), set()) - seen:
            seen.add(other)
            queue.append(other)
    assert seen == set(range(len(drawn.boxes)))


def test_a_small_walk_is_drawn_thing_by_thing(desk):
    _, drawn = _build(desk, "P-0202-5", FORWARD)
    assert not [box for box in drawn.boxes if box.group]
    assert drawn.notes == ()
    lines = {(drawn.boxes[one.source].title, drawn.boxes[one.target].title) for one in drawn.lines}
    assert {("P-0202-5", "D-1125"), ("D-1125", "QUENBY")} <= lines
    assert {one.link for one in drawn.lines} == {"ingredient"}


def test_a_wide_walk_is_bounded(desk):
    for code in ("KN-2", "WELL", "S-KAL-1"):
        _, drawn = _build(desk, code, FORWARD, _two_pages)
        things = [box for box in drawn.boxes if box.shape != "break"]
        assert len(things) <= MOST_BOXES
        assert len(drawn.lines) <= MOST_LINES
        assert drawn.notes


def test_clean_breaks_are_bars_at_the_items_that_they_cleared(desk):
    _, drawn = _build(desk, "T-120", FORWARD)
    cleared = {
        f"E{first}": seq
        for seq, first in desk.connection.exec_driver_sql("SELECT seq, first FROM entry WHERE judged > 0").all()
    }
    bars = [line for line in drawn.lines if line.link == STOPPED]
    assert bars
    for line in bars:
        assert drawn.boxes[line.target].shape == "break"
        assert set(drawn.boxes[line.target].members) <= cleared.keys()
        items = drawn.boxes[line.source].members
        numbers = ", ".join(str(cleared[name]) for name in drawn.boxes[line.target].members)
        rows = desk.connection.exec_driver_sql(
            "SELECT DISTINCT t.code FROM use u JOIN thing t ON t.id = u.thing"
            f" WHERE u.role IN (7, 8) AND (u.node >> 1) IN ({numbers})"
        )
        assert {row[0] for row in rows} & set(items)


@pytest.mark.parametrize(("code", "way"), [("P-0202-5", FORWARD), ("KN-2", FORWARD), ("D-1121", BACK)])
def test_a_drawing_prints_its_words_whole_and_no_smaller_than_can_be_read(desk, code, way):
    _, drawn = _build(desk, code, way, _two_pages)
    drawing = Drawing(drawn, WIDTH, HEIGHT)
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(WIDTH, HEIGHT))
    for page in range(drawing.pages):
        drawing.draw(canvas, page, 0, HEIGHT)
        canvas.showPage()
    canvas.save()
    read = Read(out.getvalue())
    assert len(read.pages) == drawing.pages <= 2
    assert min(read.sizes()) >= SMALLEST - 0.01
    for box in drawn.boxes:
        assert " ".join(box.title.split()) in read.text
