"""The first line of a recall says what that travelled with it is left out, on screen, in JSON and on paper.

The farm is that of `tests/recall/test_box.py`: in D-2 the pea shoots P-PEA lay beside the radish that Q-1 is about.
"""

import pytest
from pypdf import PdfReader
from tests.recall.test_box import FARM

from lotwalk.book import Book
from lotwalk.sheets.reader import read_sheet

LEFT_OUT = "1 lot that travelled in the same box is left out (P-PEA): --with-the-box has it taken in, by contact."


@pytest.fixture
def farm(tmp_path, monkeypatch):
    where = tmp_path / "farm.db"
    book = Book.start(
        str(where), name="F", location="L", timezone="UTC", measures="metric", clock=lambda: 1_774_500_000
    )
    book.load(read_sheet(FARM, "farm.yaml"))
    book.ledger.engine.dispose()
    monkeypatch.setenv("LOTWALK_LEDGER", str(where))


def words(text):
    return " ".join(text.split())


def first_page():
    return words(PdfReader("recall.pdf").pages[0].extract_text())


def test_what_is_left_out_stands_first(lotwalk, farm):
    assert words(lotwalk("recall", "Q-1", "--all").out).startswith(LEFT_OUT)
    answer = lotwalk("recall", "Q-1", "--format", "json").json
    assert answer["left_out"] == {"lots": ["P-PEA"], "words": LEFT_OUT}
    assert answer["with_box"] == []
    (about,) = answer["asked_about"]
    assert (about["stands_for"], about["lots"]) == (["D-2"], ["H-SUN", "P-MIX", "P-RAD"])
    assert "P-PEA" not in answer["affected"]["lots"]
    assert lotwalk("report", "recall", "Q-1", "--out", "recall.pdf").status == 0
    page = first_page()
    assert LEFT_OUT in page
    assert page.index(LEFT_OUT) < page.index("How wide")
    assert "D-2 with H-SUN, P-MIX and P-RAD" in page


def test_with_the_box_nothing_is_left_out_and_what_came_in_by_it_is_said(lotwalk, farm):
    told = words(lotwalk("recall", "Q-1", "--with-the-box", "--all").out)
    assert told.startswith("Asked: Q-1 (complaint of CAFE, illness), for D-2 with H-SUN, P-MIX and P-RAD")
    taken = "What travelled in the same box lies behind it too, by contact: P-PEA."
    assert taken in told
    answer = lotwalk("recall", "Q-1", "--with-the-box", "--format", "json").json
    assert (answer["left_out"], answer["with_box"]) == ({"lots": [], "words": None}, ["P-PEA"])
    assert "P-PEA" in answer["affected"]["lots"]
    assert lotwalk("report", "recall", "Q-1", "--with-the-box", "--out", "recall.pdf").status == 0
    assert "In the same box, so behind it too: P-PEA." in first_page()


def test_an_allergen_has_the_box_without_asking(lotwalk, farm):
    answer = lotwalk("recall", "Q-2", "--format", "json").json
    assert (answer["left_out"]["lots"], answer["with_box"]) == ([], ["P-PEA"])


def test_a_path_comes_through_the_lot_that_was_meant_and_ends_with_the_delivery(lotwalk, farm):
    # The seed of the radish went into the batch, that into the harvest, that into a pack, and that out to the cafe.
    steps = lotwalk("recall", "Q-1", "--cause", "S-RAD", "--format", "json").json["detail"]["to_asked"]["Q-1"]
    (*before, last) = steps
    assert [one["to"] for one in before][-2:] in (["H-RAD", "P-RAD"], ["H-RAD", "P-MIX"])
    assert (last["through"], last["to"]) == (before[-1]["to"], "D-2")
    # The van and the lots themselves came to it in the delivery.
    for code in ("VAN-1", "P-RAD", "P-KALE"):
        steps = lotwalk("recall", "Q-1", "--cause", code, "--format", "json").json["detail"]["to_asked"]["Q-1"]
        assert (steps[0]["through"], steps[-1]["to"]) == (code, "D-2")
    # With the box the peas came in it, and not through the radish.
    options = ("--with-the-box", "--cause", "S-PEA", "--format", "json")
    steps = lotwalk("recall", "Q-1", *options).json["detail"]["to_asked"]["Q-1"]
    assert [one["to"] for one in steps] == ["T-PEA", "H-PEA", "P-PEA", "D-2"]


def test_a_trace_of_a_complaint_starts_from_the_same_deliveries_each_whole(lotwalk, farm):
    # Q-4 names mustard and no delivery: D-4 is a mix with mustard in it. Q-1 is about D-2, and its trace is of it all.
    assert lotwalk("trace", "Q-4", "--back", "--format", "json").json["asked"]["stands_for"] == ["D-4"]
    traced = lotwalk("trace", "Q-1", "--back", "--format", "json").json
    assert traced["asked"]["stands_for"] == ["D-2"]
    assert "P-PEA" in {one["code"] for one in traced["reached"]}


def test_a_delivery_that_holds_nothing_of_the_product_is_said_to_be_taken_whole(lotwalk, farm):
    (about,) = lotwalk("recall", "Q-3", "--format", "json").json["asked_about"]
    assert (about["whole"], about["lots"]) == (["D-3", "D-4"], [])
    told = words(lotwalk("recall", "Q-3", "--all").out)
    assert "By the book nothing in D-3, D-4 is KALE2, so all of it is taken." in told
