"""A grower's own kind is one more file. A slip in it is refused with the file and the key, never passed over."""

import textwrap

import pytest

from lotwalk.errors import KindError
from lotwalk.kinds.check import check
from lotwalk.kinds.files import ANNOTATIONS, KEYWORDS
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.roles import holds

TRAP = """
$schema: https://json-schema.org/draft/2020-12/schema
$id: trap-check
title: Trap check
description: A look at the traps.
$ref: common.yaml
unevaluatedProperties: false
required: [traps]
x-log: [at, traps, caught, by]
properties:
  traps:
    title: Traps
    description: Which ones, such as TRAP-1..TRAP-9
    $ref: common.yaml#/$defs/codes
    x-thing: [item]
    x-role: [{role: touched}]
  caught:
    title: Caught
    description: What was in them
    $ref: common.yaml#/$defs/text
    enum: [nothing, mouse, "no"]
"""

ROWS = """
  baits:
    title: Baits
    description: Which bait and how much
    type: [array, object, string]
    $ref: "#/$defs/bait"
    items: {type: [object, string], $ref: "#/$defs/bait"}
$defs:
  bait:
    required: [lot]
    additionalProperties: false
    x-short: "{lot} {amount}"
    properties:
      lot:
        title: Lot
        $ref: common.yaml#/$defs/code
        x-thing: [supplies-lot]
        x-role: [{role: took}]
        x-amount: [amount]
      amount:
        title: Amount
        $ref: common.yaml#/$defs/amount
        x-dimension: [mass]
"""


@pytest.fixture
def own(tmp_path):
    def own(text=TRAP, name="trap-check"):
        (tmp_path / f"{name}.yaml").write_text(textwrap.dedent(text), encoding="utf-8")
        return Kinds.load(tmp_path)

    return own


def test_an_own_kind_works_like_those_that_ship(own, setting):
    kinds = own(TRAP + ROWS)
    kind = kinds["trap-check"]
    assert "trap-check" in kinds.names
    assert kind.own
    assert not kinds["washing"].own
    assert kind.log == ("at", "traps", "caught", "by")
    entry = {"at": "2026-03-02", "by": "TO", "traps": "TRAP-1..TRAP-2", "caught": "no", "baits": "BAIT-1 20 g"}
    checked = check(kind, entry, setting, kinds)
    assert {mention.path: mention.codes for mention in checked.mentions} == {
        "by": ("TO",),
        "traps": ("TRAP-1", "TRAP-2"),
        "baits[0].lot": ("BAIT-1",),
    }


def test_an_own_kind_may_bring_its_own_kind_of_thing(tmp_path, own):
    (tmp_path / "things.yaml").write_text("things: {trap: {title: Trap, plural: Traps, class: item}}")
    kinds = own(TRAP.replace("[item]", "[trap]"))
    assert kinds["trap-check"].fields["traps"].things == ("trap",)
    assert kinds.thing_matches("trap", ["item"])
    assert kinds.thing_matches("trap", ["lot", "trap"])
    assert not kinds.thing_matches("trap", ["lot"])


def test_the_same_text_has_the_same_digest_and_another_text_another(own):
    first = own()["trap-check"].digest
    assert own()["trap-check"].digest == first
    assert own(TRAP.replace("A look", "Looking"))["trap-check"].digest != first


def test_what_a_caller_may_read_out_stands_in_the_kind_files(own):
    shipped = {
        "delivery": {"document", "order"},
        "packing": {"best_before", "printed"},
        "product": {"gtin"},
        "seed-receipt": {"document", "supplier_lot"},
        "supplies-receipt": {"supplier_lot"},
    }
    assert own().read_out() == shipped
    marked = TRAP.replace("    title: Caught\n", "    title: Caught\n    x-read-out: true\n")
    assert own(marked).read_out() == {**shipped, "trap-check": {"caught"}}


