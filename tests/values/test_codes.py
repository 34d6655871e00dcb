import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lotwalk.errors import NotUnderstood
from lotwalk.values.codes import MOST_CODES, check_code, entry_number, expand, fold

PREFIX = st.text("ABCMX-._/", min_size=1, max_size=6).filter(lambda text: not text.startswith("-") and ".." not in text)


@pytest.mark.parametrize(
    "code", ["M-001", "0302", "NO", "tray#7", "E-12", "E12a", "Ernte", "Möhre-1", "a", "x" * 64, "1.5", "(a)"]
)
def test_ordinary_codes_are_taken_as_they_are(code):
    assert check_code(code) == code


def test_a_code_is_kept_in_composed_form():
    assert check_code("Mo\u0308hre") == "M\u00f6hre"


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("", "empty"),
        ("x" * 65, "65 characters"),
        ("M 001", "space"),
        ("M\t1", "space"),
        ("M\u200b1", "does not print"),
        ("M\x00", "does not print"),
        ("M,1", "`,`"),
        ("M;1", "`;`"),
        ("M=1", "`=`"),
        ("M..1", "`..`"),
        ('M"1', '`"`'),
        ("M'1", "`'`"),
        ("M\u201d1", "\u201d"),
        ("-M1", "starts with"),
        ("none", "nothing was used"),
        ("None", "nothing was used"),
        ("E12", "how an entry is named"),
        ("e7", "how an entry is named"),
    ],
)
def test_what_cannot_be_a_code_is_refused_with_its_reason(code, said):
    with pytest.raises(NotUnderstood, match=said.replace(".", r"\.")):
        check_code(code)


@given(st.text(max_size=8))
def test_a_code_that_is_taken_is_taken_again_unchanged(text):
    try:
        code = check_code(text)
    except NotUnderstood:
        return
    assert check_code(code) == code
    assert fold(code) == fold(text)
    assert expand(code) == [code]


@given(st.text(max_size=8))
def test_folding_does_not_see_composition_or_capitals_of_plain_letters(text):
    assert fold(unicodedata.normalize("NFD", text)) == fold(unicodedata.normalize("NFC", text))
    assert fold("m-1" + text) == fold("M-1" + text)


def test_entries_are_named_by_e_and_their_number():
    assert entry_number("E12") == entry_number("e12") == 12
    for text in ("E", "E0", "12", "E1x", "M-001", "E-1", "E\u0661", " E1", ""):
        assert entry_number(text) is None


def test_a_list_with_ranges_names_its_codes_in_the_order_written():
    assert expand("M-030, M-001..M-003,KN-1") == ["M-030", "M-001", "M-002", "M-003", "KN-1"]
    assert expand("M-009 .. M-011") == ["M-009", "M-010", "M-011"]
    assert expand("2026-01-a..2026-03-a") == ["2026-01-a", "2026-02-a", "2026-03-a"]
    assert expand("M-7..M-7") == ["M-7"]
    assert expand("m-01..M-02") == ["m-01", "m-02"]


@given(PREFIX, st.sampled_from(["", "-a", "x"]), st.integers(1, 5), st.data())
def test_a_range_names_every_number_between_its_ends_once(before, after, width, data):
    low = data.draw(st.integers(0, 10**width - 1))
    high = data.draw(st.integers(low, min(10**width - 1, low + 300)))
    first, last = f"{before}{low:0{width}}{after}", f"{before}{high:0{width}}{after}"
    codes = expand(f"{first}..{last}")
    assert codes[0] == first
    assert codes[-1] == last
    assert len(set(codes)) == len(codes) == high - low + 1
    assert codes == sorted(codes)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("M-1..M-24", "not equally long"),
        ("M-024..M-001", "backwards"),
        ("M-001..T-024", "differ in more than one number"),
        ("M-01-1..M-02-3", "differ in more than one number"),
        ("M-a..M-c", "differ in more than one number"),
        ("M-001..", "missing"),
        ("..M-001", "missing"),
        ("M-001,,M-002", "missing"),
        ("M-001,", "missing"),
        ("", "missing"),
        ("M-1..M-2..M-3", r"\.\."),
        ("M-001 M-002", "space"),
        ("E1..E3", "how an entry is named"),
        ("M-000001..M-999999", "more than 100000"),
        ("M-000000000001..M-999999999999", "more than 100000"),
        ("A-00001..A-99999,B-00001..B-00002", "more than 100000"),
    ],
)
def test_a_list_that_cannot_be_read_is_refused_with_its_reason(text, said):
    with pytest.raises(NotUnderstood, match=said):
        expand(text)


def test_as_many_codes_as_are_allowed_are_named():
    assert len(expand("A-00000..A-99999")) == MOST_CODES


def test_entries_are_let_through_where_they_are_asked_for():
    assert expand("e8..E11, M-001, E12", entries=True) == ["E8", "E9", "E10", "E11", "M-001", "E12"]
    with pytest.raises(NotUnderstood):
        expand("E8..M-009", entries=True)
