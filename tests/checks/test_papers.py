"""Papers of seed and of customers, and what runs out: small farms, a gap and its absence."""

import pytest
from tests.checks.small import Small

from lotwalk.checks.subjects import assurance, expiry, seed

SOWN = "- {{kind: sowing, at: {at}, batch: {batch}, seed: {lot} 20 g, trays: '1', equipment: M-1, water: none}}\n"
BAG = """
- {{kind: seed-receipt, at: 2026-03-02, lot: {lot}, crop: pea, supplier: HOLT, supplier_lot: {of}, amount: 1 kg}}
"""
PAPER = "- {{kind: certificate, at: 2026-03-02, number: {number}, type: pathogen test, covers: {covers}{more}}}\n"


@pytest.fixture
def farm(where):
    made = Small(where)
    yield made
    made.book.ledger.engine.dispose()


def sown(batch="T-1", lot="S-1", at="2026-03-05 08:00"):
    return SOWN.format(at=at, batch=batch, lot=lot)


def paper(covers="S-1", number="P-1", result="not detected in 25 g", more=""):
    return PAPER.format(number=number, covers=covers, more=f", result: {result}{more}" if result else more)


def test_seed_that_lies_in_the_bag_needs_no_paper_yet(farm):
    assert farm.found(seed, "2026-03-09") == {}
    farm.load(sown())
    found = farm.found(seed, "2026-03-09")
    assert list(found) == ["seed-paper:S-1"]
    assert found["seed-paper:S-1"].severity == "major"
    farm.load(paper())
    assert farm.found(seed, "2026-03-09") == {}


def test_seed_that_was_soaked_is_seed_that_was_sown(lite):
    lite.load("- {kind: soaking, at: 2026-03-04 20:00, lot: SO-1, seed: S-1 200 g, water: MAINS}\n")
    assert list(lite.found(seed, "2026-03-09")) == ["seed-paper:S-1"]
    lite.load(sown(lot="SO-1"))
    (found,) = lite.found(seed, "2026-03-09").values()
    assert "on (T-1) without a paper" in found.text


def test_a_paper_of_another_lot_says_nothing_of_this_one(lite):
    lite.load(BAG.format(lot="S-2", of="B-2").lstrip() + paper(covers="S-2") + sown() + sown("T-2", "S-2"))
    found = lite.found(seed, "2026-03-09")
    assert list(found) == ["seed-paper:S-1"]
    assert "P-1 is of S-2, another lot of that supplier" in found["seed-paper:S-1"].text
    assert found["seed-paper:S-1"].severity == "major"


def test_a_paper_of_the_same_lot_received_twice_is_to_be_widened(lite):
    lite.load(BAG.format(lot="S-2", of="A-1").lstrip() + paper(covers="S-2") + sown())
    found = lite.found(seed, "2026-03-09")
    assert found["seed-paper:S-1"].severity == "minor"
    assert "Amend P-1 so that it covers S-1 too" in found["seed-paper:S-1"].do


@pytest.mark.parametrize(
    ("result", "name", "severity"),
    [
        ("Salmonella detected in 25 g", "seed-failed:S-1:P-1", "critical"),
        ("pending", "seed-result:S-1:P-1", "major"),
        ("Listeria <10 cfu/g", "seed-result:S-1:P-1", "major"),
        ("", "seed-result:S-1:P-1", "major"),
        ("absent in 25 g", None, None),
    ],
)
def test_what_the_paper_says(lite, result, name, severity):
    lite.load(paper(result=result) + sown())
    assert [(one.id, one.severity) for one in lite.found(seed, "2026-03-09").values()] == (
        [(name, severity)] if name else []
    )


def test_a_paper_that_had_run_out_when_the_seed_was_sown(lite):
    lite.load(paper(more=", issued: 2025-03-05, expires: 2026-03-05") + sown())
    assert lite.found(seed, "2026-04-09") == {}
    (name,) = lite.load(sown("T-2", at="2026-03-06 08:00"))
    found = lite.found(seed, "2026-04-09")
    assert list(found) == [f"seed-paper-date:S-1:{name}"]
    assert "had run out (2026-03-05)" in found[f"seed-paper-date:S-1:{name}"].text


def test_a_paper_that_came_after_the_sowing(lite):
    (_, name) = lite.load(paper(more=", issued: 2026-03-20") + sown())
    found = lite.found(seed, "2026-04-09")
    assert found[f"seed-paper-date:S-1:{name}"].severity == "minor"


