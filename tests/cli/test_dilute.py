"""`lotwalk dilute`, with a record book and without one."""

import pytest

BLEACH = ("5.25", "%", "bleach,", "100", "ppm,", "10", "L")


@pytest.fixture
def labelled(ledger, lotwalk):
    """The farm's ledger with labels of several products."""
    sheet = ledger.parent / "labels.yaml"
    sheet.write_text(
        """
common: {at: 2026-03-12 08:00, by: TO}
entries:
- kind: label
  code: LB-5
  product: Plain Five
  active: sodium hypochlorite
  strength: 5 %
  uses:
  - {use: food contact surfaces, porous: no, min: 100 ppm, max: 200 ppm, contact: 2 min}
  - {use: mould on walls, porous: no, min: 2000 ppm, max: 5000 ppm, contact: 10 min, rinse: yes}
- kind: label
  code: LB-Q
  product: Quat Ten
  active: quaternary ammonium
  strength: 10 %
  uses: {use: food contact, min: 150 ppm, max: 400 ppm, contact: 1 min, dose: 20 mL, dose_water: 10 L}
- kind: label
  code: LB-W
  product: Wall Wash
  active: sodium hypochlorite
  strength: 5 %
  uses: {use: walls and floors, min: 100 ppm, max: 900 ppm, contact: 1 min, food_contact: no}
- kind: label
  code: LB-R
  product: Rinse Off
  active: sodium hypochlorite
  strength: 5 %
  uses: {use: food contact, min: 100 ppm, max: 600 ppm, contact: 1 min, rinse: yes}
- kind: label
  code: LB-G
  product: Glass Wash
  active: sodium hypochlorite
  strength: 5 %
  uses: {use: glass, min: 100 ppm, max: 200 ppm, contact: 1 min}
- {kind: supplies-receipt, lot: BL-5, product: Plain Five, type: sanitiser, label: LB-5, expires: 2026-03-20}
- {kind: supplies-receipt, lot: W-1, product: Wall Wash, type: sanitiser, label: LB-W}
- {kind: supplies-receipt, lot: SOAP, product: Soap, type: detergent}
- {kind: supplies-receipt, lot: HTH, product: Granules, type: sanitiser, active: calcium hypochlorite, strength: 65 %,
   amount: 2 kg}
- {kind: solution, lot: SOL-5, product: BL-5, amount: 20 mL, volume: 10 L, target: 120 ppm, reading: 118 ppm,
   discard_at: 2026-03-12 20:00}
"""
    )
    assert lotwalk("load", sheet).status == 0
    return ledger


def test_a_strength_on_a_label_is_enough(lotwalk):
    told = lotwalk("dilute", *BLEACH, "--measures", "metric")
    assert told.status == 0
    # 100 mg/L x 10 L / 52.5 mg/mL.
    assert "For 100 ppm put 19 mL into the tub, and water to 10 L in all." in told.out
    assert "60 mL syringe     20 mL" in told.out  # 19 mL would be 99.8 ppm, below the step of the rule set.
    assert "5.25 % was read as 52.5 g in a litre; the label may mean it otherwise (below)." in told.out


def test_the_cautions_stand_under_every_answer(lotwalk):
    told = " ".join(lotwalk("dilute", *BLEACH).out.split())
    for words in (
        "The label comes first",
        "Wear gloves and eye protection and keep the room aired",
        "Never mix a chlorine product with an acid or with ammonia, or with another cleaner",
        "The local regulator, the product label and licensed advice decide.",
        "A strength mixed to is no reading",
        "loses strength with age",
    ):
        assert words in told


def test_json_says_the_same_in_numbers(lotwalk):
    told = lotwalk("dilute", *BLEACH, "--ph", "7.5", "--temperature", "20 C", "--format", "json").json
    assert told["mode"] == "mix"
    assert told["amount"]["value"] == pytest.approx(19.047619)
    assert told["product"]["basis_assumed"] is True
    assert told["limits"]["unrinsed_max_ppm"] == 200
    # A trade article gives 55 % at 20 degC and pH 7.5.
    assert told["hypochlorous_fraction"] == pytest.approx(0.55, abs=0.01)
    for one in told["measure"]:
        assert one["ppm"] == pytest.approx(one["amount"] * 52.5 / 10, abs=1e-4)


