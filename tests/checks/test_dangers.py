"""What may hurt somebody now is told at every door when it is recorded, in the words of the finding that stays.

The farm: CL is a bleach, PX a peroxyacetic acid, SOUR a descaler with phosphoric acid, AMM an ammonia cleaner, SOAP a
plain detergent. S-C is a mix of the bleach, S-P one of the peracid. What must never meet stands in the rule set, under
`never_with`: bleach with any of PX, SOUR and AMM; nothing with SOAP.
"""

import pytest
from tests.checks.small import Small
from tests.forms.filling import filled, printed

from lotwalk.checks import cleaning, dangers

STORES = """
- {kind: supplies-receipt, at: 2026-03-01 09:00, lot: CL, product: Plain bleach, type: sanitiser, strength: 5 %,
   active: sodium hypochlorite, label_min: 50 ppm, label_max: 200 ppm, label_contact: 1 min, expires: 2027-01-01}
- {kind: supplies-receipt, at: 2026-03-01 09:00, lot: PX, product: Keen 15, type: sanitiser, strength: 15 %,
   active: peroxyacetic acid, label_min: 80 ppm, label_max: 500 ppm, label_contact: 1 min, expires: 2027-01-01}
- {kind: supplies-receipt, at: 2026-03-01 09:00, lot: SOUR, product: Scale Off, type: other, active: phosphoric acid}
- {kind: supplies-receipt, at: 2026-03-01 09:00, lot: AMM, product: Window cleaner with ammonia, type: detergent}
- {kind: supplies-receipt, at: 2026-03-01 09:00, lot: SOAP, product: Plain soap, type: detergent}
- {kind: supplies-receipt, at: 2026-03-01 09:00, lot: CARD, product: Acid free card, type: packaging}
- {kind: solution, at: 2026-03-02 08:00, lot: S-C, product: CL, volume: 10 L, discard_at: 2026-03-02 20:00}
- {kind: solution, at: 2026-03-02 08:00, lot: S-P, product: PX, volume: 10 L, discard_at: 2026-03-02 20:00}
- {kind: equipment, at: 2026-03-01 09:00, codes: TK-1, type: tank}
- {kind: sowing, at: 2026-03-01 09:00, batch: T-1, seed: S-1 100 g, trays: 1, equipment: M-9}
- {kind: harvest, at: 2026-03-02 09:00, lot: H-1, from: T-1, amount: 900 g, cut: above the medium}
"""
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
DIP = {
    "kind": "sanitising",
    "items": "M-1",
    "solution": "S-C",
    "contact": "2 min",
    "washed": "yes",
    "temperature": "25 C",
}
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


@pytest.fixture
def stocked(lite):
    lite.load(STORES)
    return lite


def python(farm, entry):
    farm.now += 60
    return farm.book.record(at="2026-03-02 10:00", by="TO", again=True, **entry)


def sheet(farm, entry):
    from lotwalk.sheets.reader import read_sheet

    told = ", ".join(f"{name}: '{value}'" for name, value in entry.items())
    text = f"entries:\n- {{at: 2026-03-02 10:00, by: TO, {told}}}\n"
    return farm.book.load(read_sheet(text, "sheet.yaml"), again=True)[0]


def form(farm, entry, folder):
    kinds = farm.book.ledger.kinds
    name = f"{entry['kind']}/1/"
    typed = {f"{name}at": "2026-03-02 10:00", f"{name}by": "TO"}
    for field, value in entry.items():
        known = kinds[entry["kind"]].fields.get(field)
        if known is not None and known.form == "rows":
            lot, amount = value.split(" ", 1)
            typed |= {f"{name}{field}/1/{next(iter(known.fields))}": lot, f"{name}{field}/1/amount": amount}
        elif known is not None:
            box = known.choices or known.read == "yes-no"
            typed |= {f"{name}{field}={value}": True} if box else {f"{name}{field}": value}
    path = folder / "form.pdf"
    path.write_bytes(filled(printed(kinds, entry["kind"]), typed))
    return farm.book.load(path, again=True)[0]


def found(farm, name):
    """The findings of dangers and of residues that name an entry."""
    known = {**farm.found(dangers, "2026-03-02"), **farm.found(cleaning, "2026-03-02")}
    return [one for one in known.values() if one.about[0] == name and one.severity == "critical"]


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


