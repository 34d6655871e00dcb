"""A crop that carries an allergen, in a pack whose product does not declare it: told at once, found, and on the label.

The farm: S-MUS is mustard, S-RAD radish, S-SES sesame. H-MUS, H-RAD and H-SES were cut from them, H-MIX from trays of
radish with a little mustard. MIXA declares nothing, MIXN `none`, MIXM mustard, MIXC celery. By the European list
(Regulation (EU) No 1169/2011, annex II) mustard, celery and sesame are declared; by that of the United States
(21 USC 321(qq)) sesame is, mustard is not.
"""

import pytest
from tests.checks.allergen_farm import BLEND, Farm
from tests.checks.small import PLACE
from tests.forms.filling import filled, printed

from lotwalk.sheets.reader import read_sheet


@pytest.fixture
def farm(tmp_path):
    made = Farm(str(tmp_path / "farm.db"))
    yield made
    made.book.ledger.engine.dispose()


def test_mustard_in_a_pack_that_declares_nothing_is_told_at_once_and_found(farm):
    receipt = farm.pack()
    ((name, finding),) = farm.found().items()
    assert name == f"allergen:{receipt.name}"
    assert finding.severity == "critical"
    assert finding.text == (
        f"ALLERGEN: P-MILD ({receipt.name}, 2026-03-09 12:00) holds mustard (Mustard Greens, S-MUS), and its product"
        " MIXA declares no allergen."
    )
    assert receipt.notices[0] == f"{finding.text} {finding.do}"
    assert set(finding.about) == {receipt.name, "P-MILD", "MIXA", "S-MUS"}
    assert "1169/2011" in finding.basis
    assert "hold" in finding.do


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"product": "MIXN"}, "holds mustard (Mustard Greens, S-MUS), and its product MIXN declares no allergen."),
        # It declares another one.
        ({"product": "MIXC"}, "and its product MIXC does not declare it (celery)."),
        # Nothing declares anything.
        ({"product": None}, "and no product of it is named that would declare it."),
        # One gram of it among the seed of a tray.
        ({"from": "H-MIX 100 g"}, "holds mustard (Mustard Greens, S-MUS), and its product MIXA declares"),
        ({"from": "H-SES 100 g"}, "holds sesame (sesame, S-SES), and its product MIXA declares"),
        (
            {"from": "H-SES 100 g, H-MUS 1 g", "product": "MIXM"},
            "holds sesame (sesame, S-SES), and its product MIXM does not declare it (Contains MUSTARD).",
        ),
        (
            {"from": "H-SES 100 g, H-MUS 1 g"},
            "holds mustard (Mustard Greens, S-MUS) and sesame (sesame, S-SES), and its product MIXA declares",
        ),
    ],
)
def test_what_is_not_declared(farm, changes, words):
    given = {name: value for name, value in {**BLEND, **changes}.items() if value is not None}
    receipt = farm.book.record(at="2026-03-09 12:00", by="TO", **given)
    (finding,) = farm.found().values()
    assert words in finding.text
    assert receipt.notices[0] == f"{finding.text} {finding.do}"


@pytest.mark.parametrize("changes", [{"product": "MIXM"}, {"from": "H-RAD 100 g"}])
def test_what_is_declared_or_carries_none_is_no_finding(farm, changes):
    receipt = farm.pack(**changes)
    assert receipt.notices == ()
    assert farm.found() == {}


def test_it_is_followed_through_any_number_of_packs_and_returns(farm):
    farm.pack(product="MIXM")
    farm.book.record_all(
        [
            {"kind": "packing", "at": "2026-03-09 13:00", "by": "TO", "lot": "P-2", "from": "P-MILD 200 g, H-RAD 10 g",
             "product": "MIXA", "amount": "210 g"},
            {"kind": "packing", "at": "2026-03-09 14:00", "by": "TO", "lot": "P-3", "from": "P-2 50 g",
             "product": "MIXA", "amount": "50 g"},
        ]
    )  # fmt: skip
    assert [one.about[1] for one in farm.found().values()] == ["P-2", "P-3"]


