"""How the farm stands, on a small farm whose week can be counted by hand."""

import pytest
from tests.checks.small import PLACE

from lotwalk.checks.by_subject import CHECKS
from lotwalk.checks.farm_state import farm_state
from lotwalk.checks.findings import find
from lotwalk.values.times import read_when

WEEK = """
- {kind: water-test, source: WELL, lab: LAB, e_coli: "4 MPN/100 mL", at: 2026-03-02 08:00}
- {kind: corrective-action, at: 2026-03-03, about: WELL, cause: c, action: a, closed: 2026-03-03}
- {kind: water-test, source: WELL, lab: LAB, e_coli: "<1 MPN/100 mL", at: 2026-03-04 08:00}
- {kind: sowing, batch: T-1, seed: [{lot: S-1, amount: 200 g}], trays: 2, equipment: M-1, at: 2026-03-05 09:00}
- {kind: sanitising, items: M-2, method: heat, contact: 2 min, at: 2026-03-05 10:00}
- {kind: review, from: 2026-03-02, until: 2026-03-08, at: 2026-03-08 19:00}
"""


@pytest.fixture
def state(lite):
    """How it stands on a day, in all or from a day on."""

    def stands(on="2026-03-10", start=None, end=None):
        with lite.book.ledger.reading() as connection:
            records = lite.asked(connection, on)
            first = read_when(start, PLACE).start if start else None
            last = read_when(end, PLACE).end if end else None
            return farm_state(records, find(records, CHECKS), first, last)

    return stands


def test_who_answers_and_what_nobody_wrote(state):
    now = state()
    assert [(one.code, one.name, one.position) for one in now.people] == [("TO", "Tess Orr", "supervisor")]
    assert now.settings["name"] == "Tarn End"
    assert now.missing == ("Contact", "Phone")
    assert now.law == ""
    assert "slips" not in now.settings


def test_the_law_is_what_the_settings_say_or_the_latest_look_at_an_exemption(lite, state):
    lite.load("- {kind: site-check, where: ROOM, topic: exemption review, result: holds, at: 2026-03-03 09:00}\n")
    assert state().law.startswith("Exempt, by the farm's own look of 2026-03-03 09:00 (E")
    lite.book.record("farm", at="2026-03-04", name="Tarn End", location="Tarn Lane", timezone=PLACE.key,
                     measures="metric", rules="us", law="covered", slips="box file")  # fmt: skip
    assert state().law == "covered"
    assert state().settings["slips"] == "box file"


def test_the_water_with_its_latest_test_and_those_that_failed(lite, state):
    bad, _, good, *_ = lite.load(WEEK)
    well = next(one for one in state().water if one.code == "WELL")
    assert (well.type, well.used_for) == ("ground", "growing, harvest, surfaces")
    assert well.latest is not None
    assert (well.latest.entry, well.latest.passed, well.latest.result) == (good, True, "<1 MPN/100 mL")
    assert [one.entry for one in well.failed] == [bad]
    later = next(one for one in state(start="2026-03-04").water if one.code == "WELL")
    assert later.failed == ()
    before = next(one for one in state(end="2026-03-03").water if one.code == "WELL")
    assert before.latest is not None
    assert before.latest.entry == bad


def test_what_is_here_and_how_it_was_written(lite, state):
    _, _, _, sowing, _, _ = lite.load(WEEK)
    lite.now = read_when("2026-03-09 09:00", PLACE).end
    lite.book.amend(int(sowing[1:]), {"trays": "3"}, because="miscounted", by=("TO",))
    now = state(start="2026-03-02")
    counts = {one.title: one.entries for one in now.counts}
    assert counts == {"Water test": 2, "Corrective action": 1, "Sowing": 1, "Sanitising": 1, "Review": 1}
    assert now.grown == ("pea",)
    assert ("Customers", 2) in now.registered
    # All six in one sheet, typed on the Sunday evening: the review alone was written on its day.
    assert (now.written.entries, now.written.from_sheets, now.written.same_day) == (6, 6, 1)
    assert (now.written.amended, now.written.void) == (1, 0)
    lite.book.void(int(sowing[1:]), because="never was", by=("TO",))
    assert (state(start="2026-03-02").written.void, state(start="2026-03-02").written.entries) == (1, 5)
    assert state(start="2026-03-06").written.void == 0


def test_what_was_reviewed_and_what_matters_most(lite, state):
    lite.load(WEEK)
    now = state(start="2026-03-02")
    assert [week.monday for week in now.reviewed.read] == ["2026-03-02"]
    assert now.reviewed.unread == ()
    assert now.reviewed.by == ("TO",)
    assert {one.severity for one in now.gravest} == {now.open[0].severity}
    assert len(now.gravest) == sum(1 for one in now.open if one.severity == now.open[0].severity)
