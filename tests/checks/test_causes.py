"""Findings with one cause are one: what joins, what keeps them apart, and what closes them.

The farm's well passes on 2 March, fails on 4 March and passes again on 9 March after it was mended. T-1 to T-5 are
sown with it on the mornings of 4 (after the sample), 5, 6, 7 and 8 March. So one failed test is the cause of six
findings: the test itself and five sowings, and each of the five batches asks for its own decision.
"""

from collections import Counter

import pytest
from tests.checks.small import Small

from lotwalk.checks.by_subject import CHECKS
from lotwalk.checks.closing_words import closing_words
from lotwalk.checks.findings import find
from lotwalk.checks.subjects import followup
from lotwalk.cli.views.check_view import CheckView
from lotwalk.errors import NotUnderstood

ON = "2026-03-12"
SAMPLE = "- {{kind: water-test, at: {at}, source: {of}, e_coli: {found}}}\n"
SOWN = "- {{kind: sowing, at: {at}, batch: {batch}, seed: S-1 20 g, trays: '1', equipment: M-{item}, water: {of}}}\n"
NONE, FOUND = "<1 MPN/100 mL", "4 MPN/100 mL"


def sampled(at, found, of="WELL"):
    return SAMPLE.format(at=at, found=found, of=of)


def sown(day, number, of="WELL"):
    return SOWN.format(at=f"2026-03-0{day} 10:00", batch=f"T-{number}", item=number, of=of)


def action(about, at="2026-03-10 09:00", closed="2026-03-10"):
    return (
        f"- {{kind: corrective-action, at: {at}, about: '{about}', cause: a crack, action: mended, decision: decided"
        f"{f', closed: {closed}' if closed else ''}}}\n"
    )


@pytest.fixture
def farm(where):
    made = Small(where)
    yield made
    made.book.ledger.engine.dispose()


@pytest.fixture
def well(farm):
    """The farm of this text; the second entry is the failed test, and the next five the sowings."""
    farm.names = farm.load(
        sampled("2026-03-02 08:00", NONE)
        + sampled("2026-03-04 08:00", FOUND)
        + "".join(sown(day, number) for number, day in enumerate((4, 5, 6, 7, 8), 1))
        + action("WELL", "2026-03-08 12:00", "2026-03-08")
        + sampled("2026-03-09 08:00", NONE)
    )
    farm.failed, farm.sowings = farm.names[1], farm.names[2:7]
    farm.cause = f"failed-water:WELL:{farm.failed}"
    return farm


def causes(farm, **asked):
    """The causes of what concerns water, by name: how many findings are open and closed, and the lots to decide on."""
    found = farm.book.check(on=ON, **asked).causes
    return {
        one.id: (len(one.open), len(one.closed), one.undecided)
        for one in found
        if any(each.finding.check.startswith("water") for each in one.all)
    }


def test_one_failed_test_is_one_cause_of_all_that_was_drawn(well):
    # The action about the well has closed what the test itself says, and none of the batches.
    assert causes(well)[well.cause] == (5, 1, ("T-1", "T-2", "T-3", "T-4", "T-5"))
    (joined,) = [one for one in well.book.check(on=ON).causes if one.id == well.cause]
    assert joined.severity == "critical"
    assert {one.finding.id for one in joined.open} == {f"water-drawn:WELL:{name}" for name in well.sowings}
    assert "failed its test of 2026-03-04 08:00" in joined.text and "good again on 2026-03-09 08:00" in joined.text
    assert "T-1..T-5 (5 lots)" in joined.concerns


def test_json_keeps_every_finding_with_its_cause(well):
    told = [one.json() for one in well.book.check(on=ON).open]
    drawn = [one for one in told if str(one["id"]).startswith("water-drawn")]
    assert {one["id"] for one in drawn} == {f"water-drawn:WELL:{name}" for name in well.sowings}
    assert {one["cause"] for one in drawn} == {well.cause}
    alone = [one for one in told if one["cause"] == one["id"]]
    assert alone and not any(str(one["id"]).startswith("water-drawn") for one in alone)


def test_two_wells_are_two_causes(farm):
    farm.load("- {kind: water-source, at: 2026-03-01 10:00, code: BORE, name: Bore, type: ground, used_for: growing}\n")
    names = farm.load(
        sampled("2026-03-04 08:00", FOUND)
        + sampled("2026-03-04 08:30", FOUND, "BORE")
        + sown(5, 1)
        + sown(5, 2, "BORE")
    )
    assert causes(farm, only="critical") == {
        f"failed-water:WELL:{names[0]}": (2, 0, ("T-1",)),
        f"failed-water:BORE:{names[1]}": (2, 0, ("T-2",)),
    }


