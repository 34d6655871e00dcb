"""Water that failed its test or has no paper, and when each source is due: small farms, a gap and its absence."""

import pytest
from tests.checks.small import PLACE, Small

from lotwalk.checks.subjects.water import plan as water_plan
from lotwalk.checks.subjects.water import tests as water
from lotwalk.checks.subjects.water.levels import levels
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.recall.asking.asked import ask
from lotwalk.recall.recall import recall
from lotwalk.values.times import read_when

SAMPLE = "- {{kind: water-test, at: {at}, source: {of}, e_coli: {found}}}\n"
MENDED = "- {{kind: corrective-action, at: 2026-03-06, about: {about}, cause: c, action: a, closed: 2026-03-06}}\n"
SOWN = "- {{kind: sowing, at: {at}, batch: {batch}, seed: S-1 20 g, trays: '1', equipment: M-1, {where}}}\n"


@pytest.fixture
def farm(where):
    made = Small(where)
    yield made
    made.book.ledger.engine.dispose()


def sampled(at, found, of="WELL"):
    return SAMPLE.format(at=at, found=found, of=of)


def sown(at, batch, where="water: WELL"):
    return SOWN.format(at=at, batch=batch, where=where)


def test_draws_between_a_failure_and_the_test_that_reopens_the_well(farm):
    names = farm.load(
        sampled("2026-03-02 08:00", "<1 MPN/100 mL")
        + sown("2026-03-03 08:00", "T-1")
        + sampled("2026-03-04 08:00", "4 MPN/100 mL")
        + sown("2026-03-05 08:00", "T-2")
        + sown("2026-03-05 09:00", "T-3", "place: ROOM")
        + sown("2026-03-05 10:00", "T-4", "water: none")
        + MENDED.format(about="WELL")
        + sampled("2026-03-07 08:00", "<1 MPN/100 mL")
        + sown("2026-03-08 08:00", "T-5")
    )
    standing = farm.standing(water, "2026-03-09")
    failure, named, silent, action = names[2], names[3], names[4], names[6]
    # The action closes the failure, not what was drawn meanwhile: each draw asks for a decision of its own.
    assert {name: one.closed_by for name, one in standing.items()} == {
        f"water-test:WELL:{failure}": action,
        f"water-drawn:WELL:{named}": "",
        f"water-drawn:WELL:{silent}": "",
    }
    assert {one.finding.severity for one in standing.values()} == {"critical"}
    drawn = standing[f"water-drawn:WELL:{named}"].finding
    assert "drew water from WELL" in drawn.text and "4 MPN/100 mL" in drawn.text and "T-2" in drawn.about
    assumed = standing[f"water-drawn:WELL:{silent}"].finding
    assert "names no water, so the usual water of ROOM counts" in assumed.text
    assert f"amend {silent}" in assumed.do


def test_what_was_drawn_since_the_last_good_sample_is_part_of_the_failure(farm):
    """T-1 was sown before the good sample of 3 March, T-2 and T-3 between it and the failing one of the 7th, T-4 of
    other water and T-5 after. M-9 was rinsed in between. So T-2, T-3 and M-9 are in doubt, and T-5 has a finding of its
    own."""
    names = farm.load(
        sown("2026-03-02 08:00", "T-1").replace("M-1", "M-2")
        + sampled("2026-03-03 08:00", "<1 MPN/100 mL")
        + sown("2026-03-04 08:00", "T-2")
        + sown("2026-03-05 08:00", "T-3", "place: ROOM")
        + sown("2026-03-05 09:00", "T-4", "water: none")
        + "- {kind: washing, at: 2026-03-06 08:00, items: M-9, method: brush, water: WELL}\n"
        + sampled("2026-03-07 08:00", "4 MPN/100 mL")
        + sown("2026-03-08 08:00", "T-5")
    )
    good, named, silent, rinse, failure, later = (names[number] for number in (1, 2, 3, 5, 6, 7))
    found = farm.found(water, "2026-03-09")
    assert found.keys() == {f"water-test:WELL:{failure}", f"water-drawn:WELL:{later}"}
    told = found[f"water-test:WELL:{failure}"]
    assert told.text.endswith(
        f"What was drawn from WELL since the last good sample ({good} of 2026-03-03 08:00) was drawn in doubt: sowing"
        f" {named} of 2026-03-04 08:00, sowing {silent} of 2026-03-05 08:00 and washing {rinse} of 2026-03-06 08:00. It"
        " went to T-2 and T-3."
    )
    assert told.about == ("WELL", failure, named, silent, rinse, "T-2", "T-3")
    assert f"Decide what becomes of T-2 and T-3, too, and say so in a corrective action about {failure}." in told.do
    # It is the spell that the recall walks: from the good sample on.
    with farm.book.ledger.reading() as connection:
        behind = recall(connection, ask(connection, ["T-2"]), farm.book.ledger.kinds)
    wells = {one.spell.start: one for one in behind.candidates if one.thing.code == "WELL"}
    well = wells[read_when("2026-03-03 08:00", PLACE).start]
    assert {"T-2", "T-3"} <= set(well.lots)
    assert "T-1" not in well.lots


