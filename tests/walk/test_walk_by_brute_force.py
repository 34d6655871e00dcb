"""The walk gives what its definition gives, on random ledgers, in both directions, with windows and distrust."""

from hypothesis import given
from hypothesis import strategies as st
from tests.walk.brute import Brute
from tests.walk.farm import BASE, CHECKS, DAY, ITEMS, WATERS, Act, afresh, codes_of, farms, numbers_of

from lotwalk.book import Book
from lotwalk.ledger.read.things import find_thing
from lotwalk.walk.model import Doubt, Start, Walk
from lotwalk.walk.walk import walk


def _walk(book: Book, direction: str, code: str, doubt: Doubt | None = None, window=None) -> Walk:
    with book.ledger.reading() as connection:
        thing = find_thing(connection, code)
        return walk(connection, direction, [Start(thing.id, window)], doubt=doubt)


def _same(found: Walk, brute: Brute, direction: str, code: str, numbers: dict[int, int], window=None) -> None:
    expected = brute.walk(direction, code, window)
    assert {one.thing.code: one.link for one in found.reached} == expected.links
    assert {one.thing.code: one.level for one in found.reached} == expected.levels
    assert set(found.entries) == {numbers[number] for number in expected.acts}


@CHECKS
@given(farms(), st.data())
def test_both_directions_are_what_the_definition_says(template, acts, data):
    book = afresh(acts, template)
    numbers = numbers_of(book, acts)
    brute = Brute(acts)
    for code in data.draw(st.permutations(codes_of(acts)))[:6]:
        for direction in ("forward", "back"):
            _same(_walk(book, direction, code), brute, direction, code, numbers)
    book.ledger.engine.dispose()


@CHECKS
@given(farms(), st.data())
def test_forward_and_back_are_mirror_images(template, acts, data):
    book = afresh(acts, template)
    codes = codes_of(acts)
    back = {code: {(one.thing.code, one.link) for one in _walk(book, "back", code).reached} for code in codes}
    for code in data.draw(st.permutations(codes))[:4]:
        forward = {(one.thing.code, one.link) for one in _walk(book, "forward", code).reached}
        assert forward == {(other, link) for other in codes for found, link in back[other] if found == code}
    book.ledger.engine.dispose()


@CHECKS
@given(farms(), st.data())
def test_a_window_restricts_only_where_the_walk_starts(template, acts, data):
    book = afresh(acts, template)
    numbers = numbers_of(book, acts)
    code = data.draw(st.sampled_from((*ITEMS, *WATERS)))
    low = BASE + data.draw(st.integers(0, 10)) * DAY // 2
    window = (low, low + data.draw(st.sampled_from((3600, DAY // 2, DAY))))
    for direction in ("forward", "back"):
        found = _walk(book, direction, code, window=window)
        _same(found, Brute(acts), direction, code, numbers, window)
    book.ledger.engine.dispose()


@CHECKS
@given(farms(plain_tests=True), st.data())
def test_distrust_reads_a_break_as_a_failed_one_and_never_narrows(template, acts, data):
    book = afresh(acts, template)
    numbers = numbers_of(book, acts)
    chosen = frozenset(
        data.draw(
            st.lists(st.sampled_from(acts), max_size=3, unique_by=id).map(lambda some: [act.number for act in some])
        )
    )
    how = data.draw(st.sampled_from(("some", "items", "all")))
    if how == "some":
        doubt = Doubt(frozenset(numbers[number] for number in chosen))
    else:
        doubt = Doubt(items=how == "items", all=how == "all")
    # An act that tests water does nothing else here, so what is no such test cleared items if anything.
    doubted = {"some": chosen, "items": {act.number for act in acts if not act.fields["tested"]}}
    brute = Brute(acts, lambda act: how == "all" or act.number in doubted[how])
    for code in data.draw(st.permutations(codes_of(acts)))[:4]:
        for direction in ("forward", "back"):
            found = _walk(book, direction, code, doubt)
            _same(found, brute, direction, code, numbers)
            # Testing water makes it a sink of the test; a disbelieved test only names it.
            lost = set(WATERS)
            assert _walk(book, direction, code).codes() - found.codes() <= lost
    book.ledger.engine.dispose()


def test_what_is_disbelieved_shares_the_mix_that_it_handled(template):
    """K1 failed in the bath of L0 at 09:00. At 12:00 something happened to L0, and M1 passed in the same act. Not
    believed, M1 was in that bath too, as K1 was."""
    moments = [(f"2026-03-02 {hour:02d}:00", BASE + hour * 3600, BASE + hour * 3600 + 59) for hour in (8, 9, 12)]
    fields = [{"mixed": ("L0",)}, {"took": ("L0",), "cleaned": ("K1",)}, {"handled": ("L0",), "cleaned": ("M1",)}]
    acts = [Act(number, *moment, said) for number, (moment, said) in enumerate(zip(moments, fields, strict=True))]
    acts[2].good = frozenset({"M1"})
    book = afresh(acts, template)
    disbelieved = Doubt(frozenset({numbers_of(book, acts)[2]}))
    assert _walk(book, "forward", "K1").codes() == {"K1", "L0"}
    assert _walk(book, "forward", "K1", disbelieved).codes() == {"K1", "L0", "M1"}
    assert "K1" not in _walk(book, "back", "M1").codes()
    assert "K1" in _walk(book, "back", "M1", disbelieved).codes()
    book.ledger.engine.dispose()


@CHECKS
@given(farms(plain_tests=True), st.data())
def test_a_verdict_that_turns_to_pass_never_widens(template, acts, data):
    failing = [act for act in acts if set(act.fields["cleaned"]) - act.good and act.end - act.start < 90_000]
    if not failing:
        return
    code = data.draw(st.sampled_from(codes_of(acts)))
    direction = data.draw(st.sampled_from(("forward", "back")))
    book = afresh(acts, template)
    before = _walk(book, direction, code).codes()
    book.ledger.engine.dispose()
    act = data.draw(st.sampled_from(failing))
    act.good = act.good | set(act.fields["cleaned"])
    book = afresh(acts, template)
    assert _walk(book, direction, code).codes() <= before
    book.ledger.engine.dispose()


@CHECKS
@given(farms(), st.data())
def test_spells_are_those_of_the_uses_reached(template, acts, data):
    book = afresh(acts, template)
    brute = Brute(acts)
    code = data.draw(st.sampled_from(codes_of(acts)))
    for direction in ("forward", "back"):
        found = _walk(book, direction, code)
        walked = brute.walk(direction, code).acts
        sink = direction == "forward"
        for one in found.reached:
            if one.thing.code not in (*ITEMS, *WATERS):
                continue
            uses = [
                node
                for node in brute.nodes
                if node.act.number in walked and one.thing.code in (node.sinks if sink else node.sources)
            ]
            reached = {(spell.start, spell.end) for spell in one.spells}
            assert reached <= {brute.spell(node, one.thing.code, sink) for node in uses}
            assert reached
    book.ledger.engine.dispose()
