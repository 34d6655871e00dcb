"""Labels are read back by independent decoders off the page as a printer draws it; nothing stands outside them."""

import io
from functools import cache

import pypdfium2
import pytest
import zxingcpp
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader
from reportlab.lib.units import mm
from tests import datamatrix

from lotwalk.errors import NotUnderstood, Refused
from lotwalk.pages.labels.label_layout import Content, Said, lay_out
from lotwalk.pages.labels.label_sheets import find_sheet, one_up
from lotwalk.pages.labels.label_symbols import LEAST_MODULE, qr
from lotwalk.pages.labels.print_labels import write_labels
from lotwalk.pages.typeface.fonts import load_fonts
from lotwalk.values.codes import check_code
from lotwalk.values.gs1 import scanned_lot

A4 = "A4-3x8-70x37mm"
GTIN = "00614141777778"


def printed(farm, codes, sheet=A4, **more):
    out = io.BytesIO()
    where = one_up(sheet) if sheet[0].isdigit() else find_sheet(sheet)
    summary = write_labels(farm.book.ledger, codes, where, out=out, **more)
    return out.getvalue(), summary


def picture(content, dpi, page=0):
    """A page in black and white, as a label printer draws it."""
    return pypdfium2.PdfDocument(content)[page].render(scale=dpi / 72).to_pil().convert("1", dither=0).convert("L")


def scanned(content, dpi, page=0):
    found = zxingcpp.read_barcodes(
        picture(content, dpi, page), formats=zxingcpp.BarcodeFormat.QRCode, try_invert=False, try_rotate=False
    )
    return [one.text for one in found]


def modules(drawn, position, across):
    """The modules of a square symbol that stands upright in a picture: true where the middle of one is dark."""
    left, top = position.top_left.x, position.top_left.y
    wide, high = position.top_right.x - left, position.bottom_left.y - top
    middles = [(at + 0.5) / across for at in range(across)]
    return [[drawn.getpixel((left + x * wide, top + y * high)) < 128 for x in middles] for y in middles]


