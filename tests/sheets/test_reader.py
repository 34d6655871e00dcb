import contextlib
import gc
import hashlib
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from lotwalk.errors import Refused
from lotwalk.sheets import events
from lotwalk.sheets.reader import read_sheet
from lotwalk.values.text import line_of, plain


def entries(text):
    return [plain(entry) for entry in read_sheet(text, "day.yaml").entries]


def refusal(text):
    with pytest.raises(Refused) as caught:
        read_sheet(text, "day.yaml")
    return str(caught.value).splitlines()


@pytest.fixture(params=["compiled", "pure"], autouse=True)
def parser(request, monkeypatch):
    """Each behaviour holds with YAML's compiled parser and with the one in Python."""
    if request.param == "pure":
        monkeypatch.setattr(events, "_LOADER", yaml.SafeLoader)
    return request.param


SHEET = """\
- kind: sanitising
  at: 2026-03-02 17:40
  by: TO
  items: M-001..M-024
  reading: 110 ppm
  washed: yes

- kind: sowing   # the second entry
  at: "2026-03-02 18:00"
  by: [TO, AK]
  batch: 0302
  seed:
    - lot: S-1
      amount: 40 g
    - {lot: S-2, amount: 20 g}
"""


def test_a_list_of_entries_is_read_as_text():
    assert entries(SHEET) == [
        {
            "kind": "sanitising",
            "at": "2026-03-02 17:40",
            "by": "TO",
            "items": "M-001..M-024",
            "reading": "110 ppm",
            "washed": "yes",
        },
        {
            "kind": "sowing",
            "at": "2026-03-02 18:00",
            "by": ["TO", "AK"],
            "batch": "0302",
            "seed": [{"lot": "S-1", "amount": "40 g"}, {"lot": "S-2", "amount": "20 g"}],
        },
    ]


def test_every_value_knows_its_line():
    first, second = read_sheet(SHEET, "day.yaml").entries
    assert (first.line, second.line) == (1, 8)
    assert line_of(first["washed"]) == 6
    assert line_of(second["seed"]) == 12
    assert [line_of(row) for row in second["seed"]] == [13, 15]
    assert line_of(second["seed"][0]["amount"]) == 14
    assert [line_of(name) for name in second["by"]] == [10, 10]


def test_values_that_yaml_takes_for_something_else_stay_as_written():
    written = ["NO", "0302", "12_000", "2:30", "yes", "1e3", "0x1F", "2026-03-02", "1.50", ".inf", "=", "<<", "True"]
    text = "- kind: x\n  codes:\n" + "".join(f"    - {value}\n" for value in written)
    assert entries(text) == [{"kind": "x", "codes": written}]


def test_text_in_lines_loses_only_the_last_line_break():
    assert entries("- a: |\n    one\n\n    two\n\n  b: >\n    three\n    four\n") == [
        {"a": "one\n\ntwo", "b": "three four"}
    ]


def test_a_mapping_holds_entries_with_what_they_share():
    sheet = read_sheet(
        "in_order: yes\nagain: no\ncommon: {by: TO, equipment: KN-1, place: PACK}\nentries:\n"
        "- kind: harvest\n  lot: H-1\n- kind: harvest\n  lot: H-2\n  by: AK\n  equipment:\n  place: ~\n",
        "day.yaml",
    )
    assert (sheet.in_order, sheet.again) == (True, False)
    assert [plain(entry) for entry in sheet.entries] == [
        {"kind": "harvest", "lot": "H-1", "by": "TO", "equipment": "KN-1", "place": "PACK"},
        {"kind": "harvest", "lot": "H-2", "by": "AK"},
    ]
    assert [entry.line for entry in sheet.entries] == [5, 7]
    assert line_of(sheet.entries[0]["by"]) == 3


def test_a_bare_list_attests_nothing():
    sheet = read_sheet(SHEET, "day.yaml")
    assert (sheet.in_order, sheet.again, sheet.name) == (False, False, "day.yaml")


def test_what_is_left_empty_is_absent_at_every_depth():
    text = "- {kind: x, a: , b: ~, c: null, d: '', e: [{f: ~, g: 1}], h: {i: NULL}, j: '~', k: 'null'}\n"
    assert entries(text) == [{"kind": "x", "e": [{"g": "1"}], "h": {}, "j": "~", "k": "null"}]


def test_line_ends_and_byte_order_marks_make_no_difference_to_the_digest():
    sheets = [
        read_sheet(text, "x")
        for text in (SHEET, "\ufeff" + SHEET, SHEET.replace("\n", "\r\n"), SHEET.replace("\n", "\r"))
    ]
    assert {sheet.text for sheet in sheets} == {SHEET}
    assert {sheet.digest for sheet in sheets} == {hashlib.sha256(SHEET.encode()).hexdigest()}
    assert len({str(sheet.entries) for sheet in sheets}) == 1
    assert read_sheet(SHEET + "# more\n", "x").digest != sheets[0].digest


