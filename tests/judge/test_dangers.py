"""What an entry tells that may hurt somebody, asked of the judge alone."""

from decimal import Decimal

import pytest
from tests.judge.memory import Book

from lotwalk.errors import NotUnderstood
from lotwalk.finding import NOT_URGENT, urgency
from lotwalk.judge import Judge, RuleSet
from lotwalk.judge.dangers.never import never_together


def stocked():
    book = Book(RuleSet.load("us"))
    book.receipt("CL", active="sodium hypochlorite")
    book.receipt("PX", active="peroxyacetic acid", product="Keen")
    book.receipt("STRIPS", type="test strips", product="Peracetic acid strips")
    return book


def told(book, uses, **values):
    entry = book.add("use", "2026-03-02 10:00", values, uses=uses)
    return [one.partition(":")[0] for one in Judge(book.rules).notices("chemicals", entry, book)]


@pytest.mark.parametrize(
    ("uses", "words"),
    [
        ([("took", "solution", "CL, PX")], ["DANGER"]),
        ([("took", "detergent", "CL"), ("took", "rinse", "PX")], ["DANGER"]),
        # Its role waits for what a judge says of it.
        ([("", "solution", "CL"), ("took", "other", "PX")], ["DANGER"]),
        # Named, and not poured: two cans on hold, strips beside a bleach.
        ([("about", "lots", "CL, PX")], []),
        ([("took", "solution", "CL"), ("about", "with", "STRIPS")], []),
        ([("took", "solution", "CL"), ("took", "box", "STRIPS")], []),
    ],
)
def test_only_what_is_poured_meets(uses, words):
    assert told(stocked(), uses) == words


def test_what_is_made_of_mixes_is_followed_to_its_cans():
    book = stocked()
    book.solution("A", "CL")
    book.solution("B", "A")
    book.solution("C", "PX")
    assert told(book, [("took", "solution", "B, C")]) == ["DANGER"]
    assert told(book, [("took", "solution", "B, A")]) == []


def test_the_lower_end_of_a_ph_counts():
    book = stocked()
    book.solution("A", "CL")
    assert told(book, [("took", "solution", "A")], ph=(Decimal("4.5"), Decimal(6))) == ["DANGER"]
    assert told(book, [("took", "solution", "PX")], ph=Decimal(3)) == []


def test_a_rule_set_may_know_no_limit(tmp_path):
    own = tmp_path / "own.yaml"
    own.write_text("title: Ours\nactives: {chlorine: {names: [bleach]}}\n")
    rules = RuleSet.load(str(own))
    assert never_together(rules, "bleach", "acid") is None
    book = stocked()
    book.rules = rules
    assert told(book, [("took", "solution", "CL, PX")], ph=Decimal(1)) == []


def test_the_worst_stands_first():
    said = ["alike to E2", "Residue: x", "ALLERGEN: x", "DANGER: x"]
    assert sorted(said, key=urgency) == said[::-1]
    assert urgency("Residue left") == NOT_URGENT


def test_a_judge_that_is_not_there_is_told():
    with pytest.raises(NotUnderstood, match="no judge named taste; expected mix or chemicals or packed"):
        Judge(stocked().rules).notices("taste", None, None)
