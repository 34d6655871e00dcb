"""The order of mixed directions agrees with an independent implementation of the algorithm (python-bidi)."""

from bidi import get_display
from hypothesis import given
from hypothesis import strategies as st

from lotwalk.values.bidi import direction, levels, visual

SIGNS = "abאבגاب12٣٤.,+-%$ ()[]{}/:;\u05b0\u0301!⁅⁆⟦⟧«»"
_BRACKETS = str.maketrans("()[]{}⁅⁆⟦⟧«»", "((((((((((((")
"""Which of two brackets is drawn is left to the typeface's shaper, which mirrors them; the order is compared here."""


def _ours(text, base):
    return "".join(text[place] for place in visual(levels(text, base)))


@given(st.text(SIGNS, max_size=20), st.sampled_from((0, 1)))
def test_a_line_is_put_in_the_order_that_another_implementation_gives(text, base):
    other = get_display(text, base_dir="LR"[base])
    assert _ours(text, base).translate(_BRACKETS) == other.translate(_BRACKETS)


def test_the_first_letter_decides_the_direction():
    assert [direction(text) for text in ("", "12", "a א", "12 א a", "(ا", "٣ b")] == [0, 0, 0, 1, 1, 0]


def test_an_invisible_joiner_stays_with_the_letter_before_it():
    assert levels("a\u200dא\u200cא", 0) == [0, 0, 1, 1, 1]
    assert levels("", 1) == []
