"""`form`: blank forms, and the way back through `load`."""

import pytest
from pypdf import PdfReader
from tests.forms.filling import filled

TYPED = {
    "sanitising/1/at": "2026-03-10 13:00",
    "sanitising/1/by": "TO",
    "sanitising/1/items": "M-001",
    "sanitising/1/solution": "SOL-1",
    "sanitising/1/reading": "110",
    "sanitising/1/temperature": "20",
    "sanitising/1/contact": "2 min",
    "sanitising/1/washed=yes": True,
}


@pytest.fixture
def fill(lotwalk, tmp_path):
    """Fill in a blank form of a kind."""

    def fill(kind, typed, name="filled.pdf"):
        done = lotwalk("form", kind, "--fillable", "--out", "blank.pdf")
        assert done.status == 0, done.err
        (tmp_path / name).write_bytes(filled((tmp_path / "blank.pdf").read_bytes(), typed))
        return name

    return fill


def text_of(path):
    return " ".join(" ".join(page.extract_text() for page in PdfReader(path).pages).split())


def test_a_form_is_printed_beside_the_ledger_it_is_for(lotwalk, ledger):
    done = lotwalk("form", "washing")
    assert (done.status, done.err) == (0, "")
    assert done.lines == ["form-washing.pdf: Washing, 1 page, room for 12 entries"]
    assert "Hill Farm, The Hill" in text_of("form-washing.pdf")


def test_a_form_needs_no_ledger(lotwalk):
    done = lotwalk("form", "storage-check", "-o", "cold.pdf", "--paper", "letter")
    assert done.status == 0
    assert "There is no ledger here: without a farm's name, and by the rule set general." in done.lines
    text = text_of("cold.pdf")
    assert "at most 41 °F" in text
    assert "Farm ____" in text


def test_a_ledger_that_was_named_must_be_there(lotwalk, tmp_path):
    done = lotwalk("--ledger", "misspelt.db", "form", "washing")
    assert done.status == 2
    assert "misspelt.db: there is no ledger here" in done.err
    assert list(tmp_path.iterdir()) == []


def test_all_forms_at_once(lotwalk, ledger):
    done = lotwalk("form", "all")
    assert done.status == 0
    reader = PdfReader("form-all.pdf")
    assert [one.title for one in reader.outline][:2] == ["Calibration", "Certificate"]
    assert f"form-all.pdf: {len(reader.outline)} forms, {len(reader.pages)} pages" in done.out


def test_a_filled_form_goes_in_as_a_sheet_does(lotwalk, ledger, fill):
    done = lotwalk("load", fill("sanitising", TYPED))
    assert (done.status, done.err) == (0, "")
    assert done.lines == ["filled.pdf: 1 entry, E24"]
    entry = lotwalk("show", "E24", "--format", "json").json
    assert entry["verdict"]["passed"] == ["M-001"]
    assert entry["fields"]["reading"] == "110 ppm"
    assert entry["fields"]["temperature"] == "20 °C"


def test_a_load_that_fails_is_told_with_the_row_and_its_time(lotwalk, ledger, fill):
    done = lotwalk("load", fill("sanitising", TYPED | {"sanitising/1/reading": "30"}))
    assert done.status == 0
    assert "  E24, sanitising, 2026-03-10 13:00:" in done.lines


def test_mistakes_are_told_by_row_and_field_and_nothing_goes_in(lotwalk, ledger, fill):
    before = lotwalk("verify").out
    second = {name.replace("/1/", "/3/"): value for name, value in TYPED.items()}
    typed = TYPED | second | {"sanitising/3/reading": "strong", "sanitising/3/items": "M-001, M-999"}
    done = lotwalk("load", fill("sanitising", typed))
    assert (done.status, done.out) == (2, "")
    told = done.err.splitlines()
    assert len(told) == 2
    assert any(line.startswith("filled.pdf row 3, Reading: ") for line in told)
    assert any(line.startswith("filled.pdf row 3, Items: M-999 is not in the book") for line in told)
    assert lotwalk("verify").out == before


def test_the_same_form_goes_in_once_however_it_was_saved(lotwalk, ledger, fill, tmp_path):
    name = fill("sanitising", TYPED)
    assert lotwalk("load", name).status == 0
    (tmp_path / "copy.pdf").write_bytes(filled((tmp_path / name).read_bytes(), {}))
    assert (tmp_path / "copy.pdf").read_bytes() != (tmp_path / name).read_bytes()
    done = lotwalk("load", "copy.pdf")
    assert done.status == 2
    assert "copy.pdf: this form is already in the book (as filled.pdf)" in done.err


