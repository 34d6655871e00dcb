"""When a water test lets its source start afresh."""

import pytest
from tests.judge.memory import Book, breaks, of_kind

from lotwalk.judge import RuleSet


def well(**values):
    book = Book()
    book.water(used_for=["harvest", "surfaces", "hands"], **values)
    return book


@pytest.mark.parametrize(
    ("result", "passes"),
    [
        ("<1 MPN/100 mL", True),
        ("<1.1 MPN/100 mL", True),
        ("not detected in 100 mL", True),
        ("absent in 250 mL", True),
        ("0 CFU/100 mL", True),
        ("<1.8 MPN/100 mL", False),
        ("<10 CFU/100 mL", False),
        ("<1 CFU/mL", False),
        ("not detected in 10 mL", False),
        ("ND", False),
        ("absent", False),
        ("<1", False),
        ("1 MPN/100 mL", False),
        (">2419.6 MPN/100 mL", False),
        ("TNTC", False),
        ("see report", False),
    ],
)
def test_none_may_be_found_in_the_rule_sets_volume(result, passes):
    book = well()
    verdict = book.water_verdict(book.test("2026-03-02", result))
    assert (verdict.passed == ("WELL",)) is passes
    assert bool(breaks(verdict)) is not passes


@pytest.mark.parametrize("result", ["not detected in 100 mL", "not detected"])
def test_under_a_rule_set_that_names_no_volume_no_test_passes(result):
    book = Book(RuleSet.read("title: Ours\nwater: {none_is_below: {value: 1 CFU/100 mL, confidence: practice}}\n"))
    book.water()
    verdict = book.water_verdict(book.test("2026-03-02", result))
    assert breaks(verdict) == ["The rule set names no volume for water tests: name a rule set that does."]


def test_each_failure_says_what_to_do():
    book = well()
    assert "write the volume that the laboratory tested" in breaks(book.water_verdict(book.test("2026-03-02", "ND")))[0]
    assert "stop using WELL for harvest" in breaks(book.water_verdict(book.test("2026-03-02", "TNTC")))[0]


def test_coliforms_alone_are_a_note():
    book = well()
    verdict = book.water_verdict(book.test("2026-03-02", "<1 MPN/100 mL", coliforms="12 MPN/100 mL"))
    assert verdict.passed == ("WELL",)
    assert of_kind(verdict, "note")[0].startswith("Coliforms were found in WELL: 12 MPN/100 mL")


@pytest.mark.parametrize(
    ("source", "passes"),
    [
        ({"type": "surface", "used_for": ["harvest"]}, False),
        ({"type": "surface", "used_for": ["growing", "hands"]}, False),
        ({"type": "surface", "used_for": ["growing"]}, True),
        ({"type": "surface"}, False),
        ({"type": "surface", "used_for": ["harvest"], "treatment": "ultraviolet"}, True),
        ({"type": "surface", "used_for": ["harvest"], "treatment": "none"}, False),
        ({"type": "ground", "used_for": ["harvest"]}, True),
    ],
)
def test_untreated_surface_water_never_passes_for_harvest_surfaces_or_hands(source, passes):
    book = Book()
    book.water(**source)
    verdict = book.water_verdict(book.test("2026-03-02", "<1 MPN/100 mL"))
    assert (verdict.passed == ("WELL",)) is passes


def test_after_a_failure_a_good_test_passes_only_with_a_closed_corrective_action():
    book = well()
    failure, retest = book.test("2026-03-02", "5 MPN/100 mL"), book.test("2026-03-05", "<1 MPN/100 mL")
    verdict = book.water_verdict(retest)
    assert verdict.failed == ("WELL",)
    assert f"record what was mended as a corrective action about {failure.name}" in breaks(verdict)[0]
    action = book.mended("2026-03-04", f"{failure.name}")
    verdict = book.water_verdict(retest)
    assert verdict.passed == ("WELL",)
    assert {failure.number, action.number} <= set(verdict.evidence)


