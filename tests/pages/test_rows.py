"""What a log tells of each entry, and what it does with the entries that something is wrong with."""

import pytest


def test_values_are_printed_as_they_were_written_with_who_and_when(farm):
    farm.dip(at="2026-03-02 09:10", reading="110 ppm", contact="0.5 h", temperature="75 degF", ph="7.50", by="TO, AK")
    text = farm.print().text
    for words in ("2026-03-02 09:10", "M-001..M-004", "110 ppm", "0.5 h", "75 degF", "7.50", "TO, AK"):
        assert words in text


def test_what_was_used_is_told_back_to_the_product(farm):
    farm.dip(at="2026-03-02 09:10")
    assert "SOL-1, BL-1, Plain bleach" in farm.print().text


def test_a_ready_to_use_product_is_told_without_a_mix(farm):
    farm.dip(at="2026-03-02 09:10", solution="BL-1", method="ready to use")
    assert "BL-1, Plain bleach" in farm.print().text


def test_fields_without_a_column_stand_below_with_their_titles(farm):
    farm.dip(at="2026-03-02 09:10", place="WASH", rinse_water="MAINS", note="second tub")
    assert "Rinse water: MAINS | Note: second tub" in farm.print().text


def test_codes_are_explained_at_the_end(farm):
    farm.dip(at="2026-03-02 09:10", by="TO", place="WASH", rinse_water="MAINS")
    farm.wash(at="2026-03-02 09:00", by="AK, TO")
    text = farm.print().text
    assert "By: AK = Anna Wiśniewska; TO = Tess Orr." in text
    assert "Place: WASH = wash room." in text
    assert "Rinse water: MAINS = Town water." in text


def test_what_a_value_out_of_limits_looks_like(farm):
    farm.dip(at="2026-03-02 09:10", reading="30 ppm", contact="30 s")
    pdf = farm.print()
    for words in ("! 30 ppm", "! 30 s", "! Does not count"):
        assert {font.rpartition("-")[2] for font in pdf.fonts_of(words)} == {"Bold"}
    assert {font.rpartition("-")[2] for font in pdf.fonts_of("24 degC")} == {"Regular"}
    assert "! Reading 30 ppm is below the label's 50 ppm. To do:" in pdf.text
    assert pdf.summary.failed == 1


def test_a_value_within_limits_has_no_mark(farm):
    farm.dip(at="2026-03-02 09:10")
    pdf = farm.print()
    assert "! " not in pdf.pages[0]
    assert "Counts as sanitised" in pdf.text
    assert pdf.summary.failed == 0


def test_too_strong_stands_out_and_yet_counts(farm):
    farm.dip(at="2026-03-02 09:10", reading="250 ppm")
    pdf = farm.print()
    assert "! 250 ppm" in pdf.text
    assert "! Residue: Reading 250 ppm is above the label's highest, 200 ppm" in pdf.text
    assert pdf.fonts_of("Counts as sanitised")
    assert pdf.summary.failed == 0


def test_items_that_pass_and_items_that_fail_are_told_apart(farm):
    farm.wash(at="2026-03-02 09:00", items="M-001, M-002")
    farm.dip(at="2026-03-02 09:10", washed=None, items="M-001..M-004")
    text = farm.print().text
    assert "Counts as sanitised: M-001 and M-002" in text
    assert "! Does not count: M-003 and M-004" in text


def test_a_washing_seen_unclean_stands_out(farm):
    farm.wash(at="2026-03-02 09:00", seen_clean=False)
    assert "! Seen clean: no" in farm.print().text


def test_an_amendment_strikes_the_old_value_and_says_who_when_and_why(farm):
    number = farm.dip(at="2026-03-02 09:10", reading="100 ppm")
    farm.at("2026-03-02 21:30").book.ledger.amend(
        number,
        {"reading": "120 ppm", "note": "strip was wet"},
        because="misread the strip",
        by=["AK"],
        typed_by="office",
    )
    pdf = farm.print()
    assert "100 ppm" in pdf.struck()
    assert "120 ppm" not in pdf.struck()
    assert (
        "Amended 2026-03-02 21:30, by AK (typed by office), because: misread the strip. "
        "Reading was 100 ppm, now 120 ppm; Note was not given, now strip was wet." in pdf.text
    )
    assert (pdf.summary.entries, pdf.summary.amended) == (1, 1)


def test_an_entry_amended_twice_shows_every_value_it_had(farm):
    number = farm.dip(at="2026-03-02 09:10", contact="2 min")
    for minutes in ("3 min", "4 min"):
        farm.book.ledger.amend(number, {"contact": minutes}, because="looked again", by=["TO"])
    pdf = farm.print()
    assert {"2 min", "3 min"} <= pdf.struck()
    assert "4 min" not in pdf.struck()
    assert "Contact time was 2 min, now 3 min" in pdf.text
    assert "Contact time was 3 min, now 4 min" in pdf.text


def test_a_value_taken_away_is_struck_with_nothing_in_its_place(farm):
    number = farm.dip(at="2026-03-02 09:10", ph="7.5")
    farm.book.ledger.amend(number, {"ph": None}, because="not measured", by=["TO"])
    pdf = farm.print()
    assert "7.5" in pdf.struck()
    assert "pH was 7.5, now not given" in pdf.text


def test_a_void_entry_stays_readable_and_struck_through(farm):
    number = farm.dip(at="2026-03-02 09:10", reading="30 ppm", note="the big tub")
    farm.at("2026-03-02 21:00").book.ledger.void(number, because="wrote it twice", by=["TO"])
    pdf = farm.print()
    assert {f"E{number}", "2026-03-02 09:10", "! 30 ppm", "2 min", "TO", "Note: the big tub"} <= pdf.struck()
    assert "! VOID since 2026-03-02 21:00, by TO, because: wrote it twice." in pdf.text
    assert (pdf.summary.entries, pdf.summary.void, pdf.summary.failed) == (1, 1, 0)