@pytest.mark.parametrize(
    ("crop", "allergen"),
    [
        ("MUSTARDS", "mustard"), ("red mustard", "mustard"), ("Celeriac", "celery"), ("soy bean", "soy"),
        ("Soya beans", "soy"), ("edamame", "soy"), ("lupins", "lupin"), ("Lupine", "lupin"), ("wheatgrass", "gluten"),
        ("oats", "gluten"), ("barley grass", "gluten"), ("ground-nut shoots", "peanut"), ("sesame", "sesame"),
        ("buckwheat", None), ("radish", None), ("pea", None), ("sunflower", None), ("sweet pea-shoots", None),
    ],
)  # fmt: skip
def test_the_crops_that_carry_one_by_the_european_list(farm, crop, allergen):
    farm.book.load(
        read_sheet(
            f"common: {{at: 2026-03-02 09:00, by: TO}}\nentries:\n"
            f"- {{kind: seed-receipt, lot: S-X, crop: {crop}, supplier: HOLT, amount: 1 kg}}\n"
            "- {kind: sowing, batch: T-X, seed: S-X 100 g, trays: 1, equipment: M-5}\n",
            "x.yaml",
        )
    )
    told = farm.pack(**{"from": "T-X 1 trays"}).notices
    assert [one.partition(" holds ")[2].partition(" (")[0] for one in told] == ([allergen] if allergen else [])


@pytest.mark.parametrize(
    ("rules", "lots", "told"),
    [
        ("us", "H-MUS 10 g", ""),
        ("us", "H-SES 10 g", "holds sesame"),
        ("eu", "H-MUS 10 g", "holds mustard"),
        ("general", "H-MUS 10 g", "holds mustard"),
    ],
)
def test_the_list_is_the_rule_sets(tmp_path, rules, lots, told):
    farm = Farm(str(tmp_path / "farm.db"), rules)
    notices = farm.pack(**{"from": lots}).notices
    farm.book.ledger.engine.dispose()
    assert [told in one for one in notices] == ([True] if told else [])


def test_every_door_tells_it(farm, tmp_path):
    kinds = farm.book.ledger.kinds
    typed = {
        "packing/1/at": "2026-03-09 12:00", "packing/1/by": "TO", "packing/1/lot": "P-FORM", "packing/1/amount": "10 g",
        "packing/1/product": "MIXA", "packing/1/from/1/lot": "H-MUS", "packing/1/from/1/amount": "10 g",
    }  # fmt: skip
    path = tmp_path / "form.pdf"
    path.write_bytes(filled(printed(kinds, "packing"), typed))
    (by_form,) = farm.book.load(path)
    sheet = (
        "entries:\n- {kind: packing, at: 2026-03-09 12:00, by: TO, lot: P-SHEET, from: H-MUS 10 g, product: MIXA,"
        " amount: 10 g}\n"
    )
    (by_sheet,) = farm.book.load(read_sheet(sheet, "s.yaml"))
    found = farm.found()
    for receipt in (by_form, by_sheet):
        assert receipt.notices[0] == found[f"allergen:{receipt.name}"].told


def test_the_label_does_not_say_none_but_what_is_not_declared(farm):
    farm.pack(product="MIXN")
    text, notices = farm.label()
    assert "Allergens: None" not in text
    assert "ALLERGEN NOT DECLARED: mustard" in text
    assert notices == (
        "P-MILD: ALLERGEN NOT DECLARED: mustard. Its product does not declare it: mend that, and print the label anew."
        " Do not use this one.",
    )


def test_a_label_of_what_declares_all_is_as_before(farm):
    farm.pack(product="MIXM")
    text, notices = farm.label()
    assert "Allergens: Contains MUSTARD" in text
    assert "NOT DECLARED" not in text
    assert notices == ()


def test_what_is_declared_beside_it_stays_on_the_label(farm):
    farm.pack(product="MIXC")
    text, _ = farm.label()
    assert "Allergens: celery" in text
    assert "ALLERGEN NOT DECLARED: mustard" in text


def test_a_pack_of_no_product_is_marked_too(farm):
    farm.book.record("packing", at="2026-03-09 12:00", by="TO", lot="P-MILD", amount="9 g", **{"from": "H-MUS 9 g"})
    assert "ALLERGEN NOT DECLARED: mustard" in farm.label()[0]


def test_on_either_database(where):
    farm = Farm(where)
    receipt = farm.pack()
    (finding,) = farm.found().values()
    text, _ = farm.label()
    farm.book.ledger.engine.dispose()
    assert receipt.notices[0] == finding.told
    assert "ALLERGEN NOT DECLARED: mustard" in text