def test_two_failures_of_one_well_are_two_causes_and_each_draw_is_of_the_latest(farm):
    names = farm.load(sampled("2026-03-04 08:00", FOUND) + sown(5, 1) + sampled("2026-03-06 08:00", FOUND) + sown(7, 2))
    assert causes(farm, only="critical") == {
        f"failed-water:WELL:{names[0]}": (2, 0, ("T-1",)),
        f"failed-water:WELL:{names[2]}": (2, 0, ("T-2",)),
    }


def test_the_cause_goes_when_the_result_was_a_slip(well):
    well.book.amend(int(well.failed[1:]), {"e_coli": NONE}, because="misread the sheet", by=["TO"])
    assert well.cause not in causes(well)
    assert not any("water-drawn" in one.finding.id for one in well.book.check(on=ON).open)


def test_the_name_of_the_cause_alone_closes_no_batch(well):
    (name,) = well.load(action(well.cause))
    assert causes(well)[well.cause] == (5, 1, ("T-1", "T-2", "T-3", "T-4", "T-5"))
    (joined,) = [one for one in well.book.check(on=ON).causes if one.id == well.cause]
    assert joined.actions == (name,)


def test_each_batch_is_closed_by_what_became_of_it_and_the_cause_with_the_last(well):
    """Two are thrown out in one action, two passed a test of their own; T-5 is closed by the finding's own name."""
    well.load(action(f"{well.cause}, T-1, T-2"))
    assert causes(well)[well.cause] == (3, 3, ("T-3", "T-4", "T-5"))
    well.load(action(f"{well.cause}, T-3..T-4", "2026-03-11 09:00", "2026-03-11"))
    assert causes(well)[well.cause] == (1, 5, ("T-5",))
    well.load(action(f"water-drawn:WELL:{well.sowings[4]}", "2026-03-12 08:00", "2026-03-12"))
    assert causes(well)[well.cause] == (0, 6, ())


def test_a_batch_named_without_its_cause_stays_open(well):
    well.load(action("T-1"))
    assert causes(well)[well.cause][2] == ("T-1", "T-2", "T-3", "T-4", "T-5")


def test_an_action_that_is_not_closed_decides_nothing(well):
    well.load(action(f"{well.cause}, T-1", closed=""))
    assert causes(well)[well.cause][0] == 5


def test_what_is_of_several_lots_is_closed_with_the_last_of_them(farm):
    """One watering of two standing batches; what became of the first says nothing of the second."""
    names = farm.load(
        sown(2, 1, "none")
        + sown(2, 2, "none")
        + sampled("2026-03-04 08:00", FOUND)
        + "- {kind: growing-check, at: 2026-03-05 08:00, batches: 'T-1, T-2', action: watered, water: WELL}\n"
    )
    cause = f"failed-water:WELL:{names[2]}"
    assert causes(farm)[cause] == (2, 0, ("T-1", "T-2"))
    farm.load(action(f"{cause}, T-1"))
    # The test itself concerns no batch, and is closed by the first action that names the cause.
    assert causes(farm)[cause] == (1, 1, ("T-2",))
    farm.load(action(f"{cause}, T-2", "2026-03-11 09:00", "2026-03-11"))
    assert causes(farm)[cause] == (0, 2, ())


def test_what_is_written_down_later_is_not_closed_by_what_was_decided_before(well):
    """A second sowing of 6 March is typed after all five batches were decided on: its batch is still to be."""
    well.load(action(f"{well.cause}, T-1..T-5"))
    assert causes(well)[well.cause][0] == 0
    well.load(SOWN.format(at="2026-03-06 11:00", batch="T-6", item=6, of="WELL"))
    assert causes(well)[well.cause] == (1, 6, ("T-6",))


def test_only_takes_the_name_of_a_cause(well):
    found = well.book.check(on=ON, only=well.cause)
    assert len(found.open) == 5 and [one.id for one in found.causes] == [well.cause]
    with pytest.raises(NotUnderstood, match="names no check"):
        well.book.check(on=ON, only="failed-water:WELL:E9999")


