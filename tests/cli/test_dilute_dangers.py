"""What `lotwalk dilute` says of a mix that gives off gas, and of one that would not count."""

import pytest

BLEACH = ("5.25", "%", "bleach,", "100", "ppm,", "10", "L")


@pytest.mark.parametrize(
    "active",
    [
        "hypochlorous acid",
        "chlorine dioxide, citric acid activated",
        "acid-free bleach",
        "trichloroisocyanuric acid chlorine",
        "peroxyacetic acid, hydrogen peroxide, acetic acid",
    ],
)
def test_an_acid_in_the_name_of_one_product_is_no_danger(lotwalk, active):
    told = lotwalk("dilute", "5%", *active.split(), "100ppm", "5gal")
    assert "DANGER" not in told.out + told.err


# What gives off gas. Nobody may read how much of it to pour: no amount stands anywhere in the answer.
GAS = [
    ("5.25 % bleach 150ppm 10L --ph 4.5 --temperature 25degC", "pH 4.5 is below 5. A chlorine solution this acid"),
    ("5.25 % bleach 150ppm 10L --ph 3 --temperature 49degC", "pH 3 is below 5. A chlorine solution this acid"),
    ("5.25 % bleach 150ppm 10L --have 60ppm --ph 4.99", "pH 4.99 is below 5. A chlorine solution this acid"),
    ("10 % bleach and ammonia 100ppm 5gal", "never mix what `bleach and ammonia` names. An acid sets chlorine gas"),
    ("6% sodium hypochlorite, citric acid 100ppm 5gal", "never mix what `sodium hypochlorite citric acid` names."),
    ("6% vinegar with bleach 100ppm 5gal", "never mix what"),
    ("6% bleach+vinegar 100ppm 5gal", "never mix what"),
    ("5% peroxyacetic acid and bleach 100ppm 5gal", "never mix what"),
    ("5% bleach and PAA 100ppm 5gal", "never mix what"),
    ("3% hydrogen peroxide and vinegar 100ppm 5gal", "never mix what"),
    ("2% sodium chlorite with bleach 100ppm 5gal", "never mix what"),
]


@pytest.mark.parametrize(("arguments", "words"), GAS)
def test_a_mix_that_gives_off_gas_has_no_recipe_and_is_told_first(lotwalk, arguments, words):
    told = lotwalk("dilute", *arguments.replace("--temperature 25degC", "--temperature=25degC").split())
    plain = " ".join(told.out.split())
    assert (told.status, told.err) == (1, "")
    assert plain.startswith(f"DANGER: {words}")
    assert "get fresh air" in plain
    assert "No amount is given." in plain
    for praise in ("works best", "put ", " mL", " L ", "gal", "syringe", "hypochlorous acid"):
        assert praise not in plain.partition("The label comes first")[0]
    assert "Gloves, eyes, fresh air" in plain and "Never mix" in plain


@pytest.mark.parametrize(("arguments", "words"), GAS)
def test_json_and_csv_say_the_danger_and_no_amount(lotwalk, arguments, words):
    told = lotwalk("dilute", *arguments.split(), "--format", "json")
    assert told.status == 1
    answer = told.json
    assert answer["mode"] == "danger"
    (danger,) = answer["dangers"]
    assert danger.startswith(f"DANGER: {words}")
    assert answer["bad"] == [danger]
    assert (answer["amount"], answer["measure"], answer["water_mL"], answer["ppm"]) == (None, [], None, None)
    rows = lotwalk("dilute", *arguments.split(), "--format", "csv")
    assert (rows.status, rows.lines[0]) == (1, "measure_with,amount,value,unit,ppm")
    assert len(rows.lines) == 2
    assert rows.lines[1].startswith(("DANGER,", '"DANGER'))


def test_at_the_very_limit_there_is_no_danger(lotwalk):
    told = lotwalk("dilute", *BLEACH, "--ph", "5", "--temperature", "25 C", "--format", "json")
    assert (told.status, told.json["dangers"]) == (0, [])
    # Peroxyacetic acid is an acid by itself, and so are iodophors: only chlorine turns into gas.
    acid = lotwalk("dilute", "15%", "peroxyacetic", "acid", "80ppm", "10L", "--label-min", "50ppm", "--ph", "3")
    assert (acid.status, "DANGER" in acid.out) == (0, False)


def test_products_of_the_book_that_must_never_meet_have_no_recipe(ledger, lotwalk):
    sheet = ledger.parent / "stores.yaml"
    sheet.write_text(
        """
common: {at: 2026-03-12 08:00, by: TO}
entries:
- {kind: supplies-receipt, lot: SOUR, product: Bleach with vinegar, type: sanitiser, active: sodium hypochlorite,
   strength: 5 %}
- {kind: solution, lot: SOL-9, product: SOUR, volume: 10 L, target: 100 ppm}
"""
    )
    assert lotwalk("load", sheet).status == 0
    for code in ("SOUR", "SOL-9"):
        told = lotwalk("dilute", code, "100 ppm", "10 L")
        assert told.status == 1
        assert told.out.startswith("DANGER: never mix what SOUR (sodium hypochlorite, Bleach with vinegar) holds.")