def test_without_a_good_sample_before_all_that_was_drawn_is_in_doubt(lite):
    names = lite.load(sown("2026-03-02 08:00", "T-1") + sampled("2026-03-04 08:00", "TNTC"))
    told = lite.found(water, "2026-03-09")[f"water-test:WELL:{names[1]}"]
    assert told.text.endswith(
        f"No good sample came before it, so all that was drawn from WELL was drawn in doubt: sowing {names[0]} of"
        " 2026-03-02 08:00. It went to T-1."
    )


def test_a_draw_on_the_day_of_the_good_sample_is_in_doubt_without_an_hour(lite):
    names = lite.load(
        sampled("2026-03-03 08:00", "<1 MPN/100 mL")
        + sown("2026-03-03", "T-1")
        + sampled("2026-03-07 08:00", "4 MPN/100 mL")
    )
    assert "T-1" in lite.found(water, "2026-03-09")[f"water-test:WELL:{names[2]}"].about


def test_each_draw_is_told_of_once(lite):
    """Two failures in a row: T-1 lies before the first, T-2 between them."""
    names = lite.load(
        sown("2026-03-02 08:00", "T-1")
        + sampled("2026-03-03 08:00", "4 MPN/100 mL")
        + sown("2026-03-04 08:00", "T-2")
        + sampled("2026-03-05 08:00", "5 MPN/100 mL")
    )
    found = lite.found(water, "2026-03-09")
    assert found[f"water-test:WELL:{names[1]}"].about == ("WELL", names[1], names[0], "T-1")
    assert found[f"water-test:WELL:{names[3]}"].about == ("WELL", names[3])
    assert f"water-drawn:WELL:{names[2]}" in found


def test_many_draws_are_counted_by_what_they_were(lite):
    names = lite.load(
        "".join(sown(f"2026-03-02 {hour:02}:00", f"T-{hour}") for hour in range(1, 10))
        + "- {kind: washing, at: 2026-03-03 08:00, items: M-9, method: brush, water: WELL}\n"
        + sampled("2026-03-04 08:00", "4 MPN/100 mL")
    )
    told = lite.found(water, "2026-03-09")[f"water-test:WELL:{names[-1]}"]
    assert (
        f"sowing (9) and washing (1), from {names[0]} of 2026-03-02 01:00 to {names[-2]} of 2026-03-03 08:00. It went"
        " to T-1..T-9." in told.text
    )
    assert set(names[:-1]) < set(told.about)


def test_a_test_that_shows_too_little_puts_nothing_in_doubt(lite):
    names = lite.load(sown("2026-03-02 08:00", "T-1") + sampled("2026-03-04 08:00", "<1"))
    assert lite.found(water, "2026-03-09")[f"water-test:WELL:{names[1]}"].about == ("WELL", names[1])


def test_a_decision_about_a_draw_closes_it(lite):
    names = lite.load(sampled("2026-03-04 08:00", "present in 100 mL") + sown("2026-03-05 08:00", "T-2"))
    assert f"water-drawn:WELL:{names[1]}" in lite.found(water, "2026-03-09")
    lite.load(MENDED.format(about=f"water-drawn:WELL:{names[1]}"))
    assert list(lite.found(water, "2026-03-09")) == [f"water-test:WELL:{names[0]}"]


def test_a_well_that_was_never_reopened_stays_shut(lite):
    names = lite.load(
        sampled("2026-03-04 08:00", "TNTC")
        # Nobody wrote down what was mended, so the good test opens nothing.
        + sampled("2026-03-05 08:00", "<1 MPN/100 mL")
        + sown("2026-03-06 08:00", "T-1")
    )
    found = lite.found(water, "2026-03-09")
    assert found.keys() == {f"water-test:WELL:{name}" for name in names[:2]} | {f"water-drawn:WELL:{names[2]}"}
    assert "no good one has followed" in found[f"water-drawn:WELL:{names[2]}"].text
    assert found[f"water-test:WELL:{names[1]}"].severity == "major"


def test_a_test_that_shows_too_little_is_no_failure_of_the_water(lite):
    (name, _) = lite.load(sampled("2026-03-04 08:00", "<1") + sown("2026-03-05 08:00", "T-1"))
    found = lite.found(water, "2026-03-09")
    assert list(found) == [f"water-test:WELL:{name}"]
    assert "names no volume" in found[f"water-test:WELL:{name}"].text


def test_untreated_surface_water_on_surfaces_but_not_on_seed(lite):
    names = lite.load(
        "- {kind: washing, at: 2026-03-03 08:00, items: M-2, method: brush, water: POND}\n"
        + sown("2026-03-04 08:00", "T-1", "water: POND")
    )
    found = lite.found(water, "2026-03-09")
    assert list(found) == [f"water-untreated:POND:{names[0]}"]
    assert found[f"water-untreated:POND:{names[0]}"].severity == "critical"


