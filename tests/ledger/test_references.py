"""Codes in an entry: they must exist, be of the right kind, and stand where their role allows."""

import pytest
from tests.ledger.farm import SOLUTION, history, load, names, number, refused, uses

from lotwalk.book import Book
from lotwalk.errors import KindError, NotUnderstood, Refused


@pytest.mark.parametrize(
    ("fields", "problem"),
    [
        ("kind: washing, items: M-99, method: brushed", "items: M-99 is not in the book; expected the code of an item"),
        ("kind: washing, items: S-1, method: brushed", "items: S-1 is a seed lot; expected an item"),
        ("kind: washing, items: WELL, method: brushed", "items: WELL is a water source; expected an item"),
        ("kind: washing, items: M-01, water: MAINS, tub: CAFE, method: brushed", "tub: CAFE is a customer"),
        ("kind: sowing, batch: T-9, seed: BLEACH 1 L, trays: 2", "seed[0].lot: BLEACH is a supplies lot"),
        ("kind: sowing, batch: T-9, seed: S-1 200 g, trays: 2, place: WELL", "place: WELL is a water source"),
        ("kind: growing-check, batches: [M-01, M-02]", "batches: M-01, M-02 are growing media; expected a tray-batch"),
        ("kind: water-test, source: M-01, e_coli: <1 MPN/100 mL", "source: M-01 is a growing medium"),
        ("kind: training, people: M-01, topic: hands", "people: M-01 is a growing medium; expected a person"),
        ("kind: corrective-action, about: E900, cause: a, action: b", "about: there is no entry E900"),
        ("kind: review, entries: E3..E900", "entries: there are no entries E20, E21, E22, E23, E24 and 876 more"),
        ("kind: stock-count, lot: E3, amount: 2 g", "lot: `E3` is how an entry is named"),
    ],
)  # fmt: skip
def test_a_code_that_cannot_stand_there_is_told(lite, fields, problem):
    (found,) = refused(lite, f"- {{at: 2026-03-02, by: TO, {fields}}}\n")
    assert found.startswith(f"sheet.yaml:1: {problem}")


def test_codes_are_matched_however_they_are_cased(book):
    (receipt,) = load(book, "- {kind: washing, at: 2026-03-02, by: to, items: m-01..m-02, method: brushed}\n")
    assert uses(book, receipt.name) == {"by TO", "touched M-01", "touched M-02"}


def test_a_code_is_unique_however_it_is_cased(book):
    (problem,) = refused(book, "- {kind: person, at: 2026-03-02, by: TO, code: to, name: Tom Oar}\n")
    assert "to is already in the book; expected a code that is free" in problem


def test_a_code_of_another_kind_of_thing_is_told(lite):
    (problem,) = refused(lite, "- {kind: sowing, at: 2026-03-02, by: TO, batch: m-01, seed: S-1 200 g, trays: 2}\n")
    assert "batch: m-01 is already the code of a growing medium" in problem


def test_a_code_made_twice_on_one_sheet_is_told(book):
    (problem,) = refused(
        book,
        """
        - {kind: sowing, at: 2026-03-02, by: TO, batch: T-1, seed: S-1 200 g, trays: 2}
        - {kind: sowing, at: 2026-03-03, by: TO, batch: t-1, seed: S-1 200 g, trays: 2}
        """,
    )
    assert problem.startswith("sheet.yaml:2: batch: t-1 is already in the book")


def test_an_entry_may_name_one_above_it_on_its_sheet(book):
    """The register holds E1 to E19, so the water test is E20."""
    receipts = load(
        book,
        """
        - {kind: water-test, at: 2026-03-02, by: TO, source: WELL, e_coli: 4 MPN/100 mL}
        - {kind: corrective-action, at: 2026-03-03, by: TO, about: e20, cause: a crack, action: mended}
        """,
    )
    assert names(receipts) == ["E20", "E21"]
    (problem,) = refused(
        book, "- {kind: corrective-action, at: 2026-03-03, by: TO, about: E22, cause: none known, action: none}\n"
    )
    assert "there is no entry E22" in problem


