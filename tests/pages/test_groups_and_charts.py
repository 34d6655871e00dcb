"""Groups, charts, limits and what a verdict rests on, as a log prints them."""

import re
from itertools import pairwise

import pytest

from lotwalk.pages.rows.sections import natural

READINGS = {"2026-03-02 08:00": "3 degC", "2026-03-02 12:00": "9.5 degC", "2026-03-03 08:00": "4 degC"}


def test_a_separate_washing_that_counted_is_named(farm):
    washing = farm.wash(at="2026-03-02 09:00")
    farm.dip(at="2026-03-02 09:10", washed=None)
    assert f"Washed first: yes, E{washing}" in farm.print().text


def test_a_washing_that_was_doubted_is_not_named_as_one_that_counted(farm):
    washing = farm.wash(at="2026-03-02 09:00", items="M-001")
    farm.wash(at="2026-03-02 09:05", items="M-001", seen_clean=False)
    farm.dip(at="2026-03-02 09:10", items="M-001", washed=None)
    assert f"yes, E{washing}" not in farm.print().text


def test_by_item_each_item_has_its_own_rows_and_its_own_verdict(farm):
    farm.wash(at="2026-03-02 09:00", items="M-001, M-002")
    number = farm.dip(at="2026-03-02 09:10", washed=None, items="M-001..M-003")
    pdf = farm.print(definition=farm.definition("sanitising-by-item"))
    groups = re.split(r"(M-00\d): \d entr(?:y|ies)", pdf.text)
    rows = dict(zip(groups[1::2], groups[2::2], strict=True))
    assert set(rows) == {"M-001", "M-002", "M-003"}
    assert all(f"E{number}" in text for text in rows.values())
    assert "Counts as sanitised" in rows["M-002"]
    assert "! Does not count" not in rows["M-002"]
    assert "! Does not count" in rows["M-003"]
    assert pdf.summary.entries == 2, "an entry that stands under several items counts once"


def test_by_day_each_day_stands_over_its_entries(farm):
    farm.at("2026-03-04 20:00")
    first, second = farm.wash(at="2026-03-02 09:00"), farm.wash(at="2026-03-04 09:00")
    text = farm.print(definition=farm.definition("sanitising-by-day")).text
    days = ["2026-03-02, Monday: 1 entry", f"E{first} ", "2026-03-04, Wednesday: 1 entry", f"E{second} "]
    assert sorted(days, key=text.index) == days


def test_codes_are_ordered_as_people_count():
    codes = ["M-10", "M-9", "TR-1", "M-009A", "M-1"]
    assert sorted(codes, key=natural) == ["M-1", "M-9", "M-009A", "M-10", "TR-1"]


@pytest.fixture
def cold(farm):
    farm.at("2026-03-03 20:00")
    farm.record("place", at="2026-03-01 08:00", code="COLD-1", name="cold room", use="cold store")
    for at, temperature in READINGS.items():
        farm.record("storage-check", at=at, where="COLD-1", temperature=temperature)
    return farm


def test_a_warm_reading_stands_out_in_the_row_and_in_the_chart(cold):
    """The limit is the rule set's 5 degC (US FDA Food Code 3-501.16)."""
    pdf = cold.print(definition=cold.definition("cold-storage"))
    assert {font.rpartition("-")[2] for font in pdf.fonts_of("! 9.5 degC")} == {"Bold"}
    assert "! 4 degC" not in pdf.text
    assert pdf.summary.out == 1
    assert "COLD-1 (cold room): temperature" in pdf.text
    assert "Limit: 41 °F, written as 5 degC" in pdf.text
    assert "the rule set's limit is 5 degC (US FDA Food Code 3-202.11" in pdf.text


