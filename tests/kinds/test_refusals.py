"""What cannot be understood is refused, all of it at once, with words that help."""

import pytest

from lotwalk.errors import NotUnderstood, Refused
from lotwalk.kinds.check import check
from lotwalk.values.text import Fields, Listing, Text

WASH = {"items": "M-1", "method": "brushed"}


def test_a_slip_in_a_field_name_is_answered_with_the_right_one(refusal):
    (problem,) = refusal("sanitising", items="M-1", contact="2 min", reding="110 ppm")
    assert "`reding`" in problem
    assert "reading" in problem


def test_a_far_fetched_field_name_is_answered_with_all_names(refusal):
    (problem,) = refusal("hold", lots="P-1", reason="x", zzz="1")
    assert "at, by, place, lots, instead_of, reason, note, files" in problem


def test_missing_fields_are_named_with_what_they_hold(refusal):
    assert refusal("washing", items="M-1") == [
        "method: missing; expected how, such as scraped and brushed under running water"
    ]


def test_nobody_signed(kinds, setting):
    with pytest.raises(Refused) as caught:
        check(kinds["washing"], {"at": "2026-03-02"} | WASH, setting, kinds)
    assert [problem.field for problem in caught.value.problems] == ["by"]


def test_everything_wrong_is_told_at_once_each_with_its_line(kinds, setting):
    entry = Fields(
        {
            "kind": Text("harvest", 1),
            "at": Text("yesterday", 2),
            "by": Listing([Text("TO", 3), Text("to", 4)], line=3),
            "lot": Text("H 1", 5),
            "from": Listing([Fields({"batch": Text("T-1", 6), "tray": Text("3", 7)}, line=6)], line=6),
            "amount": Text("12", 8),
        },
        line=1,
    )
    with pytest.raises(Refused) as caught:
        check(kinds["harvest"], entry, setting, kinds)
    assert {problem.field: problem.line for problem in caught.value.problems} == {
        "at": 2,
        "by": 3,
        "lot": 5,
        "from[0]": 7,
        "amount": 8,
        "cut": 1,
    }


@pytest.mark.parametrize("items", ["M-003, M-001..M-005", ["M-1", "m-1"], ["M-1..M-3", "M-2"]])
def test_a_code_named_twice_is_refused(refusal, items):
    (problem,) = refusal("washing", items=items, method="brushed")
    assert "named twice" in problem


@pytest.mark.parametrize("field", ["items", "by", "place"])
def test_none_is_no_code_where_nothing_is_assumed(refusal, field):
    (problem,) = refusal("washing", **WASH | {field: "none"})
    assert problem.startswith(f"{field}: `none`")


@pytest.mark.parametrize(
    ("kind", "field", "value", "says"),
    [
        ("washing", "items", "", "nothing is written"),
        ("washing", "items", [], "at least 1"),
        ("washing", "items", ["M-1", ["M-2"]], "a list stands inside"),
        ("washing", "items", {"M-1": "M-2"}, "a mapping stands here"),
        ("washing", "method", ["scraped"], "a list stands here"),
        ("washing", "method", "  ", "nothing is written"),
        ("washing", "method", "a\x00b", "NUL"),
        ("washing", "method", "a\ud800b", "half a character"),
        ("washing", "method", object(), "cannot be written down"),
        ("washing", "seen_clean", "maybe", "yes or no"),
        ("sanitising", "contact", "2", "unit"),
        ("sanitising", "contact", "2 ppm", "time"),
        ("sanitising", "reading", "110", "unit"),
        ("sanitising", "ph", "7,2", "plain number"),
        ("sanitising", "ph", "NaN", "plain number"),
        ("sanitising", "ph", float("inf"), "plain number"),
        ("sanitising", "method", "heet", "heat, or another of"),
        ("sanitising", "solution", "SOL-1, SOL-2", "one code"),
        ("sowing", "trays", "2.5", "whole number"),
        ("sowing", "trays", "6 kg", "count"),
        ("sowing", "seed", [["S-1"]], "a list stands inside"),
        ("sowing", "seed", "S-1 200 g,", "comma"),
        ("sowing", "seed", {}, "lot: missing"),
        ("label", "uses", "food contact", "a mapping"),
        ("water-source", "used_for", "harvest, laundry", "laundry"),
        ("water-source", "used_for", "harvest,,hands", "comma"),
        ("product", "gtin", "1234", "digits"),
        ("review", "entries", "M-1..M-9999999", "not equally long"),
    ],
)
def test_a_bad_value_is_refused_in_words(refusal, entries, kind, field, value, says):
    (problem,) = refusal(**entries[kind] | {field: value})
    assert problem.startswith(field)
    assert says in problem


def test_a_review_needs_entries_or_both_dates(refusal, read):
    assert refusal("review", **{"from": "2026-03-02"}) == ["entries or from and until must be given"]
    read("review", **{"from": "2026-03-02"}, until="2026-03-03")
    read("review", entries="E1")


def test_an_unknown_kind_is_answered_with_a_close_one(kinds):
    with pytest.raises(NotUnderstood, match="washing"):
        kinds["wasing"]
    with pytest.raises(NotUnderstood, match="seed-receipt"):
        kinds["Seed receipt"]
    with pytest.raises(NotUnderstood, match=r"one of calibration, certificate"):
        kinds["zzz"]


@pytest.mark.parametrize(
    ("kind", "fields", "told"),
    [
        ("sanitising", {"items": "M-1", "contact": "2 min", "ph": "99"},
         "`99` cannot be: pH is at least 0 and at most 14"),
        ("water-check", {"source": "W", "ph": "-1"}, "`-1` cannot be: pH is at least 0 and at most 14"),
        ("solution", {"lot": "S", "product": "B", "volume": "9 L", "ph": "14.1"}, "`14.1` cannot be"),
        ("supplies-receipt", {"lot": "B", "product": "x", "type": "sanitiser", "gravity": "11"}, "`11` cannot be"),
        ("supplies-receipt", {"lot": "B", "product": "x", "type": "sanitiser", "strength": "950 %"},
         "there is no percent of 950 %"),
        ("complaint", {"code": "Q", "customer": "C", "type": "other", "description": "x", "from": "2026-03-09",
                       "until": "2026-03-02"},
         "until: 2026-03-02 is before `from`; expected 2026-03-09 or a later day"),
        ("review", {"from": "2026-03-09", "until": "2026-03-08"}, "until: 2026-03-08 is before `from`"),
        ("certificate", {"number": "N", "type": "water", "covers": "W", "issued": "2027-01-01",
                         "expires": "2026-01-01"},
         "expires: 2026-01-01 is before `issued`"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(refusal, kind, fields, told):
    (problem,) = refusal(kind, **fields)
    assert told in problem


def test_bounds_take_in_their_ends_and_one_day_may_be_both(read):
    assert read("water-check", source="W", ph="0")
    assert read("water-check", source="W", ph="14")
    assert read("review", **{"from": "2026-03-08", "until": "2026-03-08"})