def test_csv_has_a_row_for_each_way_to_measure(lotwalk):
    lines = lotwalk("dilute", *BLEACH, "--format", "csv").lines
    assert lines[0] == "measure_with,amount,value,unit,ppm"
    assert lines[1].startswith("exact,")
    assert len(lines) > 2


def test_the_answer_comes_in_the_unit_asked_for(lotwalk):
    assert "put 0.644 fl oz into the tub" in lotwalk("dilute", *BLEACH, "--in", "fl oz").out
    wrong = lotwalk("dilute", *BLEACH, "--in", "g")
    assert (wrong.status, wrong.out) == (2, "")
    assert "measures mass; expected a unit of volume" in wrong.err


def test_the_other_bases_are_told_with_the_gravity(lotwalk):
    # Handbook of Chlorination, 1972: 6 % NaOCl at SG 1.1 is 5.7 weight % available chlorine, 6.3 trade %.
    told = lotwalk("dilute", "6 % NaOCl bleach", "100 ppm", "10 L", "--basis", "weight", "--gravity", "1.1",
                   "--format", "json").json  # fmt: skip
    called = {one["basis"]: one["percent"] for one in told["other_bases"]}
    assert called["trade"] == pytest.approx(6.3, abs=0.05)
    assert called["available"] == pytest.approx(5.7, abs=0.05)


def test_a_product_of_the_book_goes_by_its_label(labelled, lotwalk):
    told = lotwalk("dilute", "BL-5", "150", "ppm", "10", "L", "--format", "json").json
    assert told["product"]["use"] == "food contact surfaces"
    assert told["limits"]["label_max_ppm"] == 200
    assert told["amount"]["value"] == pytest.approx(30)
    assert told["product"]["expires"] == "2026-03-20"
    assert lotwalk("dilute", "LB-5", "150 ppm", "10 L", "--format", "json").json["amount"]["value"] == pytest.approx(30)


def test_a_solution_of_the_book_brings_its_product_volume_and_target(labelled, lotwalk):
    told = lotwalk("dilute", "SOL-5", "--have", "60 ppm", "--format", "json").json
    assert told["mode"] == "strengthen"
    # (10 L x 60 + x x 50,000) / (10 L + x) = 120
    assert told["amount"]["value"] == pytest.approx(10_000 * 60 / (50_000 - 120))
    weak = lotwalk("dilute", "SOL-5", "--have", "240 ppm")
    assert "add 10 L of water" in weak.out
    assert "take 5 L out and make it up with water" in " ".join(weak.out.split())
    assert "nothing to add" in lotwalk("dilute", "SOL-5", "--have", "120 ppm").out


def test_a_solution_that_is_mixed_again_is_mixed_to_its_own_target(labelled, lotwalk):
    # 120 mg/L x 10 L / 50 mg/mL.
    assert "For 120 ppm put 24 mL into the tub" in lotwalk("dilute", "SOL-5").out


def test_a_solution_of_what_no_rule_knows_is_reckoned_to_its_target_and_is_bad_news(labelled, lotwalk):
    receipt = ("--lot", "LEAF", "--product", "Leaf Wash", "--type", "sanitiser", "--strength", "5 %", "--by", "TO")
    assert lotwalk("record", "supplies-receipt", *receipt).status == 0
    mixed = ("--lot", "SOL-L", "--product", "LEAF", "--amount", "20 mL", "--volume", "10 L", "--target", "100 ppm")
    assert lotwalk("record", "solution", *mixed, "--by", "TO").status == 0
    told = lotwalk("dilute", "SOL-L")
    assert told.status == 1
    assert "This book knows no sanitising strength for Leaf Wash" in told.out
    # 100 mg/L x 10 L / 50 mg/mL.
    assert "For 100 ppm put 20 mL into the tub" in told.out


