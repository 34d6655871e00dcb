"""`lotwalk labels`, and what is scanned off a label finding its thing again."""

import pypdfium2
import pytest
import zxingcpp

from lotwalk.cli.commands.printing.labels import labels
from lotwalk.pages.labels.label_content import SYMBOLS

LINK = "https://id.gs1.org/01/00614141777778/10/P-1?15=260317"


def _scanned(path, page=0):
    image = pypdfium2.PdfDocument(path)[page].render(scale=300 / 72).to_pil().convert("L")
    return [one.text for one in zxingcpp.read_barcodes(image)]


def test_labels_are_printed_and_told(lotwalk, ledger, tmp_path):
    done = lotwalk("labels", "M-001..M-004", "P-1", "--size", "62x29mm", "-o", "tags.pdf")
    assert done.status == 0
    assert done.lines == ["tags.pdf: 5 labels of 62x29mm, 5 pages. Print at 100 %, not fitted to the page."]
    assert _scanned("tags.pdf", 0) == ["M-001"]
    assert _scanned("tags.pdf", 4) == ["P-1"]


def test_the_usual_sheet_goes_by_the_farms_measures(lotwalk, ledger, tmp_path):
    assert "of A4-3x8-70x37mm, 1 page" in lotwalk("labels", "M-001").out
    assert (tmp_path / "labels.pdf").read_bytes().startswith(b"%PDF-")


def test_what_is_scanned_finds_its_thing(lotwalk, ledger):
    lotwalk("labels", "P-1", "--size", "62x29mm")
    (plain,) = _scanned("labels.pdf")
    for scan in (plain, LINK, "(01)00614141777778(15)260317(10)P-1", "]d2010061414177777815260317\x1d10P-1"):
        assert "P-1: packed lot" in lotwalk("show", scan).out
        assert lotwalk("recall", scan, "--format", "json").json["asked"] == ["P-1"]
        assert lotwalk("trace", scan, "--back", "--format", "json").json["asked"]["code"] == "P-1"
    unknown = lotwalk("show", LINK.replace("P-1", "P-9"))
    assert unknown.status == 2
    assert "P-9" in unknown.err


def test_tags_printed_ahead_come_with_a_reminder(lotwalk, ledger):
    done = lotwalk("labels", "M-101..M-103", "--new", "medium", "--size", "40x20mm")
    assert done.status == 0
    assert "not in the book yet" in done.err
    assert _scanned("labels.pdf", 2) == ["M-103"]
    assert lotwalk("show", "M-103").status == 2


def test_a_lot_on_hold_is_told(lotwalk, ledger):
    lotwalk("record", "hold", "--lots", "P-1", "--reason", "awaited", "--at", "2026-03-14 12:00", "--by", "TO")
    done = lotwalk("labels", "P-1")
    assert done.status == 0
    assert "On hold, and marked so: P-1. They must not leave." in done.err


OFF_SALE = """
$schema: https://json-schema.org/draft/2020-12/schema
$id: off-sale
title: Off sale
description: Lots taken off sale until more is known.
$ref: common.yaml
unevaluatedProperties: false
required: [lots]
properties:
  lots:
    title: Lots
    description: Which lots, such as P-1
    $ref: common.yaml#/$defs/codes
    x-thing: [lot]
    x-tells: TOLD
"""


@pytest.mark.parametrize(
    "told",
    [
        "[{fact: held}]",
        '[{fact: "held"}]',
        "[{'fact':'held'}]",
        '[{"fact":"held"}]',
        '[{fact: "\\x68eld"}]',
        "\n      - fact:\n          held",
        "[{fact: &word held}]",
    ],
)
def test_a_lot_held_by_a_kind_of_the_growers_own_is_marked_however_its_file_is_written(lotwalk, ledger, tmp_path, told):
    """P-1 is taken off sale and never let go again, so its label bears the mark; the label of H-1 does not."""
    own = tmp_path / "kinds"
    own.mkdir()
    (own / "off-sale.yaml").write_text(OFF_SALE.replace("TOLD", told))
    at = ("--at", "2026-03-14 12:00", "--by", "TO")
    assert lotwalk("--kinds", own, "record", "off-sale", "--lots", "P-1", *at).status == 0
    done = lotwalk("--kinds", own, "labels", "P-1", "H-1", "--size", "62x29mm")
    assert done.status == 0
    assert "On hold, and marked so: P-1. They must not leave." in done.err
    pages = [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument("labels.pdf")]
    assert ["HOLD" in page for page in pages] == [True, False]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((), "it is not said which labels"),
        (("M-999", "NOPE"), "M-999 is not in the book"),
        (("M-001..",), "a code is missing"),
        (("M-001", "--size", "62"), "no size of a label"),
        (("M-001", "--size", "62x29mm", "--sheet", "A4-3x7"), "not both"),
        (("M-001", "--sheet", "A4-3x7", "--start", "22"), "no label 22"),
        (("M-001", "--sheet", "none.yaml"), "none.yaml: cannot be read"),
        (("M-001", "--new", "medium"), "M-001 is in the book already"),
        (("E1",), "how an entry is named"),
        (("P-1", "--size", "20x10mm"), "no room"),
        (("P-1", "--code", "gs1-datamatrix"), "no GTIN"),
        (("M-001", "-o", "notes.txt"), "is no PDF"),
    ],
)
def test_what_cannot_be_printed_is_refused_and_nothing_is_written(lotwalk, ledger, tmp_path, arguments, said):
    (tmp_path / "notes.txt").write_text("mine")
    done = lotwalk("labels", *arguments)
    assert done.status == 2
    assert said in done.err
    assert not (tmp_path / "labels.pdf").exists()
    assert (tmp_path / "notes.txt").read_text() == "mine"


def test_the_sheets_are_listed_without_a_ledger(lotwalk):
    done = lotwalk("labels", "--sheets")
    assert done.status == 0
    assert "A4-3x8-70x37mm: 24 labels" in done.lines


def test_a_page_to_try_a_sheet_draws_the_edges(lotwalk, ledger):
    lotwalk("labels", "M-001", "-o", "plain.pdf")
    lotwalk("labels", "M-001", "--outlines", "-o", "tried.pdf")
    ink = [pypdfium2.PdfDocument(name)[0].render(scale=2).to_pil().convert("L") for name in ("plain.pdf", "tried.pdf")]
    dark = [sum(image.histogram()[:250]) for image in ink]
    assert dark[1] > dark[0]


def test_the_command_offers_every_way_to_fill_the_square():
    (option,) = [one for one in labels.params if one.name == "symbol" or "--code" in one.opts]
    assert tuple(option.type.choices) == SYMBOLS
