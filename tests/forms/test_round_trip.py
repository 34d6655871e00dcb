"""What is typed and ticked in a form arrives as the entry that a sheet would have given."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.forms.conftest import entries
from tests.forms.filling import boxes, filled, printed

from lotwalk.errors import Refused
from lotwalk.forms.filled import Filled, read_file, read_filled
from lotwalk.forms.names import Made, Name, read_mark, read_name, write_mark
from lotwalk.kinds.check import check
from lotwalk.sheets.reader import read_sheet

ENTRIES = entries()


@pytest.mark.parametrize("name", sorted(ENTRIES))
def test_a_full_entry_of_every_kind_arrives_whole(name, kinds, setting):
    """Typed into the second row, the first one left empty, every field that the kind has."""
    entry = ENTRIES[name]
    typed = boxes(kinds[name], entry, row=2)
    form = read_filled(filled(printed(kinds, name, rows=2), typed), "filled.pdf", kinds)
    (written,) = form.sheet.entries
    assert written.line == 2
    assert {field.split(".")[0] for field in written} == set(entry)
    read, expected = (check(kinds[name], one, setting, kinds) for one in (written, entry))
    assert (read.values, read.at, read.by, read.files) == (expected.values, expected.at, expected.by, expected.files)
    assert [(one.path, one.codes, one.amount, one.packs) for one in read.mentions] == [
        (one.path, one.codes, one.amount, one.packs) for one in expected.mentions
    ]


def test_every_kind_has_an_example(kinds):
    assert set(kinds.names) == set(ENTRIES)


def test_all_kinds_may_stand_in_one_form(kinds):
    form = printed(kinds, *kinds.names, rows=1)
    typed = {box: value for name in kinds.names for box, value in boxes(kinds[name], ENTRIES[name]).items()}
    read = read_filled(filled(form, typed), "filled.pdf", kinds)
    assert [str(entry["kind"]) for entry in read.sheet.entries] == list(kinds.names)
    assert [entry.line for entry in read.sheet.entries] == list(range(1, len(kinds.names) + 1))


def test_what_a_form_holds_is_also_a_sheet(kinds):
    """The text that its digest is of reads as YAML, and gives the same entries."""
    typed = boxes(kinds["delivery"], ENTRIES["delivery"]) | {"delivery/1/note": 'two\nlines: "#" \\ \u2028 \x85 \ufeff'}
    form = read_filled(filled(printed(kinds, "delivery"), typed), "filled.pdf", kinds)
    assert read_sheet(form.sheet.text, "sheet.yaml").entries == form.sheet.entries


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ({"from/1/batch": "T-14 6, T-15 4"}, ["T-14 6, T-15 4"]),
        ({"from/2/batch": "T-14..T-16"}, ["T-14..T-16"]),
        ({"from/3/batch": " T-14 "}, [{"batch": "T-14"}]),
        (
            {"from/1/batch": "T-14", "from/1/trays": "6", "from/4/batch": "T-15", "from/4/finished=no": True},
            [{"batch": "T-14", "trays": "6"}, {"batch": "T-15", "finished": "no"}],
        ),
        (
            {"from/1/batch": "T-14", "from/1/trays": "M-001\r\nM-002\r"},
            [{"batch": "T-14", "trays": ["M-001", "M-002"]}],
        ),
    ],
)
def test_lists_may_be_written_line_by_line_or_in_the_short_form(kinds, typed, expected):
    form = filled(printed(kinds, "harvest"), {f"harvest/1/{name}": value for name, value in typed.items()})
    assert read_filled(form, "filled.pdf", kinds).sheet.entries[0]["from"] == expected


@pytest.mark.parametrize(
    ("measures", "typed", "expected"),
    [
        ("metric", "110", "110 ppm"),
        ("metric", "50-100", "50-100 ppm"),
        ("metric", "110 mg/L", "110 mg/L"),
        ("metric", "1 %", "1 %"),
        ("us", "110", "110 ppm"),
    ],
)
def test_a_number_without_a_unit_has_the_one_that_is_printed(kinds, measures, typed, expected):
    form = filled(printed(kinds, "sanitising", measures=measures), {"sanitising/1/reading": typed})
    assert read_filled(form, "filled.pdf", kinds).sheet.entries[0]["reading"] == expected


@pytest.mark.parametrize(
    ("measures", "typed", "expected"), [("us", "75", "75 °F"), ("metric", "24", "24 °C"), ("us", "24 C", "24 C")]
)
def test_the_unit_is_that_of_the_form_and_not_of_the_book(kinds, measures, typed, expected):
    """A form printed for a farm that measures in °F means °F for ever."""
    form = filled(printed(kinds, "sanitising", measures=measures), {"sanitising/1/temperature": typed})
    assert read_filled(form, "filled.pdf", kinds).sheet.entries[0]["temperature"] == expected


def test_where_several_units_are_usual_none_is_put_in(kinds):
    """120 could be grams or kilograms: the book then says that it has no unit."""
    form = filled(printed(kinds, "harvest"), {"harvest/1/amount": "120"})
    assert read_filled(form, "filled.pdf", kinds).sheet.entries[0]["amount"] == "120"


def test_several_choices_may_be_ticked_where_several_words_may_stand(kinds):
    form = filled(
        printed(kinds, "water-source"), {"water-source/1/used_for=hands": True, "water-source/1/used_for=growing": True}
    )
    assert set(read_filled(form, "filled.pdf", kinds).sheet.entries[0]["used_for"]) == {"hands", "growing"}


def test_a_tick_taken_away_is_no_tick(kinds):
    form = filled(printed(kinds, "sanitising"), {"sanitising/1/washed=yes": True, "sanitising/1/washed=no": True})
    form = filled(form, {"sanitising/1/washed=yes": False})
    assert read_filled(form, "filled.pdf", kinds).sheet.entries[0] == {"kind": "sanitising", "washed": "no"}


TYPED = st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=40)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(
    st.dictionaries(st.sampled_from(["method", "note", "items", "tub", "at", "water"]), TYPED, min_size=1),
    st.sampled_from(["yes", "no", None]),
)
def test_whatever_is_typed_arrives_as_from_a_sheet(kinds, setting, washing_form, fields, clean):
    """The same answer, be it an entry or a refusal, as for a sheet that holds the typed text in quotes."""
    typed = {f"washing/1/{name}": text for name, text in fields.items()}
    typed |= {f"washing/1/seen_clean={clean}": True} if clean else {}
    entry = {name: text.strip() for name, text in fields.items()} | ({"seen_clean": clean} if clean else {})
    entry = {"kind": "washing"} | {name: text for name, text in entry.items() if text}
    if len(entry) == 1:
        with pytest.raises(Refused, match="nothing is filled in"):
            read_filled(filled(washing_form, typed), "filled.pdf", kinds)
        return
    (written,) = read_filled(filled(washing_form, typed), "filled.pdf", kinds).sheet.entries
    in_braces = ", ".join(f"{name}: {_quoted(text)}" for name, text in entry.items())
    sheet = read_sheet(f"- {{{in_braces}}}", "sheet.yaml").entries[0]
    if "at" in entry:
        entry["at"] = sheet["at"] = " ".join(entry["at"].split())
    assert written == sheet
    assert _told(kinds, setting, written) == _told(kinds, setting, sheet)


def _quoted(text):
    """The text in YAML's double quotes, each of its signs by number."""
    return '"' + "".join(f"\\U{ord(sign):08x}" for sign in text) + '"'


