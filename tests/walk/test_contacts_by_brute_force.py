"""The contacts between what a walk back reached and its start are those of the best of all paths, on random ledgers."""

import heapq

from hypothesis import given
from hypothesis import strategies as st
from tests.walk.brute import BATH, Brute
from tests.walk.farm import CHECKS, afresh, codes_of, farms, numbers_of

from lotwalk.ledger.read.things import find_thing
from lotwalk.walk.model import EVER, Doubt, Start
from lotwalk.walk.walk import walk


def _fewest(brute: Brute, code: str) -> dict[int, int]:
    """The fewest contacts from each node (by its place in the list) to a thing, over every pair of nodes."""
    contacts: dict[int, int] = {}
    queue = [
        (int(node.sinks[key] != "made"), place)
        for place, node in enumerate(brute.nodes)
        for key in (code, BATH + code)
        if key in node.sinks
    ]
    heapq.heapify(queue)
    while queue:
        far, place = heapq.heappop(queue)
        if place in contacts:
            continue
        contacts[place] = far
        following = brute.nodes[place]
        for thing, role in following.sources.items():
            for other, node in enumerate(brute.nodes):
                if brute.leads(node, following, thing):
                    by_ingredient = role == "drew" or (role == "took" and node.sinks[thing] == "made")
                    heapq.heappush(queue, (far + (not by_ingredient), other))
    return contacts


@CHECKS
@given(farms(most=18, plain_tests=True), st.data())
def test_contacts_are_those_of_the_best_path(template, acts, data):
    book = afresh(acts, template)
    doubted = data.draw(st.booleans())
    brute = Brute(acts, lambda act: doubted)
    numbers = numbers_of(book, acts)
    with book.ledger.reading() as connection:
        for code in data.draw(st.permutations(codes_of(acts)))[:6]:
            start = Start(find_thing(connection, code).id)
            found = walk(connection, "back", [start], doubt=Doubt(all=doubted), contacts=True)
            fewest = _fewest(brute, code)
            expected = {}
            for place, far in fewest.items():
                number = numbers[brute.nodes[place].act.number]
                expected[number] = min(far, expected.get(number, far))
            nearest = {}
            for node, far in found.contacts.items():
                nearest[node >> 1] = min(far, nearest.get(node >> 1, far))
            assert nearest == expected, code
            for one in found.reached:
                assert len(one.contacts) == len(one.spells or (None,))
                for spell, told in zip(one.spells or (None,), one.contacts, strict=True):
                    low = -EVER if spell is None or spell.start is None else spell.start
                    high = EVER if spell is None or spell.end is None else spell.end
                    assert told == min(
                        far
                        for place, far in fewest.items()
                        if {one.thing.code, BATH + one.thing.code} & brute.nodes[place].sources.keys()
                        and brute.nodes[place].act.end >= low
                        and brute.nodes[place].act.start <= high
                    )
    book.ledger.engine.dispose()