def test_a_ledger_whose_rule_set_has_no_list_says_nothing(tmp_path):
    own = tmp_path / "own.yaml"
    names = ("celery", "gluten", "lupin", "mustard", "peanut", "sesame", "soy")
    own.write_text(
        "title: Ours\nbased_on: general\nallergens:\n" + "".join(f"  {name}: {{value: none}}\n" for name in names)
    )
    farm = Farm(str(tmp_path / "farm.db"), str(own))
    assert farm.pack().notices == ()
    assert farm.found() == {}
    farm.book.ledger.engine.dispose()


@pytest.mark.parametrize(
    ("title", "shipped", "told"),
    [
        # A rule set of one's own from before there was such a list: the widest counts.
        ("Ours", "general", ["mustard (Mustard Greens, S-MUS) and sesame (sesame, S-SES)"]),
        ("European Union", "eu", ["mustard (Mustard Greens, S-MUS) and sesame (sesame, S-SES)"]),
        # The list of the United States knows no mustard.
        ("United States", "us", ["sesame (sesame, S-SES)"]),
    ],
)
def test_a_rule_set_from_before_there_was_a_list_is_told_and_ours_is_gone_by(tmp_path, title, shipped, told):
    own = tmp_path / "own.yaml"
    own.write_text(f"title: {title}\nrecords:\n  kept: {{value: 2 years, confidence: practice}}\n")
    farm = Farm(str(tmp_path / "farm.db"), str(own))
    assert farm.found() == {}
    receipt = farm.pack(**{"from": "H-MUS 10 g, H-SES 10 g"})
    found = farm.found()
    assert list(found) == ["no-allergen-list", f"allergen:{receipt.name}"]
    one = found["no-allergen-list"]
    assert (one.severity, one.about) == ("major", ())
    assert f"({title}) has no list of crops" in one.text
    assert f"--rules {shipped}" in one.do
    assert [notice.partition(" holds ")[2].partition(", and its")[0] for notice in receipt.notices] == told
    assert f"by the list of `{shipped}` that comes with this program" in receipt.notices[0]
    assert "ALLERGEN NOT DECLARED" in farm.label()[0]
    # Taken anew, the book goes by a list of its own.
    farm.now += 60
    farm.book.record("farm", at="2026-03-10 09:00", name="Tarn End", location="Tarn Lane", timezone=PLACE.key,
                     measures="metric", rules=shipped)  # fmt: skip
    assert list(farm.found()) == [f"allergen:{receipt.name}"]
    farm.book.ledger.engine.dispose()


BAGGING = """
$schema: https://json-schema.org/draft/2020-12/schema
$id: our-bagging
title: Our bagging
description: A kind of the grower's own that says nothing of what is looked at.
$ref: common.yaml
unevaluatedProperties: false
properties:
  bag: {title: Bag, $ref: common.yaml#/$defs/new-code, x-makes: packed-lot, x-role: [{role: made}]}
  greens: {title: Greens, $ref: common.yaml#/$defs/codes, x-thing: [harvest-lot], x-role: [{role: took}]}
  product: {title: Product, $ref: common.yaml#/$defs/code, x-thing: [product]}
"""


def test_a_kind_of_the_growers_own_that_packs_a_product_is_told_of_too(tmp_path):
    own = tmp_path / "kinds"
    own.mkdir()
    (own / "our-bagging.yaml").write_text(BAGGING.removeprefix("\n"))
    farm = Farm(str(tmp_path / "farm.db"), kinds=[own])
    entry = {"kind": "our-bagging", "at": "2026-03-09 12:00", "by": "TO", "bag": "P-MILD", "greens": "H-RAD, H-MUS"}
    told = farm.book.record(**entry, product="MIXA")
    fine = farm.book.record(**{**entry, "bag": "P-HOT"}, product="MIXM")
    found, label = farm.found(), farm.label()[0]
    farm.book.ledger.engine.dispose()
    assert told.notices[0] == found[f"allergen:{told.name}"].told
    assert (list(found), fine.notices) == ([f"allergen:{told.name}"], ())
    assert "ALLERGEN NOT DECLARED: mustard" in label


def test_a_crop_that_is_corrected_is_told_of_every_pack_that_holds_it(farm):
    packed = farm.pack(**{"from": "H-RAD 100 g"})
    assert packed.notices == ()
    (told, *_) = farm.mend("S-RAD", crop="sesame")
    (finding,) = farm.found().values()
    assert finding.id == f"allergen:{packed.name}"
    assert finding.told in told.notices