def text_of(content):
    return [" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(content)).pages]


@pytest.fixture
def farm(farm):
    def record(kind, **fields):
        return type(farm).record(farm, kind, **{"at": "2026-03-02 08:30", **fields})

    def pack(lot, **fields):
        given = {"from": "H-1 100 g", "product": "PEA", "packs": "1", "best_before": "2026-03-12"}
        record("packing", lot=lot, **given, at="2026-03-02 11:00", **fields)

    def with_prefix(**fields):
        named = {"name": "Mill Lane Greens", "location": "Hudson", "timezone": "UTC", "measures": "us", "rules": "us"}
        record("farm", **named, company_prefix="0614141", **fields)

    farm.record, farm.pack, farm.with_prefix = record, pack, with_prefix
    said = {"allergens": "May contain mustard", "keep": "Keep refrigerated"}
    record("product", code="PEA", name="Pea shoots", commodity="pea", pack_size="100 g", gtin=GTIN, **said)
    record("supplier", code="SEEDS", name="Seeds")
    record("seed-receipt", lot="S-1", crop="pea", supplier="SEEDS", amount="2 kg")
    record("sowing", batch="T-1", seed="S-1 200 g", trays="2", at="2026-03-02 09:00")
    cut = {"cut": "above the medium", "at": "2026-03-02 10:00"}
    record("harvest", lot="H-1", **{"from": "T-1 2"}, amount="900 g", **cut)
    return farm


def test_what_was_restocked_has_the_words_of_the_lot_that_it_is_some_of(farm):
    farm.pack("P-1", printed="L7")
    farm.record("customer", code="CAFE", name="Cafe")
    farm.record("delivery", code="D-1", customer="CAFE", items="P-1 100 g", at="2026-03-03 08:00")
    again = {"delivery": "D-1", "lot": "P-1", "amount": "50 g", "then": "restocked", "new_lot": "P-1R"}
    farm.record("return", **again, at="2026-03-04 08:00")
    (said,) = text_of(printed(farm, "P-1R")[0])
    for words in (
        "P-1R", "Pea shoots", "Printed code: L7", "Best before: 2026-03-12", "Packed: 2026-03-02",
        "Allergens: May contain mustard", "Keep refrigerated",
    ):  # fmt: skip
        assert words in said


@pytest.mark.parametrize(("sheet", "dpi"), [(A4, 300), ("Letter-4x20", 300), ("A4-5x13", 203)])
def test_every_tag_on_a_sheet_is_read_back(farm, sheet, dpi):
    content, summary = printed(farm, "M-001..M-024", sheet)
    codes = [f"M-{number:03d}" for number in range(1, 25)]
    image, scale, where = picture(content, dpi), dpi / 72, find_sheet(sheet)
    found = []
    for place in range(24):
        x, y = where.corner(place)
        upper = where.page[1] - y - where.height
        box = (x * scale, upper * scale, (x + where.width) * scale, (upper + where.height) * scale)
        found += [one.text for one in zxingcpp.read_barcodes(image.crop(tuple(map(round, box))))]
    assert found == codes
    assert summary.labels == 24
    (text,) = text_of(content)
    assert all(code in text for code in codes)


@pytest.mark.parametrize("dpi", [203, 300])
def test_a_pack_for_a_label_printer_says_what_it_must(farm, dpi):
    farm.pack("P-1")
    content, _ = printed(farm, "P-1", "62x29mm")
    assert scanned(content, dpi) == ["P-1"]
    (text,) = text_of(content)
    for words in ("P-1", "Pea shoots", "2026-03-12", "Packed: 2026-03-02", "100 g", "May contain mustard",
                  "Keep refrigerated", "Mill Lane Greens", "12 Mill Lane, Hudson"):  # fmt: skip
        assert words in text
    box = PdfReader(io.BytesIO(content)).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx((62 * mm, 29 * mm), abs=0.01)


LONG = ["A" * 64, "ż" * 64, "/" * 64, "0" * 64, "🌱" * 20, "漢字-01"]
STRANGE = ["😀-1", "نعناع-٣", "a\u0301b", "<b>&", "(01)[x]", "%5C\\n"]


@pytest.mark.parametrize("code", [*LONG, *STRANGE])
@pytest.mark.parametrize("dpi", [203, 300])
def test_long_and_strange_codes_are_read_back(farm, code, dpi):
    content, _ = printed(farm, code, "100x60mm", new="medium")
    assert scanned(content, dpi) == [check_code(code)]
    letters = "".join("".join(text_of(content)).split())
    assert all(sign in letters for sign in set(load_fonts().printable(check_code(code))))


CODES = st.text(st.characters(exclude_categories=("C", "Z")), min_size=1, max_size=64)


def _is_code(text):
    try:
        return bool(check_code(text))
    except NotUnderstood:
        return False


@settings(max_examples=40, deadline=None)
@given(code=CODES.filter(_is_code))
def test_any_code_is_read_back_or_refused_in_words(code):
    code = check_code(code)
    try:
        label = lay_out(Content(code, qr(code), ()), 80 * mm, 50 * mm)
    except NotUnderstood as why:
        assert "no room" in str(why)
        return
    assert label.module >= LEAST_MODULE - 1e-9
    rows = [[255] * label.symbol.across for _ in range(label.symbol.across)]
    for down, row in enumerate(label.symbol.rows, label.symbol.quiet):
        for across, dark in enumerate(row, label.symbol.quiet):
            rows[down][across] = 255 * (not dark)
    image = bytes(value for row in rows for _ in range(4) for value in row for _ in range(4))
    size = label.symbol.across * 4
    found = zxingcpp.read_barcodes(memoryview(image).cast("B", (size, size)))
    assert [one.text for one in found] == [code]


WORDS = st.builds(Said, st.text(st.characters(exclude_categories=("Cs",)), max_size=40), st.booleans(), st.booleans())


symbols = cache(lambda code: [cache(make) for make in qr(code)])


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from([*LONG, "M-001", "P-1042"]),
    st.lists(WORDS, max_size=6),
    st.floats(10, 120),
    st.floats(10, 120),
    st.booleans(),
)
def test_nothing_stands_outside_a_label(code, lines, width, height, held):
    width, height = width * mm, height * mm
    try:
        label = lay_out(Content(code, symbols(code), lines, held), width, height)
    except NotUnderstood as why:
        assert "larger label" in str(why)
        return
    fonts = load_fonts()
    top = height - label.band
    for words in label.words:
        wide = fonts.width(words.text, words.size, bold=words.bold)
        assert words.x >= 0 and words.x + wide <= width + 0.1
        assert words.y - words.size * 0.3 >= 0 and words.y + words.size * 0.75 <= top + 0.1
    side = label.module * label.symbol.across
    x, y = label.corner
    assert x >= 0 and y >= 0 and x + side <= width + 1e-6 and y + side <= top + 1e-6
    for words in label.words:
        beside = words.x >= x + side
        below = words.y + words.size * 0.75 <= y + 0.1
        assert beside or below
    told = "".join(words.text for words in label.words).replace(" ", "")
    for said in lines:
        if not said.may_go:
            assert fonts.printable(said.text).replace(" ", "").replace("\n", "") in told.replace("\n", "")


