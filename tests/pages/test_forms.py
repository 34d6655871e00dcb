"""Blank forms: what is printed, how large the boxes are, and what a screen reader and another program are told."""

import io

import pikepdf
import pytest
from pypdf import PdfReader
from tests.forms.filling import printed

from lotwalk.errors import KindError, NotUnderstood
from lotwalk.forms import pdf
from lotwalk.forms.names import MARK, read_name
from lotwalk.judge.ruleset.limits import KNOWN
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.kinds.library import Kinds
from lotwalk.pages.forms.about import About
from lotwalk.pages.forms.boxes import TICK, WRITING, boxes_of
from lotwalk.pages.forms.form import write_forms
from lotwalk.pages.forms.layout import lay_out
from lotwalk.pages.forms.limits import LABEL
from lotwalk.values.units import Units

KINDS = Kinds.load()
NINE_MILLIMETRES = 9 / 25.4 * 72
PAPERS = {"A4": (595.3, 841.9), "Letter": (612.0, 792.0)}
"""ISO 216 A4 is 210 mm by 297 mm, ANSI A 8.5 by 11 inches; a point is 1/72 inch."""


def form(about: About, *names: str, **more) -> PdfReader:
    out = io.BytesIO()
    write_forms([about.kinds[name] for name in names], about, out=out, **more)
    return PdfReader(io.BytesIO(out.getvalue()))


def text(reader: PdfReader) -> str:
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


@pytest.fixture(scope="module")
def nobody() -> About:
    return About.of_nobody(KINDS, "metric")


@pytest.fixture
def ours(farm) -> About:
    return About.of_ledger(farm.book.ledger)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", KINDS.names)
def test_every_kind_prints_all_its_fields_on_pages_of_the_paper(nobody, name, paper):
    reader = form(nobody, name, paper=paper)
    sides = {tuple(sorted((float(page.mediabox.width), float(page.mediabox.height)))) for page in reader.pages}
    assert [pytest.approx(side, abs=0.2) for side in sides] == [PAPERS[paper]]
    shown = text(reader)
    for field in KINDS[name].fields.values():
        if field.read != "files":
            assert field.title in shown
        for inner in field.fields.values():
            assert inner.title in shown
        for choice in field.choices:
            assert choice in shown


@pytest.mark.parametrize("upright", [531.0, 548.0])
@pytest.mark.parametrize("name", KINDS.names)
def test_boxes_are_large_enough_for_wet_hands_and_stand_side_by_side(name, upright):
    layout = lay_out(boxes_of(KINDS[name], Units.load("metric"), {}), upright, 760.0)
    for one in layout.placed:
        assert one.height - one.strip >= NINE_MILLIMETRES
        assert one.width >= NINE_MILLIMETRES
        assert one.x >= -0.01
        assert one.x + one.width <= layout.width + 0.01
        assert one.down + one.height <= layout.height + 0.01
    for one in layout.placed:
        for other in layout.placed:
            apart = (
                one is other
                or one.x + one.width <= other.x + 0.01
                or other.x + other.width <= one.x + 0.01
                or one.down + one.height <= other.down + 0.01
                or other.down + other.height <= one.down + 0.01
            )
            assert apart


def test_what_is_ticked_is_as_large_as_what_is_written_on_needs(nobody):
    assert WRITING >= NINE_MILLIMETRES
    assert TICK >= 5 / 25.4 * 72


def test_what_must_be_filled_in_has_a_star(nobody):
    shown = text(form(nobody, "sanitising"))
    assert "Items *" in shown
    assert "Reading *" not in shown


def test_rows_go_on_over_numbered_pages(nobody):
    reader = form(nobody, "storage-check", rows=25)
    pages = [page.extract_text() for page in reader.pages]
    assert len(pages) == 3
    assert all(f"Page {number} of 3" in page for number, page in enumerate(pages, 1))
    assert all("Temperature *" in page and "Reviewed by" in page for page in pages)
    assert "25" in pages[-1]


def test_lists_have_as_many_lines_as_asked_for(nobody):
    for lines in (1, 7):
        boxes = boxes_of(KINDS["delivery"], nobody.units, {}, lines=lines)
        layout = lay_out(boxes, 531.0, 760.0)
        assert {placed.line for placed in layout.placed} == set(range(lines + 1))


