"""Rule sets: what ships, what a grower may change, and what is refused."""

import hashlib
from decimal import Decimal

import pytest

from lotwalk.data import folder
from lotwalk.errors import NotUnderstood, Refused
from lotwalk.judge.ruleset.limits import KNOWN
from lotwalk.judge.ruleset.rules import RuleSet

SHIPPED = RuleSet.shipped()


def test_the_shipped_rule_sets():
    assert SHIPPED == ("eu", "general", "us")


@pytest.mark.parametrize("name", SHIPPED)
def test_every_number_has_its_source_and_how_sure_that_is(name):
    rules = RuleSet.load(name)
    cited = [*rules.limits.values(), rules.heat]
    for active in rules.actives.values():
        cited += [*active.limits.values(), *([active.table] if active.table else [])]
    for limit in cited:
        assert limit.source
        assert limit.confidence in ("read", "memory", "computed", "practice")


@pytest.mark.parametrize("name", SHIPPED)
def test_what_a_rule_set_says_survives_without_its_files(name):
    rules = RuleSet.load(name)
    assert RuleSet.read(rules.text) == rules
    assert rules.digest == hashlib.sha256(rules.text.encode()).hexdigest()


def test_the_text_of_a_rule_set_that_stands_alone_is_its_file():
    assert RuleSet.load("general").text == (folder("schemas") / "rules" / "general.yaml").read_text(encoding="utf-8")


def test_a_growers_file_changes_what_it_names_and_keeps_the_rest(tmp_path):
    own = tmp_path / "ours.yaml"
    own.write_text(
        "title: Ours\n"
        "based_on: us\n"
        "cautions: [Ask Ana first.]\n"
        "sanitising:\n"
        "  solution_life: {value: 12 h, source: our procedure, confidence: practice}\n"
        "water:\n"
        "  tests_first_year: {value: none}\n"
        "actives:\n"
        "  chlorine:\n"
        "    max: {value: 150 ppm, source: our buyer, confidence: read}\n"
        "  hydrogen peroxide:\n"
        "    names: [hydrogen peroxide, peroxide]\n"
    )
    ours, us = RuleSet.load(str(own)), RuleSet.load("us")
    assert ours.title == "Ours"
    assert ours.amount("sanitising.solution_life").value == 12 * 3600
    assert "water.tests_first_year" in us.limits
    assert "water.tests_first_year" not in ours.limits
    assert ours.amount("water.volume") == us.amount("water.volume")
    assert ours.active("Sodium Hypochlorite").amount("max").value == 150
    assert ours.active("chlorine").table == us.active("chlorine").table
    assert ours.active("peroxide").name == "hydrogen peroxide"
    assert ours.cautions == ("Ask Ana first.", *us.cautions)
    assert ours.digest != us.digest
    assert RuleSet.read(ours.text) == ours


def test_a_base_may_be_a_file_beside_it(tmp_path):
    (tmp_path / "base.yaml").write_text("title: Base\nbased_on: eu\n")
    (tmp_path / "ours.yaml").write_text("title: Ours\nbased_on: base.yaml\n")
    assert RuleSet.load(str(tmp_path / "ours.yaml")).flag("sanitising.without_label") is False


def test_a_circle_of_rule_sets_is_refused(tmp_path):
    (tmp_path / "a.yaml").write_text("title: A\nbased_on: b.yaml\n")
    (tmp_path / "b.yaml").write_text("title: B\nbased_on: a.yaml\n")
    with pytest.raises(Refused, match="based on itself"):
        RuleSet.load(str(tmp_path / "a.yaml"))


