"""What stands on every page around the rows, and what the file says of itself."""

import re
import time

import pytest

from lotwalk.errors import NotUnderstood


@pytest.fixture
def long_log(farm):
    farm.at("2026-03-20 20:00")
    farm.book.record_all(
        [
            {
                "kind": "washing",
                "at": f"2026-03-{day:02d} {hour:02d}:00",
                "by": "TO",
                "items": "M-001",
                "method": "brush",
            }
            for day in range(2, 20)
            for hour in (9, 10, 11)
        ]
    )
    return farm


def test_every_page_says_whose_log_it_is_and_what_it_rests_on(long_log):
    pdf = long_log.print("2026-03-01", "2026-03-31")
    ledger = long_log.book.ledger
    with ledger.reading() as connection:
        head, settings = ledger.head(connection), ledger.settings(connection)
    assert len(pdf.pages) > 3
    for number, page in enumerate(pdf.pages, 1):
        text = " ".join(page.split())
        for words in (
            "Washing and sanitising log",
            "Mill Lane Greens, 12 Mill Lane, Hudson",
            "Period: 2026-03-01 to 2026-03-31. Times: UTC.",
            f"us (United States), {settings.rules_digest[:8]}",
            "Printed 2026-03-20 20:00",
            f"Page {number} of {len(pdf.pages)}",
            "Reviewed by Date Name Signature",
            f"Ledger head: size {head.size}, root {head.root.hex()}",
        ):
            assert words in text


def test_every_page_carries_the_cautions(long_log):
    for page in long_log.print().pages:
        text = " ".join(page.split())
        for words in (
            "only as its label says",
            "gloves",
            "aired",
            "Never mix a chlorine product with an acid or with ammonia",
            "The local regulator, the product label and licensed advice decide.",
        ):
            assert words in text


def test_no_page_says_that_anything_is_safe(long_log):
    long_log.dip(at="2026-03-19 12:00")
    text = long_log.print().text
    sentences = [sentence for sentence in re.split(r"[.;]", text) if re.search(r"\bsafe\b", sentence)]
    assert sentences
    assert all(re.search(r"\b(not|no)\b", sentence) for sentence in sentences)


def test_the_columns_titles_stand_on_every_page_that_has_rows(long_log):
    pdf = long_log.print()
    with_rows = [page for page in pdf.pages if re.search(r"E\d+\n", page)]
    assert len(with_rows) > 2
    assert all("Date and time" in page and "Temperature" in page for page in with_rows)


def test_the_log_says_where_it_ends_and_how_much_it_holds(long_log):
    pdf = long_log.print()
    assert "End of the report. It holds 54 entries: 54 recorded late." in pdf.text
    assert (pdf.summary.entries, pdf.summary.late, pdf.summary.pages) == (54, 54, len(pdf.pages))


@pytest.mark.parametrize(("size", "width", "height"), [("A4", 842, 595), ("Letter", 792, 612), ("letter", 792, 612)])
def test_page_sizes(farm, size, width, height):
    """ISO 216 A4 is 210 mm by 297 mm, ANSI A 8.5 by 11 inches; a point is 1/72 inch."""
    box = farm.print(size=size).reader.pages[0].mediabox
    assert (round(float(box.width)), round(float(box.height))) == (width, height)


def test_an_unknown_page_size_is_refused(farm):
    with pytest.raises(NotUnderstood, match="A4 or Letter"):
        farm.print(size="A0")


def test_the_file_describes_itself(farm):
    reader = farm.print().reader
    assert reader.metadata is not None
    assert reader.metadata.title == "Washing and sanitising log, Mill Lane Greens"
    assert reader.metadata.author == "Mill Lane Greens"
    assert "sanitising" in (reader.metadata.subject or "")
    assert reader.root_object["/Lang"] == "en"
    assert reader.metadata.creation_date_raw == "D:20260302200000Z"


def test_every_typeface_is_in_the_file(farm):
    farm.dip(at="2026-03-02 09:10", reading="30 ppm")
    reader = farm.print().reader
    fonts = [font.get_object() for page in reader.pages for font in page["/Resources"]["/Font"].values()]
    assert fonts
    assert all("/FontFile2" in font["/FontDescriptor"] for font in fonts)


def test_the_same_ledger_at_the_same_time_gives_the_same_bytes(farm):
    farm.dip(at="2026-03-02 09:10", note="grün, ołów")
    first = farm.print()
    assert farm.print().content == first.content
    assert farm.at("2026-03-02 20:01").print().content != first.content


def test_the_machines_own_time_zone_makes_no_difference(farm, monkeypatch):
    first = farm.print().content
    monkeypatch.setenv("TZ", "Asia/Tokyo")
    time.tzset()
    try:
        assert farm.print().content == first
    finally:
        monkeypatch.undo()
        time.tzset()


def test_progress_is_told_entry_by_entry(farm):
    for hour in (9, 10, 11):
        farm.wash(at=f"2026-03-02 {hour:02d}:00")
    told = []
    farm.print(progress=lambda done, of: told.append((done, of)))
    assert told == [(1, 3), (2, 3), (3, 3)]
