"""The gaps planted in the sample farm are found, by what samples/README.md says of them, and its traps are not."""

import pytest

from lotwalk.values.codes import expand


def about(sample_farm, check):
    """What each open finding of one check is about."""
    return [set(one.finding.about) for one in sample_farm.values() if one.finding.check == check and one.open]


@pytest.mark.parametrize(
    "items",
    [
        "M-029..M-032, M-045, M-053..M-055, TR-32..TR-35, TR-51, TR-59..TR-61",  # weak-solution, 01-16
        "M-042..M-044, TR-48..TR-50",  # weak-solution, 01-17
        "M-007, M-008",  # unwashed-dip
        "M-040",  # seen-unclean
        "M-005, M-009, M-010, TR-65..TR-67",  # old-strips
        "M-011, M-012, M-020, TR-68, TR-69, TR-74",  # range-reading
        "F-01..F-03, F-10..F-12",  # porous-in-bleach
        "M-011, M-012, M-017, TR-14, TR-63, TR-64",  # old-solution
        "M-036..M-038, M-042, TR-19, TR-23..TR-25",  # cold-solution
    ],
)
def test_each_load_that_is_no_clean_break_is_named_with_its_items(sample_farm, items):
    named = [{code for code in codes if not code.startswith("E")} for codes in about(sample_farm, "not-clean")]
    assert {code for word in items.split(", ") for code in expand(word)} in named


def test_every_crop_put_on_what_was_not_clean_is_named_and_no_other(sample_farm):
    planted = {
        "T-137 T-140 T-143 T-139 T-141 T-142",  # weak-solution
        "T-134",  # never-sanitised
        "T-125",  # unwashed-dip
        "T-152",  # seen-unclean
        "T-146 T-147 T-149 T-150",  # no-hour
        "T-165 T-166 T-168",  # old-strips
        "T-172 T-173 T-175",  # range-reading
        "T-179 T-182",  # porous-in-bleach
        "T-192 T-196",  # old-solution
    }
    found = {code for codes in about(sample_farm, "no-clean-break") for code in codes if code.startswith("T-")}
    assert found == {code for words in planted for code in words.split()}


@pytest.mark.parametrize(
    ("check", "codes"),
    [
        ("too-strong", "M-048 M-053 M-054 TR-28 TR-30 TR-31"),
        ("not-there", "KN-4 "),
        ("not-there", "M-014"),
        ("tool-not-clean", "HT-2 H-0227-2"),
        ("tool-not-clean", "KN-1 H-0213-1"),
        ("tool-not-clean", "SH-1 H-0211-5"),
        ("tool-not-clean", "KN-1 H-0209-1"),
        ("tool-not-clean", "HT-1 H-0206-1"),
        ("tool-not-clean", "SH-2 H-0130-2"),
        ("tool-not-clean", "HT-1 H-0123-1"),
        ("tool-not-clean", "HT-1 H-0114-1"),
        ("tool-not-clean", "CAN-1"),
        ("nothing-named", "T-169"),
        ("back-not-clean", "CR-01 CR-02"),
        ("too-early", "SO-0122-S"),
        ("kept-away", "NO H-0204-1"),
        ("kept-away", "NO T-171"),
        ("instrument-off", "TH-2"),
        ("instrument-unchecked", "PH-1"),
    ],
)
def test_each_other_planted_gap_is_named(sample_farm, check, codes):
    assert any(set(codes.split()) <= named for named in about(sample_farm, check)), about(sample_farm, check)


def test_the_untaught_spell_holds_his_harvests_and_no_entry_after_the_lesson(sample_farm):
    (finding,) = [one.finding for one in sample_farm.values() if one.finding.check == "untaught"]
    assert finding.about[0] == "NO"
    # samples/README.md lists 31 entries, from the harvest of 2026-01-12 06:34 to the growing check of 01-23 17:30.
    assert len(finding.about) - 1 == 31
    assert "2026-01-12 06:34" in finding.text and "2026-01-23 17:30" in finding.text


def test_the_weeks_that_nobody_read(sample_farm):
    weeks = {one.finding.id for one in sample_farm.values() if one.finding.check == "not-reviewed"}
    assert weeks == {"not-reviewed:2025-12-22", "not-reviewed:2026-02-09"}


def test_the_twin_check_of_the_fridge(sample_farm):
    (finding,) = [one.finding for one in sample_farm.values() if one.finding.check == "twice"]
    assert "2026-02-03 12:00" in finding.text


@pytest.mark.parametrize(
    "items",
    [
        "M-001..M-003, TR-01..TR-03",
        "M-036..M-038, TR-36..TR-38, TR-42..TR-44",
        "M-042..M-044, TR-36, TR-40, TR-41",  # short-contact: dipped again ten minutes later
        "M-001, M-006, M-007, M-056, TR-37, TR-38, TR-41, TR-42",  # standing: corrected
        "M-026..M-028, M-033..M-035, TR-29..TR-31, TR-39..TR-41",  # late-washing: passes by late evidence
    ],
)
def test_loads_that_only_look_like_a_gap_are_not_named(sample_farm, items):
    load = {code for word in items.split(", ") for code in expand(word)}
    assert load not in [
        {code for code in codes if not code.startswith("E")} for codes in about(sample_farm, "not-clean")
    ]