def test_a_verdict_that_changed_shows_both_and_what_changed_it(farm):
    farm.record("solution-check", at="2026-03-02 08:30", solution="SOL-1", reading="100 ppm")
    number = farm.dip(at="2026-03-02 09:10", reading=None)
    farm.record("solution-check", at="2026-03-02 10:00", solution="SOL-1", reading="100 ppm")
    newest = farm.record("solution-check", at="2026-03-02 09:30", solution="SOL-1", reading="20 ppm")
    pdf = farm.print()
    assert f"because of E{newest}. Until then: Counts as sanitised." in pdf.text
    assert "Counts as sanitised" in pdf.struck()
    assert f"E{number}" not in pdf.struck()
    assert pdf.summary.failed == 1
    assert pdf.summary.amended == 0


def test_a_load_without_a_reading_of_its_own_shows_those_that_it_counts_by(farm):
    earlier = farm.record("solution-check", at="2026-03-02 08:30", solution="SOL-1", reading="100 ppm")
    farm.dip(at="2026-03-02 09:10", items="M-001", reading=None)
    later = farm.dip(at="2026-03-02 09:20", items="M-002", reading="120 ppm")
    farm.record("solution-check", at="2026-03-02 10:00", solution="SOL-1", reading="110 ppm")
    pdf = farm.print()
    told = " ".join(pdf.text.split())
    assert f"between E{earlier} (100 ppm) and E{later} (120 ppm)" in told
    assert told.count("between E") == 1, "a load with a reading of its own shows that alone"
    assert "(100 ppm)" not in pdf.struck(), "nobody wrote it there, so nobody struck it out"


def test_an_entry_recorded_late_is_marked_with_how_late(farm):
    number = farm.at("2026-03-04 09:11").dip(at="2026-03-02 09:10")
    pdf = farm.print()
    assert "! late" in pdf.text
    assert "Late: recorded 2026-03-04 09:11, 2 d after it." in pdf.text
    assert pdf.summary.late == 1
    farm.book.ledger.void(number, because="twice", by=["TO"])
    pdf = farm.print()
    late = "Late: recorded 2026-03-04 09:11, 2 d after it."
    assert late in pdf.text
    assert late not in pdf.struck()


def test_a_day_is_not_late_under_the_shipped_rules(farm):
    farm.at("2026-03-03 09:00").dip(at="2026-03-02 09:10")
    pdf = farm.print()
    assert "! late" not in pdf.text
    assert pdf.summary.late == 0


@pytest.mark.parametrize(("limit", "late"), [("2 h", 1), ("4 h", 0), ("none", 0)])
def test_the_rule_set_says_when_an_entry_is_late(start, tmp_path, limit, late):
    rules = tmp_path / "ours.yaml"
    rules.write_text(
        f"title: Ours\nbased_on: us\nrecords:\n  written_within: {{value: {limit}, confidence: practice}}\n", "utf-8"
    )
    farm = start(rules=str(rules)).at("2026-03-02 12:15")
    farm.dip(at="2026-03-02 09:10")
    assert farm.print().summary.late == late


def test_without_a_limit_in_the_rule_set_a_day_is_late(start, tmp_path):
    rules = tmp_path / "ours.yaml"
    rules.write_text("title: Ours\nbased_on: us\nrecords:\n  written_within: {value: none}\n", "utf-8")
    farm = start(rules=str(rules)).at("2026-03-03 09:12")
    farm.dip(at="2026-03-02 09:10")
    assert farm.print().summary.late == 1


def test_an_entry_written_down_before_its_time_is_marked(farm):
    farm.at("2026-03-02 09:00").wash(at="2026-03-02 17:00")
    text = farm.print().text
    assert "! written down before" in text
    assert "Recorded 2026-03-02 09:00, before the time that it gives." in text


@pytest.mark.parametrize("at", ["2026-03-02", "2026-03-01..2026-03-02"])
def test_a_date_without_a_time_is_marked(farm, at):
    farm.wash(at=at)
    assert f"{at}(no time given)".replace(" ", "") in "".join(farm.print().text.split())


@pytest.mark.parametrize("at", ["2026-03-02 am", "2026-03-02 09:00..10:30", "2026-03-02 09:00"])
def test_a_time_of_day_is_not_marked(farm, at):
    farm.wash(at=at)
    text = farm.print().text
    assert at in text
    assert "no time given" not in text


def test_a_time_with_an_offset_is_told_in_the_farms_time_and_as_written(start):
    farm = start(timezone="America/New_York")
    farm.wash(at="2026-03-02 14:10Z")
    assert "2026-03-02 09:10 (written 2026-03-02 14:10Z)" in farm.print().text


def test_entries_judged_under_other_rules_name_them(farm):
    farm.dip(at="2026-03-02 09:10")
    with farm.book.ledger.reading() as connection:
        before = farm.book.ledger.settings(connection).rules_digest
    farm.record("farm", at="2026-03-02 19:00", by=None, name="Mill Lane Greens", location="Hudson",
                timezone="UTC", measures="us", rules="general")  # fmt: skip
    assert f"Judged by the rule set: {before[:8]}" in farm.print().text


def test_entries_stand_in_the_order_of_their_times(farm):
    later = farm.wash(at="2026-03-02 11:00")
    earlier = farm.wash(at="2026-03-02 10:00")
    text = farm.print().text
    assert text.index(f"E{earlier} ") < text.index(f"E{later} ")