def _told(kinds, setting, entry):
    try:
        checked = check(kinds["washing"], entry, setting, kinds)
    except Refused as refused:
        return sorted((problem.field, problem.what, problem.expected) for problem in refused.problems)
    return checked.values, checked.mentions[0].codes


class Blank(bytes):
    """A form whose content stays out of pytest's messages."""

    def __repr__(self):
        return "<a blank form>"


@pytest.fixture(scope="session")
def washing_form(kinds):
    return Blank(printed(kinds, "washing", rows=1))


WORD = st.from_regex(r"[a-z][a-z0-9_]{0,10}", fullmatch=True)
NUMBER = st.integers(1, 99_999)
CHOICE = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)


@given(
    st.one_of(
        st.builds(Name, WORD.map(lambda word: word.replace("_", "-")), NUMBER, WORD, choice=CHOICE),
        st.builds(Name, WORD.map(lambda word: word.replace("_", "-")), NUMBER, WORD, NUMBER, WORD, CHOICE),
    )
)
def test_names_of_boxes_read_back(name):
    assert read_name(str(name)) == name
    assert "." not in str(name)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "washing",
        "washing/1",
        "washing/0/at",
        "washing/x/at",
        "washing/1/At",
        "washing/1/from/2",
        "washing/1/from/0/batch",
        "washing/1/from/2/batch/3",
        "washing/1/at/",
        "/1/at",
        "washing/100000/at",
    ],
)
def test_other_names_are_none_of_ours(text):
    assert read_name(text) is None


def test_the_mark_reads_back():
    made = {"washing": Made("ab" * 32, 8, {"reading": "ppm"}), "our-hives": Made("cd" * 32, 1)}
    assert read_mark(write_mark(made)) == made
    assert write_mark(made).isascii()


def test_a_pdf_is_known_by_its_content_and_a_sheet_too(kinds, tmp_path: Path):
    (tmp_path / "form.yaml").write_bytes(filled(printed(kinds, "washing"), {"washing/1/note": "x"}))
    (tmp_path / "sheet.pdf").write_text("- {kind: washing, note: x}\n")
    assert isinstance(read_file(tmp_path / "form.yaml", kinds), Filled)
    assert not isinstance(read_file(tmp_path / "sheet.pdf", kinds), Filled)