def test_a_tub_that_read_too_acid_is_not_topped_up(ledger, lotwalk):
    sheet = ledger.parent / "tub.yaml"
    sheet.write_text(
        """
common: {at: 2026-03-12 08:00, by: TO}
entries:
- {kind: supplies-receipt, lot: BL-9, product: Plain, type: sanitiser, active: sodium hypochlorite, strength: 5 %,
   label_min: 50 ppm, label_max: 200 ppm}
- {kind: solution, lot: SOL-9, product: BL-9, volume: 10 L, target: 100 ppm, reading: 100 ppm, ph: 7}
"""
    )
    assert lotwalk("load", sheet).status == 0
    mend = ("dilute", "SOL-9", "--have", "60 ppm")
    assert lotwalk(*mend).status == 0
    read = ("record", "solution-check", "--solution", "SOL-9", "--reading", "60 ppm", "--by", "TO", "--ph", "4", "--at")
    name = lotwalk(*read, "2026-03-12 09:00").out.partition(":")[0]
    told = lotwalk(*mend)
    assert told.status == 1
    assert told.out.startswith(f"DANGER: pH 4 of the mix, as {name} has it, is below 5. A chlorine solution this acid")
    # Who measured it anew knows better than the book.
    assert lotwalk(*mend, "--ph", "7").status == 0


# A mix that the judge would not let pass is bad news here too (US Food Code 4-501.114, as the rule set has it).
@pytest.mark.parametrize(
    ("arguments", "status", "told"),
    [
        ("5.25% bleach 100ppm 10L --ph 11 --temperature 25C", 1, "pH 11 is above the rule set's 10"),
        ("5.25% bleach 100ppm 10L --ph 8 --temperature 5C", 1, "5C is below the 13 degC (55 degF) that this"),
        ("5.25% bleach 60ppm 10L --ph 9 --temperature 20C", 1, "20C is below the 38 degC (100 degF) that this"),
        ("5.25% bleach 60ppm 10L --ph 8 --temperature 24C", 0, ""),
        ("5.25% bleach 60ppm 10L --ph 11", 1, "pH 11 is above the rule set's 10"),
        ("10% quat 200ppm 10L --label-min 150ppm --temperature 5C", 1, "5C is below the 24 degC (75 degF)"),
        ("10% quat 200ppm 10L --label-min 150ppm --temperature 24C", 0, ""),
        ("10% quat 200ppm 10L --label-min 150ppm", 0, "a mix of at least 75 °F (US FDA Food Code 4-501.114(C)"),
        ("2% iodine 20ppm 10L --ph 6 --temperature 25C", 1, "pH 6 is above the rule set's 5"),
        ("2% iodine 20ppm 10L --ph 5 --temperature 25C", 0, "a mix of at least 68 °F at pH 5 or lower"),
        ("15% peroxyacetic acid 5ppm 10L", 1, "This book knows no sanitising strength for peroxyacetic acid"),
        ("10% quat 5ppm 10L", 1, "This book knows no sanitising strength for quat"),
    ],
)
def test_a_mix_that_would_not_count_is_bad_news(lotwalk, arguments, status, told):
    ran = lotwalk("dilute", *arguments.split())
    assert ran.status == status
    assert told in " ".join(ran.out.split())
    if told.startswith(("pH", "5C", "20C")):
        assert "what is dipped in it does not count as clean" in " ".join(ran.out.split())


def test_what_a_label_asks_of_ph_and_heat_is_held_against_what_was_given(ledger, lotwalk):
    sheet = ledger.parent / "label.yaml"
    sheet.write_text(
        """
common: {at: 2026-03-12 08:00, by: TO}
entries:
- kind: label
  code: LB-7
  product: Cold Seven
  active: sodium hypochlorite
  strength: 5 %
  uses: {use: food contact, min: 50 ppm, max: 200 ppm, contact: 1 min, temperature: 10 degC, ph: 6.0-7.5}
"""
    )
    assert lotwalk("load", sheet).status == 0
    good = lotwalk("dilute", "LB-7 60ppm 10L", "--ph", "7", "--temperature", "12 C")
    # The label goes before the rule set, which asks 24 degC of 60 ppm.
    assert good.status == 0
    cold = lotwalk("dilute", "LB-7 60ppm 10L", "--ph", "8", "--temperature", "9 C")
    assert cold.status == 1
    told = " ".join(cold.out.split())
    assert "Temperature 9 C is below the label's 10" in told
    assert "pH 8 is outside the label's 6 to 7.5" in told
    assert lotwalk("dilute", "LB-7 60ppm 10L", "--ph", "7.5").status == 0


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("5.25% bleach 100ppm 10L", "--temperature", "60C"), "drives chlorine off as gas and can scald"),
        (("65% calcium hypochlorite 100ppm 20L",), "sold as a solid"),
    ],
)
def test_hot_water_and_a_solid_are_spoken_of(lotwalk, arguments, told):
    words, *options = arguments
    assert told in " ".join(lotwalk("dilute", words, *options).out.split())
    assert told not in " ".join(lotwalk("dilute", "5.25% bleach 100ppm 10L", "--temperature", "25C").out.split())