def test_what_did_i_mix(labelled, lotwalk):
    told = lotwalk("dilute", "BL-5", "10 L", "--put-in", "30 mL")
    assert "30 mL in 10 L in all made 150 ppm" in told.out
    weak = lotwalk("dilute", "BL-5", "10 L", "--put-in", "2 tsp")
    assert "50 ppm is below the label's lowest, 100 ppm" in weak.out
    assert "more for 150 ppm" in weak.out
    strong = lotwalk("dilute", "BL-5", "10 L", "--put-in", "60 mL")
    assert "300 ppm is above the label's highest, 200 ppm. Take 5 L out and make it up with water" in " ".join(
        strong.out.split()
    )
    assert weak.status == strong.status == 1


def test_the_labels_own_dose(labelled, lotwalk):
    told = lotwalk("dilute", "LB-Q", "5 L")
    assert "The label's own dose for 5 L is 10 mL, which gives 200 ppm." in told.out
    plain = lotwalk("dilute", "10 % quat 2 gal", "--dose", "1 fl oz per 4 gal", "--measures", "us")
    assert "measuring spoons  1 tbsp" in plain.out


def test_a_powder_is_weighed(labelled, lotwalk):
    told = lotwalk("dilute", "HTH", "100 ppm", "100 L", "--format", "json").json
    assert told["amount"]["unit"] == "g"
    assert told["amount"]["value"] == pytest.approx(100 * 100 / 650)


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ("BL-5 201ppm 10L", "201ppm is above the label's highest, 200 ppm"),
        ("BL-5 201ppm 10L --rinse", "201ppm is above the label's highest, 200 ppm"),
        ("5 % bleach 201ppm 10L", "201ppm is above 200 ppm, the highest without a rinse (US 40 CFR 180.940(a))"),
        ("W-1 100ppm 10L", "gives no food-contact use (walls and floors)"),
        ("W-1 100ppm 10L --use walls", "gives no food-contact use"),
        ("BL-5 100ppm 10L --porous", "does not cover porous items"),
        ("BL-5 100ppm 10L --use toys", "names no use `toys`"),
        ("SOAP 100ppm 10L", "SOAP is recorded as detergent"),
        ("M-001 100ppm 10L", "M-001 is recorded as medium"),
        ("NOPE 100ppm 10L", "NOPE is not in the book"),
        ("BL-5 10L", "no strength is aimed at; expected a strength such as 100 ppm to 200 ppm, which the label allows"),
        ("BL-1 100ppm 10L", "how strong BL-1 is, is not known"),
        ("BL-5 100ppm", "it is not said how much is mixed"),
        ("BL-5 100ppm 10L --ph 15", "--ph: there is no pH of 15"),
        ("BL-5 100ppm 10L --have 5mL --gravity x", "--have: `5mL` is a volume"),
        ("5 % 100ppm 10L", "5 % of what, is not said"),
        ("BL-5 100ppm 10L --tools missing.yaml", "missing.yaml: cannot be read"),
        ("BL-5 100ppm 10L --rules mars", "there is no rule set mars"),
        ("BL-5 100ppm 10L --have 50ppm --put-in 5mL", "two questions"),
    ],
)
def test_what_must_not_or_cannot_be_mixed_is_refused(labelled, lotwalk, arguments, told):
    refused = lotwalk("dilute", *arguments.split())
    assert (refused.status, refused.out) == (2, "")
    assert told in refused.err


def test_a_label_that_does_not_say_what_its_use_is_for_asks_for_the_use_meant(labelled, lotwalk):
    """W-1 is refused above: its label says that the use is not for food contact. That of LB-G does not say."""
    refused = lotwalk("dilute", "LB-G", "100ppm", "10L")
    assert refused.status == 2
    assert "or --use with the use meant" in refused.err
    assert "--use with the use meant" not in lotwalk("dilute", "W-1", "100ppm", "10L").err
    told = lotwalk("dilute", "LB-G", "100ppm", "10L", "--use", "glass")
    assert told.status == 0
    assert "does not say that this use is for surfaces that food touches" in " ".join(told.out.split())


