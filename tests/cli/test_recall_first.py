"""The first screen of a recall: what to hold and whom to call before anybody knows the cause, and how much is in date.

The farm of these tests cut H-1 of T-1 and packed it as P-1, best before 17 March; CAFE got 500 g of it and complained,
SHOP got 300 g. H-2 was cut of T-2, which is of the same seed S-1, and nobody has sold any of it.
"""

import pytest


def first(lotwalk, *options):
    return lotwalk("recall", "Q-1", *options, "--format", "json").json["first"]


def words(lotwalk, *options):
    return " ".join(lotwalk("recall", "Q-1", *options).out.split())


def test_level_one_alone_is_held_and_called_by_and_level_two_is_told_in_a_line(lotwalk, ledger):
    found = first(lotwalk, "--on", "2026-03-15")
    assert (found["level"], found["found"]) == (1, [])
    assert set(found["lots"]) == {"T-1", "H-1", "P-1"}
    # Of H-1 100 g of 900 g are left; P-1 went out whole. Of S-1 some is left, and H-2 was never touched.
    assert {one["lot"] for one in found["holds"]} == {"H-1"}
    assert found["next_level"] == {"on_hand": 2, "deliveries_in_date": 0}
    assert "Level 2 adds 2 lots on hand and 0 deliveries in date to hold and call: --level 2" in words(lotwalk)
    wider = first(lotwalk, "--level", "2")
    assert {one["lot"] for one in wider["holds"]} == {"H-1", "H-2", "S-1"}
    assert first(lotwalk, "--ring", "2")["lots"] == wider["lots"], "the older spelling still works"


def test_what_a_cause_that_tested_positive_reached_is_held_at_whatever_level(lotwalk, ledger):
    """S-1 went into T-1 and T-2, so into H-2 as well."""
    found = ("--of", "S-1", "--test", "Salmonella", "--result", "detected in 25 g", "--by", "TO")
    assert lotwalk("record", "sample", *found, "--at", "2026-03-15 09:00").status == 0
    answer = first(lotwalk)
    assert answer["found"] == ["S-1"]
    assert {"S-1", "T-2", "H-2"} <= set(answer["lots"])
    assert {one["lot"] for one in answer["holds"]} == {"H-1", "H-2", "S-1"}
    assert "NONE ON HOLD (level 1, and all that S-1 reached)" in words(lotwalk)


@pytest.mark.parametrize(
    ("on", "in_date"),
    [("2026-03-17", {"CAFE": {"g": "500"}, "SHOP": {"g": "300"}}), ("2026-03-18", {"CAFE": {}, "SHOP": {}})],
)
def test_what_is_past_its_date_is_not_in_date(lotwalk, ledger, on, in_date):
    answer = first(lotwalk, "--on", on)
    assert [one["customer"] for one in answer["calls"]] == ["CAFE", "SHOP"]
    assert {one["customer"]: one["in_date"] for one in answer["calls"]} == in_date
    assert {one["customer"]: one["asked"] for one in answer["calls"]} == {"CAFE": {"g": "500"}, "SHOP": {"g": "300"}}
    assert answer["deliveries_in_date"]["1"] == (2 if on == "2026-03-17" else 0)


def test_what_has_no_date_counts_as_in_date_and_who_got_what_was_asked_about_comes_first(lotwalk, ledger):
    """H-2 is sold loose to YARD, who got more than anybody, and none of what was asked about."""
    assert lotwalk("record", "customer", "--code", "YARD", "--name", "The Yard", "--by", "TO").status == 0
    sold = ("--code", "D-3", "--customer", "YARD", "--items", "H-2 400 g", "--by", "TO", "--at", "2026-03-11 10:00")
    assert lotwalk("record", "delivery", *sold).status == 0
    answer = first(lotwalk, "--level", "2", "--on", "2026-04-01")
    assert [one["customer"] for one in answer["calls"]] == ["CAFE", "SHOP", "YARD"]
    yard = answer["calls"][-1]
    assert (yard["asked"], yard["in_date"], yard["deliveries_in_date"]) == ({}, {"g": "400"}, 1)


def test_why_stands_behind_options(lotwalk, ledger):
    shown = words(lotwalk)
    assert "lotwalk report recall Q-1" in shown
    assert "not say that any food is safe" not in shown
    assert "Nothing here says that food is safe" in shown
    assert "Link" not in shown
    assert "By contact: it came near them" in words(lotwalk, "--causes")
    assert "Affected lots in it" in words(lotwalk, "--lots")
    assert "Fisher" in words(lotwalk, "--statistics")
    everything = words(lotwalk, "--all")
    assert all(part in everything for part in ("By contact", "Affected lots in it", "Whom to call"))


def test_a_day_that_is_none_is_told(lotwalk, ledger):
    done = lotwalk("recall", "Q-1", "--on", "soon")
    assert done.status == 2
    assert "soon" in done.err
