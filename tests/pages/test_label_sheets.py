"""Label sheets are known by their dimensions, and a sheet that cannot be is refused with its line."""

import pytest
from reportlab.lib.units import inch, mm

from lotwalk.errors import NotUnderstood, Refused
from lotwalk.pages.labels.label_sheets import find_sheet, one_up, shipped_sheets


@pytest.mark.parametrize("name", shipped_sheets())
def test_every_sheet_that_ships_lies_on_its_page_without_overlap(name):
    sheet = find_sheet(name)
    corners = [sheet.corner(place) for place in range(sheet.labels)]
    assert len(set(corners)) == sheet.labels
    for x, y in corners:
        assert x >= -0.1 and x + sheet.width <= sheet.page[0] + 0.6
        assert y >= -0.1 and y + sheet.height <= sheet.page[1] + 0.6
    assert corners[0][0] < 0.5 or corners[0][0] == pytest.approx(sheet.page[0] - corners[-1][0] - sheet.width)


def test_a_sheet_is_found_by_the_beginning_of_its_name():
    assert find_sheet("letter-3x10").name == "Letter-3x10-2.625x1in"
    with pytest.raises(NotUnderstood, match=r"A4-3x8-63\.5x33\.9mm, A4-3x8-70x37mm"):
        find_sheet("A4-3x8")
    with pytest.raises(NotUnderstood, match="there is no label sheet"):
        find_sheet("B5")


def test_labels_run_along_the_rows_from_the_upper_left():
    # 3 columns of 2.625 in with gaps of 0.125 in, 10 rows of 1 in, in the middle of 8.5 by 11 in.
    sheet = find_sheet("Letter-3x10")
    assert sheet.corner(0) == pytest.approx((0.1875 * inch, 9.5 * inch))
    assert sheet.corner(1) == pytest.approx((2.9375 * inch, 9.5 * inch))
    assert sheet.corner(3) == pytest.approx((0.1875 * inch, 8.5 * inch))


@pytest.mark.parametrize(
    ("size", "width", "height"),
    [("62x29mm", 62 * mm, 29 * mm), ("2.25 x 1.25 in", 162, 90), ("6.2×2.9cm", 62 * mm, 29 * mm)],
)
def test_a_single_label_is_as_large_as_said(size, width, height):
    assert one_up(size).page == pytest.approx((width, height))


@pytest.mark.parametrize("size", ["", "62", "62x29", "x", "5x5mm", "62x9999mm", "-62x29mm", "62x29mm2", "0x0in"])
def test_what_is_no_size_is_refused(size):
    with pytest.raises(NotUnderstood):
        one_up(size)


def test_a_sheet_of_ones_own(tmp_path):
    path = tmp_path / "mine.yaml"
    path.write_text("page: A4\ncolumns: 2\nrows: 5\nwidth: 90 mm\nheight: 50 mm\nleft: 10 mm\ntop: 2 cm\ndown: 1 mm\n")
    sheet = find_sheet(str(path))
    assert (sheet.labels, sheet.left, sheet.top) == (10, pytest.approx(10 * mm), pytest.approx(20 * mm))
    assert sheet.name == "A4-2x5-90x50mm"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("page: A4\ncolumns: 2\nrows: 5\nwidth: 90 mm\n", "mine.yaml:1: height: it is missing"),
        ("page: A9\ncolumns: 2\nrows: 5\nwidth: 90 mm\nheight: 20 mm\n", "mine.yaml:1: page: there is no page A9"),
        ("page: A4\ncolumns: 2\nrows: no\nwidth: 90 mm\nheight: 20 mm\n", "mine.yaml:3: rows: `no` is no number"),
        ("page: A4\ncolumns: 3\nrows: 5\nwidth: 90 mm\nheight: 20 mm\n", "mine.yaml:2: columns: the labels do not fit"),
        ("page: A4\ncolumns: 2\nrows: 5\nwidth: 90\nheight: 20 mm\n", "mine.yaml:4: width: `90` is no such length"),
        ("page: A4\ncolumns: 2\nrows: 5\nwidth: 9 cm\nheight: 2 cm\ngap: 1 mm\n", "gap: a sheet has no gap"),
        ("", "mine.yaml"),
        ("a: [", "mine.yaml"),
    ],
)
def test_every_mistake_in_a_sheet_is_told(tmp_path, text, said):
    path = tmp_path / "mine.yaml"
    path.write_text(text)
    with pytest.raises((Refused, NotUnderstood)) as told:
        find_sheet(str(path))
    assert said in str(told.value)