def test_an_entry_is_named_by_its_first_number_only(book):
    """A later version of E20 is stored as number 21; people never see that number, and it names nothing."""
    (washing,) = load(book, "- {kind: washing, at: 2026-03-02, by: TO, items: M-01, method: brushed}\n")
    book.amend(number(washing), {"method": "scraped"}, because="a slip", by=["TO"])
    (problem,) = refused(
        book, "- {kind: corrective-action, at: 2026-03-03, by: TO, about: E21, cause: a slip, action: none}\n"
    )
    assert "E21 is no entry but a later version of E20; expected E20" in problem
    with pytest.raises(Refused, match="there is no entry E21"):
        book.void(21, because="typed twice", by=["TO"])


def test_a_range_of_entries_passes_over_later_versions(book):
    (washing,) = load(book, "- {kind: washing, at: 2026-03-02, by: TO, items: M-01, method: brushed}\n")
    book.amend(number(washing), {"method": "scraped"}, because="a slip", by=["TO"])
    load(book, "- {kind: washing, at: 2026-03-03, by: TO, items: M-02, method: brushed}\n")
    assert load(book, "- {kind: review, at: 2026-03-04, by: TO, entries: E20..E22}\n")


def test_a_finding_may_be_named_though_no_thing_has_its_code(book):
    (receipt,) = load(
        book,
        "- {kind: corrective-action, at: 2026-03-03, by: TO, about: [due-WELL-2026, WELL], cause: a, action: b}\n",
    )
    assert uses(book, receipt.name) == {"by TO", "about WELL"}


def test_one_thing_in_one_role_stands_once(book):
    (receipt,) = load(
        book,
        """
        - kind: sowing
          at: 2026-03-02
          by: TO
          batch: T-1
          seed: [S-1 200 g, S-2 100 g, S-1 0.3 kg]
          trays: 2
        """,
    )
    assert uses(book, receipt.name) == {"by TO", "made T-1 2 count", "took S-1 500 g", "took S-2 100 g"}


def test_a_cleared_item_may_not_also_be_touched(lite):
    load(lite, SOLUTION)
    (problem,) = refused(
        lite,
        """
        - {kind: sanitising, at: 2026-03-02 09:00, by: TO, items: "M-01, M-02", solution: SOL-1, reading: 110 ppm,
           contact: 2 min, dried_on: M-02}
        """,
    )
    assert problem == ("sheet.yaml:1: items: M-02 is sanitised here and also touched; expected it in one field only")


OWN = """
$schema: https://json-schema.org/draft/2020-12/schema
$id: try
title: Try
description: A kind that lets a role be taken by things of any class.
$ref: common.yaml
unevaluatedProperties: false
x-log: [at, which]
properties:
  which:
    title: Thing
    description: Anything
    $ref: common.yaml#/$defs/codes
    x-thing: [lot, item, water-source, person]
    x-role: [{role: ROLE}]
"""


@pytest.mark.parametrize(
    ("role", "fits"),
    [
        ("took", {"S-1"}),
        ("tended", {"S-1"}),
        ("handled", {"S-1"}),
        ("touched", {"M-01", "WELL"}),
        ("drew", {"WELL"}),
        ("cleared", {"M-01", "WELL"}),
        ("about", {"S-1", "M-01", "WELL", "TO"}),
    ],
)
def test_a_role_is_for_things_of_its_class(farms, fresh, tmp_path, role, fits):
    own = tmp_path / "kinds"
    own.mkdir()
    (own / "try.yaml").write_text(OWN.replace("ROLE", role))
    book = Book.open(fresh("sqlite", farms("sqlite")), kinds=[own])
    for code in ("S-1", "M-01", "WELL", "TO"):
        sheet = f"- {{kind: try, at: 2026-03-02, by: TO, which: {code}}}\n"
        if code in fits:
            assert f"{role} {code}" in uses(book, load(book, sheet)[0].name)
        else:
            (problem,) = refused(book, sheet)
            assert problem.endswith(f"which cannot be {role}")
    book.ledger.engine.dispose()


