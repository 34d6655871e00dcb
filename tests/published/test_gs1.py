"""Article numbers and their codes against published values of GS1."""

import pytest

from lotwalk.errors import NotUnderstood
from lotwalk.values.gs1 import Article, check_digit, gtin14, has_prefix, scanned_lot


@pytest.mark.parametrize(
    ("prefix", "item", "gtin"),
    # urn:epc:class:lgtin:0614141.077777.987 and 4012345.066666 with their GTINs: published pairs of GS1 (EPC Tag Data
    # Standard). The first digit of the item reference is the indicator.
    [("0614141", "077777", "00614141777778"), ("4012345", "066666", "04012345666663")],
)
def test_the_check_digit_of_published_pairs(prefix, item, gtin):
    body = item[0] + prefix + item[1:]
    assert body + check_digit(body) == gtin == gtin14(gtin)
    assert has_prefix(gtin, prefix)
    assert not has_prefix(gtin, "7" + prefix[1:])


def test_the_digital_link_of_a_published_pair():
    # urn:epc:class:lgtin:0614141.077777.987 = /01/00614141777778/10/987 (GS1, EPCIS and CBV 2.0).
    link = Article("00614141777778", "987").link()
    assert link.endswith("/01/00614141777778/10/987")
    assert scanned_lot(link) == "987"


def test_the_class_of_epc_of_published_pairs():
    assert Article("00614141777778", "987").urn("0614141") == "urn:epc:class:lgtin:0614141.077777.987"
    assert Article("04012345666663", "998877").urn("4012345") == "urn:epc:class:lgtin:4012345.066666.998877"


def test_a_lot_in_a_urn_has_its_marks_escaped():
    # EPC Tag Data Standard, the marks of character set 82 that a URN cannot hold.
    assert Article("00614141777778", 'a"%&/<>?').urn("0614141").endswith(".a%22%25%26%2F%3C%3E%3F")


@pytest.mark.parametrize("short", ["614141777778", "0614141777778", "00614141777778"])
def test_a_shorter_number_is_the_same_with_noughts_before_it(short):
    assert gtin14(short) == "00614141777778"


@pytest.mark.parametrize("wrong", ["00614141777779", "123", "", "0061414177777٨"])
def test_a_wrong_number_is_refused(wrong):
    with pytest.raises(NotUnderstood):
        gtin14(wrong)
