"""Reading a laboratory's words."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lotwalk.errors import NotUnderstood
from lotwalk.science.water import read_result


@pytest.mark.parametrize(
    ("text", "detected", "volume"),
    [
        ("<1 MPN/100 mL", False, 100),
        ("< 1.0 mpn / 100ml", False, 100),
        ("Not detected in 100 mL", False, 100),
        ("None detected per 100 mL", False, 100),
        ("ND/100 mL", False, 100),
        ("N.D. (100 mL)", False, 100),
        ("Absent/100mL", False, 100),
        ("E. coli: negative in 100 mL", False, 100),
        ("not detected in 1 L", False, 1000),
        ("0 CFU per 100 mL", False, 100),
        ("ND", False, None),
        ("<1", False, None),
        ("present", True, None),
        ("Positive in 100 mL", True, 100),
        ("TNTC", True, None),
        (">2419.6", True, None),
        (">2,419.6 MPN/100 mL", True, 100),
        ("≥2400 MPN/100 mL", True, 100),
        ("3 CFU/100 mL", True, 100),
        (">0 CFU/100 mL", True, 100),
        ("<1 (MPN/100mL)", False, 100),
        ("<1.0 MPN/100ml (E. coli)", False, 100),
        ("~ 12 CFU/100 mL", True, 100),
        ("12 CFU/100 mL est.", True, 100),
        ("1.2 x 10^3 CFU/100 mL", True, 100),
        ("2.4e3 MPN/100 mL", True, 100),
    ],
)
def test_what_laboratories_write(text, detected, volume):
    result = read_result(text)
    assert (result.detected, result.volume) == (detected, volume)


@pytest.mark.parametrize(
    "text", ["", "see report", "<0 MPN/100 mL", "1,5 CFU/100 mL", "≤1 MPN/100 mL", "ND or TNTC", "-1"]
)
def test_other_words_are_not_guessed_at(text):
    with pytest.raises(NotUnderstood, match="expected the laboratory's words"):
        read_result(text)


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("12 CFU/100 mL", 12),
        (">2,419.6 MPN/100 mL", Decimal("2419.6")),
        ("1.2 x 10^3 CFU/100 mL", 1200),
        ("2.4E3", 2400),
        ("TNTC", None),
        ("present in 100 mL", None),
        ("<1 MPN/100 mL", None),
        ("0 CFU/100 mL", None),
    ],
)
def test_what_was_counted(text, count):
    assert read_result(text).count == count


@pytest.mark.parametrize(
    ("text", "held_none"),
    [
        ("<1 MPN/100 mL", 100),
        ("<0.01 CFU/mL", 100),
        ("<10 MPN/100 mL", 10),
        ("absent in 250 mL", 250),
        ("<2 per L", 500),
    ],
)
def test_the_volume_in_which_none_was_found(text, held_none):
    assert read_result(text).examined() == held_none


def test_a_highest_limit_may_stand_for_none():
    assert read_result("<1.1 MPN/100 mL").examined(Decimal("1.1")) == 100
    assert read_result("<1.2 MPN/100 mL").examined(Decimal("1.1")) < 100


@given(st.text(max_size=40))
def test_any_text_is_read_or_refused(text):
    try:
        result = read_result(text)
    except NotUnderstood:
        return
    assert result.written == text