@pytest.mark.parametrize(
    ("measures", "unit", "limit"), [("metric", "°C", "at most 5 °C"), ("us", "°F", "at most 41 °F")]
)
def test_units_and_limits_are_in_the_farms_measures(measures, unit, limit):
    """41 degF is 5 degC exactly: 5 * 9/5 + 32."""
    shown = text(form(About.of_nobody(KINDS, measures), "storage-check"))
    assert unit in shown
    assert limit in shown
    assert "3-501.16" in shown


def test_a_limit_from_memory_says_so(nobody):
    assert "none found in 100 mL" in text(form(nobody, "water-test"))
    assert "from memory): look it up" in text(form(nobody, "water-test"))


def test_every_limit_that_a_kind_names_is_one_of_a_rule_set():
    named = {
        limit.key
        for name in KINDS.names
        for field in KINDS[name].fields.values()
        for limit in field.limits
        if limit.sense != LABEL
    }
    assert named
    assert named <= KNOWN.keys()
    assert named & RuleSet.load("general").limits.keys()


def test_a_limit_that_no_rule_set_has_is_told(tmp_path):
    (tmp_path / "hives.yaml").write_text(
        "$id: hives\ntitle: Hives\ndescription: Bees.\n$ref: common.yaml\nunevaluatedProperties: false\nproperties:\n"
        "  heat:\n    title: Heat\n    $ref: common.yaml#/$defs/amount\n    x-dimension: [temperature]\n"
        "    x-limit: [{at_most: hives.warmest}]\n"
    )
    with pytest.raises(KindError, match=r"hives\.yaml: heat: x-limit: no rule set has a limit named hives\.warmest"):
        form(About.of_nobody(Kinds.load(tmp_path), "metric"), "hives")


def test_the_labels_of_products_in_date_stand_on_the_form(farm, ours):
    shown = text(form(ours, "sanitising"))
    assert "BL-1: Plain bleach: 50 ppm to 200 ppm, contact 1 min." in shown
    farm.at("2027-02-01 08:00")
    assert "Plain bleach" not in text(form(About.of_ledger(farm.book.ledger), "sanitising"))


def test_each_use_of_a_label_record_has_its_line(farm):
    farm.record(
        "label",
        at="2026-03-02",
        code="LBL-2",
        product="Peracid",
        uses=[
            {"use": "food contact", "surface": "hard", "min": "80 ppm", "max": "120 ppm", "contact": "2 min"},
            {"use": "mats", "porous": "yes", "min": "150 ppm", "contact": "10 min", "rinse": "yes", "ph": "6-7"},
        ],
    )
    farm.record("supplies-receipt", at="2026-03-02", lot="PX-1", product="Peracid", type="sanitiser", label="LBL-2")
    shown = text(form(About.of_ledger(farm.book.ledger), "solution-check"))
    assert "PX-1: Peracid, food contact, hard: 80 ppm to 120 ppm, contact 2 min." in shown
    assert "PX-1: Peracid, mats, porous: at least 150 ppm, contact 10 min, pH 6-7, rinse." in shown


def test_without_a_label_on_record_there_is_room_to_write_it_down(nobody):
    assert "strength from ____" in text(form(nobody, "sanitising"))
    assert "contact time ____" in text(form(nobody, "sanitising"))


def test_the_cautions_are_those_of_the_log_of_that_kind(farm, ours):
    shown = text(form(ours, "sanitising"))
    for subject, sentence in farm.definition().cautions:
        assert subject in shown
        assert sentence in shown


@pytest.mark.parametrize("name", KINDS.names)
def test_every_form_defers_to_label_regulator_and_advice(nobody, name):
    for page in form(nobody, name, fillable=True).pages:
        assert "The local regulator, the product label and licensed advice decide." in " ".join(
            page.extract_text().split()
        )


def test_paper_has_lines_to_sign_and_the_screen_none(nobody):
    assert "Filled in by Date Name Signature" in text(form(nobody, "sanitising"))
    assert "Signature" not in text(form(nobody, "sanitising", fillable=True))