def test_only_the_kind_asked_for_is_read(tmp_path, own):
    (tmp_path / "broken.yaml").write_text("{{{")
    kinds = own()
    assert kinds["trap-check"].title == "Trap check"
    with pytest.raises(KindError, match=r"broken\.yaml: cannot be read"):
        kinds["broken"]


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("title: Trap check", "title: [Trap]", "title: text was expected"),
        ("title: Trap check", "summary: Trap check", "summary: not one of the keywords"),
        ("title: Trap check", "x-titel: Trap check", "x-titel: not one of the keywords"),
        ("title: Trap check\n", "", "title is missing"),
        ("$id: trap-check", "$id: trap", r"\$id must be trap-check"),
        ("unevaluatedProperties: false", "unevaluatedProperties: true", "false was expected"),
        ("unevaluatedProperties: false\n", "", "unevaluatedProperties must be false"),
        ("$ref: common.yaml\n", "", "must bring in common.yaml"),
        ("$ref: common.yaml\n", "$ref: other.yaml\n", "leads nowhere"),
        ("required: [traps]", "required: [trap]", "did you mean traps"),
        ("required: [traps]", "required: [yes]", "text in quotes"),
        ("x-log: [at, traps", "x-log: [at, trap", "did you mean traps"),
        ("x-log: [at, traps, caught, by]", "x-log: traps", "a list was expected"),
        ("x-log: [at, traps, caught, by]", "x-settings: 1", "x-settings is true or false"),
        ("x-log: [at, traps, caught, by]", "anyOf: [{required: [trap]}]", "did you mean traps"),
        ("$defs/codes", "$defs/code-list", "leads nowhere"),
        ("x-thing: [item]", "x-thing: [itm]", "did you mean item"),
        ("x-thing: [item]", "x-thing: item", "a list was expected"),
        ("    x-thing: [item]\n", "", "x-thing or x-makes"),
        ("{role: touched}", "{role: touch}", "did you mean touched"),
        ("{role: touched}", "touched", "a mapping with role"),
        ("{role: touched}", "{role: touched, if: passes}", "a mapping with role"),
        ("{role: touched}", "{role: touched, when: passed}", "passes, fails or a mapping"),
        ("{role: touched}", "{role: touched, when: {given: cought}}", "did you mean caught"),
        ("{role: touched}", "{role: touched, when: {cought: mouse}}", "did you mean caught"),
        ("{role: touched}", "{role: touched, when: {caught: rat}}", "caught is never 'rat'"),
        ("{role: touched}", "{role: touched, when: {thing: knive}}", "no kind or class of thing"),
        ("x-role: [{role: touched}]", "x-tells: [{fact: washd}]", "did you mean washed"),
        ("x-role: [{role: touched}]", "x-called: [caught]", "only a field that makes things"),
        ("x-role: [{role: touched}]", "x-read-out: true", "true, on a field read as text or date"),
        ("enum: [nothing, mouse, \"no\"]", "x-read-out: often", "true, on a field read as text or date"),
        ("x-log: [at, traps, caught, by]", "x-order: [[caught, traps]]", "caught and traps must be dates"),
        ("x-log: [at, traps, caught, by]", "x-order: [[at]]", "pairs of fields"),
        ("x-log: [at, traps, caught, by]", "x-order: [[from, at]]", "no field beside it"),
        ("x-role: [{role: touched}]", "x-least: 1", "only a number or numbers have bounds"),
        ("$ref: common.yaml#/$defs/text\n    enum: [nothing, mouse, \"no\"]",
         "$ref: common.yaml#/$defs/number\n    x-most: many", "a number was expected"),
        ("x-role: [{role: touched}]", "x-amount: [weight]", "no field beside it"),
        ("x-role: [{role: touched}]", "x-amount: [caught]", "not read as amount"),
        ("x-role: [{role: touched}]", "x-with: {role: touched, thing: [mediums]}", "did you mean medium"),
        ("x-role: [{role: touched}]", "x-usual: usual_traps", "a place has no field of codes named usual_traps"),
        ("x-role: [{role: touched}]", "x-usual: name", "a place has no field of codes named name"),
        ("x-role: [{role: touched}]", "x-usual: code", "a place has no field of codes named code"),
        ("x-thing: [item]", "x-makes: {kind: trap}", "no kind of thing named 'trap'"),
        ("x-thing: [item]", "x-makes: {kind: tool, from: caught}", "one of kind, from and kind-of"),
        ("x-thing: [item]", "x-makes: {kind: tool, like: caught}", "only one new code can be like another"),
        ("x-thing: [item]", "x-makes: {kind: tool, like: lots}", "no field beside it"),
        ("x-thing: [item]", "x-makes: {from: caught}", "must list kinds of thing"),
        ("    x-thing: [item]\n    x-role: [{role: touched}]", "    x-makes: tool", "must say made or names"),
        ("enum: [nothing, mouse, \"no\"]", "enum: [nothing, no]", "text in quotes"),
        ("enum: [nothing, mouse, \"no\"]", "pattern: '['", "stands here and in what"),
        ("enum: [nothing, mouse, \"no\"]", "x-thing: [item]", "no other field does"),
        ("enum: [nothing, mouse, \"no\"]", "x-dimension: [mass]", "says its dimensions"),
        ("enum: [nothing, mouse, \"no\"]", "x-lines: 0", "from 1 to 12"),
        ("enum: [nothing, mouse, \"no\"]", "x-limit: storage.warmest", "a list was expected"),
        ("enum: [nothing, mouse, \"no\"]", "x-limit: [{most: storage.warmest}]", "a mapping with"),
        ("enum: [nothing, mouse, \"no\"]", "x-limit: [{of: a store}]", "each line says one of at_most"),
        ("enum: [nothing, mouse, \"no\"]", "x-limit: [{label: colour}]", "no number of a label named 'colour'"),
        ("enum: [nothing, mouse, \"no\"]", "minLength: -1", "a whole number was expected"),
        ("enum: [nothing, mouse, \"no\"]", "format: datum", "no form of reading"),
        ("  caught:", "  Caught:", "a field is named with"),
        ("  caught:", "  yes:", "names such as yes"),
        ("  caught:", "  given:", "and not given"),
        ("    title: Caught\n", "", "title is missing"),
        ("$ref: common.yaml#/$defs/text", "type: string\n    pattern: '['", "is not a pattern"),
        ("$ref: common.yaml#/$defs/text", "$ref: common.yaml#/$defs/amount", "says its dimensions"),
        ("$ref: common.yaml#/$defs/text\n    enum", "$ref: common.yaml#/$defs/words\n    enum", "stands in items"),
        ("$defs/text\n", "$defs/amount\n    x-dimension: [weight]\n", "no dimension named 'weight'"),
        ("type: [array, object, string]", "type: array", r"rows are written type: \[array, object\]"),
        ("items: {type: [object, string], $ref", "items: {type: object, $ref", "rows are written"),
        ("    additionalProperties: false\n", "", "additionalProperties: must be false"),
        ('"{lot} {amount}"', '"{lot}: {amount}"', "fields in braces"),
        ('"{lot} {amount}"', '"{lot} {weight}"', "no field beside it"),
        ("required: [lot]", "required: [loot]", "did you mean lot"),
        ("x-amount: [amount]", "x-amount: [traps]", "no field beside it"),
        ("x-amount: [amount]", "x-amount: [[amount, amount]]", "not read as count"),
    ],
)  # fmt: skip
def test_a_slip_is_refused_with_the_file_and_the_key(own, old, new, says):
    text = TRAP + ROWS
    assert old in text
    kinds = own(text.replace(old, new, 1))
    with pytest.raises(KindError, match=says) as caught:
        kinds["trap-check"]
    assert str(caught.value).startswith("trap-check.yaml: ")


