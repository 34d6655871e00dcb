"""A ledger made by an older program stays whole, and what was asked of it then is answered the same."""

import contextlib
import io
import json
import shutil
from pathlib import Path

import pytest

from lotwalk.book import Book
from lotwalk.cli.main import main

HERE = Path(__file__).parent
KINDS = HERE / "kinds"
HEADS = (HERE / "head.txt").read_text("utf-8").split()
THEN = json.loads((HERE / "answers.json").read_text("utf-8"))
ENTRIES = 128


@pytest.fixture
def ledger(tmp_path, monkeypatch):
    """A copy of the old ledger. Opening one leaves files beside it."""
    monkeypatch.chdir(tmp_path)
    return Path(shutil.copy(HERE / "book-form-1.sqlite3", tmp_path))


def asked(ledger, *words):
    """What the command answers, as JSON."""
    with contextlib.redirect_stdout(io.StringIO()) as out:
        main(["--ledger", str(ledger), "--kinds", str(KINDS), *words, "--format", "json"])
    return json.loads(out.getvalue())


def test_it_opens_with_the_farms_own_kinds(ledger):
    book = Book.open(str(ledger), kinds=[KINDS])
    settings, rules = book.rules()
    assert (settings.name, settings.measures, settings.rules) == ("Quillbrook Greens", "us", "us")
    assert rules.title == "United States"
    assert {"hot-cabinet", "mat-rinse"} < set(book.ledger.kinds.names)
    book.ledger.engine.dispose()


def test_its_head_is_the_one_that_was_printed(ledger):
    found = asked(ledger, "verify")
    assert (found["ok"], found["why"], found["first_bad"]) == (True, "", None)
    assert f"{found['head']['size']}:{found['head']['root']}" == HEADS[-1]
    assert found["entries"] == ENTRIES


@pytest.mark.parametrize("head", HEADS, ids=lambda head: head.split(":")[0])
def test_it_holds_every_head_that_was_printed(ledger, head):
    assert asked(ledger, "verify", "--head", head)["ok"]
    size, root = head.split(":")
    forged = f"{size}:{root[:-1]}{'0' if root[-1] != '0' else '1'}"
    assert not asked(ledger, "verify", "--head", forged)["ok"]


@pytest.mark.parametrize("then", THEN["answers"], ids=lambda then: " ".join(then["asked"]))
def test_a_question_is_answered_as_it_was_then(ledger, then):
    assert asked(ledger, *then["asked"]) == then["answer"]


def test_every_verdict_is_the_one_that_was_given(ledger):
    """Version by version: what was judged again keeps what was said before."""
    found = {
        (one["entry"], one["number"]): (one["verdict"]["passed"], one["verdict"]["failed"])
        for kind in ("hot-cabinet", "sanitising", "water-test")
        for one in asked(ledger, "log", kind, "--all-versions")["entries"]
    }
    assert found == {(one["entry"], one["version"]): (one["passed"], one["failed"]) for one in THEN["verdicts"]}