def test_every_problem_is_told_at_once_with_its_line():
    lines = refusal(
        "in_order: maybe\ncomon: {by: TO}\nentries:\n"
        "- kind: x\n  a: 1\n  a: 2\n- just text\n- [a, b]\n- kind: &p y\n  b: *p\n"
    )
    assert [line.partition(": ")[0] for line in lines] == [f"day.yaml:{number}" for number in (1, 2, 6, 7, 8, 9, 10)]
    for line, said in zip(
        lines, ["yes or no", "`comon`", "`a` stands here twice", "`just text`", "a list", "`&p`", "`*p`"], strict=True
    ):
        assert said.replace("yes or no", "`yes` or `no`") in line
        assert "expected" in line


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("", 1, "the sheet is empty"),
        ("# nothing yet\n", 1, "the sheet is empty"),
        ("~\n", 1, "the sheet is empty"),
        ("[]\n", 1, "the list is empty"),
        ("\nkind: washing\nat: 2026-03-02\n", 2, "this is one entry"),
        ("sanitised the mats\n", 1, "only text"),
        ("in_order: yes\n", 1, "no `entries`"),
        ("in_order: yes\nentries: []\n", 2, "no `entries`"),
        ("entries: all of them\n", 1, "no `entries`"),
        ("common: TO\nentries:\n- kind: x\n", 1, "`common` holds no fields"),
        ("again: [yes]\nentries:\n- kind: x\n", 1, "`again` is neither"),
        ("- kind: x\n-\n", 2, "an empty place in a list"),
        ("- kind: x\n  codes: [A, ~]\n", 2, "an empty place in a list"),
        ("- kind: x\n  ~: y\n", 2, "without a field's name"),
        ("- ? [a, b]\n  : x\n", 1, "where a field's name should"),
        ("- kind: !!str x\n", 1, "is a tag"),
        ("- kind: !wash x\n", 1, "`!wash` is a tag"),
        ("- &one\n  kind: x\n- *one\n", 1, "`&one`"),
        ("- kind: x\n---\n- kind: y\n", 2, "second document"),
        ("- kind: x\n...\n- kind: y\n", 3, "after the end"),
        ("- kind: x\n\tat: y\n", 2, "a tab"),
        ("- kind:\n\t- y\n", 2, "a tab"),
        ("- note: he said: no\n", 1, "a second colon"),
        ("- kind: x\n    at: y\n", 2, "set in further"),
        ("- kind: x\n at: y\n", 2, "not set in like"),
        ("- kind: 'x\n  at: y\n", 1, "never closed"),
        ("- kind: x\n  codes: [A, B\n- kind: y\n", 2, "a list in [ ]"),
        ("- kind: x\n  seed: {lot: A\n", 2, "a row in { }"),
        ("- note: @home\n", 1, "starts with `@`"),
        ("- note: 'wet' mats\n", 1, "after a closing quote"),
        ('- note: "C:\\path"\n', 1, "backslash"),
        ("- note: *very* wet\n", 1, "`*`"),
        ("- items: - M-001\n", 1, "a dash stands after a colon"),
        ("- kind: x\n  at y\n  by: z\n", 2, ""),
        ("- note: wet\x07\n", 1, r"\x07"),
        ("- kind: x\n- note: \ud800\n", 2, r"\ud800"),
        ('- note: "\\0"\n', 1, "does not print"),
        ("- " * 40 + "x\n", 1, "inside each other"),
    ],
)
def test_what_is_no_sheet_is_refused_with_its_line(text, line, said):
    first = refusal(text)[0]
    assert first.startswith(f"day.yaml:{line}: ")
    assert said in first
    assert "expected" in first


def test_a_syntax_error_does_not_hide_what_came_before_it():
    lines = refusal("- kind: x\n  a: 1\n  a: 2\n- note: 'open\n")
    assert [line.partition(": ")[0] for line in lines] == ["day.yaml:3", "day.yaml:4"]


def test_messages_are_free_of_the_parsers_own_words():
    for text in ("- kind: x\n\tat: y\n", "- note: he said: no\n", "- kind: 'x\n", "- kind: x\n at: y\n"):
        for word in ("mapping", "scalar", "token", "block", "indicator", "while"):
            assert word not in refusal(text)[0]


def test_the_garbage_collector_is_left_as_it_was():
    for text in (SHEET, "- kind: 'x\n"):
        for switch in (gc.enable, gc.disable):
            switch()
            before = gc.isenabled()
            with contextlib.suppress(Refused):
                read_sheet(text, "day.yaml")
            assert gc.isenabled() is before
    gc.enable()


NAMES = st.text("abcdefgh_", min_size=1, max_size=6)
WORDS = st.text(
    st.characters(exclude_categories=["Cs", "Cc"], exclude_characters="\ufeff\u2028\u2029\x85"), min_size=1, max_size=12
)
FIELDS = st.dictionaries(NAMES, WORDS | st.lists(WORDS, min_size=1, max_size=3), max_size=4)


@given(st.lists(FIELDS.map(lambda fields: {"kind": "x", **fields}), min_size=1, max_size=4))
def test_whatever_text_is_written_out_as_yaml_reads_back_the_same(written):
    # Strings that YAML would read as something else come out in quotes, all others plain.
    text = yaml.safe_dump(written, allow_unicode=True, sort_keys=False)
    assert entries(text) == written


@given(st.text(st.sampled_from("-:[]{}'\"#&*!|>%@`,? \n\tab~.") | st.characters(), max_size=60))
def test_no_text_at_all_ends_in_anything_but_a_sheet_or_a_refusal(text):
    try:
        sheet = read_sheet(text, "day.yaml")
    except Refused as refused:
        assert refused.problems
        assert all(problem.source == "day.yaml" and problem.expected for problem in refused.problems)
    else:
        assert sheet.entries


def test_a_file_saved_by_a_windows_editor_is_read(tmp_path):
    path: Path = tmp_path / "day.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + SHEET.replace("\n", "\r\n").encode())
    assert entries(path.read_bytes().decode()) == entries(SHEET)