BENCH = """
$id: bench
title: Bench
description: A bench to work at, with what is usual there.
$ref: common.yaml
unevaluatedProperties: false
properties:
  code:
    title: Code
    $ref: common.yaml#/$defs/new-code
    x-makes: MADE
    x-role: [{role: names}]
  sort:
    title: Sort
    $ref: common.yaml#/$defs/text
    enum: [tool, place]
  usual_traps:
    title: Usual traps
    $ref: common.yaml#/$defs/codes
    x-thing: [item]
    x-usual: usual_tools
"""


@pytest.mark.parametrize(
    ("made", "as_place"),
    [("place", True), ("{kind: place, type: sort}", True), ("{from: sort}", True), ("{kind-of: usual_traps}", False),
     ("tool", False)],
)  # fmt: skip
def test_what_is_usual_may_stand_in_any_kind_that_registers_places(tmp_path, own, made, as_place):
    """A bench that is a place counts as one wherever it is named, so its usual traps are used there, and others' not.

    A bench may rest in turn on what is usual at the place where it stands.
    """
    (tmp_path / "bench.yaml").write_text(BENCH.replace("MADE", made))
    kinds = own(TRAP.replace("x-role: [{role: touched}]", "x-usual: usual_traps"))
    assert kinds["bench"].fields["usual_traps"].usual == "usual_tools"
    if as_place:
        assert kinds["trap-check"].fields["traps"].usual == "usual_traps"
    for _ in range(0 if as_place else 2):
        with pytest.raises(KindError, match=r"^trap-check\.yaml: traps: x-usual: a place has no field of codes named"):
            kinds["trap-check"]


def test_a_kind_that_registers_places_may_rest_on_what_is_usual_at_others_of_its_own(tmp_path):
    (tmp_path / "bench.yaml").write_text(BENCH.replace("MADE", "place").replace("usual_tools", "usual_traps"))
    assert Kinds.load(tmp_path)["bench"].fields["usual_traps"].usual == "usual_traps"


