"""Water tests in the book: what closes a source, what opens it again, and what is judged anew."""

import pytest
from tests.ledger.farm import history, load, names, number, uses
from tests.ledger.test_judging import verdicts

WATER = """
    - {kind: water-test, at: 2026-03-02 09:00, by: TO, source: WELL, e_coli: 4 MPN/100 mL}
    - {kind: water-test, at: 2026-03-04 09:00, by: TO, source: WELL, e_coli: <1 MPN/100 mL}
"""


@pytest.mark.parametrize("about", ["E20", "WELL", "[E20, WELL]"])
@pytest.mark.parametrize("at", ["2026-03-03", "2026-03-12"])
@pytest.mark.parametrize("at_once", [True, False], ids=["closed at once", "closed later"])
def test_a_closed_corrective_action_lets_the_good_test_reopen_the_well(lite, about, at, at_once):
    bad, good = load(lite, WATER)
    assert (bad.name, good.verdict.failed) == ("E20", ("WELL",))
    action = f"- {{kind: corrective-action, at: {at}, by: TO, about: {about}, cause: a crack, action: mended"
    if at_once:
        closed, again = load(lite, action + f", closed: {at}}}\n")
    else:
        (closed,) = load(lite, action + "}\n")
        _, again = lite.amend(number(closed), {"closed": at}, because="closed", by=["TO"])
    assert (again.name, again.verdict.passed) == (good.name, ("WELL",))
    assert history(lite, good.name)[-1].evidence == (closed.name,)
    assert "cleared WELL" in uses(lite, good.name)


@pytest.mark.parametrize("closed", ["2026-02-01", "2099-01-01"], ids=["before the failure", "an intention"])
def test_an_action_closed_before_the_failure_or_only_meant_to_be_mends_nothing(lite, closed):
    _, good = load(lite, WATER)
    load(
        lite,
        "- {kind: corrective-action, at: 2026-03-03, by: TO, about: E20, cause: a crack, action: mended,"
        f" closed: {closed}}}\n",
    )
    assert verdicts(lite, good.name) == [((), ("WELL",))]


@pytest.mark.parametrize("about", ["E20", "WELL"])
@pytest.mark.parametrize("how", ["void", "reopened", "about another"])
def test_a_corrective_action_that_is_taken_back_closes_the_well_again(lite, about, how):
    _, good = load(lite, WATER)
    action, again = load(
        lite,
        f"- {{kind: corrective-action, at: 2026-03-03, by: TO, about: {about}, cause: a crack, action: mended,"
        " closed: 2026-03-03}\n",
    )
    assert again.verdict.passed == ("WELL",)
    if how == "void":
        lite.void(number(action), because="not done", by=["TO"])
    else:
        changes = {"closed": None} if how == "reopened" else {"about": "MAINS"}
        lite.amend(number(action), changes, because="not so", by=["TO"])
    assert verdicts(lite, good.name) == [((), ("WELL",)), (("WELL",), ()), ((), ("WELL",))]


def test_a_void_corrective_action_about_an_entry_closes_the_well_again(book):
    bad, good = load(book, WATER)
    action, again = load(
        book,
        f"- {{kind: corrective-action, at: 2026-03-03, by: TO, about: {bad.name}, cause: a crack, action: mended,"
        " closed: 2026-03-03}\n",
    )
    assert (again.name, again.verdict.passed) == (good.name, ("WELL",))
    _, closed = book.void(number(action), because="not done", by=["TO"])
    assert (closed.name, closed.verdict.failed) == (good.name, ("WELL",))


def test_an_earlier_failure_that_arrives_late_closes_the_well(book):
    (good,) = load(book, "- {kind: water-test, at: 2026-03-09 09:00, by: TO, source: WELL, e_coli: <1 MPN/100 mL}\n")
    _, again = load(book, "- {kind: water-test, at: 2026-03-02 09:00, by: TO, source: WELL, e_coli: 4 MPN/100 mL}\n")
    assert (again.name, again.verdict.failed) == (good.name, ("WELL",))


def test_the_worst_sample_of_a_day_counts_in_whatever_order_they_come_in(book):
    (good,) = load(book, "- {kind: water-test, at: 2026-03-09 08:00, by: TO, source: WELL, e_coli: <1 MPN/100 mL}\n")
    _, again = load(book, "- {kind: water-test, at: 2026-03-09 17:00, by: TO, source: WELL, e_coli: 4 MPN/100 mL}\n")
    assert (again.name, again.verdict.failed) == (good.name, ("WELL",))


def test_a_failure_that_turns_out_to_be_misread_opens_the_well(book):
    bad, good = load(book, WATER)
    receipts = book.amend(number(bad), {"e_coli": "<1 MPN/100 mL"}, because="the wrong line", by=["TO"])
    assert names(receipts) == [bad.name, good.name]
    assert [receipt.verdict.passed for receipt in receipts] == [("WELL",), ("WELL",)]
