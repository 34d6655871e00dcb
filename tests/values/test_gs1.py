"""What a scanner reads off a label gives its lot, in each of the forms that scanners hand over."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lotwalk.errors import NotUnderstood
from lotwalk.values.gs1 import Article, scanned_lot

GTIN = "00614141777778"
LOTS = st.text("ABCxyz019-./_%+:?&*<>!()", min_size=1, max_size=20)


@given(LOTS, st.sampled_from(("", "2026-03-17")), st.sampled_from(("https://id.gs1.org", "https://a.example/x/")))
def test_the_lot_comes_back_out_of_a_link(lot, best_before, address):
    assert scanned_lot(Article(GTIN, lot, best_before).link(address)) == lot


@given(LOTS.filter(lambda lot: not set(lot) & set("()")), st.sampled_from(("", "2026-03-17")))
def test_the_lot_comes_back_out_of_elements(lot, best_before):
    elements = Article(GTIN, lot, best_before).elements()
    assert scanned_lot(elements) == lot
    plain = elements.replace("(", "").replace(")", "", 3)
    for begin in ("", "]d2", "\x1d", "]Q3\x1d"):
        assert scanned_lot(begin + plain) == lot


def test_elements_after_the_lot_are_parted_from_it():
    assert scanned_lot(f"01{GTIN}10AB-1\x1d15260317") == "AB-1"
    assert scanned_lot(f"01{GTIN}21007\x1d10AB-1") == "AB-1"


@given(st.text(max_size=60))
def test_other_text_is_no_code_of_gs1_and_breaks_nothing(text):
    lot = scanned_lot(text)
    assert lot is None or lot in text


@pytest.mark.parametrize(
    "text", ["P-1042", "0412", "", "(01)", "https://", "https://[x", f"https://a.example/01/{GTIN}", f"01{GTIN}"]
)
def test_what_holds_no_lot_gives_none(text):
    assert scanned_lot(text) is None


@pytest.mark.parametrize("lot", ["", "A" * 21, "שלום", "a b", "a^b"])
def test_a_lot_that_does_not_fit_is_refused(lot):
    with pytest.raises(NotUnderstood, match="does not fit"):
        Article(GTIN, lot)
