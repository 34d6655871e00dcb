"""What may hurt somebody now is told at every door when it is recorded, in the words of the finding that stays.

The farm: CL is a bleach, PX a peroxyacetic acid, SOUR a descaler with phosphoric acid, AMM an ammonia cleaner, SOAP a
plain detergent. S-C is a mix of the bleach, S-P one of the peracid. What must never meet stands in the rule set, under
`never_with`: bleach with any of PX, SOUR and AMM; nothing with SOAP.
"""

import pytest
from tests.checks.small import Small
from tests.checks.stocked import DIP, STORES, form, found, python, sheet

from lotwalk.checks.subjects import dangers

TWO = [
    {"kind": "tank-fill", "tank": "TK-1", "solution": "S-C,S-P"},
    {"kind": "tank-fill", "tank": "TK-1", "solution": "CL, PX"},
    {"kind": "washing", "items": "M-1", "method": "brushed", "detergent": "S-C,S-P"},
    {"kind": "washing", "items": "M-1", "method": "brushed", "detergent": "S-C, SOUR"},
    {"kind": "washing", "items": "M-1", "method": "brushed", "detergent": "AMM, CL"},
    {"kind": "soaking", "lot": "SOAK-1", "seed": "S-1 100 g", "solution": "S-P, S-C"},
    {"kind": "growing-check", "batches": "T-1", "solution": "S-P, S-C"},
    {"kind": "packing", "lot": "P-1", "from": "H-1 100 g", "amount": "100 g", "solution": "S-C", "packaging": "SOUR"},
]
FINE = [
    {"kind": "tank-fill", "tank": "TK-1", "solution": "S-C, CL"},
    {"kind": "washing", "items": "M-1", "method": "brushed", "detergent": "S-C, SOAP"},
    {"kind": "washing", "items": "M-1", "method": "brushed", "detergent": "AMM, SOUR"},
    {"kind": "packing", "lot": "P-1", "from": "H-1 100 g", "amount": "100 g", "solution": "S-C", "packaging": "CARD"},
]
ACID = [
    {**DIP, "reading": "100 ppm", "ph": "3"},
    {**DIP, "reading": "100 ppm", "ph": "4.9"},
    {"kind": "solution-check", "solution": "S-C", "reading": "100 ppm", "ph": "4"},
    {"kind": "solution", "lot": "S-9", "product": "S-C", "ph": "4", "discard_at": "2026-03-02 20:00"},
    {"kind": "packing", "lot": "P-1", "from": "H-1 100 g", "amount": "100 g", "solution": "S-C", "ph": "4"},
]
MILD = [
    {**DIP, "reading": "100 ppm", "ph": "5"},
    {**DIP, "solution": "S-P", "reading": "100 ppm", "ph": "3"},
]
LEFT = [
    ({**DIP, "reading": "2500 ppm"}, "Reading 2500 ppm is above the label's highest, 200 ppm."),
    ({**DIP, "reading": "2500 ppm", "rinse_water": "MAINS"}, "Reading 2500 ppm is above the label's highest, 200 ppm."),
]


@pytest.mark.parametrize("entry", TWO)
def test_products_that_must_never_meet_are_told_by_every_door_as_the_check_finds_them(stocked, entry, tmp_path):
    doors = [python(stocked, entry)]
    if entry["kind"] not in ("soaking", "packing"):
        # A code is made once, so that only one door can.
        doors += [sheet(stocked, entry), form(stocked, entry, tmp_path)]
    for receipt in doors:
        first, *rest = receipt.notices
        (finding,) = found(stocked, receipt.name)
        assert first == f"{finding.text} {finding.do}"
        assert first.startswith(f"DANGER: {receipt.name} (2026-03-02 10:00) puts together what must never meet: ")
        assert "poisonous" in first and "get fresh air" in first
        assert finding.id == f"never-mixed:{receipt.name}"
        assert finding.basis.startswith("actives.")
        assert not any(one.startswith("DANGER") for one in rest)