def test_a_dip_that_failed_is_the_cause_of_the_sowings_on_its_mats(stocked):
    """Three mats carried crops until 10 March. Two were dipped then, at 20 ppm where the label asks for 50 ppm: so the
    dip and the sowings on each of them on 11 March are one cause. A sowing on the third, which nobody dipped, is its
    own."""
    names = stocked.load(
        "- {kind: solution, at: 2026-03-10 07:00, lot: S-D, product: CL, volume: 10 L, discard_at: 2026-03-10 20:00}\n"
        + "".join(sown(3, number, "none").replace("T-", "T-2") for number in (1, 2, 3))
        + "- {kind: harvest, at: 2026-03-10 08:00, lot: H-2, from: 'T-21, T-22, T-23', amount: 1 kg,"
        " cut: above the medium}\n"
        + "- {kind: sanitising, at: 2026-03-10 13:00, items: 'M-1, M-2', solution: S-D, reading: 20 ppm,"
        " contact: 5 min, washed: yes, temperature: 25 C}\n"
        + "".join(
            SOWN.format(at=f"2026-03-11 1{number}:00", batch=f"T-3{number}", item=number, of="none")
            for number in (1, 2, 3)
        )
    )
    dip, first, second, third = names[5:]
    found = {one.id: one for one in stocked.book.check(on=ON).causes}
    assert {one.finding.id for one in found[f"not-cleaned:{dip}"].open} == {
        f"not-clean:{dip}", f"no-clean-break:{first}", f"no-clean-break:{second}"
    }  # fmt: skip
    assert found[f"not-cleaned:{dip}"].undecided == ("T-31", "T-32")
    assert [one.finding.id for one in found[f"no-clean-break:{third}"].open] == [f"no-clean-break:{third}"]


def test_on_the_sample_farm_each_finding_is_of_one_cause_and_none_is_lost(sample_farm_causes):
    found, causes = sample_farm_causes
    joined = [one.finding.id for cause in causes for one in cause.all]
    assert sorted(joined) == sorted({one.finding.id for one in (*found.open, *found.closed)})
    assert len({one.id for one in causes}) == len(causes)
    assert all(one.finding.comes_of == cause.id for cause in causes for one in cause.all)
    # The name of a cause is no finding's, save of one that is its own cause.
    names = {one.finding.id: one.finding for one in (*found.open, *found.closed)}
    assert all(names[cause.id].comes_of == cause.id for cause in causes if cause.id in names)


def test_the_screen_names_every_cause_of_the_sample_farm_the_critical_ones_first(sample_farm_causes, capsys):
    found, causes = sample_farm_causes
    CheckView(found, every=False).table()
    out = capsys.readouterr().out
    lines = out.splitlines()
    left = [one for one in causes if one.open]
    assert not [one.id for one in left if one.id not in out]
    # Each finding by itself takes more than a thousand lines, and those of the one failed well alone a hundred.
    assert len(lines) <= 150
    critical = [one.id for one in left if one.severity == "critical"]
    assert critical and not [name for name in critical if name not in "\n".join(lines[:24])]
    grave = Counter(one.finding.severity for one in found.open)
    assert lines[0] == (
        f"{len(found.open)} open findings of {len(left)} causes: {grave['critical']} critical, {grave['major']} major,"
        f" {grave['minor']} minor; {len(found.closed)} closed."
    )


@pytest.fixture(scope="module")
def sample_farm_causes():
    from tests.checks.sample import farm

    found = farm().check(on="2026-03-02")
    return found, found.causes


def test_whoever_records_the_action_is_told_what_is_left_to_decide(well):
    def told(about):
        (name,) = well.load(action(about))
        with well.book.ledger.reading() as connection:
            records = well.asked(connection, ON)
            named = [word.strip() for word in about.split(",")]
            return " ".join(closing_words(records, find(records, CHECKS), name, named))

    first, second = well.sowings[:2]
    said = told(f"{well.cause}, T-1, T-2")
    assert f"This closes water-drawn:WELL:{first}, water-drawn:WELL:{second}." in said
    assert f"{well.cause} stays open until a closed action names it and T-3..T-5, with what became of them." in said
    assert "There is no finding" not in said
    assert f"did you mean {well.cause}" in told(f"{well.cause}9")


def test_an_action_about_a_cause_counts_as_one_about_what_asks_for_it_and_joins_it_when_late(lite):
    """A complaint asks for an action. One names it by its cause, to be done by 6 March: it is in hand until then, and
    on 9 March the complaint and the late action are one cause."""
    lite.load(
        "- {kind: complaint, at: 2026-03-02 15:00, code: Q-1, customer: CAFE, type: spoilage, description: slimy}\n"
    )
    assert any("Q-1" in one.about for one in lite.due(followup, "2026-03-05"))
    (late,) = lite.load(action("unmended:Q-1", "2026-03-03 09:00", "").replace("}", ", due: 2026-03-06}"))
    assert [one.about for one in lite.due(followup, "2026-03-05") if "Q-1" in one.about] == []
    found = lite.found(followup, "2026-03-09")
    assert found["to-mend:Q-1"].comes_of == found[f"action-late:{late}"].comes_of == "unmended:Q-1"
    assert f"{late} due 2026-03-06" in found["to-mend:Q-1"].cause.detail
    lite.load(action("unmended:Q-1"))
    assert "to-mend:Q-1" not in lite.found(followup, "2026-03-11")
