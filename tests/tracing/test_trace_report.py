"""The traceability report read back, and held against the trace's own JSON."""

import json

import pytest
from click.testing import CliRunner
from pypdf import PdfWriter
from tests.tracing.conftest import NOW, Read, squeezed

from lotwalk.book import Book
from lotwalk.cli.main import program
from lotwalk.errors import NotUnderstood
from lotwalk.values.codes import expand


def _run(sample, *arguments):
    done = CliRunner().invoke(program, ["--ledger", str(sample), *map(str, arguments)])
    assert done.exit_code == 0, (done.output, done.exception)
    return done.output


def _report(sample, path, *arguments):
    _run(sample, "report", "trace", *arguments, "-o", path)
    return Read(path.read_bytes())


def _printed_codes(text):
    """Every code that a text names, ranges taken apart."""
    found = set()
    for word in text.replace(",", " ").split():
        try:
            found |= set(expand(word))
        except NotUnderstood:
            continue
    return found


@pytest.mark.parametrize("code", ["P-0130-5", "D-1121", "S-FEN-1"])
def test_all_that_is_reached_is_named(sample, tmp_path, code):
    read = _report(sample, tmp_path / "out.pdf", code)
    named = _printed_codes(read.text)
    for way in ("--back", "--forward"):
        reached = json.loads(_run(sample, "trace", code, way, "--format", "json"))["reached"]
        missing = {one["code"] for one in reached} - named
        assert {code for code in missing if squeezed(code) not in squeezed(read.text)} == set()


def test_the_key_data_elements_of_a_delivery_stand_in_a_table(sample, tmp_path):
    """Elements as 21 CFR 1 subpart S names them, in the project's references; the values as the sample's sheets say."""
    read = _report(sample, tmp_path / "out.pdf", "D-1121")
    text = squeezed(read.text)
    for words in (
        "Lot code", "Product description", "Quantity and unit", "From or to", "Reference",
        "not to start before 20 July 2028",
        "P-0130-5", "Broccoli greens", "2 lb", "12 oz", "2026-01-30 17:05",
        "The Osterby Table, 88 Canal Walk, Tansy Corners, NY, US, 555-0121",
        "Stubbin Hollow Seed Growers", "S-BRO-1 2.25 oz", "printed code BRO-4 13FEB",
    ):  # fmt: skip
        assert squeezed(words) in text, words
    table = text[text.index("Keydataelements") :]
    order = [table.index(event) for event in ("SeedreceiptE70", "HarvestE592", "PackingE598", "DeliveryE608")]
    assert order == sorted(order)


def test_the_papers_are_named_by_number_with_their_results(sample, tmp_path):
    read = _report(sample, tmp_path / "out.pdf", "D-1121")
    for words in ("SH-GERM-118", "SH-PATH-25", "not detected in 25 g", "TC-VILLAGE-2025", "Papers and tests in hand"):
        assert words in read.text


def test_the_files_of_the_papers_follow_by_number(tmp_path):
    paper = PdfWriter()
    for _ in range(2):
        paper.add_blank_page(420, 595)
    paper.write(tmp_path / "coa.pdf")
    book = Book.start(str(tmp_path / "farm.db"), name="F", location="L", timezone="UTC", rules="us", clock=lambda: NOW)
    entries = [
        {"kind": "person", "code": "TO", "name": "Tess Orr"},
        {"kind": "supplier", "code": "SEEDS", "name": "Seeds"},
        {
            "kind": "seed-receipt",
            "lot": "S-1",
            "crop": "pea",
            "supplier": "SEEDS",
            "supplier_lot": "1",
            "amount": "2 kg",
        },
        {"kind": "certificate", "number": "COA-1", "type": "analysis", "covers": "S-1", "files": ["coa.pdf"]},
    ]
    book.record_all([{"at": "2026-02-01 08:00", "by": "TO", **entry} for entry in entries], folder=tmp_path)
    read = _report(tmp_path / "farm.db", tmp_path / "out.pdf", "S-1")
    own = next(number for number, page in enumerate(read.pages) if "End of the report" in page) + 1
    assert len(read.pages) == own + 2
    assert "1. coa.pdf" in read.text
    for number, page in enumerate(read.pages, 1):
        assert f"Page {number} of {own + 2}" in page
    assert "Attached to E5, Certificate COA-1" in read.pages[-1]
    assert read.reader.metadata.title == "Traceability report: Seed lot S-1, F"
    assert any("coa.pdf" in mark for mark in read.bookmarks())


def test_a_complaint_stands_for_what_it_is_about(sample, tmp_path):
    read = _report(sample, tmp_path / "out.pdf", "Q-1")
    assert "Complaint Q-1" in read.pages[0]
    assert "D-1121" in read.text
    assert any("Complaint Q-1, back to all" in page and "ASKED" in page for page in read.pages)


def test_what_a_package_says_finds_its_lot(sample, tmp_path):
    read = _report(sample, tmp_path / "out.pdf", "BRO-4 13FEB")
    assert "Packed lot P-0130-5" in read.pages[0]


def test_any_other_report_is_still_a_log(sample, tmp_path):
    path = tmp_path / "log.pdf"
    told = _run(sample, "report", "--until", "2026-01-10", "sanitising", "--out", path)
    assert "Washing and sanitising log" in told
