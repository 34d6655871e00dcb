"""Who worked untaught or kept away, what was read by an instrument that was off, and what nobody reviewed."""

SOWN = (
    "- {{kind: sowing, at: {at}, by: {by}, batch: {batch}, seed: S-1 20 g, trays: '1', equipment: {on}, water: none}}\n"
)


def sown(batch, at, by="TO", on="M-1"):
    return SOWN.format(at=at, batch=batch, by=by, on=on)


def test_work_before_the_first_teaching_is_one_finding_for_the_spell(farm_anywhere):
    _, first, second, _, after = farm_anywhere.load(
        "- {kind: person, at: 2026-03-02 08:00, code: NN, name: Nan Noel, position: worker}\n"
        + sown("T-1", "2026-03-03 09:00", "NN")
        + sown("T-2", "2026-03-04 09:00", "NN", "M-2")
        + "- {kind: training, at: 2026-03-05 08:00, people: NN, topic: hand washing}\n"
        + sown("T-3", "2026-03-06 09:00", "NN", "M-3")
    )
    standing = farm_anywhere.standing()
    about = standing[f"untaught:NN:{first}"].finding.about
    assert about == ("NN", first, second)
    assert [name for name in standing if name.startswith("untaught")] == [f"untaught:NN:{first}"]
    assert after not in about


def test_teaching_runs_out(farm):
    (name,) = farm.load(sown("T-1", "2027-03-10 09:00", "AK"), typed="2027-03-10 10:00")
    assert list(farm.found("untaught")) == [f"untaught:AK:{name}"]
    assert ("2027-03-02", "AK") in farm.due(0)


def test_work_while_kept_away_is_critical(farm):
    names = farm.load(
        "- {kind: fitness, at: 2026-03-03 07:00, person: AK, state: excluded}\n"
        + sown("T-1", "2026-03-04 09:00", "AK")
        + "- {kind: fitness, at: 2026-03-05 07:00, person: AK, state: back}\n"
        + sown("T-2", "2026-03-06 09:00", "AK", "M-2")
    )
    standing = farm.standing()
    assert [name for name in standing if name.startswith("kept-away")] == [f"kept-away:AK:{names[1]}"]
    assert standing[f"kept-away:AK:{names[1]}"].finding.severity == "critical"


CHECKED = (
    "- {{kind: calibration, at: {at}, instrument: TH-1, reference: ice water, reading: {reading}, passed: {passed}}}\n"
)
READ = "- {{kind: storage-check, at: {at}, where: COLD, temperature: 4 degC, with: TH-1}}\n"


def test_readings_by_a_thermometer_that_was_off(farm):
    names = farm.load(
        CHECKED.format(at="2026-03-02 08:00", reading="0.2 degC", passed="yes")
        + READ.format(at="2026-03-03 08:00")
        + CHECKED.format(at="2026-03-04 08:00", reading="4 degC", passed="no")
        + READ.format(at="2026-03-05 08:00")
        + CHECKED.format(at="2026-03-06 08:00", reading="0 degC", passed="yes")
        + READ.format(at="2026-03-07 08:00")
    )
    found = farm.found("instrument-off")
    assert list(found) == [f"instrument-off:TH-1:{names[2]}"]
    assert f"{names[3]} relied on it afterwards" in found[f"instrument-off:TH-1:{names[2]}"]
    assert "1 reading by it since 2026-03-02 08:00 may be wrong too" in found[f"instrument-off:TH-1:{names[2]}"]
    assert names[5] not in found[f"instrument-off:TH-1:{names[2]}"]


def test_a_thermometer_that_nobody_checked_and_when_one_is_due(farm):
    (name,) = farm.load(READ.format(at="2026-03-03 08:00"))
    assert list(farm.found("instrument-unchecked")) == [f"instrument-unchecked:TH-1:{name}"]
    assert ("2026-03-03", "TH-1") in farm.due(0, on="2026-03-03")
    farm.load(CHECKED.format(at="2026-03-03 07:00", reading="0 degC", passed="yes"))
    assert farm.found("instrument-unchecked") == {}
    # Three months (91 days) after 3 March: counted by hand on a calendar.
    assert ("2026-06-02", "TH-1") in farm.due(200)


def test_a_week_that_no_supervisor_read(farm):
    mix = "- {kind: solution, at: 2026-03-04 11:00, lot: SOL-1, product: BL-1, volume: 10 L}\n"
    farm.load(mix, typed="2026-03-04 12:00")
    assert farm.found("not-reviewed", on="2026-03-14") == {}
    assert ("2026-03-15", "week of 2026-03-02") in farm.due(7)
    assert list(farm.found("not-reviewed", on="2026-03-16")) == ["not-reviewed:2026-03-02"]
    (review,) = farm.load("- {kind: review, at: 2026-03-16 09:00, by: AK, from: 2026-03-02, until: 2026-03-08}\n")
    assert farm.found("not-reviewed") == {}
    assert list(farm.found("reviewed-by")) == [f"reviewed-by:{review}"]