def test_a_public_supply_between_two_papers(lite):
    lite.load(
        """
        - {kind: certificate, at: 2026-03-01, number: W-1, type: water, covers: MAINS, expires: 2026-03-04}
        - {kind: certificate, at: 2026-03-01, number: ORG, type: organic, covers: HOLT, issued: 2026-01-04}
        """
        + sown("2026-03-04 08:00", "T-1", "water: MAINS")
    )
    assert lite.found(water, "2026-03-20") == {}
    names = lite.load(sown("2026-03-05 08:00", "T-2", "water: MAINS") + sown("2026-03-09", "T-3", "water: MAINS"))
    found = lite.found(water, "2026-03-20")
    assert list(found) == ["water-paper:MAINS:W-1"]
    assert "W-1 held until 2026-03-04." in found["water-paper:MAINS:W-1"].text
    # Without a last day a paper holds for the year that the rule set names; the finding keeps its name.
    lite.load("- {kind: certificate, at: 2026-03-08, number: W-2, type: water, covers: MAINS, issued: 2026-03-06}\n")
    found = lite.found(water, "2026-03-20")
    assert list(found) == ["water-paper:MAINS:W-1"]
    assert f"({names[0]}) to 2026-03-05 08:00" in found["water-paper:MAINS:W-1"].text
    assert "W-2 holds from 2026-03-06" in found["water-paper:MAINS:W-1"].text


def test_a_source_without_any_test_and_one_tested_too_seldom(lite):
    (first,) = lite.load(sown("2026-03-05 08:00", "T-1"))
    assert list(lite.found(water_plan, "2026-03-09")) == ["water-untested:WELL"]
    assert lite.due(water_plan, "2026-03-09")[0].by == "2026-03-09"
    (test,) = lite.load(sampled("2026-03-10 08:00", "<1 MPN/100 mL"))
    # 112.44(b), from memory: four in the first year, so the next is a quarter of a year away.
    assert lite.due(water_plan, "2026-03-11")[0].by == "2026-06-09"
    lite.load(sown("2026-06-20 08:00", "T-2"))
    found = lite.found(water_plan, "2026-06-21")
    assert found.keys() == {"water-untested:WELL", f"water-test-late:WELL:{test}"}
    assert "1 of the first 4 good so far" in found[f"water-test-late:WELL:{test}"].text
    assert first in found["water-untested:WELL"].about


def test_an_inspection_is_due_a_year_after_the_last(lite):
    lite.load(
        sampled("2026-03-02 08:00", "<1 MPN/100 mL")
        + "- {kind: site-check, at: 2026-03-03, where: SHED, topic: water system, about: WELL, result: tight}\n"
        + sown("2026-03-05 08:00", "T-1")
    )
    by = {one.do.split()[0]: one.by for one in lite.due(water_plan, "2026-03-09")}
    assert by == {"Have": "2026-06-01", "Assess": "2027-03-01", "Look": "2027-03-03"}
    assert lite.found(water_plan, "2026-03-09") == {}
    (name,) = lite.load(sown("2027-03-10 08:00", "T-2"))
    assert name
    found = lite.found(water_plan, "2027-03-11")
    assert {id.split(":")[0] for id in found} == {"water-test-late", "water-inspection", "water-assessment"}


def test_a_source_that_nobody_draws_from_asks_for_nothing(lite):
    assert lite.found(water, "2027-06-01") == {}
    assert lite.found(water_plan, "2027-06-01") == {}
    # Save for the first test of the well, whose record says what it is meant for.
    assert [one.text for one in lite.due(water_plan, "2027-06-01")] == ["WELL was never tested"]


def test_what_all_tests_of_a_source_come_to(lite):
    # Drinking Water, example 6.4: 12, 28, 37, 25 have the geometric mean 23.6.
    days = ["2026-03-02 08:00", "2026-03-03 08:00", "2026-03-04 08:00", "2026-03-05 08:00", "2026-03-06 08:00"]
    results = ["12 CFU/100 mL", "28 MPN/100 mL", "0.37 CFU/mL", "250 per L", "TNTC"]
    lite.load("".join(sampled(day, found) for day, found in zip(days, results, strict=True)))
    lite.load(sampled("2026-03-07 08:00", "<10 MPN/100 mL", "MAINS"))
    with lite.book.ledger.reading() as connection:
        mains, well = sorted(levels(lite.asked(connection, "2026-03-09")), key=lambda one: one.source)
    assert round(well.mean.value, 1) == 23.6
    assert well.mean.low < 23.6 < well.mean.high
    assert (well.tests, well.at_limit, len(well.left_out)) == (4, 0, 1)
    assert "geometric mean 23.6 [" in well.text and "126 and 410" in well.text
    # A non-detect takes the limit of detection (UK SI 2013/1675, schedule 5).
    assert (mains.mean.value, mains.threshold, mains.at_limit) == (pytest.approx(10), None, 1)


def test_the_benchmark_is_the_one_of_2015():
    rules = RuleSet.load("us")
    assert [rules.amount(key).value for key in ("water.growing_mean", "water.growing_threshold")] == [126, 410]