def test_a_rinse_lifts_the_rule_sets_limit_and_is_said(labelled, lotwalk):
    told = " ".join(lotwalk("dilute", "5 % bleach 300ppm 10L", "--rinse").out.split())
    assert "Above 200 ppm (US 40 CFR 180.940(a)) a rinse with drinking water must follow" in told
    asked = " ".join(lotwalk("dilute", "LB-R 300ppm 10L").out.split())
    assert "The label asks for a rinse with drinking water afterwards." in asked


def test_what_the_label_does_not_say_is_asked_for(labelled, lotwalk):
    told = lotwalk("dilute", "BL-1", "100 ppm", "10 L", "--strength", "5 %")
    assert told.status == 0
    assert "What the label of BL-1 allows on surfaces that food touches is not on record" in " ".join(told.out.split())


def test_a_product_out_of_date_is_told_and_is_bad_news(labelled, lotwalk, monkeypatch):
    monkeypatch.setattr("time.time", lambda: 1_774_200_000.0)  # 2026-03-22
    told = lotwalk("dilute", "BL-5", "100 ppm", "10 L")
    assert told.status == 1
    assert "BL-5 was out of date since 2026-03-20" in told.out


def test_a_target_below_the_label_is_bad_news(labelled, lotwalk):
    told = lotwalk("dilute", "BL-5", "50 ppm", "10 L")
    assert told.status == 1
    assert "below the label's lowest" in told.out


def test_a_code_needs_a_book(lotwalk):
    refused = lotwalk("dilute", "BL-5", "50 ppm", "10 L")
    assert refused.status == 2
    assert "no record book says what BL-5 is (lotwalk.db: there is no ledger here" in refused.err


def test_the_lowest_temperature_is_told_as_the_food_code_prints_it_in_the_farms_own_degrees(lotwalk):
    # US Food Code 4-501.114(A): from 50 mg/L on 24 degC (75 degF) at pH 8, 38 degC (100 degF) at pH 10.
    for measures, told in (
        ("us", "75 °F at pH 8 or lower or 100 °F at pH 10"),
        ("metric", "24 °C at pH 8 or lower or 38 °C at pH 10"),
    ):
        assert told in " ".join(lotwalk("dilute", "6% bleach 60ppm 10L", "--measures", measures).out.split())


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ("6% vinegar", "This book knows no sanitising strength for vinegar: the label decides"),
        ("70% isopropyl alcohol", "This book knows no sanitising strength for isopropyl alcohol: the label decides"),
        ("6% bleach 100 5 gal", "100 what?; expected a number with its unit, such as 100 ppm"),
        ("6% bleach 5 100ppm", "5 what?"),
    ],
)
def test_what_is_unknown_is_refused_and_says_why(lotwalk, arguments, told):
    refused = lotwalk("dilute", *arguments.split())
    assert (refused.status, refused.out) == (2, "")
    assert told in refused.err


def test_a_mix_of_what_no_rule_knows_is_reckoned_and_is_bad_news(lotwalk):
    # The rule sets know hydrogen peroxide by its name alone.
    for name in ("vinegar", "hydrogen peroxide"):
        told = lotwalk("dilute", *["6%", *name.split(), "100ppm", "10L"])
        assert told.status == 1
        assert f"This book knows no sanitising strength for {name}" in told.out
    labelled = lotwalk("dilute", *["6%", "vinegar", "100ppm", "10L", "--label-min", "100ppm"])
    assert (labelled.status, "knows no sanitising strength" in labelled.out) == (0, False)


@pytest.mark.parametrize(
    "words",
    [
        "6% vinegar 100ppm 10L --label-min 80ppm",
        "6% vinegar 10L --dose 20mL/10L",
        "5% leaf-wash 80ppm 10L --rules ours.yaml",
    ],
    ids=["its lowest", "its dose", "a table of the rule set"],
)
def test_one_thing_known_of_a_sanitiser_is_enough(lotwalk, tmp_path, words):
    (tmp_path / "ours.yaml").write_text(
        "title: Ours\nbased_on: us\nactives:\n  leaf wash:\n    names: [leaf-wash]\n    table:\n"
        "      source: the maker\n      confidence: read\n      rows: [{at_least: 50 ppm, temperature: 10 degC}]\n"
    )
    told = lotwalk("dilute", *words.split())
    assert (told.status, "knows no sanitising strength" in told.out) == (0, False)