def test_a_kind_of_record_that_is_not_known_when_the_ledger_is_opened_is_told(farms, fresh, tmp_path):
    with pytest.raises(KindError, match="there is no such folder of kinds"):
        Book.open(fresh("sqlite", farms("sqlite")), kinds=[tmp_path / "none"])
    book = Book.open(fresh("sqlite", farms("sqlite")))
    with pytest.raises(NotUnderstood, match="there is no kind of record named 'try'"):
        _ = book.ledger.kinds["try"]
    book.ledger.engine.dispose()


def test_pieces_cut_from_an_item_are_items_of_its_kind(book):
    (cut,) = load(
        book, "- {kind: equipment-change, at: 2026-03-02, by: TO, items: M-01, what: cut, codes: M-1A..M-2A}\n"
    )
    assert uses(book, cut.name) == {
        "by TO",
        "touched M-01",
        *(f"{role} {code}" for role in ("names", "touched") for code in ("M-1A", "M-2A")),
    }
    load(book, "- {kind: sowing, at: 2026-03-03, by: TO, batch: T-1, seed: S-1 50 g, trays: 1, equipment: M-1A}\n")
    (problem,) = refused(
        book, "- {kind: calibration, at: 2026-03-04, by: TO, instrument: M-1A, reference: ice, reading: 0}\n"
    )
    assert "M-1A is a growing medium; expected an instrument" in problem


def test_new_codes_of_no_clear_kind_are_told(lite):
    (problem,) = refused(
        lite,
        "- {kind: equipment-change, at: 2026-03-02, by: TO, items: [M-01, KNIFE], what: retagged, codes: X-1}\n",
    )
    assert "codes: the new codes could be growing media and tools; expected things of one kind in items" in problem


def test_lost_and_found_items_are_named_and_not_touched(lite):
    for day, what in enumerate(("lost", "found", "retired"), 2):
        (receipt,) = load(
            lite, f"- {{kind: equipment-change, at: 2026-03-0{day}, by: TO, items: M-01, what: {what}}}\n"
        )
        assert uses(lite, receipt.name) == {"by TO", "about M-01"}


def test_a_suppliers_lot_that_came_twice_is_one_thing(book):
    """Each of these seed lots took the supplier's lot that it came from."""
    load(book, "- {kind: supplier, at: 2026-03-01, by: TO, code: VALE, name: Vale Seeds}\n")
    receipts = load(
        book,
        """
        common: {kind: seed-receipt, at: 2026-03-02, by: TO, crop: pea, amount: 1 kg}
        entries:
        - {lot: S-3, supplier: HOLT, supplier_lot: RD-7781}
        - {lot: S-4, supplier: holt, supplier_lot: "  rd-7781"}
        - {lot: S-5, supplier: VALE, supplier_lot: RD-7781}
        - {lot: S-6, supplier: HOLT, supplier_lot: "RD 77, = box 1"}
        """,
    )
    (s3, s4, s5, s6) = ({use for use in uses(book, one.name) if use.startswith("took")} for one in receipts)
    assert s3 == s4 == {"took HOLT:RD-7781"}
    assert s5 == {"took VALE:RD-7781"}
    assert len(s6) == 1
    assert not s6 & (s3 | s5)


def test_a_receipt_without_a_suppliers_lot_shares_nothing(book):
    receipt = book.record(
        "seed-receipt", at="2026-03-02", by="TO", lot="S-7", crop="pea", supplier="HOLT", amount="1 kg"
    )
    assert uses(book, receipt.name) == {"by TO", "from HOLT", "made S-7 1000 g"}
    assert len(history(book, receipt.name)) == 1
