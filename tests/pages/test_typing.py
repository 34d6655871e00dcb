"""Each log says how it came into the book, by whom, and where the slips are kept."""

from lotwalk.sheets.reader import read_sheet

SHEET = """
common: {by: TO}
entries:
- {kind: washing, at: 2026-03-02 09:00, items: M-001, method: brushed}
- {kind: washing, at: 2026-03-02 10:00, items: M-002, method: brushed}
"""


def test_a_log_says_what_was_typed_from_slips_when_and_by_whom(farm):
    farm.at("2026-03-02 18:00").book.load(read_sheet(SHEET, "slips.yaml"), typed_by="AK")
    farm.at("2026-03-02 19:30").book.record("washing", at="2026-03-02 19:00", by="TO", items="M-003", method="brushed")
    text = farm.print("2026-03-02", "2026-03-02").text
    assert "2 of 3 entries were typed in sheets from slips or forms" in text
    assert "recorded 2026-03-02 18:00 to 2026-03-02 19:30. Typed by: nobody named 1, AK 2." in text
    assert "The slips are kept: not written." in text


def test_the_place_of_the_slips_is_told_where_the_book_knows_it(start):
    farm = start(slips="office, box file 2026")
    farm.record("washing", at="2026-03-02 19:00", items="M-003", method="brushed")
    assert "The slips are kept: office, box file 2026." in farm.print().text
