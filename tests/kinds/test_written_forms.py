"""One thing can be written in several ways, and each is read as the same."""

import datetime
from decimal import Decimal
from pathlib import Path

import pytest

from lotwalk.values.text import Fields, Listing, Text


@pytest.mark.parametrize(
    "items",
    [
        "M-001..M-003, M-030",
        ["M-001..M-003", "M-030"],
        ["M-001", "M-002", "M-003", "M-030"],
        "M-001,M-002,M-003,M-030",
        ("M-001", "M-002", "M-003", "M-030"),
    ],
)
def test_codes_are_a_list_or_a_text_with_commas_and_ranges(read, items):
    washing = read("washing", items=items, method="brushed")
    assert washing.values["items"] == ["M-001", "M-002", "M-003", "M-030"]
    assert washing.mentions[1].codes == ("M-001", "M-002", "M-003", "M-030")


@pytest.mark.parametrize(
    "seed",
    [
        [{"lot": "S-1", "amount": "200 g"}, {"lot": "S-2", "amount": "150 g"}],
        ["S-1 200 g", "S-2 150 g"],
        [{"lot": "S-1", "amount": "200 g"}, "S-2   150 g"],
        "S-1 200 g, S-2 150 g",
    ],
)
def test_rows_are_mappings_or_short_text(read, seed):
    sowing = read("sowing", batch="T-1", seed=seed, trays="6")
    assert [(row["lot"], row["amount"].value) for row in sowing.values["seed"]] == [("S-1", 200), ("S-2", 150)]
    assert [mention.path for mention in sowing.mentions if mention.field.name == "lot"] == [
        "seed[0].lot",
        "seed[1].lot",
    ]


def test_one_row_may_stand_alone(read):
    alone = read("sowing", batch="T-1", seed={"lot": "S-1", "amount": "200 g"}, trays=6)
    listed = read("sowing", batch="T-1", seed=[{"lot": "S-1", "amount": "200 g"}], trays=6)
    assert alone.values["seed"] == listed.values["seed"]
    assert read("sowing", batch="T-1", seed="S-1", trays=6).values["seed"] == [{"lot": "S-1"}]


def test_bare_codes_of_rows_may_be_a_range(read):
    harvest = read("harvest", lot="H-1", **{"from": "T-14..T-16"}, amount="1 kg", cut="above the medium")
    assert [row["batch"] for row in harvest.values["from"]] == ["T-14", "T-15", "T-16"]


@pytest.mark.parametrize(
    ("trays", "expected"),
    [
        ("6", 6),
        ("6 trays", 6),
        (6, 6),
        ("M-001..M-003", ["M-001", "M-002", "M-003"]),
        (["12", "13"], ["12", "13"]),
        ("12A", ["12A"]),
    ],
)
def test_trays_are_a_count_or_codes(read, trays, expected):
    row = {"batch": "T-1", "trays": trays}
    harvest = read("harvest", lot="H-1", **{"from": row}, amount="1 kg", cut="with roots")
    assert harvest.values["from"] == [{"batch": "T-1", "trays": expected}]


@pytest.mark.parametrize(("written", "expected"), [("yes", True), ("No", False), ("TRUE", True), ("n", False)])
def test_yes_and_no(read, written, expected):
    assert read("washing", items="M-1", method="brushed", seen_clean=written).values["seen_clean"] is expected


@pytest.mark.parametrize("written", ["cold store ", "Ready  to Use", "HEAT"])
def test_choices_may_be_cased_otherwise(read, written):
    if written.startswith("cold"):
        assert read("place", code="C", name="store", use=written).values["use"] == written  # not a choice: free words
    else:
        method = read("sanitising", items="M-1", contact="30 s", method=written).values["method"]
        assert method in ("ready to use", "heat")


def test_several_words(read):
    water = {"code": "W", "name": "well", "type": "ground"}
    for used_for in ("harvest, Hands", ["harvest", "hands"]):
        assert read("water-source", **water, used_for=used_for).values["used_for"] == ["harvest", "hands"]