def test_ink_keeps_inside_the_labels_of_a_sheet(farm):
    content, _ = printed(farm, "M-001..M-024", "A4-3x7", first=2)
    sheet = find_sheet("A4-3x7")
    for page, places in ((0, range(1, 21)), (1, range(4))):
        image = picture(content, 100, page)
        for place in places:
            x, y = sheet.corner(place)
            corner = (sheet.page[1] - y - sheet.height) / 0.72
            box = (x / 0.72 - 1, corner - 1, (x + sheet.width) / 0.72 + 1, corner + sheet.height / 0.72 + 1)
            inside = image.crop(tuple(map(round, box)))
            assert inside.getextrema()[0] == 0
            image.paste(255, tuple(map(round, box)))
        assert image.getextrema() == (255, 255)


def test_a_lot_on_hold_says_so_until_it_is_released(farm):
    farm.pack("P-1")
    farm.pack("P-2")
    farm.record("hold", lots="P-1", reason="a result is awaited", at="2026-03-02 12:00")
    content, summary = printed(farm, "P-1, P-2", "62x29mm")
    held, free = text_of(content)
    assert "HOLD" in held and "HOLD" not in free
    assert summary.held == ("P-1",)
    assert scanned(content, 203, 0) == ["P-1"]
    farm.record("release", lots="P-1", reason="not detected", at="2026-03-02 13:00")
    assert "HOLD" not in text_of(printed(farm, "P-1", "62x29mm")[0])[0]


def test_what_came_back_and_was_disposed_of_is_not_on_hold(farm):
    farm.pack("P-1")
    farm.record("customer", code="CAFE", name="Cafe", type="kitchen")
    farm.record("delivery", code="D-1", customer="CAFE", items="P-1 100 g", at="2026-03-02 14:00")
    back = {"delivery": "D-1", "lot": "P-1", "amount": "50 g", "reason": "warm"}
    farm.record("return", **back, then="disposed", at="2026-03-02 15:00")
    assert printed(farm, "P-1")[1].held == ()
    farm.record("return", **back, then="held", at="2026-03-02 16:00")
    assert printed(farm, "P-1")[1].held == ("P-1",)


def test_a_pack_of_a_farm_with_a_prefix_has_a_digital_link(farm):
    farm.with_prefix()
    farm.pack("P-1")
    content, _ = printed(farm, "P-1", "70x37mm")
    assert scanned(content, 203) == ["https://id.gs1.org/01/00614141777778/10/P-1?15=260312"]
    assert scanned_lot(scanned(content, 300)[0]) == "P-1"
    assert "(01) 00614141777778 (15) 260312 (10) P-1" in text_of(content)[0]
    assert scanned(printed(farm, "P-1", symbol="plain")[0], 300) == ["P-1"]


def test_the_farms_own_address_stands_in_its_links(farm):
    farm.with_prefix(link_address="https://id.example.com/x")
    farm.pack("P-1")
    assert scanned(printed(farm, "P-1")[0], 300) == ["https://id.example.com/x/01/00614141777778/10/P-1?15=260312"]


@pytest.mark.parametrize("dpi", [203, 300])
def test_a_gs1_datamatrix_is_read_off_the_page_module_by_module(farm, dpi):
    farm.with_prefix()
    farm.pack("P-1")
    content, _ = printed(farm, "P-1", "62x29mm", symbol="gs1-datamatrix")
    drawn = picture(content, dpi)
    # Where it stands is asked of the library that wrote it; what it says is read by hand.
    (found,) = zxingcpp.read_barcodes(drawn)
    rows = modules(drawn, found.position, 18)
    assert datamatrix.read(rows) == ("01006141417777781526031210P-1", True)
    # The mark of GS1 (FNC1 in the first place) makes it ]d2 to a scanner: ISO/IEC 15424.
    assert found.symbology_identifier == "]d2"


