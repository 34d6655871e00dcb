"""Forms that cannot be read, or are not of this book, are refused in words, and never with a traceback."""

import contextlib
import io
import logging
import random

import pikepdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reportlab.pdfgen.canvas import Canvas
from tests.forms.filling import filled, printed

from lotwalk.errors import Problem, Refused
from lotwalk.forms import pdf
from lotwalk.forms.filled import is_filled, read_file, read_filled
from lotwalk.forms.names import MARK
from lotwalk.kinds.library import Kinds

KINDS = Kinds.load()


def refusal(content, kinds=KINDS):
    with pytest.raises(Refused) as caught:
        read_filled(content, "filled.pdf", kinds)
    return [str(problem) for problem in caught.value.problems]


@pytest.fixture(scope="module")
def washed():
    typed = {"washing/1/at": "2026-03-02 09:10", "washing/1/by": "TO", "washing/1/items": "M-001..M-004"}
    return filled(printed(KINDS, "washing"), typed | {"washing/1/method": "brushed", "washing/2/by": "TO"})


def changed(content, change):
    with pikepdf.open(io.BytesIO(content)) as opened:
        change(opened)
        out = io.BytesIO()
        opened.save(out)
    return out.getvalue()


def test_a_mistake_is_told_by_the_row_and_field_as_printed():
    form = filled(printed(KINDS, "sanitising"), {"sanitising/2/washed=yes": True, "sanitising/2/washed=no": True})
    assert refusal(form) == ["filled.pdf row 2, Washed first: 2 boxes are ticked: yes, no; expected one of them"]


def test_a_mistake_in_a_list_is_told_by_its_line_as_printed():
    """The second line was left empty: the batch on the third is the second of the list, and is told as line 3."""
    form = read_filled(
        filled(printed(KINDS, "harvest"), {"harvest/1/from/1/batch": "T-1", "harvest/1/from/3/batch": "T-2"}),
        "filled.pdf",
        KINDS,
    )
    told = form.told(Problem("T-2 is not in the book", "a batch", "from[1].batch", "filled.pdf", 1))
    assert str(told) == "filled.pdf row 1, From line 3, Batch: T-2 is not in the book; expected a batch"


def test_with_several_kinds_the_row_is_told_with_its_kind():
    form = filled(printed(KINDS, "washing", "harvest"), {"harvest/2/note": "a\x07b"})
    assert refusal(form) == [
        "filled.pdf Harvest row 2, Note: a sign that does not print; expected text that can be printed"
    ]


def test_a_form_with_nothing_in_it():
    assert "nothing is filled in" in refusal(printed(KINDS, "washing"))[0]
    assert "nothing is filled in" in refusal(filled(printed(KINDS, "washing"), {"washing/1/note": " \n "}))[0]


def test_a_locked_pdf(washed):
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(washed)) as opened:
        opened.save(out, encryption=pikepdf.Encryption(user="secret", owner="secret"))
    assert refusal(out.getvalue()) == [
        "filled.pdf: the PDF is locked with a password; expected a copy saved without one"
    ]


def test_a_pdf_without_a_form():
    out = io.BytesIO()
    canvas = Canvas(out)
    canvas.drawString(100, 100, "a scan")
    canvas.save()
    assert refusal(out.getvalue())[0].startswith("filled.pdf: the PDF has no fields; it may be a scan")


def test_a_form_of_somebody_elses():
    out = io.BytesIO()
    canvas = Canvas(out)
    canvas.drawString(100, 100, "a form")
    canvas.acroForm.textfield(name="washing/1/note", value="x")
    canvas.save()
    assert "no form of this record book" in refusal(out.getvalue())[0]
    assert not is_filled(out.getvalue())


MARKS = [
    "",
    "{}",
    "[]",
    '{"form":2,"kinds":{}}',
    '{"form":1,"kinds":[]}',
    "nonsense",
    "[" * 9_000,
    '{"form":1,"kinds":{"washing":{"digest":"a","rows":-1,"units":{}}}}',
    '{"form":1,"kinds":{"washing":{"digest":"a","rows":1,"units":{"a":1}}}}',
    '{"form":1,"kinds":{"../x":{"digest":"a","rows":1,"units":{}}}}',
]


@pytest.mark.parametrize("mark", MARKS)
def test_a_form_whose_mark_was_changed(washed, mark):
    form = filled(washed, {MARK: mark})
    assert "what the form says of itself cannot be read" in refusal(form)[0]


