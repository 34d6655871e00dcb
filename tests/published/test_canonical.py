"""Canonical JSON against RFC 8785 and an independent implementation of it (the package rfc8785)."""

import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from lotwalk.values.canonical import LARGEST_INTEGER, canonical

TEXT = st.text(st.characters(exclude_categories=["Cs"]))
VALUES = st.recursive(
    TEXT | st.integers(-LARGEST_INTEGER, LARGEST_INTEGER),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXT, inner, max_size=5),
    max_leaves=20,
)


def test_keys_are_sorted_as_in_section_3_2_3():
    written = {
        "\u20ac": "Euro Sign",
        "\r": "Carriage Return",
        "\ufb33": "Hebrew Letter Dalet With Dagesh",
        "1": "One",
        "\U0001f600": "Emoji: Grinning Face",
        "\u0080": "Control",
        "\u00f6": "Latin Small Letter O With Diaeresis",
    }
    assert canonical(written).decode() == (
        '{"\\r":"Carriage Return","1":"One","\u0080":"Control","\u00f6":"Latin Small Letter O With Diaeresis",'
        '"\u20ac":"Euro Sign","\U0001f600":"Emoji: Grinning Face","\ufb33":"Hebrew Letter Dalet With Dagesh"}'
    )


def test_the_string_of_section_3_2_2_is_escaped_as_there():
    written = {"string": '\u20ac$\u000f\nA\'B"\\\\"/'}
    assert canonical(written).decode() == '{"string":"\u20ac$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'


@given(VALUES)
def test_an_independent_implementation_writes_the_same_bytes(value):
    assert canonical(value) == rfc8785.dumps(value)


@given(
    st.dictionaries(
        st.text(st.characters(codec="ascii")), TEXT | st.lists(st.dictionaries(st.text('aZ_0 "'), VALUES)), min_size=2
    )
)
def test_it_does_for_records_whose_own_keys_are_ascii(value):
    assert canonical(value) == rfc8785.dumps(value)
