"""Report definitions: those that ship, a grower's own, and what is said of a mistake in one."""

from pathlib import Path

import pytest

from lotwalk.errors import NotUnderstood, Refused
from lotwalk.kinds.library import Kinds
from lotwalk.pages.definitions.definition import load, shipped

WHOLE = """\
title: Deliveries
subject: What left the farm
kinds: [delivery]
columns:
  - {title: When, value: at, width: 10}
  - {title: To, value: [customer, customer.name], width: 10}
  - {title: What, value: items, width: 20}
cautions:
  Ask: The local regulator decides.
signatures: [Seen by]
empty: Nothing left the farm.
"""


@pytest.fixture(scope="module")
def kinds():
    return Kinds.load()


def own(folder: Path, text: str) -> str:
    path = folder / "ours.yaml"
    path.write_text(text, "utf-8")
    return str(path)


@pytest.mark.parametrize("name", shipped())
def test_every_shipped_report_loads_and_warns(kinds, name):
    definition = load(name, kinds)
    assert definition.name == name
    assert definition.cautions
    assert definition.signatures
    assert definition.citations or definition.paragraphs


def test_sanitising_ships_with_its_cautions(kinds):
    definition = load("sanitising", kinds)
    told = " ".join(f"{subject} {text}" for subject, text in definition.cautions).casefold()
    for words in ("label comes first", "gloves", "aired", "never mix a chlorine product with an acid or with ammonia"):
        assert words in told


def test_a_report_of_ones_own_prints(farm, tmp_path):
    farm.record("customer", at="2026-03-01 08:00", code="CAFE", name="Corner Café", type="kitchen")
    farm.record("supplier", at="2026-03-01 08:00", code="SEEDS", name="Seeds")
    for kind, fields in (
        ("seed-receipt", {"lot": "S-1", "crop": "radish", "supplier": "SEEDS", "supplier_lot": "A", "amount": "2 kg"}),
        ("sowing", {"batch": "T-1", "seed": "S-1 100 g", "trays": "2"}),
        ("harvest", {"lot": "H-1", "from": "T-1 2", "amount": "300 g", "cut": "above the medium"}),
        ("delivery", {"code": "D-1", "customer": "CAFE", "items": [{"lot": "H-1", "amount": "250 g"}]}),
    ):
        farm.record(kind, at="2026-03-02 10:00", **fields)
    pdf = farm.print(definition=farm.definition(own(tmp_path, WHOLE)))
    assert "CAFE Corner Café H-1, amount 250 g" in pdf.text
    assert "Seen by Date Name Signature" in pdf.text
    assert "The local regulator, the product label and licensed advice decide." in pdf.text
    page = pdf.reader.pages[0].mediabox
    assert page.height > page.width


def test_a_report_may_change_part_of_another(kinds, tmp_path):
    base = load("sanitising", kinds)
    name = own(tmp_path, "based_on: sanitising\ntitle: Reinigungsbuch\nlanguage: de\nsignatures: [Geprüft von]\n")
    changed = load(name, kinds)
    assert (changed.title, changed.language, changed.signatures) == ("Reinigungsbuch", "de", ("Geprüft von",))
    assert (changed.sections, changed.cautions) == (base.sections, base.cautions)


def test_a_report_may_be_based_on_a_file_beside_it(kinds, tmp_path):
    (tmp_path / "first.yaml").write_text(WHOLE, "utf-8")
    assert load(own(tmp_path, "based_on: first.yaml\ntitle: Ours\n"), kinds).title == "Ours"


@pytest.mark.parametrize(
    ("old", "new", "key", "line", "words"),
    [
        ("title: Deliveries", "titel: Deliveries", "titel", 1, "did you mean title?"),
        ("empty: Nothing left the farm.\n", "", "empty", 0, "it is missing"),
        ("kinds: [delivery]", "kinds: [delivry]", "kinds", 3, "delivery"),
        ("kinds: [delivery]", "kinds: []", "kinds", 0, "there is none"),
        ("value: at, width: 10", "value: at, width: wide", "columns[1].width", 5, "a whole number from 1 to 100"),
        ("value: at, width: 10", "value: at, width: 0", "columns[1].width", 5, "a whole number from 1 to 100"),
        ("value: at, width: 10", "value: att, width: 10", "columns[1].value", 5, "did you mean at?"),
        ("value: at, width: 10", "value: at.name, width: 10", "columns[1].value", 5, "at names no thing"),
        ("value: at, width: 10", "value: at, widht: 10, width: 1", "columns[1].widht", 5, "did you mean width?"),
        ("customer.name", "customer.nme", "columns[2].value", 6, "no kind of record has a field nme"),
        ("value: items", "value: verdict", "verdict", 0, "the words for passed and failed"),
        ("value: items", "value: items, labelled: perhaps", "columns[3].labelled", 7, "yes or no"),
        ("The local regulator decides.", "''", "cautions.Ask", 9, "a few words"),
        ("signatures: [Seen by]", "signatures: Seen by", "signatures", 10, "a list of words"),
        ("signatures: [Seen by]", "signatures: [a, b, c, d]", "signatures", 10, "at most 3"),
        ("subject:", "page: round\nsubject:", "page", 2, "portrait or landscape"),
        ("subject:", "key: [customer]\nsubject:", "key", 2, "such as by.name"),
        ("subject:", "below: [nothing]\nsubject:", "below", 2, "no kind of this report has a field nothing"),
        ("subject:", "citations: [{rule: R, says: S}]\nsubject:", "citations[1].confidence", 2, "read, memory"),
    ],
)
def test_a_mistake_is_told_with_file_line_and_key(kinds, tmp_path, old, new, key, line, words):
    assert old in WHOLE
    with pytest.raises(Refused) as refused:
        load(own(tmp_path, WHOLE.replace(old, new)), kinds)
    told = [problem for problem in refused.value.problems if problem.field == key]
    assert told, refused.value.problems
    assert told[0].source == "ours.yaml"
    assert not line or told[0].line == line
    assert words in str(told[0])


def test_all_mistakes_are_told_at_once(kinds, tmp_path):
    with pytest.raises(Refused) as refused:
        load(own(tmp_path, "title: T\nkinds: [nothing]\npage: round\n"), kinds)
    assert {"kinds", "page", "columns", "cautions"} <= {problem.field for problem in refused.value.problems}


@pytest.mark.parametrize(
    ("text", "words"),
    [("", "one mapping"), ("- a\n- b\n", "one mapping"), ("title: [", "not YAML"), ("based_on: ours.yaml\n", "itself"),
     ("title: A\ntitle: B\n", "twice")],
)  # fmt: skip
def test_what_is_no_report_is_refused(kinds, tmp_path, text, words):
    with pytest.raises(Refused, match=words):
        load(own(tmp_path, text), kinds)


@pytest.mark.parametrize("name", ["santising", "", "~nobody/x.yaml", "a\0b"])
def test_an_unknown_report_is_told_with_those_there_are(kinds, name):
    with pytest.raises(NotUnderstood, match="sanitising"):
        load(name, kinds)


def test_cautions_that_fill_the_page_are_refused(farm, tmp_path):
    definition = farm.definition(own(tmp_path, WHOLE.replace("The local regulator decides.", "word " * 5_000)))
    with pytest.raises(Refused, match="cautions"):
        farm.print(definition=definition)
