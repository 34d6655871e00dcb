"""Candidates are ranked as investigators rank exposures."""

from lotwalk.recall.model import Candidate
from lotwalk.recall.traceback.ranking import rank
from lotwalk.walk.model import Thing


def _candidate(code: str, explains: int, others: int) -> Candidate:
    thing = Thing(1, code, "seed-lot", "lot", None, False, False, True)
    return Candidate(thing, "contact", 3, None, explains, others, (), (), ())


def test_what_explains_more_comes_first_then_what_reaches_less_else():
    found = rank([_candidate("WIDE", 3, 90), _candidate("ONE", 1, 0), _candidate("NARROW", 3, 4)], 3, 100)
    assert [one.candidate.thing.code for one in found] == ["NARROW", "WIDE", "ONE"]


def test_the_table_counts_asked_and_others_by_whether_they_were_reached():
    found = rank([_candidate("X", 2, 10)], 3, 40)[0]
    assert found.table.cells == (2, 10, 1, 30)
    # 2 of 12 against 1 of 31, by hand.
    assert found.risk.value is not None
    assert abs(found.risk.value - (2 / 12) / (1 / 31)) < 1e-12


def test_a_candidate_that_alone_explains_all_has_no_finite_risk_and_says_so():
    found = rank([_candidate("X", 2, 10)], 2, 40)[0]
    assert found.risk.value is None
    assert found.risk.note


def test_equal_candidates_stand_by_their_codes():
    found = rank([_candidate("B", 1, 1), _candidate("A", 1, 1)], 2, 10)
    assert [one.candidate.thing.code for one in found] == ["A", "B"]