def test_the_file_says_what_it_is(ours):
    reader = form(ours, "washing")
    assert reader.metadata.title == "Washing, form, Mill Lane Greens"
    assert reader.root_object["/Lang"] == "en"
    assert reader.root_object["/ViewerPreferences"]["/DisplayDocTitle"]


def test_all_that_is_printed_is_in_embedded_letters(nobody):
    reader = form(nobody, "harvest", fillable=True)
    fonts = [font.get_object() for page in reader.pages for font in page["/Resources"]["/Font"].values()]
    assert fonts
    assert all("/FontFile2" in font["/FontDescriptor"] for font in fonts)


def test_several_forms_have_bookmarks(nobody):
    assert [one.title for one in form(nobody, "washing", "harvest").outline] == ["Washing", "Harvest"]


def test_the_same_form_is_printed_in_the_same_bytes():
    assert printed(KINDS, "harvest") == printed(KINDS, "harvest")


HOSTILE = "<b>&amp; \U0001f600 שלום " + "w" * 2_000 + " z\u0300\u0301 \\ ( ) %(x)s"


def test_any_name_of_a_farm_and_any_words_of_a_kind_print(start, tmp_path):
    farm = start(name=HOSTILE, location=HOSTILE)
    (tmp_path / "own").mkdir()
    words = HOSTILE.replace("\\", "\\\\")
    (tmp_path / "own" / "hives.yaml").write_text(
        f'$id: hives\ntitle: "{words}"\ndescription: "{words}"\n$ref: common.yaml\nunevaluatedProperties: false\n'
        f'properties:\n  seen:\n    title: "{words}"\n    description: "{words}"\n    $ref: common.yaml#/$defs/text\n'
        f'    enum: ["{words}", "a.b/c=d%"]\n',
        encoding="utf-8",
    )
    farm.book.ledger.kinds = Kinds.load(tmp_path / "own")
    for fillable in (False, True):
        reader = form(About.of_ledger(farm.book.ledger), "hives", fillable=fillable)
        assert "<b>&amp; [U+1F600]" in text(reader)


# What a form to fill in tells programs.


@pytest.mark.parametrize("name", ["sanitising", "delivery", "water-source"])
def test_each_box_is_named_and_described_where_it_stands(nobody, name):
    kind = KINDS[name]
    with pikepdf.open(io.BytesIO(printed(KINDS, name, rows=2))) as pdf:
        fields = [field for field in pdf.Root.AcroForm.Fields if str(field.T) != MARK]
        names = [str(field.T) for field in fields]
        assert len(set(names)) == len(names)
        for field in fields:
            named = read_name(str(field.T))
            asked = kind.fields[named.field]
            asked = asked.fields[named.inner] if named.inner else asked
            assert str(field.TU).startswith(f"Row {named.row}, ")
            assert asked.title in str(field.TU)
            assert asked.description in str(field.TU)
            assert str(field.FT) == ("/Btn" if asked.choices else "/Tx")
        expected = {one.name for one in kind.fields.values()}
        assert {read_name(one).field for one in names if read_name(one).row == 2} == expected
        assert all(float(field.Rect[3] - field.Rect[1]) > 14 for field in fields)


def test_no_form_is_too_large_to_be_read_back(monkeypatch):
    monkeypatch.setattr(pdf, "LARGEST", 150_000)
    assert printed(KINDS, "hold", rows=2)
    with pytest.raises(NotUnderstood, match="fewer rows"):
        printed(KINDS, "hold", rows=200)


def test_text_of_any_length_may_be_typed(nobody):
    with pikepdf.open(io.BytesIO(printed(KINDS, "complaint"))) as pdf:
        assert all("/MaxLen" not in field for field in pdf.Root.AcroForm.Fields)


def test_the_mark_is_not_seen(nobody):
    with pikepdf.open(io.BytesIO(printed(KINDS, "washing"))) as pdf:
        (mark,) = (field for field in pdf.Root.AcroForm.Fields if str(field.T) == MARK)
        hidden, read_only = 2, 1
        assert int(mark.F) & hidden
        assert int(mark.Ff) & read_only
        assert KINDS["washing"].digest in str(mark.V)
