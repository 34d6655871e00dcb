"""A thing is assumed exactly when every path to it passes a use that was only assumed, on random ledgers."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import text
from tests.walk.brute import Brute
from tests.walk.farm import CHECKS, Act, afresh, codes_of, farms, numbers_of

from lotwalk.book import Book
from lotwalk.ledger.read.things import find_thing
from lotwalk.walk.model import Start
from lotwalk.walk.walk import walk


def _assume(book: Book, act: int, code: str) -> None:
    """Mark an entry's use of a thing as assumed."""
    with book.ledger.engine.begin() as connection:
        key = find_thing(connection, code).id
        connection.execute(
            text("UPDATE use SET assumed = 1 WHERE thing = :thing AND node IN (2 * :act, 2 * :act + 1)"),
            {"thing": key, "act": act},
        )


def _without(acts: list[Act], assumed: set[tuple[int, str]], brute: Brute) -> Brute:
    """The same farm, but for those uses. Its clean breaks stay: they are the farm's, whoever is asked about."""
    for number, node in enumerate(brute.nodes):
        gone = {code for act, code in assumed if act == node.act.number} - node.clears
        sources = {code: role for code, role in node.sources.items() if code not in gone}
        sinks = {code: role for code, role in node.sinks.items() if code not in gone}
        brute.nodes[number] = replace(node, sources=sources, sinks=sinks)
    return brute


@CHECKS
@given(farms(), st.data())
def test_assumed_is_what_only_assumed_uses_lead_to(template, acts, data):
    book = afresh(acts, template)
    numbers = numbers_of(book, acts)
    could = sorted(
        {(act.number, code) for act in acts for name in ("touched", "drew") for code in act.fields.get(name, ())}
    )
    chosen = set(data.draw(st.lists(st.sampled_from(could), unique=True, max_size=4))) if could else set()
    # What is cleaned or tested in an entry is named there.
    named = {(act.number, code) for act in acts for name in ("cleaned", "tested") for code in act.fields.get(name, ())}
    for number, code in chosen - named:
        _assume(book, numbers[number], code)
    code = data.draw(st.sampled_from(codes_of(acts)))
    direction = data.draw(st.sampled_from(("forward", "back")))
    with book.ledger.reading() as connection:
        start = Start(find_thing(connection, code).id)
        found = walk(connection, direction, [start], sure=True)
        plain = walk(connection, direction, [start])
    every, sure = Brute(acts).walk(direction, code), _without(acts, chosen - named, Brute(acts)).walk(direction, code)
    assert {one.thing.code for one in found.reached} == set(every.links)
    assert {one.thing.code for one in found.reached if not one.assumed} == set(sure.links)
    # The quick answer calls fewer things assumed, and never one that is sure.
    assert {one.thing.code for one in plain.reached if one.assumed} <= set(every.links) - set(sure.links)
    book.ledger.engine.dispose()
