"""The kind files are JSON Schema, and the program reads them as any other validator does."""

import json
from functools import cache

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from referencing import Registry, Resource
from referencing.jsonschema import DRAFT202012

from lotwalk.data import folder
from lotwalk.errors import Refused
from lotwalk.kinds.check import check
from lotwalk.kinds.library import Kinds

KINDS = Kinds.load()

GOOD = {
    "text": ["a", " b ", "12", "çà", "yes"],
    "words": ["a, b", "a", ["a"], ["a", "b"]],
    "yes-no": ["yes", "no", "true", "false", "y", "n"],
    "date": ["2026-03-02", "2024-02-29"],
    "at": ["2026-03-02", "2026-03-02 09:10", "2026-03-02 am", "2026-03-02 09:00..10:30"],
    "count": ["0", "12", "3 trays"],
    "number": ["7", "7.25", "-1"],
    "numbers": ["7", "6.5-7.5"],
    "code": ["A-1", "b.2"],
    "codes": ["A-1", "A-1..A-3, B-1", ["A-1"], ["A-1", "B-1..B-2"]],
    "trays": ["6", "M-1..M-2", ["M-1", "M-2"]],
    "files": ["a.pdf", ["a.pdf", "b, c.pdf"]],
}
AMOUNTS = {
    "mass": "2 kg",
    "volume": "15 mL",
    "concentration": "110 ppm",
    "time": "2 min",
    "temperature": "-2 degC",
    "count": "4 packs",
    "percent": "8.25 %",
    "length": "3 m",
}
BAD_SHAPES = ["", " ", "\n", [], [""], [["A-1"]], [{}], {}, {"a": "b"}]


@cache
def validator(name: str) -> Draft202012Validator:
    def resource(file: str) -> Resource:
        content = yaml.safe_load((folder("schemas") / file).read_text(encoding="utf-8"))
        return Resource.from_contents(content, default_specification=DRAFT202012)

    registry = Registry().with_resource("common.yaml", resource("common.yaml"))
    schema = resource(f"{name}.yaml")
    return Draft202012Validator(schema.contents, registry=registry.with_resource(name, schema))


def good(field) -> st.SearchStrategy:
    if field.form == "rows":
        row = entry(field)
        return st.one_of(row, st.lists(row, min_size=1, max_size=3))
    if field.read in ("amount", "range"):
        return st.sampled_from([AMOUNTS[dimension] for dimension in field.dimensions])
    if field.bounds != (None, None):
        return st.sampled_from(["1", "1.25"])
    if field.name in ("gtin", "company_prefix"):
        return st.just("01234567")
    if field.name == "link_address":
        return st.just("https://id.example.com/greens")
    if field.read == "words" and field.choices:
        return st.sampled_from([", ".join(field.choices), list(field.choices), field.choices[0]])
    if field.choices and field.read == "text":
        return st.sampled_from(field.choices)
    return st.sampled_from(GOOD[field.read])


@st.composite
def entry(draw, holder) -> dict:
    """An entry of a kind, or a row of a field, with nothing wrong but what its shape may lack."""
    fields = holder.fields
    needed = {name for name, field in fields.items() if field.required}
    if holder.needs:
        needed |= set(draw(st.sampled_from(holder.needs)))
    names = needed | set(draw(st.lists(st.sampled_from(sorted(fields)), max_size=4)))
    value = {name: draw(good(fields[name])) for name in fields if name in names}
    # What the program asks beyond the shape: bounds of numbers, and dates in their order.
    for first, last in getattr(holder, "order", ()):
        if first in value and last in value:
            value[first], value[last] = sorted((value[first], value[last]))
    return value


@st.composite
def broken(draw, holder, depth=0) -> dict:
    """The same with one thing done to its shape: a field dropped, added, or given a value of another shape."""
    value = draw(entry(holder))
    rows = [name for name in value if holder.fields[name].form == "rows"]
    deed = draw(st.sampled_from(["drop", "add", "shape", "swap"] + ["row"] * bool(rows and not depth)))
    name = draw(st.sampled_from(sorted(value)))
    if deed == "drop":
        del value[name]
    elif deed == "add":
        value[draw(st.sampled_from(["zzz", "Lot", name.upper(), ""]))] = "x"
    elif deed == "row":
        name = draw(st.sampled_from(rows))
        value[name] = draw(st.sampled_from([lambda row: row, lambda row: [row]]))(
            draw(broken(holder.fields[name], depth=1))
        )
    elif deed == "swap" and holder.fields[name].choices:
        value[name] = draw(st.sampled_from(["zzz", ["zzz"]]))
    elif holder.fields[name].form == "rows":
        # An empty text is a short form that JSON Schema cannot judge.
        value[name] = draw(st.sampled_from([shape for shape in BAD_SHAPES if not _holds_text(shape)]))
    else:
        value[name] = draw(st.sampled_from(BAD_SHAPES))
    return value


def _holds_text(shape) -> bool:
    return isinstance(shape, str) or (isinstance(shape, list) and any(isinstance(item, str) for item in shape))


@pytest.mark.parametrize("name", KINDS.names)
def test_each_kind_file_is_valid_json_schema(name):
    Draft202012Validator.check_schema(validator(name).schema)
    json.dumps(validator(name).schema)  # nothing in it that JSON cannot say, such as a date


def test_common_file_is_valid_json_schema():
    Draft202012Validator.check_schema(yaml.safe_load((folder("schemas") / "common.yaml").read_text(encoding="utf-8")))


@pytest.mark.parametrize("name", KINDS.names)
def test_a_full_entry_is_valid_json_schema(name, entries):
    assert [error.message for error in validator(name).iter_errors(entries[name])] == []


@settings(max_examples=600, deadline=None)
@given(st.data())
def test_both_accept_and_refuse_the_same(setting, data):
    name = data.draw(st.sampled_from(KINDS.names), label="kind")
    kind = KINDS[name]
    written = data.draw(st.one_of(entry(kind), broken(kind)), label="entry")
    other = validator(name).is_valid({"kind": name} | written)
    problems = ""
    try:
        check(kind, written, setting, KINDS)
    except Refused as refused:
        problems = str(refused)
    assert other == (not problems), problems


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_an_entry_without_a_slip_is_accepted(setting, data):
    name = data.draw(st.sampled_from(KINDS.names), label="kind")
    check(KINDS[name], data.draw(entry(KINDS[name]), label="entry"), setting, KINDS)


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_what_was_written_reads_the_same_again(setting, data):
    name = data.draw(st.sampled_from(KINDS.names), label="kind")
    written = data.draw(entry(KINDS[name]), label="entry")
    first = check(KINDS[name], written, setting, KINDS)
    apart = {key: written[key] for key in ("at", "by", "files") if key in written}
    again = check(KINDS[name], {**first.fields, **apart}, setting, KINDS)
    assert (again.values, again.fields, again.silent) == (first.values, first.fields, first.silent)


NAMES = ["at", "by", "items", "from", "seed", "lot", "about", "amount", "uses", "note", "files", "reading"]
ANYTHING = st.recursive(
    st.text(max_size=12),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(KINDS.names), st.dictionaries(st.sampled_from(NAMES), ANYTHING, max_size=6))
def test_no_entry_whatever_ends_in_anything_but_a_refusal(setting, name, written):
    try:
        check(KINDS[name], written, setting, KINDS)
    except Refused as refused:
        assert all(problem.what for problem in refused.problems)