def test_an_action_about_the_source_counts_unless_it_is_older_than_the_failure():
    book = well()
    book.mended("2026-02-01", "WELL")
    book.test("2026-03-02", "5 MPN/100 mL")
    retest = book.test("2026-03-05", "<1 MPN/100 mL")
    assert book.water_verdict(retest).failed == ("WELL",)
    book.mended("2026-03-04", "WELL")
    assert book.water_verdict(retest).passed == ("WELL",)


def test_further_good_tests_do_not_close_a_failure_by_themselves():
    book = well()
    failure = book.test("2026-03-02", "5 MPN/100 mL")
    for day in ("05", "06", "07"):
        assert book.water_verdict(book.test(f"2026-03-{day}", "<1 MPN/100 mL")).failed == ("WELL",)
    book.mended("2026-03-04", f"{failure.name}")
    later = book.test("2026-03-08", "<1 MPN/100 mL")
    assert book.water_verdict(later).passed == ("WELL",)


def test_each_failure_needs_its_own_mending():
    book = well()
    first = book.test("2026-03-02", "5 MPN/100 mL")
    book.mended("2026-03-03", f"{first.name}")
    second = book.test("2026-03-04", "2 MPN/100 mL")
    retest = book.test("2026-03-05", "<1 MPN/100 mL")
    assert f"({second.name})" in breaks(book.water_verdict(retest))[0]


def test_a_failure_that_was_mended_and_passed_is_closed_for_good():
    book = well()
    failure = book.test("2026-03-02", "5 MPN/100 mL")
    action = book.mended("2026-03-04", f"{failure.name}")
    book.test("2026-03-05", "<1 MPN/100 mL")
    year_later = book.water_verdict(book.test("2027-03-05", "<1 MPN/100 mL"))
    assert year_later.passed == ("WELL",)
    assert action.number not in year_later.evidence


def test_an_earlier_failure_that_arrives_late_counts():
    book = well()
    good = book.test("2026-03-05", "<1 MPN/100 mL")
    assert book.water_verdict(good).passed == ("WELL",)
    book.test("2026-03-02", "5 MPN/100 mL")
    assert book.water_verdict(good).failed == ("WELL",)


def test_a_later_failure_leaves_an_earlier_test_as_it_was():
    book = well()
    good = book.test("2026-03-05", "<1 MPN/100 mL")
    book.test("2026-03-09", "5 MPN/100 mL")
    assert book.water_verdict(good).passed == ("WELL",)


@pytest.mark.parametrize("other", ["2026-03-05 08:00", "2026-03-05 16:00", "2026-03-05"])
def test_of_samples_on_one_day_the_worst_counts(other):
    book = well()
    good = book.test("2026-03-05 12:00", "<1 MPN/100 mL")
    failure = book.test(other, "5 MPN/100 mL")
    book.mended("2026-03-05 13:00", f"{failure.name}")
    assert "the worst counts" in breaks(book.water_verdict(good))[0]


def test_a_failure_of_another_source_does_not_matter():
    book = well()
    book.water("MAINS", type="municipal")
    book.test("2026-03-02", "5 MPN/100 mL", "MAINS")
    assert book.water_verdict(book.test("2026-03-05", "<1 MPN/100 mL")).passed == ("WELL",)


def test_an_earlier_result_that_cannot_be_read_is_taken_for_a_failure():
    book = well()
    book.test("2026-03-02", "see the paper")
    assert book.water_verdict(book.test("2026-03-05", "<1 MPN/100 mL")).failed == ("WELL",)


def test_an_earlier_result_without_its_volume_is_neither_pass_nor_failure():
    book = well()
    book.test("2026-03-02", "ND")
    assert book.water_verdict(book.test("2026-03-05", "<1 MPN/100 mL")).passed == ("WELL",)


def test_a_sample_of_several_days_passes_nothing():
    book = well()
    assert book.water_verdict(book.test("2026-03-02..2026-03-05", "<1 MPN/100 mL")).failed == ("WELL",)
