"""Complaints, faults, samples, calls and the exercise: small farms, a gap and its absence."""

import pytest
from tests.checks.small import Small

from lotwalk.checks.subjects import followup

CALL = "- {{kind: recall-contact, at: {at}, complaint: {about}, customer: CAFE, reached: {reached}}}\n"
COMPLAINT = (
    "- {{kind: complaint, at: 2026-03-05, code: {code}, customer: CAFE, type: {type}, description: two rang, product:"
    " PEA-50}}\n"
)
ACTION = "- {{kind: corrective-action, at: 2026-03-06, about: {about}, cause: c, action: a{more}}}\n"


@pytest.fixture
def farm(where):
    made = Small(where)
    yield made
    made.book.ledger.engine.dispose()


def complaint(code="Q-1", kind="illness"):
    return COMPLAINT.format(code=code, type=kind)


def test_a_complaint_waits_for_a_corrective_action_that_is_closed(farm):
    farm.load(complaint() + complaint("Q-2", "spoilage"))
    assert {name: one.severity for name, one in farm.found(followup, "2026-03-07").items()} == {
        "to-mend:Q-1": "critical",
        "to-mend:Q-2": "major",
    }
    farm.load(ACTION.format(about="Q-1", more=", closed: 2026-03-06"))
    # Without its day of closing an action is only begun.
    farm.load(ACTION.format(about="Q-2", more=", due: 2026-03-20"))
    assert list(farm.found(followup, "2026-03-07")) == ["to-mend:Q-2"]


def test_a_fault_that_was_seen(lite):
    names = lite.load(
        """
        - {kind: site-check, at: 2026-03-03, where: ROOM, topic: pests, result: droppings, passed: no}
        - {kind: site-check, at: 2026-03-03, where: ROOM, topic: pests, result: a web, passed: no, action: swept}
        - {kind: site-check, at: 2026-03-03, where: SHED, topic: pests, result: traps empty}
        """
    )
    assert list(lite.found(followup, "2026-03-07")) == [f"to-mend:{names[0]}"]
    assert [(one.by, one.about) for one in lite.due(followup, "2026-03-07")][:1] == [("2026-03-10", (names[0],))]


def test_an_action_past_its_day(lite):
    (name,) = lite.load(ACTION.format(about="ROOM", more=", due: 2026-03-10"))
    assert lite.found(followup, "2026-03-10") == {}
    assert [(one.by, one.about) for one in lite.due(followup, "2026-03-07")][:1] == [("2026-03-10", (name,))]
    assert list(lite.found(followup, "2026-03-11")) == [f"action-late:{name}"]
    lite.book.amend(int(name[1:]), {"closed": "2026-03-06"}, because="done", by=["TO"])
    assert lite.found(followup, "2026-03-11") == {}


def test_an_action_closed_on_a_day_to_come_is_not_closed(lite):
    (name,) = lite.load(ACTION.format(about="ROOM", more=", due: 2026-03-10, closed: 2026-03-20"))
    assert list(lite.found(followup, "2026-03-11")) == [f"action-late:{name}"]


@pytest.mark.parametrize(
    ("result", "test", "check"),
    [
        ("Salmonella detected in 25 g", "Salmonella", "sample-positive"),
        ("not detected in 25 g", "Salmonella", None),
        ("see attached", "Listeria", "sample-unclear"),
        ("1,200 CFU/g", "aerobic plate count", None),
        ("12 RLU", "ATP swab", None),
        # Still on its way.
        ("", "Salmonella", None),
    ],
)
def test_samples(lite, result, test, check):
    said = f", result: '{result}'" if result else ""
    (name,) = lite.load(f"- {{kind: sample, at: 2026-03-04, of: S-1, amount: 25 g, lab: LAB, test: {test}{said}}}\n")
    assert list(lite.found(followup, "2026-03-07")) == ([f"{check}:S-1:{name}"] if check else [])


def test_a_count_below_its_limit_is_no_negative(lite):
    # A count from 10 cfu/g on; the criterion asks that 25 g held none.
    (name,) = lite.load(
        "- {kind: sample, at: 2026-03-04, of: S-1, amount: 25 g, lab: LAB, test: Listeria, result: <10 cfu/g}\n"
    )
    (found,) = lite.found(followup, "2026-03-07").values()
    assert (found.id, found.severity) == (f"sample-unclear:S-1:{name}", "major")
    assert "<10 cfu/g is below what the method can count" in found.text
    assert "does not show that 25 g held none" in found.text
    assert "test for presence in 25 g" in found.do


def test_a_sample_of_water_is_no_water_test(lite):
    (name,) = lite.load("- {kind: sample, at: 2026-03-04, of: MAINS, lab: LAB, test: E. coli, result: 3 MPN/100 mL}\n")
    assert list(lite.found(followup, "2026-03-07")) == [f"sample-positive:MAINS:{name}"]
    # Tests of water that a judge looks at have a check of their own.
    lite.load("- {kind: water-test, at: 2026-03-05, source: MAINS, e_coli: 3 MPN/100 mL}\n")
    assert list(lite.found(followup, "2026-03-07")) == [f"sample-positive:MAINS:{name}"]


def called(at, reached, about="Q-1"):
    return CALL.format(at=at, reached=reached, about=about)


def test_a_call_that_nobody_answered(farm):
    farm.load(complaint() + complaint("Q-2") + ACTION.format(about='"Q-1, Q-2"', more=", closed: 2026-03-06"))
    (first, second) = farm.load(called("2026-03-06 09:00", "no") + called("2026-03-06 10:00", "no"))
    # Of two calls in vain the last is to be followed.
    assert list(farm.found(followup, "2026-03-07")) == [f"not-reached:CAFE:{second}"]
    assert ("2026-03-06", ("CAFE", second)) in [(one.by, one.about) for one in farm.due(followup, "2026-03-06")]
    # Reached about something else.
    farm.load(called("2026-03-06 11:00", "yes", "Q-2"))
    assert list(farm.found(followup, "2026-03-07")) == [f"not-reached:CAFE:{second}"]
    farm.load(called("2026-03-06 12:00", "yes"))
    assert farm.found(followup, "2026-03-07") == {}
    assert first != second


def test_the_yearly_exercise(lite):
    assert [one.by for one in lite.due(followup, "2026-03-07")] == ["2027-03-01"]
    assert lite.found(followup, "2027-03-01") == {}
    (overdue,) = lite.found(followup, "2027-03-10").values()
    assert overdue.text == "No recall was ever practised since the book began on 2026-03-01."
    lite.load("- {kind: recall-exercise, at: 2027-03-09, started_from: S-1, took: 40 min, outcome: all found}\n")
    assert lite.found(followup, "2027-03-10") == {}
    assert [one.by for one in lite.due(followup, "2027-03-10")] == ["2028-03-08"]