def test_what_a_sheet_brought_in_does_not_come_in_again_by_a_form(lotwalk, ledger, fill, tmp_path):
    (tmp_path / "sheet.yaml").write_text(
        "- {kind: washing, at: 2026-03-12 09:00, by: TO, items: M-004, method: brushed}\n"
    )
    assert lotwalk("load", "sheet.yaml").status == 0
    washed = {"at": "2026-03-12 09:00", "by": "TO", "items": "M-004", "method": "brushed"}
    name = fill("washing", {f"washing/2/{field}": text for field, text in washed.items()})
    done = lotwalk("load", name)
    assert done.status == 2
    assert "filled.pdf row 2: this washing is already in the book as E24" in done.err
    assert lotwalk("load", name, "--again").status == 0


def test_files_named_in_a_form_are_found_beside_it(lotwalk, ledger, fill, tmp_path):
    (tmp_path / "strip.jpg").write_bytes(b"\xff\xd8\xff")
    assert lotwalk("load", fill("sanitising", TYPED | {"sanitising/1/files": "strip.jpg"})).status == 0
    (kept,) = lotwalk("show", "E24", "--format", "json").json["files"]
    assert kept["name"] == "strip.jpg"


def test_a_form_of_another_version_is_told_beside_what_it_brought_in(lotwalk, ledger, tmp_path):
    """A grower's own kind gets a field more after its forms were printed."""
    own = tmp_path / "own"
    own.mkdir()
    kind = (
        "$id: hives\ntitle: Hives\ndescription: Bees.\n$ref: common.yaml\nunevaluatedProperties: false\n"
        "required: [count]\nproperties:\n  count: {title: Count, $ref: common.yaml#/$defs/count}\n"
    )
    (own / "hives.yaml").write_text(kind)
    assert lotwalk("--kinds", own, "form", "hives", "--fillable", "-o", "hives.pdf").status == 0
    typed = {"hives/1/at": "2026-03-12", "hives/1/by": "TO", "hives/1/count": "3"}
    (tmp_path / "filled.pdf").write_bytes(filled((tmp_path / "hives.pdf").read_bytes(), typed))
    (own / "hives.yaml").write_text(kind + "  seen: {title: Seen, $ref: common.yaml#/$defs/text}\n")
    done = lotwalk("--kinds", own, "load", "filled.pdf")
    assert done.status == 0
    assert "Note: the form was made for another version of Hives" in done.out


def test_cautions_and_signatures_are_those_of_the_growers_own_log(lotwalk, ledger, tmp_path):
    (tmp_path / "reports").mkdir()
    (tmp_path / "reports" / "sanitising.yaml").write_text(
        "based_on: sanitising\nlanguage: de\nsignatures: [Geprüft von]\ncautions: {Etikett: Das Etikett geht vor.}\n",
        encoding="utf-8",
    )
    assert lotwalk("form", "washing", "--reports", "reports").status == 0
    shown = text_of("form-washing.pdf")
    assert "Etikett Das Etikett geht vor." in shown
    assert "Geprüft von" in shown
    assert "Reviewed by" not in shown
    assert PdfReader("form-washing.pdf").root_object["/Lang"] == "de"


def test_nothing_filled_in_is_written_over(lotwalk, ledger, fill, tmp_path):
    name = fill("sanitising", TYPED)
    before = (tmp_path / name).read_bytes()
    done = lotwalk("form", "sanitising", "--fillable", "-o", name)
    assert done.status == 2
    assert "a form in which something is filled in" in done.err
    assert (tmp_path / name).read_bytes() == before
    (tmp_path / "notes.txt").write_text("notes")
    assert "is no PDF" in lotwalk("form", "sanitising", "-o", "notes.txt").err
    assert lotwalk("form", "sanitising", "--fillable", "-o", "blank.pdf").status == 0


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["nothing"], "there is no kind of record named 'nothing'"),
        (["washing", "--rows", "0"], "0 rows; expected 1 to"),
        (["washing", "--paper", "a0"], "there is no paper a0; expected A4 or Letter"),
        (["delivery", "--lines", "38"], "one delivery does not fit on a page; expected fewer lines"),
        (["delivery", "--lines", "99"], "99 lines; expected 1 to 40"),
        (["washing", "--reports", "none"], "there is no folder none"),
    ],
)
def test_what_cannot_be_printed_is_told(lotwalk, tmp_path, arguments, told):
    done = lotwalk("form", *arguments)
    assert done.status == 2
    assert told in done.err
    assert list(tmp_path.iterdir()) == []


def test_no_word_of_a_damaged_pdf_stands_on_the_screen_but_ours(ledger, shell, tmp_path):
    (tmp_path / "broken.pdf").write_bytes(b"%PDF-1.7\n" + bytes(range(256)) * 40)
    done = shell("load", "broken.pdf")
    assert (done.status, done.out) == (2, "")
    assert done.err.startswith("broken.pdf: the PDF is damaged")
    assert len(done.err.splitlines()) == 1
