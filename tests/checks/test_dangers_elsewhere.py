"""Dangers that nothing in the entry's own kind asks about, and those that an entry makes in others.

A kind of the grower's own names no `x-notice`: what is dangerous follows from what its fields hold. An amendment, a
void or a late entry may make dangerous what was harmless when it was recorded, and says so in its receipt.
"""

import pytest
from tests.checks.small import Small
from tests.checks.stocked import DIP, STORES, amended, dangers_found, found, pour, python

_HEAD = """
$schema: https://json-schema.org/draft/2020-12/schema
$id: {name}
title: {title}
description: One of our own.
$ref: common.yaml
unevaluatedProperties: false
properties:
"""
OWN = {
    "our-dip": """
  things: {title: Things, $ref: common.yaml#/$defs/codes, x-thing: [item], x-role: [{role: touched}]}
  bath: {title: Bath, $ref: common.yaml#/$defs/codes, x-thing: [solution, supplies-lot], x-role: [{role: took}]}
  reading: {title: Reading, $ref: common.yaml#/$defs/range, x-dimension: [concentration]}
  ph: {title: pH, $ref: common.yaml#/$defs/ph}
""",
    "our-reading": """
  bath: {title: Bath, $ref: common.yaml#/$defs/code, x-thing: [solution, supplies-lot]}
  ph: {title: pH, $ref: common.yaml#/$defs/ph}
""",
    "our-mix": """
  mix: {title: Mix, $ref: common.yaml#/$defs/new-code, x-makes: solution, x-role: [{role: made}]}
  can: {title: Can, $ref: common.yaml#/$defs/code, x-thing: [supplies-lot], x-role: [{role: took}]}
  sour: {title: Sour, $ref: common.yaml#/$defs/code, x-thing: [supplies-lot], x-role: [{role: took}]}
""",
}


@pytest.fixture
def own(tmp_path):
    folder = tmp_path / "kinds"
    folder.mkdir()
    for name, fields in OWN.items():
        head = _HEAD.format(name=name, title=name.replace("-", " ").capitalize())
        (folder / f"{name}.yaml").write_text(head.removeprefix("\n") + fields.removeprefix("\n"))
    farm = Small(str(tmp_path / "own.db"), [folder])
    farm.load(STORES)
    yield farm
    farm.book.ledger.engine.dispose()


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ({"kind": "our-dip", "things": "M-1", "bath": "S-C, S-P"}, "puts together what must never meet: CL"),
        ({"kind": "our-dip", "things": "M-1", "bath": "S-C", "ph": "3"}, "pH 3 of S-C is below 5."),
        ({"kind": "our-reading", "bath": "S-C", "ph": "3"}, "pH 3 of S-C is below 5."),
        ({"kind": "our-mix", "mix": "S-9", "can": "CL", "sour": "SOUR"}, "puts together what must never meet: CL"),
        (
            {"kind": "our-dip", "things": "M-1", "bath": "S-C", "reading": "2500 ppm"},
            "Reading 2500 ppm is above the label's highest, 200 ppm.",
        ),
    ],
)
def test_a_kind_of_the_growers_own_is_told_of_at_the_door_and_found(own, entry, words):
    receipt = python(own, entry)
    assert words in receipt.notices[0]
    (finding,) = found(own, receipt.name)
    assert receipt.notices[0] == finding.told


@pytest.mark.parametrize(
    "entry",
    [
        {"kind": "our-dip", "things": "M-1", "bath": "S-C, SOAP", "ph": "7", "reading": "150 ppm"},
        {"kind": "our-dip", "things": "M-1", "bath": "S-P", "ph": "3"},
        {"kind": "our-mix", "mix": "S-9", "can": "CL"},
    ],
)
def test_what_is_harmless_in_a_kind_of_the_growers_own_is_not_told(own, entry):
    receipt = python(own, entry)
    assert receipt.notices == ()
    assert found(own, receipt.name) == []


def test_a_mix_of_a_kind_of_the_growers_own_is_followed_to_all_that_went_in(own):
    python(own, {"kind": "our-mix", "mix": "S-9", "can": "SOAP", "sour": "SOUR"})
    told = python(own, {"kind": "tank-fill", "tank": "TK-1", "solution": "S-9, S-C"})
    assert "SOUR (phosphoric acid, Scale Off) in S-9" in told.notices[0]


