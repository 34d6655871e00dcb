"""Taking an entry out of the reckoning: it stays readable, and nothing lies behind it."""

import pytest
from tests.ledger.farm import current, history, load, number, refused, uses

from lotwalk.errors import Refused
from lotwalk.ledger.read.things import find_thing, is_void
from lotwalk.ledger.read.uses import makers, mentions
from lotwalk.ledger.read.versions import entries
from lotwalk.walk.model import Start
from lotwalk.walk.walk import walk

SOWING = """
    - {kind: sowing, at: 2026-03-02, by: TO, batch: T-1, seed: S-1 200 g, trays: 2, equipment: "M-01, M-02"}
    - {kind: harvest, at: 2026-03-09, by: TO, lot: H-1, from: T-1, amount: 1 kg, cut: with roots}
"""


def reached(book, direction: str, code: str) -> set[str]:
    with book.ledger.reading() as connection:
        return walk(connection, direction, [Start(find_thing(connection, code).id)]).codes()


def void(book, receipt, because: str = "typed twice"):
    return book.void(number(receipt), because=because, by=["AK"])


def test_a_void_entry_stays_readable_and_is_out_of_the_reckoning(book):
    sowing, _ = load(book, SOWING)
    (receipt,) = void(book, sowing)
    first, last = history(book, sowing.name)
    assert receipt.name == sowing.name
    assert (first.void, first.fields["batch"]) == (False, "T-1")
    assert (last.void, last.because, last.amended_by) == (True, "typed twice", ("AK",))
    assert last.fields == first.fields
    assert uses(book, sowing.name) == set()
    with book.ledger.reading() as connection:
        assert sowing.name not in {version.name for version in entries(connection)}
        assert sowing.name in {version.name for version in entries(connection, void=True)}


def test_a_void_lot_is_reached_where_it_is_used_and_nothing_lies_behind_it(book):
    sowing, harvest = load(book, SOWING)
    assert {"T-1", "H-1"} <= reached(book, "forward", "S-1")
    assert {"S-1", "T-1"} <= reached(book, "back", "H-1")
    void(book, sowing)
    assert reached(book, "forward", "S-1") == set()
    assert "S-1" not in reached(book, "back", "H-1")
    assert "T-1" in reached(book, "back", "H-1")
    assert "took T-1" in uses(book, harvest.name)
    with book.ledger.reading() as connection:
        batch = find_thing(connection, "T-1")
        assert is_void(connection, batch)
        assert makers(connection, [batch.id]) == {}
        assert [one.version.name for one in mentions(connection, batch)] == [harvest.name]


def test_a_code_can_be_made_again_after_a_void_and_is_the_same_thing(book):
    sowing, harvest = load(book, SOWING)
    void(book, sowing)
    with book.ledger.reading() as connection:
        key = find_thing(connection, "T-1").id
    (again,) = load(book, "- {kind: sowing, at: 2026-03-03, by: TO, batch: t-1, seed: S-2 150 g, trays: 3}\n")
    with book.ledger.reading() as connection:
        assert find_thing(connection, "T-1").id == key
        assert not is_void(connection, find_thing(connection, "T-1"))
        assert makers(connection, [key])[key].name == again.name
    assert {"S-2", "T-1"} <= reached(book, "back", "H-1")
    assert "S-1" not in reached(book, "back", "H-1")
    (problem,) = refused(book, "- {kind: sowing, at: 2026-03-04, by: TO, batch: T-1, seed: S-1 1 g, trays: 1}\n")
    assert "T-1 is already in the book" in problem
    assert uses(book, harvest.name) >= {"took T-1"}


def test_a_voids_code_is_made_again_as_the_same_kind_only(lite):
    sowing, _ = load(lite, SOWING)
    void(lite, sowing)
    (problem,) = refused(lite, "- {kind: solution, at: 2026-03-04, by: TO, lot: T-1, product: BLEACH, amount: 1 mL}\n")
    assert "T-1 is already the code of a tray batch" in problem


def test_a_thing_made_again_has_the_type_of_its_new_record(lite):
    """E16 receives BLEACH."""
    lite.void(16, because="wrong", by=["TO"])
    load(lite, "- {kind: supplies-receipt, at: 2026-03-02, by: TO, lot: BLEACH, product: Boxes, type: packaging}\n")
    with lite.ledger.reading() as connection:
        assert find_thing(connection, "BLEACH").type == "packaging"


def test_a_void_entry_can_be_neither_amended_nor_voided_again(book):
    sowing, _ = load(book, SOWING)
    void(book, sowing)
    for attempt in (
        lambda: void(book, sowing),
        lambda: book.amend(number(sowing), {"trays": "3"}, because="a slip", by=["AK"]),
    ):
        with pytest.raises(Refused, match=f"{sowing.name} is void; expected an entry in force"):
            attempt()
    assert len(history(book, sowing.name)) == 2


@pytest.mark.parametrize(
    ("because", "by", "problem"),
    [
        ("", ["AK"], "it is not said why"),
        ("a slip", [], "by: it is not said who"),
        ("a slip", ["WELL"], "not a person"),
    ],
)
def test_a_void_says_why_and_by_whom(lite, because, by, problem):
    sowing, _ = load(lite, SOWING)
    with pytest.raises(Refused, match=problem):
        lite.void(number(sowing), because=because, by=by)
    assert not current(lite, sowing.name).void


def test_the_farms_settings_cannot_be_voided(lite):
    with pytest.raises(Refused, match="E1 holds the farm's settings"):
        lite.void(1, because="a slip", by=["AK"])


def test_an_entry_is_voided_though_its_kind_has_changed_since(farms, fresh, tmp_path):
    """A grower's own kind asks for a field that the entry does not have; what is wrong can still be struck out."""
    from lotwalk.book import Book

    own = tmp_path / "kinds"
    own.mkdir()
    text = """
$schema: https://json-schema.org/draft/2020-12/schema
$id: try
title: Try
description: A kind of the grower's own.
$ref: common.yaml
unevaluatedProperties: false
required: [what]
x-log: [at, what]
properties:
  what: {title: What, description: What it was, $ref: "common.yaml#/$defs/text"}
  why: {title: Why, description: Why it was, $ref: "common.yaml#/$defs/text"}
"""
    (own / "try.yaml").write_text(text)
    place = fresh("sqlite", farms("sqlite"))
    book = Book.open(place, kinds=[own])
    receipt = book.record("try", at="2026-03-02", by="TO", what="this")
    book.ledger.engine.dispose()
    (own / "try.yaml").write_text(text.replace("required: [what]", "required: [what, why]"))
    book = Book.open(place, kinds=[own])
    book.void(number(receipt), because="a slip", by=["TO"])
    assert current(book, receipt.name).void
    assert current(book, receipt.name).fields == {"what": "this"}
    book.ledger.engine.dispose()
