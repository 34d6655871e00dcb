"""Text that a person typed can hold any character and never breaks a page: it prints without loss."""

import re
import sys
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lotwalk.pages.definitions.model import Column, Piece, Row
from lotwalk.pages.sheet.table import Table
from lotwalk.pages.typeface import fonts as fonts_module
from lotwalk.pages.typeface.fonts import load_fonts
from lotwalk.pages.typeface.wrap import wrap

ANY = st.text(st.characters(), max_size=60)


def _read_back(printed: str) -> str:
    return re.sub(r"\[U\+([0-9A-F]{4,6})\]", lambda found: chr(int(found[1], 16)), printed)


@given(ANY)
def test_nothing_is_lost(text):
    """What is printed reads back as the text, but for white space and equivalent ways to compose a letter."""
    text = text.replace("[U+", "")
    expected = unicodedata.normalize("NFC", text.replace("\r\n", "\n")).replace("\t", " ")
    assert _read_back(load_fonts().printable(text)) == expected


@given(ANY)
def test_all_that_is_printed_has_a_shape(text):
    fonts = load_fonts()
    for line in fonts.printable(text).split("\n"):
        for bold in (False, True):
            for run in fonts.family.runs(line, bold=bold):
                assert all(run.face.face.charToGlyph[ord(glyph.sign)] for glyph in run.glyphs)


@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ("plain", "plain"),
        ("Zażółć gęślą jaźń, Ωμέγα, жёлтый, Tiếng Việt", "Zażółć gęślą jaźń, Ωμέγα, жёлтый, Tiếng Việt"),
        ("e\u0301", "é"),
        ("q\u0301", "q\u0301"),
        ("\u0301q", "[U+0301]q"),
        ("漢\u0301", "[U+6F22][U+0301]"),
        ("o" + "\u0300" * 6, "ò" + "\u0300" * 4 + "[U+0300]"),
        ("a\x00b", "a[U+0000]b"),
        ("\U0001f600", "[U+1F600]"),
        ("שלום مرحبا हिन्दी ก็ได้", "שלום مرحبا हिन्दी ก็ได้"),
        ("می\u200cخواهم a\u200cb", "می\u200cخواهم a[U+200C]b"),
        ("abc\u202edef", "abc[U+202E]def"),
        ("zero\u200bwidth", "zero[U+200B]width"),
        ("lone \ud800", "lone [U+D800]"),
        ("two\r\nlines", "two\nlines"),
    ],
)
def test_what_is_printed(text, printed):
    assert load_fonts().printable(text) == printed


@given(st.text("ab-/. ,\n", max_size=200), st.floats(20, 200))
def test_lines_hold_the_text_and_keep_to_the_width(text, width):
    lines = wrap(text, width, 8.0)
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert all(load_fonts().width(line.strip(" "), 8.0) <= width + 1e-6 for line in lines)


def test_a_range_is_broken_at_its_dots():
    width = load_fonts().width("2026-03-01..2026-", 8.0)
    assert wrap("2026-03-01..2026-03-02", width, 8.0) == ("2026-03-01..", "2026-03-02")


def test_a_long_word_is_whole_on_the_page(farm):
    word = "".join(chr(ord("a") + number % 26) for number in range(2_000))
    farm.wash(at="2026-03-02 09:00", method=word, note=word)
    printed = "".join(farm.print().text.split())
    assert printed.count(word[:40]) >= 2
    assert word in printed


HOSTILE = (
    "\U0001f600 \U0001f468\u200d\U0001f33e שלום مرحبا हिन्दी 漢字 z\u0300\u0301\u0302\u0303 \u202eright"
    " \\ ( ) <b> & \" '"
)


def test_any_characters_go_through_the_ledger_onto_the_page(farm):
    number = farm.wash(at="2026-03-02 09:00", method=HOSTILE, note=HOSTILE)
    farm.book.ledger.amend(number, {"note": "x"}, because=HOSTILE, by=["TO"])
    printed = farm.print().text
    # A PDF has its words in the order in which they are drawn, so each is looked for by itself.
    assert all(word in printed for word in load_fonts().printable(HOSTILE).split())


def test_a_farm_with_any_name_and_a_very_long_one(start):
    name = "Zielona Łąka " + "w" * 1_000 + " \U0001f331"
    farm = start(name=name, location=HOSTILE)
    farm.wash(at="2026-03-02 09:00")
    pdf = farm.print()
    assert "w" * 1_000 + "[U+1F331]" in "".join(pdf.text.split())
    assert all("Zielona Łąka" in page for page in pdf.pages)
    assert farm.print("2026-01-01", "2026-01-02").summary.pages == 1


def test_an_entry_taller_than_a_page_goes_on_over_the_next_ones(farm):
    words = " ".join(f"word{number}" for number in range(6_000))
    number = farm.wash(at="2026-03-02 09:00", method=words)
    pdf = farm.print()
    assert len(pdf.pages) > 5
    assert f"E{number} (continued)" in pdf.pages[3]
    printed = [word for page in pdf.pages for word in re.findall(r"word\d+", page)]
    assert printed == [f"word{number}" for number in range(6_000)]


@given(st.lists(st.tuples(st.integers(0, 60), st.integers(0, 60)), max_size=12), st.floats(60, 400))
def test_rows_are_parted_over_pages_without_loss_or_overlap(sizes, height):
    table = Table("t", [Column("A", ("entry",), 1)], 300, load_fonts())
    blocks = [
        table.block(
            Row(
                f"E{number}",
                (tuple(Piece(f"c{line}") for line in range(tall)),),
                tuple(Piece("b") for _ in range(under)),
            )
        )
        for number, (tall, under) in enumerate(sizes)
    ]
    placed = [one for page in table.paginate(blocks, height) for one in page]
    expected = [(block, line) for block in blocks for line in range(block.lines)]
    assert [(one.block, line) for one in placed for line in range(one.start, one.stop)] == expected
    for page in table.paginate(blocks, height):
        down = 0.0
        for one in page:
            assert one.down == pytest.approx(down)
            down += one.height
        assert down <= height - table.heading + 1e-6 or len(page) == 1


def test_without_the_wide_typeface_the_small_one_prints_it_all(farm, monkeypatch):
    farm.dip(at="2026-03-02 09:10", reading="30 ppm", note="grün, 漢, ołów, ёж")
    _forget()
    monkeypatch.setitem(sys.modules, "pymupdf_fonts", None)
    try:
        pdf = farm.print()
    finally:
        _forget()
    assert "grün, [U+6F22], ołów, [U+0451][U+0436]" in pdf.text
    assert "! 30 ppm" in pdf.text
    fonts = [font.get_object()["/BaseFont"] for font in pdf.reader.pages[0]["/Resources"]["/Font"].values()]
    assert all("Vera" in name for name in fonts)


def _forget() -> None:
    fonts_module.load_fonts.cache_clear()
    wrap.cache_clear()
    sys.modules["lotwalk.pages.typeface.wrap"]._sign_width.cache_clear()
