"""Which entries deliver, throw out, sample, bring back and count stands in the kind files, not in the engine."""

from dataclasses import replace

import pytest
from tests.balance.farm import REGISTER, load, start, told, weighed
from tests.balance.test_sheets import CASES, GROWN, PACKED

from lotwalk.book import SETTINGS_KIND, Book
from lotwalk.data import folder
from lotwalk.kinds.facts import BALANCE_FACTS
from lotwalk.kinds.library import Kinds, read_things

GIFT = """
$schema: https://json-schema.org/draft/2020-12/schema
$id: gift
title: Gift
description: Greens given to neighbours, and what of them was eaten in the kitchen.
$ref: common.yaml
unevaluatedProperties: false
x-log: [at, lot, amount, eaten, eaten_amount, left, left_amount, by]
properties:
  lot:
    title: Lot
    $ref: common.yaml#/$defs/code
    x-thing: [lot]
    x-role: [{role: took}]
    x-amount: [amount]
    x-tells: [{fact: delivered, when: {basis: [sold, null]}}, {fact: sampled, when: {basis: tasted}}]
  amount:
    title: Amount
    $ref: common.yaml#/$defs/amount
    x-dimension: [mass]
  basis:
    title: Basis
    $ref: common.yaml#/$defs/text
    enum: [sold, tasted, other]
  eaten:
    title: Eaten
    $ref: common.yaml#/$defs/code
    x-thing: [lot]
    x-role: [{role: took}]
    x-amount: [eaten_amount]
  eaten_amount:
    title: Eaten amount
    $ref: common.yaml#/$defs/amount
    x-dimension: [mass]
  left:
    title: Left
    $ref: common.yaml#/$defs/code
    x-thing: [lot]
    x-amount: [left_amount]
    x-tells: [{fact: counted}]
  left_amount:
    title: Left amount
    $ref: common.yaml#/$defs/amount
    x-dimension: [mass]
"""


@pytest.fixture
def own(tmp_path) -> Book:
    """A farm with a kind of its own."""
    (tmp_path / "kinds").mkdir()
    (tmp_path / "kinds" / "gift.yaml").write_text(GIFT)
    start(str(tmp_path / "own.db")).ledger.engine.dispose()
    book = Book.open(str(tmp_path / "own.db"), kinds=[tmp_path / "kinds"])
    yield book
    book.ledger.engine.dispose()


def test_a_kind_of_the_growers_own_can_deliver_sample_and_count(own):
    load(own, GROWN + PACKED)
    load(
        own,
        """
        - {kind: gift, at: 2026-03-11, lot: P-1, amount: 100 g}
        - {kind: gift, at: 2026-03-11, lot: P-1, amount: 20 g, basis: tasted}
        - {kind: gift, at: 2026-03-11, lot: P-1, amount: 30 g, basis: other}
        - {kind: gift, at: 2026-03-12, eaten: P-1, eaten_amount: 50 g}
        - {kind: gift, at: 2026-03-13, left: P-1, left_amount: 790 g}
        """,
    )
    assert told(own, "P-1") == "g: made 1000, used 80 gift, delivered 100, sampled 20, on hand 790, missing 10"


@pytest.fixture(scope="module")
def renamed(tmp_path_factory) -> Kinds:
    """The kinds that ship, every one under another name."""
    place, schemas = tmp_path_factory.mktemp("renamed"), folder("schemas")
    files = {path.stem: path for path in schemas.glob("*.yaml") if path.stem not in ("common", "things", "units")}
    renamed = {SETTINGS_KIND: files.pop(SETTINGS_KIND)}
    for name, path in files.items():
        renamed[f"our-{name}"] = place / f"our-{name}.yaml"
        renamed[f"our-{name}"].write_text(path.read_text("utf-8").replace(f"$id: {name}\n", f"$id: our-{name}\n"))
    return Kinds(renamed, (), read_things(schemas / "things.yaml"))


@pytest.mark.parametrize("case", CASES)
def test_renaming_every_kind_changes_nothing_but_the_names(tmp_path, farm, renamed, case):
    sheet, expected = CASES[case]
    ours = Book.start(str(tmp_path / "ours.db"), name="F", location="L", timezone="Europe/London", measures="metric")
    ours.ledger.kinds = renamed
    load(ours, REGISTER.replace("kind: ", "kind: our-"))
    for text in (GROWN + PACKED, sheet):
        load(farm, text)
        load(ours, text.replace("kind: ", "kind: our-"))
    for code in expected:
        (lot,), (theirs,) = weighed(farm, code).lots, weighed(ours, code).lots
        assert {f"our-{kind}": amount for kind, amount in lot.sums.used.items()} == theirs.sums.used
        assert theirs.sums == replace(lot.sums, used=theirs.sums.used)
    ours.ledger.engine.dispose()


@pytest.mark.parametrize("fact", BALANCE_FACTS)
def test_some_kind_that_ships_tells_each_fact(fact):
    assert Kinds.load().telling(fact)
