from zoneinfo import ZoneInfo

from lotwalk.values.codes import check_code, expand
from lotwalk.values.text import Fields, Listing, Text, line_of, plain
from lotwalk.values.times import read_date, read_when
from lotwalk.values.units import Units


def test_a_text_is_equal_to_the_plain_string_and_finds_it_in_a_mapping():
    text = Text("M-001", 7)
    assert text == "M-001"
    assert {"M-001": "found"}[text] == "found"
    assert line_of(text) == 7


def test_what_has_no_line_has_line_nought():
    assert line_of("M-001") == line_of({}) == line_of([]) == line_of(Text("x")) == line_of(Fields()) == 0


def test_plain_leaves_builtin_types_at_every_depth():
    value = Fields({"seed": Listing([Fields({"lot": Text("S-1", 3)}, line=3)], line=3), "by": Text("TO", 2)}, line=1)
    stripped = plain(value)
    assert stripped == {"seed": [{"lot": "S-1"}], "by": "TO"}
    assert type(stripped) is dict
    assert type(stripped["seed"]) is list
    assert type(stripped["seed"][0]) is dict
    assert type(stripped["seed"][0]["lot"]) is type(stripped["by"]) is str


def test_reading_a_text_with_a_line_leaves_builtin_strings():
    read = [check_code(Text("M-001", 3)), *expand(Text("M-001", 3)), *expand(Text("M-001..M-002", 3))]
    read += [Units.load("us").read(Text("2 lb", 3), ["mass"]).written]
    read += [read_when(Text("2026-03-02 09:10", 3), ZoneInfo("UTC")).written, read_date(Text("2026-03-02", 3))]
    assert {type(text) for text in read} == {str}