def test_a_reading_may_be_a_range(read):
    low, high = read("solution-check", solution="SOL-1", reading="50-100 ppm").values["reading"]
    assert (low.value, high.value, low.unit) == (50, 100, "mg/L")
    low, high = read("solution-check", solution="SOL-1", reading="110 ppm").values["reading"]
    assert low.value == high.value == 110


@pytest.mark.parametrize(
    ("written", "low", "high"), [("6.5-7.5", "6.5", "7.5"), ("6.5 to 8", "6.5", "8"), ("7", "7", "7")]
)
def test_numbers_without_a_unit_may_be_a_range(read, written, low, high):
    uses = read("label", code="L-1", product="Bleach", uses={"use": "tools", "ph": written}).values["uses"]
    assert uses[0]["ph"] == (Decimal(low), Decimal(high))


def test_none_says_that_nothing_was_used_and_silence_says_nothing(read):
    sowing = {"batch": "T-1", "seed": "S-1", "trays": 6}
    assert read("sowing", **sowing).silent == ("equipment", "water")
    told = read("sowing", **sowing, water="None", equipment=["none"])
    assert told.silent == ()
    assert told.values["water"] == told.values["equipment"] == []
    assert {mention.path for mention in told.mentions} == {"by", "batch", "seed[0].lot"}


def test_names_of_entries_and_findings(read):
    action = read("corrective-action", about="e9..e11, MAINS, 3f9c", cause="pipe", action="mended")
    assert action.values["about"] == ["E9", "E10", "E11", "MAINS", "3f9c"]


def test_python_values_stand_for_what_a_person_writes(read):
    spoken = read(
        "supplies-receipt",
        at=datetime.datetime(2026, 3, 2, 9, 10),
        by=("TO", "AK"),
        lot="BL-1",
        product="Bleach",
        type="sanitiser",
        expires=datetime.date(2027, 3, 31),
        note=None,
        files=Path("a.pdf"),
    )
    written = read(
        "supplies-receipt",
        at="2026-03-02 09:10",
        by="TO, AK",
        lot="BL-1",
        product="Bleach",
        type="sanitiser",
        expires="2027-03-31",
        files="a.pdf",
    )
    assert (spoken.at, spoken.by, spoken.values, spoken.files) == (
        written.at,
        written.by,
        written.values,
        written.files,
    )
    assert read("solution-check", solution="S", reading="1 ppm", ph=Decimal("7.20")).fields["ph"] == "7.20"
    assert read("solution-check", solution="S", reading="1 ppm", ph=7.2).values["ph"] == Decimal("7.2")
    assert read("washing", items="M-1", method="brushed", seen_clean=True).fields["seen_clean"] == "yes"


def test_a_time_with_an_offset_in_python(read):
    zone = datetime.timezone(datetime.timedelta(hours=2))
    moment = datetime.datetime(2026, 3, 2, 11, 10, tzinfo=zone)
    assert read("hold", at=moment, lots="P-1", reason="x").at.start == read("hold", lots="P-1", reason="x").at.start


def test_what_was_written_is_kept_in_plain_types(read):
    entry = Fields({"items": Listing([Text("M-1", 3), Text("M-2", 4)], line=3), "method": Text("brushed", 5)}, line=2)
    checked = read("washing", **entry)
    assert checked.fields == {"items": ["M-1", "M-2"], "method": "brushed"}
    assert type(checked.fields["items"]) is list
    assert {type(text) for text in [*checked.fields["items"], checked.fields["method"]]} == {str}


def test_a_mention_knows_its_line(kinds, setting):
    from lotwalk.kinds.check import check

    entry = Fields(
        {
            "at": Text("2026-03-02", 2),
            "by": Text("TO", 3),
            "items": Text("M-1", 4),
            "method": Text("brushed", 5),
        },
        line=2,
    )
    checked = check(kinds["washing"], entry, setting, kinds)
    assert checked.line == 2
    assert {mention.path: mention.line for mention in checked.mentions} == {"by": 3, "items": 4}