def test_a_reading_that_turns_out_to_be_of_an_acid_chlorine_mix_is_told_with_the_amendment(stocked):
    stocked.load("- {kind: solution, at: 2026-03-02 09:00, lot: S-S, product: SOAP, discard_at: 2026-03-02 20:00}\n")
    read = python(stocked, {"kind": "solution-check", "solution": "S-S", "reading": "100 ppm", "ph": "4"})
    assert not any("DANGER" in one for one in read.notices)
    told = amended(stocked, "S-S", product="CL")
    (finding,) = found(stocked, read.name)
    assert finding.id == f"gas:{read.name}"
    assert told.notices[0] == finding.told


def test_a_residue_that_a_corrected_label_makes_is_told_with_the_correction(stocked):
    dip = python(stocked, {**DIP, "reading": "150 ppm", "ph": "7"})
    assert not any("Residue" in one for one in dip.notices)
    told = amended(stocked, "CL", label_max="100 ppm")
    (finding,) = found(stocked, dip.name)
    assert told.notices[0] == finding.told
    assert "above the label's highest, 100 ppm" in finding.text


def test_a_fill_that_is_typed_late_is_told_to_lie_under_what_was_poured_on_it(stocked):
    upper = pour(stocked, "2026-03-02 10:20", "S-P")
    lower = pour(stocked, "2026-03-02 10:00", "S-C")
    (finding,) = dangers_found(stocked).values()
    assert finding.id == f"never-mixed:{upper.name}"
    assert lower.notices == (finding.told,)


def test_a_washing_of_the_tank_that_is_struck_out_lets_them_meet(stocked):
    pour(stocked, "2026-03-02 10:00", "S-C")
    stocked.now += 60
    washed = stocked.book.record("washing", at="2026-03-02 10:10", by="TO", items="TK-1", method="rinsed out")
    upper = pour(stocked, "2026-03-02 10:20", "S-P")
    assert upper.notices == ()
    (told, *_) = stocked.book.void(int(washed.name[1:]), because="it was the other tank", by=["TO"])
    (finding,) = dangers_found(stocked).values()
    assert finding.told in told.notices


def test_a_mix_that_is_amended_lies_under_what_was_poured_on_it(stocked):
    stocked.load("- {kind: solution, at: 2026-03-02 09:00, lot: S-S, product: SOAP, discard_at: 2026-03-02 20:00}\n")
    pour(stocked, "2026-03-02 10:00", "S-S")
    upper = pour(stocked, "2026-03-02 10:20", "SOUR")
    told = amended(stocked, "S-S", product="CL")
    (finding,) = dangers_found(stocked).values()
    assert finding.id == f"never-mixed:{upper.name}"
    assert told.notices == (finding.told,)


def test_many_are_told_with_their_number(stocked):
    stocked.load("- {kind: solution, at: 2026-03-02 09:00, lot: S-S, product: SOAP, discard_at: 2026-03-02 20:00}\n")
    for minute in range(12):
        python(stocked, {"kind": "washing", "items": "M-1", "method": f"way {minute}", "detergent": "S-S, S-C"})
    told = amended(stocked, "S-S", product="SOUR").notices
    assert len(told) == 11
    assert told[-1] == "DANGER: 2 more entries: `lotwalk check --only critical` lists them."


def test_what_is_made_dangerous_elsewhere_is_told_on_either_database(where):
    farm = Small(where)
    farm.load(STORES)
    upper = pour(farm, "2026-03-02 10:20", "S-P")
    late = pour(farm, "2026-03-02 10:00", "S-C")
    dip = python(farm, {**DIP, "reading": "150 ppm", "ph": "7"})
    corrected = amended(farm, "CL", label_max="100 ppm")
    pair, left = found(farm, upper.name), found(farm, dip.name)
    farm.book.ledger.engine.dispose()
    assert late.notices == tuple(one.told for one in pair)
    assert corrected.notices[0] == left[0].told
