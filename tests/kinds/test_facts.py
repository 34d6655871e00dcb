"""Which kinds tell a fact: found however a kind file is written, and nowhere else."""

import random

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from lotwalk.data import folder
from lotwalk.errors import KindError
from lotwalk.kinds.facts import ENTRY_FACTS, FACTS
from lotwalk.kinds.library import Kinds

EVERY = (*FACTS, *ENTRY_FACTS)
DEEP = " " * 60
"""Deeper than any key of the files written here: what goes on over a line end must stand deeper than its key."""


def kind_file(told, of_row, of_itself, idle, words):
    """A kind that tells facts of its lots, of a row's lot and of itself, with the same words where they tell nothing.

    Facts of a definition to which nothing refers (`idle`) are not told; nor are words in a `when`, or a title.
    """

    def tells(facts):
        return {"x-tells": [{"fact": fact, "when": {"why": [*words, "x"]}} for fact in facts]} if facts else {}

    lot = {"title": "Lot", "$ref": "common.yaml#/$defs/code", "x-thing": ["lot"]}
    return {
        # The first in the file, so that what follows may refer back to these words.
        "x-asked": [*told, *words],
        "$id": "own",
        "title": "Own",
        "description": "held",
        "$ref": "common.yaml",
        "unevaluatedProperties": False,
        **tells(of_itself),
        "properties": {
            "lots": {"title": "washed", "$ref": "common.yaml#/$defs/codes", "x-thing": ["lot"], **tells(told)},
            "why": {"title": "Why", "$ref": "common.yaml#/$defs/text"},
            "parts": {
                "title": "Parts",
                "type": ["array", "object"],
                "$ref": "#/$defs/part",
                "items": {"type": ["object"], "$ref": "#/$defs/part"},
            },
            # Fields that are named as facts are.
            **{word: {"title": "Words", "$ref": "common.yaml#/$defs/text"} for word in words},
        },
        "$defs": {
            "part": {"additionalProperties": False, "properties": {"lot": {**lot, **tells(of_row)}}},
            "idle": {**lot, **tells(idle)},
        },
    }


class Writer:
    """Writes a mapping as YAML, each part in a style of its own. The seed decides on them."""

    def __init__(self, seed):
        self.dice = random.Random(seed)
        self.anchors = {}

    def one_of(self, *choices):
        return self.dice.choice(choices)

    def text(self, content):
        return self.mapping(content, 0, flow=self.one_of(True, False, False)).lstrip() + "\n"

    def value(self, node, depth, flow):
        """A value as it stands after its key, or after the dash."""
        if isinstance(node, dict | list):
            flow = flow or self.one_of(True, False)
            return (self.mapping if isinstance(node, dict) else self.sequence)(node, depth, flow)
        if node is False:
            return "false"
        if node in self.anchors and self.one_of(True, False):
            return f"*{self.anchors[node]} "
        mark = ""
        if node not in self.anchors:
            self.anchors[node] = f"a{len(self.anchors)}"
            mark = f"&{self.anchors[node]} "
        styles = [self.single, self.double, lambda word: f"!!str {self.single(word)}"]
        styles += [] if flow else [lambda word: f"{self.one_of('|', '>')}-\n{DEEP}{word}"]
        styles += [str, lambda word: f"\n{DEEP}{word}"] if node.replace("_", "").isalpha() else []
        return mark + self.one_of(*styles)(node)

    def single(self, word):
        return f"'{word}'"

    def double(self, word):
        ways = [
            str,
            lambda letter: f"\\x{ord(letter):02x}",
            lambda letter: f"\\u{ord(letter):04X}",
            lambda letter: f"\\U{ord(letter):08x}",
            lambda letter: f"\\\n{DEEP}{letter}" if letter.isalpha() else letter,
        ]
        return '"' + "".join(self.one_of(str, *ways)(letter) for letter in word) + '"'

    def key(self, word):
        escaped = f"\\x{ord(word[0]):02x}{word[1:]}"
        return self.one_of(word, f"'{word}'", f'"{word}"', f'"{escaped}"')

    def mapping(self, node, depth, flow):
        # What a merge brings in counts as if it stood there.
        merged = self.one_of("fact", "when", "") if "fact" in node else ""
        pairs = [
            ("<<", f"{{{self.key(key)}: {self.value(value, depth + 2, flow=True)}}}")
            if key == merged
            else (self.key(key), self.value(value, depth + 2, flow))
            for key, value in node.items()
        ]
        if flow:
            end = self.one_of(" ", f"\n{DEEP}")
            return "{" + f",{end}".join(f"{key}: {value}" for key, value in pairs) + "}"
        pad = "\n" + " " * depth
        return "".join(
            f"{pad}? {key}{pad}: {value}" if self.one_of(False, False, True) else f"{pad}{key}: {value}"
            for key, value in pairs
        )

    def sequence(self, node, depth, flow):
        values = [self.value(value, depth + 2, flow) for value in node]
        if flow or not values:
            return "[" + ", ".join(values) + "]"
        return "".join(f"\n{' ' * depth}- {value}" for value in values)


facts = st.lists(st.sampled_from(FACTS), max_size=3, unique=True)
own_facts = st.lists(st.sampled_from(ENTRY_FACTS), max_size=2, unique=True)


@settings(max_examples=150)
@given(told=facts, of_row=facts, of_itself=own_facts, idle=facts, words=facts, seed=st.integers(0, 10**9))
def test_a_fact_is_found_in_any_style_of_yaml(tmp_path_factory, told, of_row, of_itself, idle, words, seed):
    """What the file tells is known, since it was made so; that it says so in YAML, another reader than ours holds."""
    content = kind_file(told, of_row, of_itself, idle, words)
    text = Writer(seed).text(content)
    assert yaml.load(text, Loader=yaml.SafeLoader) == content
    path = tmp_path_factory.mktemp("own") / "own.yaml"
    path.write_text(text, encoding="utf-8")
    kinds = Kinds({"own": path}, ["own"], Kinds.load().things)
    assert {fact for fact in EVERY if kinds.telling(fact)} == {*told, *of_row, *of_itself}


@pytest.mark.parametrize("fact", EVERY)
def test_of_the_kinds_that_ship_those_tell_a_fact_whose_fields_say_so(kinds, fact):
    def says(fields):
        return any(fact in [one.name for one in field.facts] or says(field.fields.values()) for field in fields)

    telling = {name for name in kinds.names if says(kinds[name].fields.values())}
    telling |= {name for name in kinds.names if fact in [one.name for one in kinds[name].facts]}
    assert set(kinds.telling(fact)) == telling != set()


def test_what_all_kinds_share_tells_nothing():
    """A kind is looked at for a fact where its own file says it."""
    assert "x-tells" not in (folder("schemas") / "common.yaml").read_text("utf-8")


SLIP = "title: Of no use\nproperties: {lots: {x-thing: [lot], x-tells: [{fact: washed}]}}\n"


def test_a_kind_with_a_slip_hinders_only_those_who_ask_what_it_tells(tmp_path):
    (tmp_path / "own.yaml").write_text(SLIP)
    kinds = Kinds.load(tmp_path)
    assert kinds.telling("held") == ("hold", "return")
    with pytest.raises(KindError, match=r"own\.yaml: description is missing"):
        kinds.telling("washed")


def test_a_kind_file_that_is_no_text_is_told_and_not_passed_over(tmp_path):
    (tmp_path / "own.yaml").write_bytes("description: Kühlraum\n".encode("latin-1"))
    with pytest.raises(KindError, match=r"own\.yaml: cannot be read"):
        Kinds.load(tmp_path).telling("held")
