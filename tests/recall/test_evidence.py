"""What is in hand of a candidate cause marks it and never takes it off the list."""

from zoneinfo import ZoneInfo

import pytest

from lotwalk.book import Book
from lotwalk.recall.asking.asked import ask
from lotwalk.recall.recall import recall
from lotwalk.recall.traceforward.long_spells import Wide
from lotwalk.recall.words.evidence import evidence_json, full, limits, mark
from lotwalk.sheets.reader import read_sheet

FARM = """
common: {by: TO, at: 2026-03-01 08:00}
entries:
- {kind: person, code: TO, name: Tess Orr}
- {kind: supplier, code: SEEDS, name: Seeds}
- {kind: customer, code: CAFE, name: Corner Cafe}
- {kind: lab, code: LAB, name: County Laboratory}
- {kind: water-source, code: WELL, name: Well, type: ground}
- {kind: equipment, codes: KN-1, type: tool}
- {kind: supplies-receipt, lot: BOX, product: Boxes, type: packaging, amount: 100 boxes}
- {kind: seed-receipt, lot: S-1, crop: pea, supplier: SEEDS, amount: 5 kg}
- {kind: seed-receipt, lot: S-2, crop: radish, supplier: SEEDS, amount: 5 kg}
- {kind: seed-receipt, lot: S-3, crop: kale, supplier: SEEDS, amount: 5 kg}
- {kind: certificate, number: COA-1, type: pathogen test, covers: "S-1, S-3", result: Salmonella not detected in 25 g}
- {kind: certificate, number: COA-2, type: organic, covers: S-1, result: certified}
- {kind: certificate, number: FC-1, type: food contact, covers: BOX}
- {kind: water-test, at: 2026-02-20 08:00, source: WELL, e_coli: not detected in 100 mL}
- {kind: water-test, at: 2026-02-28 08:00, source: WELL, e_coli: not detected in 100 mL}
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: [S-1 200 g, S-2 20 g, S-3 1 g], trays: 2, water: WELL}
- {kind: harvest, at: 2026-03-10 09:00, lot: H-1, from: T-1 2, amount: 900 g, cut: above the medium, equipment: KN-1}
- {kind: packing, at: 2026-03-10 12:00, lot: P-1, from: H-1 800 g, amount: 800 g, packaging: BOX}
- {kind: delivery, at: 2026-03-10 15:00, code: D-1, customer: CAFE, items: P-1 100 g}
- {kind: water-test, at: 2026-03-11 08:00, source: WELL, e_coli: 4 MPN/100 mL}
- {kind: sample, at: 2026-03-12, of: S-2, amount: 25 g, lab: LAB, test: Salmonella, result: detected in 25 g}
- {kind: sample, at: 2026-03-12, of: S-3, amount: 25 g, lab: LAB, test: Salmonella}
- {kind: sample, at: 2026-03-12, of: P-1, amount: 25 g, lab: LAB, test: count, result: 1200 CFU/g}
- {kind: sample, at: 2026-03-12, of: KN-1, lab: LAB, test: swab, result: clean}
- {kind: sample, at: 2026-03-12, of: H-1, amount: 25 g, lab: LAB, test: Listeria, result: <10 cfu/g}
"""


@pytest.fixture(scope="module")
def candidates(tmp_path_factory):
    where = tmp_path_factory.mktemp("evidence") / "farm.db"
    book = Book.start(
        str(where), name="F", location="L", timezone="UTC", measures="metric", clock=lambda: 1_774_500_000
    )
    book.load(read_sheet(FARM, "farm.yaml"))
    with book.ledger.reading() as connection:
        answer = recall(connection, ask(connection, ["D-1"]), book.ledger.kinds)
    book.ledger.engine.dispose()
    return {one.thing.code: one for one in answer.candidates}


def told(candidate):
    return [(one.kind, one.result, one.says, one.side) for one in candidate.evidence]


@pytest.mark.parametrize(
    ("code", "evidence"),
    [
        ("S-1", [("certificate", "passed", "Salmonella not detected in 25 g", None)]),
        ("S-2", [("sample", "failed", "detected in 25 g", None)]),
        ("S-3", [("certificate", "passed", "Salmonella not detected in 25 g", None),
                 ("sample", "not named", "", None)]),
        ("P-1", [("sample", "unread", "1200 CFU/g", None)]),
        ("BOX", [("certificate", "not named", "", None)]),
        ("KN-1", [("sample", "passed", "clean", "within")]),
        # The spell begins with the passing test of 28 February; the earlier one lies outside it.
        ("WELL", [("water-test", "passed", "not detected in 100 mL", "before"),
                  ("water-test", "failed", "4 MPN/100 mL", "within")]),
        ("H-1", [("sample", "not shown", "<10 cfu/g", None)]),
        ("T-1", []),
    ],
)  # fmt: skip
def test_what_examined_a_candidate_stands_with_it(candidates, code, evidence):
    assert told(candidates[code]) == evidence


def test_a_count_below_its_limit_is_told_as_neither_passed_nor_failed(candidates):
    (one,) = candidates["H-1"].evidence
    assert mark([one]) == f"tested: not shown {one.entry}"
    assert full(one, "Sample") == (
        f"the Sample of 2026-03-12 ({one.entry}), not shown: `<10 cfu/g` is below what the method can count, which does"
        " not show that 25 g held none."
    )
    # The caution on tests that passed is for those alone.
    assert limits([candidates["H-1"]]) == []
    assert evidence_json([one])[0]["result"] == "not shown"


def test_a_source_without_a_passing_water_test_is_told_with_what_is_in_hand(candidates):
    well, day = candidates["WELL"], 86_400
    failed = next(one.entry for one in well.evidence if one.side == "within")
    told = Wide(well, 12, 20_000 * day, 20_010 * day, 9, 10).words(ZoneInfo("UTC"))
    assert told.startswith(
        "WELL has no passing water test between 2024-10-04 and 2024-10-14: it was drawn from 12 times"
    )
    # The test at which the time begins passed, and stands in no contradiction: only what lies inside is named.
    assert told.endswith(f"In hand from that time: water test {failed} FAILED.")


def test_a_grower_s_own_kind_is_evidence_where_its_file_says_so(tmp_path):
    own = tmp_path / "kinds"
    own.mkdir()
    (own / "swab.yaml").write_text(
        """
$schema: https://json-schema.org/draft/2020-12/schema
$id: swab
title: Swab
description: A quick swab.
$ref: common.yaml
unevaluatedProperties: false
required: [item, result]
properties:
  item:
    title: Item
    description: Which one
    $ref: common.yaml#/$defs/code
    x-thing: [item]
    x-tells: [{fact: examined}]
  result:
    title: Result
    description: What it showed
    $ref: common.yaml#/$defs/text
"""
    )
    where = str(tmp_path / "farm.db")
    book = Book.start(where, name="F", location="L", timezone="UTC", kinds=[own], clock=lambda: 1_774_500_000)
    book.load(read_sheet(FARM + "- {kind: swab, at: 2026-03-10 08:30, item: KN-1, result: failed}\n", "farm.yaml"))
    with book.ledger.reading() as connection:
        answer = recall(connection, ask(connection, ["D-1"]), book.ledger.kinds)
    book.ledger.engine.dispose()
    (knife,) = [one for one in answer.candidates if one.thing.code == "KN-1"]
    assert told(knife)[0] == ("swab", "failed", "failed", "within")
