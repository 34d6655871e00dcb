"""All that the checks may find stands in one list, which people can read."""

import ast
from pathlib import Path

import pytest
import yaml

from lotwalk.finding import SEVERITIES, finding, sought

ROOT = Path(__file__).parents[2]
NAMED = ROOT / "schemas" / "checks" / "findings.yaml"


def _words_in_code() -> set[str]:
    """Every string literal of the package that is one word."""
    found = set()
    for path in (ROOT / "trace" / "lotwalk").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                found.add(node.value)
    return found


def _calls() -> set[str]:
    """The names that are written where a finding is made."""
    found = set()
    for path in (ROOT / "trace" / "lotwalk").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            called = isinstance(node, ast.Call) and ast.unparse(node.func).rpartition(".")[2] == "finding"
            if called and node.args and isinstance(node.args[0], ast.Constant):
                found.add(node.args[0].value)
    return found


def test_each_finding_that_is_made_stands_in_the_list():
    assert len(_calls()) > 50
    assert _calls() <= sought().keys()


def test_nothing_stands_in_the_list_that_no_check_looks_for():
    assert sought().keys() <= _words_in_code()


def test_the_list_says_of_each_how_grave_it_is_and_what_it_is():
    written = yaml.safe_load(NAMED.read_text("utf-8"))
    assert written.keys() == sought().keys()
    for name, one in sought().items():
        assert one.severities, name
        assert set(one.severities) <= set(SEVERITIES), name
        assert one.title == written[name]["title"], name
        assert set(written[name]) - {"at_once"} == {"severity", "title"}, name
        assert written[name].get("at_once") in (None, "yes", True), name


def test_a_finding_has_its_usual_severity_or_another_that_the_list_names():
    told = {"about": ("P-1",), "text": "P-1 is short.", "do": "Count it.", "basis": ""}
    assert finding("unaccounted", ("P-1",), **told).severity == "minor"
    assert finding("unaccounted", ("P-1",), **told, severity="major").severity == "major"
    with pytest.raises(ValueError, match="unaccounted is never critical"):
        finding("unaccounted", ("P-1",), **told, severity="critical")
    with pytest.raises(KeyError):
        finding("no-such-check", (), **told)