@pytest.mark.parametrize(
    ("treatment", "severities"),
    [
        ("none", []),
        ("Untreated", []),
        ("hot water, by the supplier", []),
        ("treated, thiram (pink)", ["critical"]),
        ("captan after hot water", ["critical"]),
        # Nobody knows what this is.
        ("Agrozol 20", ["critical"]),
    ],
)
def test_treated_seed(lite, treatment, severities):
    (_, _, name) = lite.load(
        "- {kind: seed-receipt, at: 2026-03-02, lot: S-2, crop: pea, supplier: HOLT, amount: 1 kg, treatment: "
        f"'{treatment}'}}\n" + paper(covers="S-2") + sown(lot="S-2")
    )
    found = lite.found(seed, "2026-03-09")
    assert [one.severity for one in found.values()] == severities
    assert set(found) <= {f"treated-seed:S-2:{name}"}
    lite.load("- {kind: corrective-action, at: 2026-03-06, about: T-1, cause: c, action: binned, closed: 2026-03-06}\n")
    assert lite.found(seed, "2026-03-09") == {}


ROOTED = """
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 20 g, trays: '4', equipment: M-1..M-4, water: none}
- {kind: harvest, at: 2026-03-09 09:00, lot: H-1, from: T-1 2, amount: 2 trays, cut: with roots, equipment: none}
- {kind: packing, at: 2026-03-09 10:00, lot: P-1, from: H-1 2 trays, amount: 2 trays, packaging: BOXES, equipment: none}
- {kind: delivery, at: 2026-03-09 14:00, code: D-1, customer: CAFE, items: P-1 1 tray}
- {kind: delivery, at: 2026-03-09 15:00, code: D-2, customer: SHOP, items: P-1 1 tray}
"""
ASSURED = (
    "- {{kind: certificate, at: 2026-03-01, number: {of}-26, type: cutting assurance, covers: {of}, issued: {day}}}\n"
)


def test_who_got_rooted_greens_without_assurance(farm):
    farm.load(ASSURED.format(of="CAFE", day="2026-03-01") + ROOTED)
    found = farm.found(assurance, "2026-03-12")
    assert set(found) == {"no-assurance:SHOP:D-2", "rooted:2026"}
    assert "who has given no assurance" in found["no-assurance:SHOP:D-2"].text
    assert [(one.by, one.about) for one in farm.due(assurance, "2026-03-12")] == [
        ("2026-03-12", ("SHOP",)),
        ("2027-03-01", ("CAFE",)),
    ]


def test_an_assurance_lasts_a_year(lite):
    lite.load(ASSURED.format(of="CAFE", day="2025-03-01") + ASSURED.format(of="SHOP", day="2025-03-20") + ROOTED)
    found = lite.found(assurance, "2026-03-12")
    assert set(found) == {"no-assurance:CAFE:D-1", "rooted:2026"}
    assert "ran out on 2026-03-01" in found["no-assurance:CAFE:D-1"].text


def test_a_tray_sold_growing_is_rooted_and_the_cut_of_its_batch_is_not(lite):
    lite.load(
        """
        - {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 20 g, trays: '4', equipment: none, water: none}
        - {kind: delivery, at: 2026-03-09 14:00, code: D-1, customer: CAFE, items: T-1 1 tray}
        - kind: harvest
          at: 2026-03-09 15:00
          lot: H-1
          from: T-1 3
          amount: 200 g
          cut: above the medium
          equipment: none
        - {kind: delivery, at: 2026-03-09 16:00, code: D-2, customer: SHOP, items: H-1 200 g}
        """
    )
    assert set(lite.found(assurance, "2026-03-12")) == {"no-assurance:CAFE:D-1", "rooted:2026"}


def test_a_farm_that_cuts_everything_hears_nothing_of_roots(lite):
    lite.load(ROOTED.replace("with roots", "above the medium"))
    assert lite.found(assurance, "2026-03-12") == {}
    assert lite.due(assurance, "2026-03-12") == []


def test_what_runs_out(lite):
    lite.load(
        """
        - {kind: supplies-receipt, at: 2026-03-02, lot: BL-1, product: Bleach, type: sanitiser, expires: 2026-06-30}
        - {kind: supplies-receipt, at: 2026-03-02, lot: ST-1, product: Strips, type: test strips, expires: 2026-05-31}
        - {kind: certificate, at: 2026-03-02, number: O-1, type: organic, covers: HOLT, expires: 2026-04-30}
        - {kind: certificate, at: 2026-03-02, number: O-2, type: organic, covers: HOLT, expires: 2027-04-30}
        - {kind: disposal, at: 2026-03-03, items: ST-1}
        """
    )
    assert [(one.by, one.about[0]) for one in lite.due(expiry, "2026-03-12")] == [
        ("2026-06-30", "BL-1"),
        ("2027-04-30", "O-2"),
    ]


def test_only_a_farm_that_goes_by_an_exemption_is_reminded_of_it(lite):
    assert lite.due(expiry, "2026-03-12") == []
    lite.load("- {kind: site-check, at: 2026-03-04, where: SHED, topic: exemption review, result: still below}\n")
    assert [one.by for one in lite.due(expiry, "2026-03-12")] == ["2027-03-04"]