def test_a_form_for_a_kind_that_this_book_does_not_know(washed):
    mark = '{"form":1,"kinds":{"hives":{"digest":"a","rows":1,"units":{}}}}'
    assert "there is no kind of record named 'hives'" in refusal(filled(washed, {MARK: mark}))[0]


def test_a_form_made_for_another_version_of_the_kind_is_told(washed):
    mark = '{"form":1,"kinds":{"washing":{"digest":"0000","rows":9,"units":{}}}}'
    (notice,) = read_filled(filled(washed, {MARK: mark}), "filled.pdf", KINDS).notices
    assert notice.startswith("the form was made for another version of Washing")
    assert read_filled(washed, "filled.pdf", KINDS).notices == ()


def test_a_file_too_large_is_not_read(washed, monkeypatch):
    monkeypatch.setattr(pdf, "LARGEST", 1_000)
    assert "the file is larger than" in refusal(washed)[0]


def test_more_fields_than_any_form_has(washed):
    def many(opened):
        kid = opened.make_indirect(pikepdf.Dictionary(T="x", FT=pikepdf.Name.Tx, V="x"))
        node = opened.make_indirect(pikepdf.Dictionary(T="p", Kids=[kid]))
        for _ in range(20):
            node = opened.make_indirect(pikepdf.Dictionary(T="p", Kids=[node]))
        opened.Root.AcroForm.Fields.append(node)

    assert "more fields than any form" in refusal(changed(washed, many))[0]


def test_fields_that_hold_each_other_in_a_circle(washed):
    def circle(opened):
        node = opened.make_indirect(pikepdf.Dictionary(T="p"))
        node.Kids = pikepdf.Array([node])
        opened.Root.AcroForm.Fields.append(node)

    assert len(read_filled(changed(washed, circle), "filled.pdf", KINDS).sheet.entries) == 2


def test_fields_parted_into_parents_and_children_are_read(washed):
    """Some programs hang a box's look below its field."""

    def apart(opened):
        for field in opened.Root.AcroForm.Fields:
            if str(field.T) == "washing/1/method":
                look = opened.make_indirect(
                    pikepdf.Dictionary(Subtype=pikepdf.Name.Widget, Rect=field.Rect, Parent=field)
                )
                field.Kids = pikepdf.Array([look])

    (first, _) = read_filled(changed(washed, apart), "filled.pdf", KINDS).sheet.entries
    assert first["method"] == "brushed"


def test_a_tick_that_only_shows_is_a_tick(washed):
    def show(opened):
        for field in opened.Root.AcroForm.Fields:
            if str(field.T) == "washing/1/seen_clean=yes":
                field.AS = pikepdf.Name.Yes

    (first, _) = read_filled(changed(washed, show), "filled.pdf", KINDS).sheet.entries
    assert first["seen_clean"] == "yes"


def test_a_file_that_is_cut_short(washed):
    for size in (5, 100, 5_000, len(washed) // 2):
        assert refusal(washed[:size])[0].startswith("filled.pdf: ")


def test_a_missing_file_is_told_as_for_a_sheet(tmp_path):
    with pytest.raises(Refused, match="No such file"):
        read_file(tmp_path / "none.pdf", KINDS)


BLANK = printed(KINDS, "hold", rows=1)


@settings(max_examples=150, deadline=None)
@given(st.integers(0, 2**32), st.integers(1, 400))
def test_a_damaged_file_is_refused_or_read_and_nothing_else(seed, hits):
    chance = random.Random(seed)
    damaged = bytearray(filled_hold())
    for _ in range(hits):
        damaged[chance.randrange(len(damaged))] = chance.randrange(256)
    try:
        read_filled(bytes(damaged), "filled.pdf", KINDS)
    except Refused as refused:
        assert all(str(problem).startswith("filled.pdf") for problem in refused.problems)


def filled_hold():
    return filled(BLANK, {"hold/1/lots": "P-1", "hold/1/reason": "result awaited"})


def test_oddities_in_a_file_are_not_told_on_the_screen(washed, capfd):
    damaged = washed.replace(b"startxref", b"startxxxx")
    logging.getLogger("pypdf").setLevel(logging.NOTSET)
    with contextlib.suppress(Refused):
        read_filled(damaged, "filled.pdf", KINDS)
    assert capfd.readouterr() == ("", "")