def test_a_pack_whose_package_says_another_code_has_both_and_the_square_finds_the_one_lot(farm):
    farm.pack("P-1", printed="PEA 12MAR")
    content, _ = printed(farm, "P-1", "62x29mm")
    assert scanned(content, 300) == ["P-1"]
    assert "Printed code: PEA 12MAR" in text_of(content)[0]


@pytest.mark.parametrize("symbol", ["gs1-link", "gs1-datamatrix"])
def test_no_number_is_made_up(farm, symbol):
    farm.pack("P-1")
    with pytest.raises(NotUnderstood, match="no GS1 company prefix"):
        printed(farm, "P-1", symbol=symbol)
    with pytest.raises(NotUnderstood, match="no GTIN"):
        printed(farm, "H-1", symbol=symbol)


def test_a_number_of_another_firm_or_a_wrong_one_gives_a_plain_code_and_a_word_of_it(farm):
    farm.with_prefix()
    farm.pack("P-1")
    farm.pack("P-" + "9" * 30)
    farm.record("product", code="SUN", name="Sun", commodity="sun", gtin="04012345666663")
    farm.record("packing", lot="P-3", **{"from": "H-1 100 g"}, product="SUN", packs="1", pack_size="100 g")
    content, summary = printed(farm, f"P-{'9' * 30}, P-3", "100x60mm")
    assert [scanned(content, 300, page) for page in (0, 1)] == [["P-" + "9" * 30], ["P-3"]]
    assert "does not fit" in summary.notices[0] and "farm's prefix 0614141" in summary.notices[1]


def test_every_code_that_has_no_label_is_told_at_once(farm):
    farm.book.ledger.void(farm.record("person", code="XX", name="X"), because="twice", by=["TO"])
    with pytest.raises(Refused) as told:
        printed(farm, "M-001, M-999, NOPE, XX")
    assert [problem.what for problem in told.value.problems] == [
        "M-999 is not in the book", "NOPE is not in the book", "XX is void"
    ]  # fmt: skip


def test_a_label_without_room_for_what_must_stand_on_it_is_refused_and_says_what(farm):
    farm.pack("P-1")
    with pytest.raises(Refused, match=r"P-1 has no room for .*May contain mustard.*; expected a larger label"):
        printed(farm, "P-1", "30x14mm")
    assert scanned(printed(farm, "M-001", "25x12mm")[0], 300) == ["M-001"]


def test_a_code_that_takes_more_letters_than_the_label_holds_is_refused(farm):
    with pytest.raises(Refused, match="no room for its code in letters"):
        printed(farm, "🌱" * 64, "100x60mm", new="medium")


def test_copies_begin_where_the_sheet_is_still_whole(farm):
    content, summary = printed(farm, "M-001..M-003", first=22, copies=3)
    assert (summary.labels, summary.pages) == (9, 2)
    assert [sorted(scanned(content, 300, page)) for page in (0, 1)] == [
        ["M-001"] * 3, ["M-002"] * 3 + ["M-003"] * 3
    ]  # fmt: skip
    with pytest.raises(NotUnderstood, match="no label 25"):
        printed(farm, "M-001", first=25)


def test_tags_printed_ahead_are_for_codes_that_are_not_in_the_book(farm):
    content, _ = printed(farm, "M-101..M-103", new="medium")
    assert sorted(scanned(content, 300)) == ["M-101", "M-102", "M-103"]
    assert "Growing medium" in text_of(content)[0]
    with pytest.raises(Refused, match="M-001 is in the book already"):
        printed(farm, "M-001", new="medium")
    with pytest.raises(NotUnderstood, match="no kind of thing named mat"):
        printed(farm, "M-101", new="mat")


def test_a_mix_says_what_never_to_mix_it_with(farm):
    (text,) = text_of(printed(farm, "SOL-1", "70x37mm")[0])
    assert "Never mix a chlorine product with an acid or with ammonia" in text
    assert "Mixed: 2026-03-02 08:00" in text