def test_an_unknown_name_says_what_there_is():
    with pytest.raises(NotUnderstood, match=r"no rule set mars; expected eu, general, us"):
        RuleSet.load("mars")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "mine.yaml: it is empty"),
        ("- a\n", "mine.yaml:1: this is no mapping"),
        ("title: [\n", "mine.yaml:2: this is not YAML"),
        ("for: farms\n", "mine.yaml:1: title: it is missing"),
        ("title: x\nwatr: {}\n", "mine.yaml:2: watr: there is no such key; expected water (did you mean that?)"),
        ("title: x\nwater:\n  volum: {}\n", "mine.yaml:3: water.volum: there is no such key; expected volume"),
        ("title: x\nwater:\n  volume: 100 mL\n", "mine.yaml:3: water.volume: this is no mapping"),
        ("title: x\nwater: {volume: {value: 100 ppm, confidence: practice}}\n", "mine.yaml:2: water.volume.value: "),
        ("title: x\nwater: {volume: {value: 100 mL, confidence: read}}\n", "water.volume.source: no source is written"),
        ("title: x\nwater: {volume: {value: 100 mL, source: s, confidence: sure}}\n", "water.volume.confidence: sure"),
        ("title: x\nwater: {volume: {source: s, confidence: read}}\n", "water.volume: it has no value"),
        ("title: x\nwater: {never_for: {value: [soup], confidence: practice}}\n", "never_for.value: soup is not known"),
        ("title: x\nwater: {tests_each_year: {value: -1, confidence: practice}}\n", "-1 is not a number"),
        ("title: x\nsanitising: {without_label: {value: maybe, confidence: practice}}\n", "neither yes nor no"),
        ("title: x\nproduce_wash: {ph: {value: 8-6, confidence: practice}}\n", "8-6 runs backwards"),
        ("title: x\nproduce_wash: {soap: {}}\n", "produce_wash.soap: there is no such key; expected chlorine or ph"),
        ("title: x\ntitle: y\n", "mine.yaml:2: title: this key stands twice"),
        ("title: &a x\nfor: *a\n", "for: this refers to another place"),
        ("title: x\nheat: {source: s, confidence: read}\n", "heat.rows: there are no rows"),
        (
            "title: x\nheat: {source: s, confidence: read, rows: [{contact: 30 s}]}\n",
            "heat.rows[1].temperature: it is missing",
        ),
        (
            "title: x\nactives: {cl: {table: {source: s, confidence: read, rows: [{at_least: 5}]}}}\n",
            "rows[1].at_least: ",
        ),
        *(
            (
                "title: x\nheat: {source: s, confidence: read, rows: "
                f"[{{temperature: 77 degC, or: {other}, contact: 30 s}}]}}\n",
                f"heat.rows[1].or: {other} is not that temperature in degF; expected 77 degC as the source prints it",
            )
            # 172.6 degF is 78.1 degC.
            for other in ("77 degC", "117 degF", "172.6 degF")
        ),
    ],
)
def test_a_mistake_is_named_by_file_line_and_key(text, told):
    with pytest.raises(Refused) as refused:
        RuleSet.read(text, ["mine.yaml"])
    assert told in str(refused.value)


def test_a_temperature_that_a_source_rounds_in_both_its_columns_may_differ_by_a_degree():
    """172.4 degF is 78 degC."""
    rows = "[{temperature: 77 degC, or: 172.4 degF, contact: 30 s}]"
    (row,) = RuleSet.read(f"title: x\nheat: {{source: s, confidence: read, rows: {rows}}}\n").heat.rows
    assert (row.temperature.value, row.fahrenheit) == (77, 78)


def test_all_mistakes_are_told_at_once():
    with pytest.raises(Refused) as refused:
        RuleSet.read("watr: {}\nheat: 3\n", ["mine.yaml"])
    assert {problem.field for problem in refused.value.problems} >= {"title", "watr", "heat"}


def test_a_file_with_a_mistake_in_its_base_names_the_base(tmp_path):
    (tmp_path / "base.yaml").write_text("title: Base\nwatr: {}\n")
    (tmp_path / "ours.yaml").write_text("title: Ours\nbased_on: base.yaml\n")
    with pytest.raises(Refused, match=r"base\.yaml:2: watr"):
        RuleSet.load(str(tmp_path / "ours.yaml"))


def test_limits_are_read_in_canonical_units():
    rules = RuleSet.load("us")
    assert (rules.amount("storage.warmest").value, rules.amount("storage.warmest").unit) == (5, "degC")
    assert rules.words("water.never_for") == ("harvest", "surfaces", "hands")
    assert rules.limits["produce_wash.ph"].value == (Decimal("6.5"), Decimal("7.5"))
    assert rules.limits["water.tests_first_year"].value == 4
    assert set(rules.limits) <= set(KNOWN)


@pytest.mark.parametrize(
    ("ingredient", "name"),
    [
        ("Sodium hypochlorite, 8.25 %", "chlorine"),
        ("household BLEACH", "chlorine"),
        ("quaternary ammonium compounds", "quat"),
        ("hypochloritester", None),
        ("", None),
        (None, None),
    ],
)
def test_an_active_ingredient_is_known_by_whole_words(ingredient, name):
    found = RuleSet.load("general").active(ingredient)
    assert (found.name if found else None) == name
