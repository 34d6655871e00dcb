"""The usual cautions: there, whole, and never a claim that food is safe."""

import re

import pytest

from lotwalk.errors import NotUnderstood, Refused
from lotwalk.kinds.library import Kinds
from lotwalk.pages.cautions import caution, load_cautions
from lotwalk.pages.definitions.definition import load, shipped

_OWN = """\
based_on: sanitising
cautions:
  - never-mix
  - Ours: Ring the office first.
"""


def test_every_caution_has_a_subject_and_a_sentence():
    for one in load_cautions().values():
        assert one.subject
        assert one.says.endswith(".")


def test_the_sanitiser_ones_say_what_hurts_people():
    """Common practice and the labels' own words: label first, gloves, air, no chlorine with acid or ammonia."""
    told = " ".join(caution(name).says for name in ("sanitiser-label", "sanitiser-handling", "never-mix")).casefold()
    for words in ("as its label says", "gloves", "aired", "never mix a chlorine product with an acid or with ammonia"):
        assert words in told


def test_none_says_that_food_is_safe():
    assert not [one for one in load_cautions().values() if re.search(r"\bsafe\b", one.says)]


def test_an_unknown_one_is_told_with_those_there_are():
    with pytest.raises(NotUnderstood, match="never-mix"):
        caution("never_mix")


def test_the_file_of_cautions_is_no_report():
    assert "cautions" not in shipped()


def test_a_report_names_cautions_and_adds_its_own(tmp_path):
    (tmp_path / "ours.yaml").write_text(_OWN, "utf-8")
    told = load(str(tmp_path / "ours.yaml"), Kinds.load()).cautions
    assert told == (("Never mix", caution("never-mix").says), ("Ours", "Ring the office first."))


def test_a_report_that_names_one_that_is_not_there_is_refused(tmp_path):
    (tmp_path / "ours.yaml").write_text("based_on: sanitising\ncautions: [never-mixed]\n", "utf-8")
    with pytest.raises(Refused, match="no caution never-mixed"):
        load(str(tmp_path / "ours.yaml"), Kinds.load())
