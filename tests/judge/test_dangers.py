"""What an entry tells that may hurt somebody, asked of the judge alone."""

from decimal import Decimal

import pytest
from tests.judge.memory import Book

from lotwalk.errors import NotUnderstood
from lotwalk.finding import NOT_URGENT, urgency
from lotwalk.judge import Judge, RuleSet
from lotwalk.judge.dangers.never import never_together, never_with, useless_together


def stocked():
    book = Book(RuleSet.load("us"))
    book.receipt("CL", active="sodium hypochlorite")
    book.receipt("PX", active="peroxyacetic acid", product="Keen")
    book.receipt("STRIPS", type="test strips", product="Peracetic acid strips")
    return book


def told(book, uses, **values):
    entry = book.add("use", "2026-03-02 10:00", values, uses=uses)
    return [one.partition(":")[0] for one in Judge(book.rules).notices("chemicals", entry, book)]


@pytest.mark.parametrize(
    ("uses", "words"),
    [
        ([("took", "solution", "CL, PX")], ["DANGER"]),
        ([("took", "detergent", "CL"), ("took", "rinse", "PX")], ["DANGER"]),
        # Its role waits for what a judge says of it.
        ([("", "solution", "CL"), ("took", "other", "PX")], ["DANGER"]),
        # Named, and not poured: two cans on hold, strips beside a bleach.
        ([("about", "lots", "CL, PX")], []),
        ([("took", "solution", "CL"), ("about", "with", "STRIPS")], []),
        ([("took", "solution", "CL"), ("took", "box", "STRIPS")], []),
    ],
)
def test_only_what_is_poured_meets(uses, words):
    assert told(stocked(), uses) == words


def test_what_is_made_of_mixes_is_followed_to_its_cans():
    book = stocked()
    book.solution("A", "CL")
    book.solution("B", "A")
    book.solution("C", "PX")
    assert told(book, [("took", "solution", "B, C")]) == ["DANGER"]
    assert told(book, [("took", "solution", "B, A")]) == []


def test_the_lower_end_of_a_ph_counts():
    book = stocked()
    book.solution("A", "CL")
    assert told(book, [("took", "solution", "A")], ph=(Decimal("4.5"), Decimal(6))) == ["DANGER"]
    assert told(book, [("took", "solution", "PX")], ph=Decimal(3)) == []


def test_a_rule_set_may_know_no_limit(tmp_path):
    own = tmp_path / "own.yaml"
    own.write_text("title: Ours\nactives: {chlorine: {names: [bleach]}}\n")
    rules = RuleSet.load(str(own))
    assert never_together(rules, "bleach", "acid") is None
    book = stocked()
    book.rules = rules
    assert told(book, [("took", "solution", "CL, PX")], ph=Decimal(1)) == []


def test_the_worst_stands_first():
    said = ["alike to E2", "Residue: x", "ALLERGEN: x", "DANGER: x"]
    assert sorted(said, key=urgency) == said[::-1]
    assert urgency("Residue left") == NOT_URGENT


def test_a_judge_that_is_not_there_is_told():
    with pytest.raises(NotUnderstood, match="no judge named taste; expected mix or chemicals or packed"):
        Judge(stocked().rules).notices("taste", None, None)


@pytest.mark.parametrize(
    ("one", "other", "why"),
    [
        ("hydrogen peroxide, Oxy 3", "White vinegar", "peroxyacetic acid"),
        ("hydrogen peroxide", "acetic acid, Descale", "peroxyacetic acid"),
        ("peroxyacetic acid, Keen", "vinegar", "nobody knows how strong"),
        ("peroxyacetic acid, hydrogen peroxide, acetic acid", "Cleaning vinegar", "nobody knows how strong"),
        ("sodium hypochlorite", "hydrogen peroxide", "foam over"),
        ("iodine, Dairy iodophor", "sodium hypochlorite, Bleach", "chlorine gas"),
        ("iodophor", "Ammonia cleaner", "explode"),
        ("sodium chlorite, Step one", "citric acid", "chlorine dioxide"),
        ("chlorine dioxide", "sodium hypochlorite", "chlorine dioxide"),
        ("chlorine dioxide", "ammonia", "poisonous"),
        ("calcium hypochlorite", "ammonium hydroxide", "chloramine"),
        ("bleach", "phosphoric acid", "chlorine gas"),
    ],
)
@pytest.mark.parametrize("name", ["us", "eu", "general"])
def test_what_must_never_meet(name, one, other, why):
    rules = RuleSet.load(name)
    for pair in ((one, other), (other, one)):
        limit = never_together(rules, *pair)
        assert limit.key.endswith(".never_with")
        assert why in limit.note
        assert limit.confidence == "read" and limit.source
        assert useless_together(rules, *pair) is None


