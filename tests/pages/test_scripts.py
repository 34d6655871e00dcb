"""Names in any script that the typefaces hold print as their readers write them, and can be read out of the file."""

import io
import os
import re
from pathlib import Path

import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pymupdf_fonts import myfont
from pypdf import PdfReader

from lotwalk.errors import NotUnderstood
from lotwalk.pages.typeface import fonts as fonts_module
from lotwalk.pages.typeface.fonts import load_fonts
from lotwalk.pages.typeface.paper import Paper
from lotwalk.pages.typeface.wrap import wrap

SCRIPTS = st.text(
    "abż ./-()12"
    "אבגדהוזםן\u05b8\u05c1"
    "ابتثجحخدرسشعلمنهوي\u064e\u0651٣٤\u200c"
    "कखगतनमरसशष\u094d\u093f\u093e\u0941\u0947\u0902"
    "กขคงนมร\u0e33\u0e34\u0e49เไ"
    "\u0300\u0301\u0308qn",
    max_size=80,
)
NAMES = [
    "Zażółć gęślą jaźń",
    "محمد عبد الله السلام لا إله",
    "דוד כהן",
    "राजेश कुमार शर्मा क्षत्रिय",
    "สมชาย น้ำใจดี กำนัน",
    "q\u0301 n̈",
    "Ελληνικά жёлтый ქართული",
    "ꭓ ᵹ",
]


def _drawn(text: str, size: float = 12) -> bytes:
    fonts = load_fonts()
    out = io.BytesIO()
    paper = Paper(out, pagesize=(2_000, 40), initialFontName=fonts.regular)
    paper.setFont(fonts.regular, size)
    paper.drawString(10, 15, fonts.printable(text))
    paper.save()
    return out.getvalue()


def _by_pypdf(content: bytes) -> str:
    return PdfReader(io.BytesIO(content)).pages[0].extract_text()


def _by_pdfium(content: bytes) -> str:
    return pypdfium2.PdfDocument(content)[0].get_textpage().get_text_range()


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("read", [_by_pypdf, _by_pdfium])
def test_two_readers_find_the_letters_that_were_typed(name, read):
    assert "".join(read(_drawn(name)).split()) == "".join(name.split())


@settings(deadline=None)
@given(SCRIPTS)
def test_no_letter_is_lost_on_the_page(text):
    """Whatever order a reader makes of mixed directions, each letter is there as often as it was typed."""
    expected = sorted(load_fonts().printable(text).replace(" ", ""))
    assert sorted("".join(_by_pypdf(_drawn(text)).split())) == expected


@settings(deadline=None)
@given(SCRIPTS, st.floats(30, 200), st.booleans())
def test_lines_of_any_script_keep_to_their_width_and_lose_nothing(text, width, bold):
    fonts = load_fonts()
    text = fonts.printable(text)
    lines = wrap(text, width, 8.0, bold)
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert all(fonts.width(line, 8.0, bold=bold) <= width + 0.1 for line in lines)


@settings(deadline=None)
@given(st.sampled_from(("ع", "ל", "कि", "ก้", "न्", "q\u0301")), st.integers(1, 2_000))
def test_a_long_word_of_any_script_is_whole(letter, times):
    fonts = load_fonts()
    word = fonts.printable(letter * times)
    lines = wrap(word, 60, 8.0)
    assert "".join(lines) == word
    assert all(fonts.width(line, 8.0) <= 60.1 for line in lines)


def test_all_pages_are_drawn_on_the_paper_that_writes_any_script():
    """A plain canvas of ReportLab would draw the letters of a name apart and from the wrong side, without a word."""
    pages = Path(fonts_module.__file__).parent
    wrong = [path.name for path in pages.glob("*.py") if re.search(r"\bCanvas\(", path.read_text("utf-8"))]
    assert wrong == []


def _signs(text: str) -> list[str]:
    return [glyph.sign for run in load_fonts().family.runs(text, bold=False) for glyph in run.glyphs]


