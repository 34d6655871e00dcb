"""The path shown for a reached thing is one that the definition allows, in the level that the walk gives."""

from hypothesis import given
from hypothesis import strategies as st
from tests.walk.brute import BATH, Brute, Node
from tests.walk.farm import CHECKS, afresh, codes_of, farms, numbers_of

from lotwalk.ledger.read.things import find_thing
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import LEVEL_OF, Doubt, Start, step
from lotwalk.walk.walk import walk
from lotwalk.walk.why import path


def _node(brute: Brute, numbers: dict[int, int], node: int) -> Node:
    return next(one for one in brute.nodes if numbers[one.act.number] == node >> 1 and one.part == (node & 1))


@CHECKS
@given(farms(), st.data())
def test_a_path_is_allowed_and_lies_in_the_ring_of_the_thing(template, acts, data):
    book = afresh(acts, template)
    brute, numbers = Brute(acts), numbers_of(book, acts)
    code = data.draw(st.sampled_from(codes_of(acts)))
    direction = data.draw(st.sampled_from(("forward", "back")))
    with book.ledger.reading() as connection:
        start = find_thing(connection, code)
        frontier = Frontier(connection, direction, Doubt())
        frontier.run([Start(start.id)])
        for one in walk(connection, direction, [Start(start.id)]).reached:
            hops = path(frontier, one.thing.id)
            assert abs(hops[0].came.thing) == start.id
            assert abs(hops[-1].went.thing) == one.thing.id
            level = step(0, frontier.things[hops[0].came.thing], hops[0].came.role)
            for hop, following in zip(hops, [*hops[1:], None], strict=True):
                assert hop.came.node == hop.went.node
                level = step(level, frontier.things[hop.went.thing], hop.went.role)
                if following is None:
                    break
                assert following.came.thing == hop.went.thing
                pair = [_node(brute, numbers, hop.went.node), _node(brute, numbers, following.came.node)]
                pair = pair if direction == "forward" else pair[::-1]
                shared = hop.went.thing < 0
                assert brute.leads(*pair, (BATH if shared else "") + frontier.things[hop.went.thing].code)
                level = max(level, 2) if following.came.role in (3, 5) else level
            assert LEVEL_OF[level] == one.level
    book.ledger.engine.dispose()


def test_what_was_not_reached_has_no_path(tmp_path):
    from tests.walk.farm import Act, started, write

    when = ("2026-03-02 08:00", 1_772_438_400, 1_772_438_459)
    acts = [Act(0, *when, {"made": ("L0",)}), Act(1, *when, {"made": ("L1",)})]
    book = write(acts, tmp_path / "farm.db", started(tmp_path / "template.db"))
    with book.ledger.reading() as connection:
        frontier = Frontier(connection, "forward", Doubt())
        frontier.run([Start(find_thing(connection, "L0").id)])
        assert path(frontier, find_thing(connection, "L1").id) == []