def test_a_mix_is_told_by_its_products_with_what_it_is_in(stocked):
    receipt = python(stocked, TWO[0])
    assert (
        "CL (sodium hypochlorite, Plain bleach) in S-C and PX (peroxyacetic acid, Keen 15) in S-P. An acid sets"
        " chlorine gas free and ammonia makes chloramine, and both are poisonous." in receipt.notices[0]
    )
    (finding,) = found(stocked, receipt.name)
    assert finding.about == (receipt.name, "S-C", "CL", "S-P", "PX")


@pytest.mark.parametrize("entry", FINE)
def test_what_may_meet_is_no_danger(stocked, entry):
    receipt = python(stocked, entry)
    assert not any("DANGER" in one for one in receipt.notices)
    assert found(stocked, receipt.name) == []


def test_one_can_that_names_two_is_told_whenever_it_is_used(stocked):
    stocked.load(
        "- {kind: supplies-receipt, at: 2026-03-02 09:00, lot: BAD, product: Bleach with vinegar, type: sanitiser}\n"
    )
    receipt = python(stocked, {"kind": "solution", "lot": "S-B", "product": "BAD", "discard_at": "2026-03-02 20:00"})
    assert receipt.notices[0].startswith("DANGER: ")
    assert "BAD (Bleach with vinegar)" in receipt.notices[0]
    # The mix is as dangerous as what it was made of.
    assert python(stocked, {"kind": "tank-fill", "tank": "TK-1", "solution": "S-B"}).notices[0].startswith("DANGER: ")


@pytest.mark.parametrize("entry", ACID)
def test_a_chlorine_mix_that_is_too_acid_is_told_by_every_door(stocked, entry, tmp_path):
    doors = [python(stocked, entry)]
    if "lot" not in entry:
        doors += [sheet(stocked, entry), form(stocked, entry, tmp_path)]
    for receipt in doors:
        (finding,) = found(stocked, receipt.name)
        assert receipt.notices[0] == f"{finding.text} {finding.do}"
        assert finding.id == f"gas:{receipt.name}"
        assert finding.text == (
            f"DANGER: {receipt.name} (2026-03-02 10:00): pH {entry['ph']} of S-C is below 5. A chlorine solution this"
            " acid can give off chlorine gas."
        )
        assert finding.do == "Stop adding acid, get fresh air, mix anew."
        assert finding.basis.startswith("actives.chlorine.caution_below_ph 5: below pH 4 there is more and more")


@pytest.mark.parametrize("entry", MILD)
def test_what_gives_off_no_gas_is_no_danger(stocked, entry):
    receipt = python(stocked, entry)
    assert not any("DANGER" in one for one in receipt.notices)
    assert found(stocked, receipt.name) == []


@pytest.mark.parametrize(("entry", "words"), LEFT)
def test_a_residue_is_told_by_every_door_as_the_check_finds_it(stocked, entry, words, tmp_path):
    for receipt in (python(stocked, entry), sheet(stocked, entry), form(stocked, entry, tmp_path)):
        (finding,) = found(stocked, receipt.name)
        assert finding.id == f"too-strong:{receipt.name}"
        assert receipt.notices[0] == f"{finding.text} {finding.do}"
        assert finding.text == f"Residue: {receipt.name} (2026-03-02 10:00): {words}"


def test_without_a_label_the_rule_sets_highest_counts_unless_it_was_rinsed(stocked):
    stocked.load(
        "- {kind: supplies-receipt, at: 2026-03-02 09:00, lot: CL-2, product: Plain bleach, type: sanitiser, active:"
        " bleach, label_min: 50 ppm, label_contact: 1 min, expires: 2027-01-01}\n"
    )
    entry = {**DIP, "solution": "CL-2", "reading": "2500 ppm"}
    told = python(stocked, entry)
    assert "is above the rule set's highest without a rinse, 200 ppm" in told.notices[0]
    assert python(stocked, {**entry, "rinse_water": "MAINS"}).notices == ()