def test_hebrew_runs_from_the_right_and_numbers_in_it_from_the_left():
    assert _signs("אב 12") == ["1", "2", " ", "ב", "א"]


def test_arabic_letters_join():
    joined, alone = _signs("ببب"), _signs("ب")
    assert len({*joined, *alone}) == 4
    first, *unseen = [glyph for run in load_fonts().family.runs("لا", bold=False) for glyph in run.glyphs]
    assert first.advance > 0
    assert [glyph.advance for glyph in unseen] == [0]


def test_the_short_i_of_devanagari_stands_before_its_consonant():
    width = load_fonts().family.runs("क", bold=False)[0].width
    first, second = load_fonts().family.runs("कि", bold=False)[0].glyphs
    assert first.advance < width == second.advance


@pytest.mark.parametrize("text", ["q\u0301", "ب\u064e", "ก\u0e49"])
def test_a_mark_stands_on_its_letter_and_takes_no_room(text):
    fonts = load_fonts()
    assert fonts.width(text, 10) == pytest.approx(fonts.width(text[0], 10))


def test_brackets_are_mirrored_in_text_from_the_right():
    opening, *_, closing = load_fonts().family.runs("(א)", bold=False)[0].glyphs
    face = load_fonts().lead.face
    assert face.charToGlyph[ord(opening.sign)] == face.charToGlyph[ord("(")]
    assert face.charToGlyph[ord(closing.sign)] != face.charToGlyph[ord("(")]


def test_a_line_that_starts_with_a_foreign_word_keeps_its_paragraphs_direction():
    fonts = load_fonts()
    text = "שלום עולם שלום PL-0412 לוט"
    _, line = wrap(text, fonts.width("שלום עולם שלום", 8.0) + 1, 8.0)
    assert line == "PL-0412 לוט"
    drawn = "".join(glyph.sign for run in fonts.family.runs(line, bold=False) for glyph in run.glyphs)
    assert drawn == "טול PL-0412"


BLOCK = "\u2588"


@pytest.fixture
def own_font(tmp_path, monkeypatch):
    """Names a file in LOTWALK_FONTS, and takes it out again."""

    def name(*contents: bytes) -> None:
        paths = [tmp_path / f"own{number}.ttf" for number, _ in enumerate(contents)]
        for path, content in zip(paths, contents, strict=True):
            path.write_bytes(content)
        monkeypatch.setenv(fonts_module.MORE_FONTS, os.pathsep.join(map(str, paths)))
        load_fonts.cache_clear()

    yield name
    load_fonts.cache_clear()


def test_a_typeface_of_ones_own_fills_in(own_font):
    assert load_fonts().printable(BLOCK) == "[U+2588]"
    own_font(myfont("cascadia"))
    content = _drawn(f"a {BLOCK} b")
    assert _by_pypdf(content).strip() == f"a {BLOCK} b"
    fonts = PdfReader(io.BytesIO(content)).pages[0]["/Resources"]["/Font"]
    assert any("Cascadia" in str(font.get_object()["/BaseFont"]) for font in fonts.values())


def test_two_typefaces_of_one_name_are_kept_apart(own_font, monkeypatch):
    own_font(myfont("cascadia"), myfont("cascadia"))
    family = load_fonts().family
    assert family.pick(BLOCK) == 2
    # The second is used for a letter that the first is made to lack.
    monkeypatch.setattr(family._pairs[2][0], "known", frozenset(map(ord, "\u2588")))
    content = _drawn("\u2588 \u2592")
    assert _by_pypdf(content).split() == ["\u2588", "\u2592"]
    assert _by_pdfium(content).split() == ["\u2588", "\u2592"]


def test_a_typeface_that_cannot_be_read_is_told(own_font):
    own_font(b"not a font")
    with pytest.raises(NotUnderstood, match=r"own0\.ttf"):
        load_fonts().printable(BLOCK)
