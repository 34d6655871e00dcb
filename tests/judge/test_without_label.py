"""No label, no clean break, unless a farm's own rules say otherwise; and what is ready to use goes by its label."""

from decimal import Decimal

import pytest
from tests.judge.memory import breaks, clean_book, degrees, of_kind, ppm, time

from lotwalk.judge import RuleSet

OWN = """
title: Ours
based_on: us
sanitising:
  without_label: {value: "yes", source: our county's sanitarian, confidence: practice}
"""


def unlabelled(**receipt):
    return clean_book(label_min=None, label_max=None, label_contact=None, **receipt)


def by_own_rules(tmp_path, **receipt):
    """A farm whose own rule set lets its numbers stand in for a label."""
    (tmp_path / "ours.yaml").write_text(OWN)
    book = unlabelled(**receipt)
    book.rules = RuleSet.load(str(tmp_path / "ours.yaml"))
    return book


ALL_WRITTEN = {"reading": ppm("110 ppm"), "ph": Decimal(8), "temperature": degrees("20 C")}


@pytest.mark.parametrize("rules", ["us", "general", "eu"])
@pytest.mark.parametrize("active", ["sodium hypochlorite", "quaternary ammonium", "iodine", "peroxyacetic acid"])
def test_without_a_label_nothing_is_a_clean_break_by_any_rule_set_that_ships(rules, active):
    """Ten seconds at 110 ppm would do by the Food Code's table for chlorine, which itself sends to the label."""
    book = unlabelled(active=active)
    book.rules = RuleSet.load(rules)
    verdict = book.verdict(book.dip("M-001", **ALL_WRITTEN))
    assert breaks(verdict) == [
        "No label numbers are on record for BL-1: "
        "write label_min and label_contact from its label on its receipt, or record its label."
    ]


def test_numbers_on_the_receipt_are_a_label():
    assert clean_book().verdict(clean_book().dip("M-001", **ALL_WRITTEN)).passed == ("M-001",)


def test_a_farms_own_rules_may_let_numbers_stand_in_for_a_label_and_the_verdict_names_them(tmp_path):
    book = by_own_rules(tmp_path)
    verdict = book.verdict(book.dip("M-001", **ALL_WRITTEN))
    assert verdict.passed == ("M-001",)
    assert of_kind(verdict, "note")[-1] == (
        "No label of BL-1 is on record: the numbers of the rule set Ours stand in for it (our county's sanitarian): "
        "record the label: it governs."
    )


@pytest.mark.parametrize(
    "source",
    [
        "US FDA Food Code 4-501.114 and 4-703.11, a model code for food establishments",
        "US FDA Food Code 4-501.114 and 4-703.11, where the state or county has adopted it",
    ],
)
def test_what_a_shipped_rule_set_once_allowed_counts_no_more(source):
    """A book keeps the text of its rule set, so an older book still holds that permission."""
    written = f"{{value: 'yes', source: '{source}', confidence: read}}"
    actives = RuleSet.load("us").text.partition("\nactives:\n")[2].partition("\nheat:\n")[0]
    book = unlabelled()
    book.rules = RuleSet.read(f"title: United States\nsanitising:\n  without_label: {written}\nactives:\n{actives}\n")
    assert book.verdict(book.dip("M-001", **ALL_WRITTEN)).failed == ("M-001",)
    book.rules = RuleSet.read(book.rules.text.replace(source, "our county"))
    assert book.verdict(book.dip("M-001", **ALL_WRITTEN)).passed == ("M-001",)


def test_a_label_that_is_only_named_is_a_label_whose_numbers_are_wanted(tmp_path):
    """Its registration is on the receipt, so there is one: no numbers stand in for it."""
    book = by_own_rules(tmp_path, registration="00-1234")
    verdict = book.verdict(book.dip("M-001", **ALL_WRITTEN))
    assert breaks(verdict)[0].startswith("No label numbers are on record for BL-1")


def test_without_label_numbers_those_of_the_rule_set_need_ph_and_temperature(tmp_path):
    book = by_own_rules(tmp_path)
    told = ALL_WRITTEN
    assert book.verdict(book.dip("M-001", **told)).passed == ("M-001",)
    for lacking in ("ph", "temperature"):
        verdict = book.verdict(book.dip("M-001", **{**told, lacking: None}))
        assert "is recorded, and the strength counts from 13 degC" in breaks(verdict)[0]


def test_without_label_numbers_a_product_unknown_to_the_rule_set_fails(tmp_path):
    book = by_own_rules(tmp_path, active="peroxyacetic acid")
    verdict = book.verdict(book.dip("M-001", reading=ppm("110 ppm"), ph=Decimal(7), temperature=degrees("20 C")))
    assert breaks(verdict) == [
        "No label numbers are on record for BL-1: "
        "write label_min and label_contact from its label on its receipt, or record its label."
    ]


@pytest.mark.parametrize("lacking", ["label_min", "label_contact"])
def test_half_a_label_is_no_label(lacking):
    book = clean_book(**{lacking: None})
    assert book.verdict(book.dip("M-001", reading=ppm("110 ppm"))).failed == ("M-001",)


def test_no_label_at_all_never_covers_a_porous_item():
    book = clean_book(label_min=None, label_max=None, label_contact=None)
    book.equipment("FELT-1", porous=True)
    book.washing("FELT-1")
    dip = book.dip("FELT-1", reading=ppm("110 ppm"), ph=Decimal(7), temperature=degrees("20 C"))
    assert book.verdict(dip).failed == ("FELT-1",)


# Ready to use


def test_a_ready_to_use_product_needs_its_contact_time_and_no_reading():
    book = clean_book(label_min=None, label_max=None)
    given = {"solution": "BL-1", "method": "ready to use"}
    assert book.verdict(book.dip("M-001", **given)).passed == ("M-001",)
    assert book.verdict(book.dip("M-001", contact=time("1 min"), **given)).failed == ("M-001",)


def test_a_mixed_solution_is_not_ready_to_use():
    book = clean_book()
    assert book.verdict(book.dip("M-001", method="ready to use")).failed == ("M-001",)


def test_an_unlabelled_product_is_not_ready_to_use():
    book = unlabelled()
    verdict = book.verdict(book.dip("M-001", solution="BL-1", method="ready to use"))
    assert breaks(verdict)[0].startswith("No label numbers are on record")