def _marks(pdf) -> dict[str, int]:
    """What is drawn on the first page: dots (filled circles), crosses and triangles, told by their outlines."""
    from pypdf.generic import ContentStream

    operations = ContentStream(pdf.reader.pages[0].get_contents(), pdf.reader).operations
    names = [operator for _, operator in operations]
    curves = names.count(b"c")
    closed = sum(1 for one, two in pairwise(names) if one == b"h" and two == b"S")
    slanted = 0
    start = (0.0, 0.0)
    for operands, operator in operations:
        if operator == b"m":
            start = (float(operands[0]), float(operands[1]))
        elif operator == b"l":
            across, up = abs(float(operands[0]) - start[0]), abs(float(operands[1]) - start[1])
            slanted += abs(across - up) < 0.01 and across > 2
    return {"dots": curves // 4, "crosses": slanted // 2, "triangles": closed}


def test_readings_in_and_out_of_limits_differ_by_shape(cold):
    marks = _marks(cold.print(definition=cold.definition("cold-storage")))
    assert (marks["dots"], marks["crosses"]) == (2, 1)


def test_what_was_not_found_is_drawn_as_such_and_what_was_found_as_a_cross(farm):
    farm.at("2026-03-20 20:00")
    for at, words in (("03-02", "<1 MPN/100 mL"), ("03-09", "12 MPN/100 mL"), ("03-16", "not detected in 100 mL")):
        farm.record("water-test", at=f"2026-{at} 08:00", source="MAINS", e_coli=words)
    pdf = farm.print("2026-03-01", "2026-03-31", definition=farm.definition("water-tests"))
    marks = _marks(pdf)
    assert (marks["triangles"], marks["crosses"], marks["dots"]) == (2, 1, 0)
    assert "Limit: none found in 100 mL" in pdf.text
    assert pdf.pages[0].count("12 MPN/100 mL") == 3, "in the chart, in the row, and in what the book says of it"


def test_a_log_without_readings_has_no_chart(farm):
    assert "Limit: none found" not in farm.print(definition=farm.definition("water-tests")).text


def test_wash_water_outside_the_range_stands_out(farm):
    """50-200 ppm and pH 6.5-7.5 are the rule set's (public guidance on chlorinated wash water)."""
    farm.record("supplier", at="2026-03-01 08:00", code="SEEDS", name="Seeds")
    more = {"by": "TO"}
    for kind, fields in (
        ("seed-receipt", {"lot": "S-1", "crop": "radish", "supplier": "SEEDS", "supplier_lot": "A", "amount": "2 kg"}),
        ("sowing", {"batch": "T-1", "seed": "S-1 100 g", "trays": "2"}),
        ("harvest", {"lot": "H-1", "from": "T-1 2", "amount": "300 g", "cut": "above the medium"}),
        ("packing", {"lot": "P-1", "from": "H-1 100 g", "packs": "2", "reading": "40 ppm", "ph": "7.0"}),
        ("packing", {"lot": "P-2", "from": "H-1 100 g", "packs": "2", "reading": "80-210 ppm", "ph": "7.9"}),
        ("packing", {"lot": "P-3", "from": "H-1 100 g", "packs": "2", "reading": "80 ppm", "ph": "7.5"}),
    ):
        farm.record(kind, at="2026-03-02 10:00", **more, **fields)
    pdf = farm.print(definition=farm.definition("packing"))
    for words in ("! 40 ppm", "! 80-210 ppm", "! 7.9"):
        assert words in pdf.text
    for words in ("! 80 ppm", "! 7.5", "! 7.0"):
        assert words not in pdf.text
    assert pdf.summary.out == 2


def test_a_register_shows_what_was_recorded_before_the_period_and_in_order(farm):
    pdf = farm.print("2026-06-01", "2026-06-30", definition=farm.definition("register"))
    people = pdf.text.partition("People")[2]
    assert people.index("AK") < people.index("TO")
    assert "Mill Lane Greens" in pdf.text
    assert "M-001..M-024" in pdf.text


def test_rows_are_followed_to_what_they_name(farm):
    """The crop in the harvest log stands in the seed's own record, three steps away, however the rows were written."""
    farm.record("supplier", at="2026-03-01 08:00", code="SEEDS", name="Seeds")
    receipt = {"supplier": "SEEDS", "supplier_lot": "A", "amount": "2 kg"}
    farm.record("seed-receipt", at="2026-03-02 10:00", lot="S-1", crop="radish", **receipt)
    farm.record("seed-receipt", at="2026-03-02 10:00", lot="S-2", crop="amaranth", **receipt)
    farm.record("sowing", at="2026-03-02 11:00", batch="T-1", seed="S-1 100 g", trays="2")
    farm.record("sowing", at="2026-03-02 11:00", batch="T-2", seed=[{"lot": "S-2", "amount": "9 g"}], trays="2")
    for number, rows in enumerate(("T-1 1", "T-2", [{"batch": "T-2"}]), 1):
        fields = {"lot": f"H-{number}", "from": rows, "amount": "300 g", "cut": "above the medium"}
        farm.record("harvest", at=f"2026-03-02 1{number}:30", **fields)
    text = farm.print(definition=farm.definition("harvest")).text
    assert [text.count(crop) for crop in ("radish", "amaranth")] == [1, 2]