# Two products in one tank, in entries of their own. TK-1 is a tank, CR-1 a container, ROOM a place.


def pour(farm, at, what, into="TK-1", **more):
    """Fill a tank, and type it a minute after all that was typed before."""
    farm.now += 60
    return farm.book.record("tank-fill", at=at, by="TO", again=True, tank=into, solution=what, **more)


def dangers_found(farm):
    return {name: one for name, one in farm.found(dangers, "2026-03-02").items() if name.startswith("never-mixed")}


def test_what_is_poured_on_what_it_must_never_meet_is_told_and_found(stocked):
    first = pour(stocked, "2026-03-02 10:00", "S-C")
    second = pour(stocked, "2026-03-02 10:20", "S-P")
    assert first.notices == ()
    ((name, finding),) = dangers_found(stocked).items()
    assert name == f"never-mixed:{second.name}"
    assert second.notices == (finding.told,)
    assert finding.severity == "critical"
    assert finding.about == (second.name, "TK-1", first.name, "S-C", "CL", "S-P", "PX")
    assert finding.text == (
        f"DANGER: {second.name} (2026-03-02 10:20) puts together what must never meet: PX (peroxyacetic acid, Keen 15)"
        f" in S-P on CL (sodium hypochlorite, Plain bleach) in S-C, which {first.name} (2026-03-02 10:00) put into"
        " TK-1. Nothing says that TK-1 was emptied or washed between. An acid sets chlorine gas free and ammonia makes"
        " chloramine, and both are poisonous. Peroxide makes it foam over, hot and full of gas."
    )
    assert "get fresh air" in finding.do and "TK-1 was emptied" in finding.do


@pytest.mark.parametrize(
    "between",
    [
        # Washed, and said to be emptied first when it was filled with water.
        {"kind": "washing", "items": "TK-1", "method": "rinsed out"},
        {"kind": "washing", "items": "TK-1", "method": "rinsed out", "seen_clean": "no"},
        {"kind": "tank-fill", "tank": "TK-1", "water": "MAINS", "emptied": "yes"},
        {"kind": "sanitising", "items": "TK-1", "method": "heat", "temperature": "90 C", "contact": "5 min"},
    ],
)
def test_a_tank_that_was_emptied_or_washed_between_holds_nothing_of_before(stocked, between):
    pour(stocked, "2026-03-02 10:00", "S-C")
    stocked.now += 60
    stocked.book.record(at="2026-03-02 10:10", by="TO", **between)
    assert pour(stocked, "2026-03-02 10:20", "S-P").notices == ()
    assert dangers_found(stocked) == {}


@pytest.mark.parametrize(
    ("between", "at"),
    [
        # Water alone empties nothing, nor does what says that it was not emptied.
        ({"kind": "tank-fill", "tank": "TK-1", "water": "MAINS"}, "2026-03-02 10:10"),
        ({"kind": "tank-fill", "tank": "TK-1", "water": "MAINS", "emptied": "no"}, "2026-03-02 10:10"),
        ({"kind": "washing", "items": "M-1", "tub": "TK-1", "method": "brushed"}, "2026-03-02 10:10"),
        # A washing of that day, at an hour that nobody wrote, or after both.
        ({"kind": "washing", "items": "TK-1", "method": "rinsed out"}, "2026-03-02"),
        ({"kind": "washing", "items": "TK-1", "method": "rinsed out"}, "2026-03-02 11:00"),
        # Another tank.
        ({"kind": "washing", "items": "CR-1", "method": "rinsed out"}, "2026-03-02 10:10"),
    ],
)
def test_what_does_not_surely_empty_it_between_does_not_separate(stocked, between, at):
    pour(stocked, "2026-03-02 10:00", "S-C")
    stocked.now += 60
    stocked.book.record(at=at, by="TO", **between)
    assert pour(stocked, "2026-03-02 10:20", "S-P").notices[0].startswith("DANGER: ")
    assert len(dangers_found(stocked)) == 1