def test_a_reference_that_runs_in_a_circle_is_refused(own):
    text = TRAP.replace("$ref: common.yaml#/$defs/text", '$ref: "#/$defs/a"')
    kinds = own(text + '$defs: {a: {$ref: "#/$defs/b"}, b: {$ref: "#/$defs/a"}}\n')
    with pytest.raises(KindError, match="circle"):
        kinds["trap-check"]


@pytest.mark.parametrize(
    ("ending", "says"),
    [
        ("$defs: &all {a: {$defs: *all}}", "a part of it holds itself"),
        ("$defs: {a: &a {items: *a}}", "a part of it holds itself"),
        ("x-asked: " + "[" * 5000, "cannot be read: .*depth"),
        ("x-asked: [2026-02-30]", "day is out of range for month; what is no date or number needs quotes"),
        ("x-asked: {[a]: b}", "cannot be read: .*line 22"),
    ],
)
def test_what_cannot_be_read_to_its_end_is_refused_with_the_file(own, ending, says):
    kinds = own(f"{TRAP}{ending}\n")
    with pytest.raises(KindError, match=rf"^trap-check\.yaml: {says}"):
        kinds["trap-check"]


def test_a_name_that_is_taken_is_refused(tmp_path, own):
    with pytest.raises(KindError, match="there is a kind named washing already"):
        own(name="washing")
    (tmp_path / "washing.yaml").unlink()
    (tmp_path / "things.yaml").write_text("things: {tool: {title: Tool, plural: Tools, class: item}}")
    with pytest.raises(KindError, match="there is a kind named tool already"):
        own()


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("things: [trap]", "only a mapping named things"),
        ("things: {trap: {title: Trap, class: item}}", "title, plural and class"),
        ("things: {trap: {title: Trap, plural: Traps, class: animal}}", "class is one of"),
        ("things: {trap: {title: Trap, plural: Traps, class: lot, not-washed-off: x}}", "a list of types"),
        ("things: {trap: {title: Trap, plural: Traps, class: lot, travels-with: x}}", "a list of types"),
        ("things: {trap: {title: Trap, plural: Traps, class: lot, not-carried-by-people: x}}", "a list of types"),
        ("things: {Trap: {title: Trap, plural: Traps, class: item}}", "a kind is named with"),
        ("[]", "does not hold a mapping"),
    ],
)
def test_a_slip_in_kinds_of_things_is_refused(tmp_path, own, text, says):
    (tmp_path / "things.yaml").write_text(text)
    with pytest.raises(KindError, match=says):
        own()


def test_a_missing_folder_is_refused(tmp_path):
    with pytest.raises(KindError, match="no such folder"):
        Kinds.load(tmp_path / "nowhere")


def test_things_that_widen_a_recall(kinds):
    things = kinds.things
    assert {name for name, thing in things.items() if thing.bought} == {"seed-lot", "supplies-lot", "supplier-lot"}
    assert {name for name, thing in things.items() if thing.farm_wide} == {"water-source"}
    assert {name: thing.farm_wide_types for name, thing in things.items() if thing.farm_wide_types} == {
        "supplies-lot": ("sanitiser", "detergent"),
        "solution": ("sanitiser", "detergent"),
    }
    uncounted = {name for name, thing in things.items() if not thing.counted}
    assert uncounted == {"delivery", "complaint", "supplier-lot"}
    assert {thing.cls for thing in things.values()} == {
        "lot",
        "item",
        "water-source",
        "place",
        "person",
        "partner",
        "paper",
    }


def test_the_guide_names_every_keyword_and_annotation():
    from lotwalk.data import folder

    guide = (folder("schemas") / "README.md").read_text(encoding="utf-8")
    assert {word for word in {*KEYWORDS, *ANNOTATIONS} if word not in guide} == set()


@pytest.mark.parametrize(
    ("kind", "fields", "told"),
    [
        ("site-check", {"where": "W", "topic": "pests", "result": "droppings", "passed": "no"}, True),
        ("site-check", {"where": "W", "topic": "pests", "result": "x", "passed": "no", "action": "trap set"}, False),
        ("site-check", {"where": "W", "topic": "pests", "result": "traps empty"}, False),
    ],
)
def test_an_entry_may_tell_a_fact_of_itself(kinds, read, kind, fields, told):
    checked = read(kind, **fields)
    assert [fact.name for fact in checked.kind.facts if holds(fact.when, checked.values, passes=None, thing=None)] == (
        ["to_mend"] if told else []
    )
    assert kind in kinds.telling("to_mend")
