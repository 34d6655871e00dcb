import json
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lotwalk.values.canonical import LARGEST_INTEGER, canonical
from lotwalk.values.text import Fields, Listing, Text

TEXT = st.text(st.characters(exclude_categories=["Cs"]))
VALUES = st.recursive(
    TEXT | st.integers(-LARGEST_INTEGER, LARGEST_INTEGER),
    lambda inner: st.lists(inner) | st.dictionaries(TEXT, inner),
    max_leaves=20,
)


@given(VALUES)
def test_what_is_written_reads_back_as_the_same_value(value):
    assert json.loads(canonical(value)) == value


@given(st.dictionaries(TEXT, TEXT, min_size=2))
def test_the_order_in_which_keys_were_put_makes_no_difference(mapping):
    assert canonical(mapping) == canonical(dict(reversed(mapping.items())))


@pytest.mark.parametrize(
    "value", [1.5, True, None, Decimal(1), (1, 2), b"x", {1: "one"}, {"a": [None]}, {"é": 1, 2: 3}]
)
def test_what_has_no_place_in_a_digest_is_refused(value):
    with pytest.raises(TypeError, match="canonical JSON"):
        canonical(value)


@pytest.mark.parametrize("value", [LARGEST_INTEGER + 1, -LARGEST_INTEGER - 1, "\ud800", {"\ud800": "half"}])
def test_what_two_readers_could_read_differently_is_refused(value):
    with pytest.raises(ValueError):
        canonical(value)


def test_lines_are_no_part_of_what_is_hashed():
    with_lines = Fields({"items": Listing([Text("M-001", 3)], line=3)}, line=2)
    assert canonical(with_lines) == b'{"items":["M-001"]}'