def test_what_was_poured_in_between_hides_nothing_below_it(stocked):
    pour(stocked, "2026-03-01 10:00", "CL")
    pour(stocked, "2026-03-01 11:00", "SOAP")
    (told,) = pour(stocked, "2026-03-02 10:00", "SOUR").notices
    assert "on CL (sodium hypochlorite, Plain bleach), which " in told


def test_a_fill_that_says_that_the_tank_was_emptied_first_meets_nothing(stocked):
    pour(stocked, "2026-03-02 10:00", "S-C")
    assert pour(stocked, "2026-03-02 10:20", "S-P", emptied="yes").notices == ()
    # And what comes on it meets it.
    assert pour(stocked, "2026-03-02 10:40", "S-C").notices[0].startswith("DANGER: ")


def test_a_mix_that_was_to_be_discarded_before_is_no_longer_there(stocked):
    # S-C is discarded at 20:00 of the second.
    pour(stocked, "2026-03-02 10:00", "S-C")
    assert pour(stocked, "2026-03-02 19:59", "S-P").notices[0].startswith("DANGER: ")
    stocked.load("- {kind: solution, at: 2026-03-03 08:00, lot: S-P2, product: PX, discard_at: 2026-03-03 20:00}\n")
    pour(stocked, "2026-03-03 09:00", "S-C", into="CR-1")
    assert pour(stocked, "2026-03-03 10:00", "S-P2", into="CR-2").notices == ()
    pour(stocked, "2026-03-02 12:00", "S-C", into="CR-3")
    assert pour(stocked, "2026-03-03 10:00", "S-P2", into="CR-3").notices == ()


def test_a_tub_in_which_things_are_dipped_and_washed_holds_what_was_in_it(stocked):
    stocked.book.record(at="2026-03-02 10:00", by="TO", reading="100 ppm", ph="7", tub="CR-1", **DIP)
    stocked.now += 60
    told = stocked.book.record("washing", at="2026-03-02 10:30", by="TO", items="M-2", method="brushed", tub="CR-1",
                               detergent="SOUR")  # fmt: skip
    assert told.notices[0].startswith("DANGER: ") and "what must never meet: SOUR (" in told.notices[0]
    # The mat that was dipped, and then washed with something else, is no tub.
    again = stocked.book.record("washing", at="2026-03-02 11:30", by="TO", items="M-1", method="brushed",
                                detergent="SOUR")  # fmt: skip
    assert again.notices == ()


def test_a_tub_that_is_only_assumed_is_no_word_of_what_was_poured_where(stocked):
    stocked.load(
        "- {kind: place, at: 2026-03-01 09:00, code: SINK, name: Sink, use: wash, usual_items: CR-1}\n"
        "- {kind: washing, at: 2026-03-02 09:30, place: SINK, items: M-1, method: brushed, detergent: SOUR}\n"
    )
    told = stocked.book.record(at="2026-03-02 10:00", by="TO", reading="100 ppm", ph="7", place="SINK", **DIP)
    assert not any("DANGER" in one for one in told.notices)
    assert dangers_found(stocked) == {}


def test_what_was_poured_in_on_the_same_day_at_no_hour_may_have_met_it(stocked):
    day = pour(stocked, "2026-03-02", "S-C")
    hour = pour(stocked, "2026-03-02 10:00", "S-P")
    assert hour.notices[0].startswith(f"DANGER: {hour.name} ")
    assert day.name in hour.notices[0]
    assert len(dangers_found(stocked)) == 1


def test_a_tank_on_either_database(where):
    farm = Small(where)
    farm.load(STORES)
    pour(farm, "2026-03-02 10:00", "S-C")
    second = pour(farm, "2026-03-02 10:20", "S-P")
    (finding,) = dangers_found(farm).values()
    farm.book.ledger.engine.dispose()
    assert second.notices == (finding.told,)


# Kinds of the grower's own that name no `x-notice`: what is dangerous follows from what their fields hold.

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


# What an amendment, a void or a late entry makes dangerous in entries that were harmless when they were recorded.


def amended(farm, code, **changes):
    """Amend the entry that made a thing, and return the receipt of that."""
    with farm.book.ledger.reading() as connection:
        number = farm.asked(connection, "2026-03-02").maker(code).number
    return farm.book.amend(number, changes, because="another can", by=["TO"])[0]


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
