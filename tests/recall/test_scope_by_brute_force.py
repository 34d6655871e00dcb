"""What a recall says each candidate reaches is what a walk from that candidate alone reaches, on random ledgers."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.walk.brute import Brute
from tests.walk.farm import ITEMS, WATERS, farms, started, write

from lotwalk.ledger.read.things import find_thing
from lotwalk.recall.asking.asked import ask
from lotwalk.recall.recall import recall
from lotwalk.recall.traceforward import scope
from lotwalk.walk.distrust import doubt
from lotwalk.walk.model import EVER, Start
from lotwalk.walk.walk import walk

CHECKS = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)


@pytest.fixture(scope="module")
def template(tmp_path_factory):
    return started(tmp_path_factory.mktemp("recall") / "template.db")


@pytest.fixture(params=["few", "many"])
def counted_as(request, monkeypatch):
    """Few candidates are reckoned by handing them down the graph, many by handing up what they reach."""
    monkeypatch.setattr(scope, "_FEW", {"few": 0, "many": 1_000}[request.param])


@CHECKS
@given(farms(most=16), st.data())
def test_each_candidate_reaches_what_a_walk_from_it_alone_reaches(template, counted_as, acts, data):
    lots = sorted({code for act in acts for name in ("made", "bought", "mixed") for code in act.fields.get(name, ())})
    if not lots:
        return
    asked = data.draw(st.lists(st.sampled_from(lots), min_size=1, max_size=2, unique=True))
    distrusted = data.draw(st.booleans())
    path = template.with_name("farm.db")
    for old in template.parent.glob("farm.db*"):
        old.unlink()
    book = write(acts, path, template)
    brute = Brute(acts, lambda act: distrusted)
    with book.ledger.reading() as connection:
        doubted = doubt(connection, ["all"] if distrusted else [])
        answer = recall(connection, ask(connection, asked), book.ledger.kinds, doubt=doubted)
        widest = set(asked)
        causes: dict[str, set[str]] = {code: set(brute.walk("back", code).links) for code in asked}
        for candidate in answer.candidates:
            thing = find_thing(connection, candidate.thing.code)
            spell = candidate.spell
            window = None
            if spell:
                window = (-EVER if spell.start is None else spell.start, EVER if spell.end is None else spell.end)
            alone = walk(connection, "forward", [Start(thing.id, window)], doubt=doubted).codes()
            assert set(candidate.lots) == {code for code in alone if code.startswith("L")}
            assert candidate.explains <= sum(candidate.thing.code in behind for behind in causes.values())
            widest |= set(candidate.lots)
            widest |= {candidate.thing.code} if candidate.thing.code.startswith("L") else set()
        assert {candidate.thing.code for candidate in answer.candidates} == set().union(*causes.values())
        assert all(
            (candidate.spell is not None) == (candidate.thing.code in (*ITEMS, *WATERS))
            for candidate in answer.candidates
        )
        own = set().union(*(brute.walk("forward", code).links for code in asked))
        assert set(answer.lots) == widest | {code for code in own if code.startswith("L")}
        assert [len(c.lots) for c in answer.candidates] == sorted(len(c.lots) for c in answer.candidates)
    book.ledger.engine.dispose()
