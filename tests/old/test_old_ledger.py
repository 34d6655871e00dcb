"""A ledger made by an older program is brought up to date, stays whole, and answers what it answered then, or more."""

import contextlib
import io
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from sqlalchemy import insert, select
from tests.conftest import ENGINES
from tests.old.wider import lost

from lotwalk.book import Book
from lotwalk.cli.main import main
from lotwalk.errors import LedgerError
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import Head
from lotwalk.ledger.verify.entries import verify
from lotwalk.store import engine as store
from lotwalk.store.tables import metadata

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


@pytest.fixture
def migrated(ledger):
    """A copy that was brought up to date."""
    Book.migrate(str(ledger), kinds=[KINDS])
    return ledger


def asked(ledger, *words):
    """What the command answers, as JSON."""
    with contextlib.redirect_stdout(io.StringIO()) as out:
        main(["--ledger", str(ledger), "--kinds", str(KINDS), *words, "--format", "json"])
    return json.loads(out.getvalue())


def checked(where, head=None):
    """What verifying the log says, whichever form the ledger is of."""
    engine = store.open_engine(str(where))
    size, root = head.split(":") if head else (0, "")
    with store.reading(engine) as connection:
        found = verify(connection, Kinds.load(KINDS), Head(int(size), bytes.fromhex(root)) if head else None)
    engine.dispose()
    return found


def form(where) -> str | None:
    engine = store.open_engine(str(where))
    found = store.version(engine)
    engine.dispose()
    return found


def test_it_is_refused_until_it_is_migrated(ledger):
    with pytest.raises(LedgerError, match=r"of an older form \(0001\); run `lotwalk --ledger .* migrate`"):
        Book.open(str(ledger), kinds=[KINDS])


def test_before_it_is_migrated_it_is_whole_and_has_the_head_that_was_printed(ledger):
    found = checked(ledger)
    assert (found.ok, found.why, found.entries) == (True, "", ENTRIES)
    assert f"{found.head.size}:{found.head.root.hex()}" == HEADS[-1]


def test_it_opens_with_the_farms_own_kinds(migrated):
    book = Book.open(str(migrated), kinds=[KINDS])
    settings, rules = book.rules()
    assert (settings.name, settings.measures, settings.rules) == ("Quillbrook Greens", "us", "us")
    assert rules.title == "United States"
    assert {"hot-cabinet", "mat-rinse"} < set(book.ledger.kinds.names)
    book.ledger.engine.dispose()


def test_a_verified_copy_of_what_it_was_stands_beside_it(ledger):
    done = Book.migrate(str(ledger), kinds=[KINDS])
    assert (done.before, done.after) == ("0001", store.HEAD)
    assert done.backup == ledger.with_name("book-form-1-before-0002.db")
    assert (form(done.backup), form(ledger)) == ("0001", store.HEAD)
    then = checked(done.backup)
    assert (then.ok, f"{then.head.size}:{then.head.root.hex()}") == (True, HEADS[-1])


@pytest.mark.parametrize("head", HEADS, ids=lambda head: head.split(":")[0])
def test_it_holds_every_head_that_was_printed(migrated, head):
    assert asked(migrated, "verify", "--head", head)["ok"]
    size, root = head.split(":")
    forged = f"{size}:{root[:-1]}{'0' if root[-1] != '0' else '1'}"
    assert not asked(migrated, "verify", "--head", forged)["ok"]


@pytest.mark.parametrize("then", THEN["answers"], ids=lambda then: " ".join(then["asked"]))
def test_a_question_is_answered_as_it_was_then_or_wider(migrated, then):
    assert lost(then["asked"], asked(migrated, *then["asked"]), then["answer"]) == []


@pytest.mark.parametrize("then", THEN["answers"], ids=lambda then: " ".join(then["asked"]))
def test_an_answer_that_lacks_something_is_found_out(then):
    """Each thing, entry, candidate and call that the answers name, left out one at a time."""
    answer, asked_of = then["answer"], then["asked"]
    assert lost(asked_of, answer, answer) == []
    for name in ("reached", "entries", "candidates", "calls", "holds", "lots"):
        for place in range(len(answer.get(name, []))):
            less = {**answer, name: answer[name][:place] + answer[name][place + 1 :]}
            assert lost(asked_of, less, answer), (name, place)