@pytest.mark.parametrize("words", ["6% vinegar 100ppm 10L --label-max 200ppm", "5% paa 80ppm 10L"])
def test_a_highest_strength_alone_says_nothing_of_where_it_begins_to_work(lotwalk, words):
    """The label's own, or the rule set's for peroxyacetic acid, which is of what may be left without a rinse."""
    told = lotwalk("dilute", *words.split())
    assert (told.status, "knows no sanitising strength" in told.out) == (1, True)


def test_peroxyacetic_acid_is_told_to_be_an_acid_never_to_meet_chlorine(lotwalk):
    told = " ".join(lotwalk("dilute", *["5%", "peroxyacetic", "acid", "80ppm", "10L"]).out.split())
    assert "Never mix peroxyacetic acid with chlorine, bleach, hypochlorite, chlorite, vinegar and acetic acid." in told
    assert "It is itself an acid" in told


def test_a_mix_weaker_than_any_rule_knows_is_bad_news(lotwalk):
    # US Food Code 4-501.114(A) begins at 25 mg/L. 5 mL x 60 mg/mL in 20 L is 15 mg/L; 10 mL is 30 mg/L.
    weak = lotwalk("dilute", *["6%", "bleach", "20L", "--put-in", "5mL"])
    assert weak.status == 1
    assert "15 ppm is weaker than any that the rule set knows: it begins at 25 ppm" in " ".join(weak.out.split())
    assert "At this strength the rule set asks" not in weak.out
    assert lotwalk("dilute", *["6%", "bleach", "20L", "--put-in", "10mL"]).status == 0


def test_no_way_to_measure_goes_under_the_step_of_the_rule_set_that_was_asked_for(lotwalk):
    # US Food Code 4-501.114(A) asks for 13 degC from 100 mg/L on, and for 24 degC below.
    for target in (50, 100):
        for volume in ("5gal", "7L", "3gal", "11L"):
            told = lotwalk("dilute", "10%", "bleach", f"{target}ppm", volume, "--format", "json").json
            assert all(one["ppm"] >= target for one in told["measure"])


def test_a_powder_is_told_in_grams_first_on_every_farm(lotwalk):
    # 100 mg/L x 100 L / 650 mg/g = 15.4 g; 28.35 g is an ounce.
    asked = ["65%", "calcium", "hypochlorite", "100ppm", "100L", "--powder", "--measures"]
    assert "put 15.4 g (0.543 oz) into the tub" in lotwalk("dilute", *asked, "us").out
    assert "put 15.4 g into the tub" in lotwalk("dilute", *asked, "metric").out


def test_water_is_told_with_three_figures_in_the_measure_of_the_tub(lotwalk):
    # 5 gal x (450 / 120 - 1) = 13.75 gal, or 18.93 L x 2.75 = 52.05 L; 5 gal x (1 - 120 / 450) = 3.667 gal.
    told = " ".join(lotwalk("dilute", *["6%", "bleach", "120ppm", "5gal", "--have", "450ppm"]).out.split())
    assert "add 13.8 gal of water, which makes 18.8 gal; or, where the tub is full, take 3.67 gal out" in told
    litres = lotwalk("dilute", *["6%", "bleach", "120ppm", "18.927L", "--have", "450ppm"], "--measures", "metric").out
    assert "add 52 L of water" in litres


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--label-min", "200 ppm", "--label-max", "100 ppm"), "200 ppm, is above its highest, 100 ppm"),
        (("--temperature", "150 C", "--ph", "7"), "no mix has 150 C"),
    ],
)
def test_what_cannot_be_is_refused(lotwalk, options, told):
    ran = lotwalk("dilute", *BLEACH, *options)
    assert ran.status == 2
    assert told in ran.err