@pytest.mark.parametrize(
    ("reading", "rinse", "told"),
    [
        ("2500 ppm", {}, "Reading 2500 ppm is above the rule set's highest without a rinse, 200 ppm"),
        ("2500 ppm", {"rinse_water": "MAINS"}, ""),
        ("150 ppm", {}, ""),
    ],
)
def test_a_product_of_which_nobody_wrote_down_a_label_leaves_a_residue_too(stocked, reading, rinse, told):
    # The dip fails for want of a label, and what is on the mat is on it all the same.
    stocked.load("- {kind: supplies-receipt, at: 2026-03-02 09:00, lot: BARE, product: Bleach, type: sanitiser}\n")
    receipt = python(stocked, {**DIP, "solution": "BARE", "reading": reading, **rinse})
    assert receipt.verdict.failed == ("M-1",)
    assert [one.told for one in found(stocked, receipt.name)] == [one for one in receipt.notices if "Residue" in one]
    assert [told in one for one in receipt.notices] == ([True] if told else [])


def test_the_worst_comes_first(stocked):
    # Too acid and too strong: gas before what is left on the mat.
    receipt = python(stocked, {**DIP, "reading": "2500 ppm", "ph": "3"})
    assert [one.partition(":")[0] for one in receipt.notices] == ["DANGER", "Residue"]


def test_a_danger_that_an_amendment_makes_is_told_and_one_that_it_mends_is_gone(stocked):
    receipt = python(stocked, {"kind": "tank-fill", "tank": "TK-1", "solution": "S-C"})
    number = int(receipt.name[1:])
    assert receipt.notices == ()
    (told, *_) = stocked.book.amend(number, {"solution": "S-C, S-P"}, because="forgot one", by=["TO"])
    assert told.notices[0].startswith(f"DANGER: {receipt.name} ")
    assert len(found(stocked, receipt.name)) == 1
    (told, *_) = stocked.book.amend(number, {"solution": "S-P"}, because="a slip", by=["TO"])
    assert told.notices == ()
    assert found(stocked, receipt.name) == []


def test_a_mix_whose_product_is_amended_makes_what_was_filled_with_it_a_finding(stocked):
    stocked.load("- {kind: solution, at: 2026-03-02 09:00, lot: S-S, product: SOAP, discard_at: 2026-03-02 20:00}\n")
    receipt = python(stocked, {"kind": "tank-fill", "tank": "TK-1", "solution": "S-C, S-S"})
    assert receipt.notices == ()
    with stocked.book.ledger.reading() as connection:
        mixed = stocked.asked(connection, "2026-03-02").maker("S-S")
    (told, *_) = stocked.book.amend(mixed.number, {"product": "SOUR"}, because="took the other can", by=["TO"])
    (finding,) = found(stocked, receipt.name)
    assert "SOUR (phosphoric acid, Scale Off) in S-S" in finding.text
    assert told.notices == (finding.told,)
    # What is known is not told again.
    (told, *_) = stocked.book.amend(mixed.number, {"volume": "12 L"}, because="a slip", by=["TO"])
    assert told.notices == ()


def test_it_is_told_on_either_database(where):
    farm = Small(where)
    farm.load(STORES)
    receipt = python(farm, TWO[0])
    (finding,) = found(farm, receipt.name)
    farm.book.ledger.engine.dispose()
    assert receipt.notices[0] == f"{finding.text} {finding.do}"


def test_a_finding_is_closed_by_what_was_done_about_it(stocked):
    receipt = python(stocked, TWO[0])
    stocked.load(
        f"- {{kind: corrective-action, at: 2026-03-02 12:00, about: 'never-mixed:{receipt.name}', cause: a slip,"
        " action: aired and drained by the fire brigade, closed: 2026-03-02}\n"
    )
    assert found(stocked, receipt.name) == []


def test_soap_in_a_quat_is_told_as_useless_and_not_as_a_danger(stocked):
    stocked.load(
        "- {kind: supplies-receipt, at: 2026-03-01 09:00, lot: QUAT, product: Q-San, type: sanitiser, active:"
        " quaternary ammonium}\n"
    )
    receipt = python(stocked, {"kind": "washing", "items": "M-1", "method": "brushed", "detergent": "QUAT, SOAP"})
    finding = stocked.found(dangers, "2026-03-02")[f"inactivated:{receipt.name}"]
    assert finding.severity == "major"
    assert receipt.notices == (finding.told,)
    assert "QUAT (quaternary ammonium, Q-San) and SOAP (Plain soap). Soap and other anionic" in finding.text
    assert "DANGER" not in finding.told