def test_two_dips_that_failed_in_one_mix_on_two_days_meet_in_it_now(migrated):
    """E49 and E52 failed in one solution; E51 is an incident with it between them. None of it was a bath then."""
    first, second = (asked(migrated, "show", name)["versions"][-1]["uses"] for name in ("E49", "E52"))
    mixes = [{use["code"] for use in uses if use["role"] == "took"} for uses in (first, second)]
    (mix,) = mixes[0] & mixes[1]
    roles = {one["entry"]: one["role"] for one in asked(migrated, "show", mix)["entries"] if one["role"] == "shared"}
    assert {"E49", "E52"} <= roles.keys()


def test_every_verdict_that_was_given_stands_where_it_stood(migrated):
    """Version by version: what was judged again keeps what was said before."""
    found = {
        (one["entry"], one["number"]): (one["verdict"]["passed"], one["verdict"]["failed"])
        for kind in ("hot-cabinet", "sanitising", "water-test")
        for one in asked(migrated, "log", kind, "--all-versions")["entries"]
    }
    then = {(one["entry"], one["version"]): (one["passed"], one["failed"]) for one in THEN["verdicts"]}
    assert found | then == found


def test_a_ledger_on_a_server_is_brought_up_to_date_too(ledger, fresh):
    """Every row of the old file, in tables of its form on PostgreSQL."""
    where = fresh("postgresql")
    source, target = store.open_engine(str(ledger)), store.open_engine(where, create=True)
    store.migrate(target, "0001")
    with store.reading(source) as old, store.writing(target) as new:
        for table in metadata.sorted_tables:
            columns = [column for column in table.columns if (table.name, column.name) != ("thing", "bath")]
            if rows := [dict(row) for row in old.execute(select(*columns)).mappings()]:
                new.execute(insert(table), rows)
    done = Book.migrate(where, kinds=[KINDS])
    assert (done.before, done.after, form(done.backup)) == ("0001", store.HEAD, "0001")
    assert checked(done.backup).ok
    found = checked(where, HEADS[-1])
    assert (found.ok, found.why) == (True, "")
    with store.reading(target) as server, store.reading(source) as old:
        kinds = Kinds.load(KINDS)
        assert verify(server, kinds).ok
        assert verify(old, kinds).ok
    for engine in (source, target):
        engine.dispose()


def test_killed_at_any_moment_it_is_of_the_old_form_or_of_the_new_one(ledger, tmp_path):
    """The power fails while it is migrated. Each time the log is whole, and a further try ends well."""
    chance = random.Random(45)
    words = [sys.executable, "-m", "lotwalk", "--ledger", str(ledger), "--kinds", str(KINDS), "migrate"]
    began = time.monotonic()
    subprocess.run([*words, "--backup", "whole.db"], check=True, capture_output=True)
    whole = time.monotonic() - began
    forms = set()
    for number in range(int(os.environ.get("LOTWALK_KILLS", "6"))):
        shutil.copy(HERE / "book-form-1.sqlite3", ledger)
        for beside in tmp_path.glob("book-form-1.sqlite3-*"):
            beside.unlink()
        process = subprocess.Popen([*words, "--backup", f"copy-{number}.db"], stdout=-3, stderr=-3)
        time.sleep(chance.uniform(0.3, 1.0) * whole)
        process.send_signal(signal.SIGKILL)
        process.wait()
        forms.add(form(ledger))
        assert checked(ledger, HEADS[-1]).ok
        Book.migrate(str(ledger), kinds=[KINDS])
        assert form(ledger) == store.HEAD
        assert checked(ledger, HEADS[-1]).ok
    assert forms <= {"0001", store.HEAD}


@pytest.mark.parametrize("engine", ENGINES)
def test_what_is_of_the_newest_form_is_left_alone(fresh, engine):
    where = fresh(engine)
    book = Book.start(where, name="F", location="L", timezone="UTC")
    with book.ledger.reading() as connection:
        before = book.ledger.head(connection)
    done = Book.migrate(where)
    assert (done.backup, done.judged, done.otherwise) == (None, 0, ())
    with book.ledger.reading() as connection:
        assert book.ledger.head(connection) == before
    book.ledger.engine.dispose()


def test_a_ledger_that_was_tampered_with_is_left_alone(ledger):
    engine = store.open_engine(str(ledger))
    with store.writing(engine) as connection:
        connection.exec_driver_sql("UPDATE entry SET kind = 'move' WHERE seq = 40")
    engine.dispose()
    with pytest.raises(LedgerError, match="the log is not whole"):
        Book.migrate(str(ledger), kinds=[KINDS])
    assert form(ledger) == "0001"
    assert ledger.with_name("book-form-1-before-0002.db").exists()