@pytest.mark.parametrize(
    ("one", "other", "why"),
    [
        ("quaternary ammonium, Q-San", "Plain soap", "kills nothing"),
        ("benzalkonium chloride", "sodium lauryl sulfate, Dish wash", "kills nothing"),
        ("iodine", "Caustic cleaner", "takes the iodine away"),
        ("peroxyacetic acid", "sodium hydroxide, Pipe cleaner", "breaks it down"),
    ],
)
def test_what_makes_a_sanitiser_work_no_longer_is_no_danger(one, other, why):
    for pair in ((one, other), (other, one)):
        assert never_together(RuleSet.load("us"), *pair) is None
        limit = useless_together(RuleSet.load("us"), *pair)
        assert limit.key.endswith(".useless_with")
        assert why in limit.note
        assert limit.source


@pytest.mark.parametrize(
    "products",
    [
        # A product of peroxyacetic acid holds both others by its nature.
        ["peroxyacetic acid, hydrogen peroxide, acetic acid, Keen 15"],
        ["hydrogen peroxide, peroxyacetic acid", "peroxyacetic acid, Keen 5"],
        ["quaternary ammonium", "hydrogen peroxide"],
        ["sodium hypochlorite", "Plain soap"],
        ["hydrogen peroxide", "Acid free card"],
        ["iodine", "phosphoric acid"],
        ["chlorine dioxide", "sodium chlorite"],
    ],
)
def test_what_may_meet(products):
    assert never_together(RuleSet.load("us"), *products) is None
    assert useless_together(RuleSet.load("us"), *products) is None


def test_what_is_useless_is_told_after_what_hurts():
    book = stocked()
    book.receipt("Q", active="quaternary ammonium")
    book.receipt("SOAP", type="detergent", product="Plain soap")
    assert told(book, [("took", "solution", "Q, SOAP")])[0].startswith("E")
    assert told(book, [("took", "solution", "SOAP, Q, CL, PX")])[0] == "DANGER"


@pytest.mark.parametrize(
    ("active", "sentences"),
    [
        (
            "quaternary ammonium",
            "Mixed with soap, anionic, lauryl sulfate, laureth sulfate or alkylbenzene sulfonate, ",
        ),
        (
            "hydrogen peroxide",
            "Never mix hydrogen peroxide with vinegar, acetic acid, chlorine, bleach and hypo",
        ),
        ("iodine", "Never mix iodine with chlorine, bleach, hypochlorite, ammonia and ammonium hydroxide."),
    ],
)
def test_the_calculator_says_the_same_of_an_ingredient(active, sentences):
    rules = RuleSet.load("us")
    said = never_with(rules.active(active))
    assert said.startswith(sentences)
    for key in ("never_with", "useless_with"):
        if key in rules.active(active).limits:
            assert rules.active(active).limits[key].note in said


@pytest.mark.parametrize(
    "bleach", ["NaOCl 12 %", "Javel", "lejía", "troclosene sodium", "chlorinated cleaner", "Cal-Hypo"]
)
@pytest.mark.parametrize(
    "other",
    ["Muriatic 30", "HCl", "limescale remover", "sulfamic crystals", "pH Down", "NH3", "H2O2 12 %", "lemon juice"],
)
def test_what_must_never_meet_is_known_by_its_other_names_too(bleach, other):
    """Names of the trade and formulas, from memory."""
    limit = never_together(RuleSet.load("us"), bleach, other)
    assert limit is not None
    assert never_together(RuleSet.load("us"), other, bleach) == limit


@pytest.mark.parametrize(
    "products",
    [
        ("NaOCl 12 %", "Javel"),
        ("muriatic", "lemon juice"),
        ("H2O2", "peroxyacetic acid, hydrogen peroxide, acetic acid"),
    ],
)
def test_two_names_of_one_thing_may_meet(products):
    assert never_together(RuleSet.load("us"), *products) is None
