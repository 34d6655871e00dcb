"""No recall and no trace is told from a damaged book, and the way out is named."""

import json
import sqlite3
from contextlib import closing
from pathlib import Path

import psycopg
import pytest
from click.testing import CliRunner
from sqlalchemy import text
from tests.cli.conftest import Lotwalk
from tests.ledger.farm import load
from tests.recall.damaged import DELIVERIES, farm, hollow, page_of

from lotwalk.ledger.verify import sound
from lotwalk.ledger.verify.entries import verify
from lotwalk.store import engine as store
from lotwalk.store.damage import damage, damage_of
from lotwalk.store.tally import nodes_agree


@pytest.fixture
def damaged(where, request):
    """Where a farm's book is whose index has lost the uses of a thing."""
    book = farm(where)
    book.ledger.engine.dispose()
    hollow(where, *request.param)
    return where


def run(where, *arguments):
    done = CliRunner().invoke(Lotwalk(), ["--ledger", where, *arguments])
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exc_info
    return done


@pytest.mark.parametrize("words", [("recall", "D-1", "--format", "json"), ("trace", "D-1", "--back")])
def test_a_whole_book_answers(where, words):
    book = farm(where)
    book.ledger.engine.dispose()
    done = run(where, *words)
    assert (done.exit_code, done.stderr) == (0, "")
    if words[0] == "recall":
        told = json.loads(done.stdout)
        assert [one["code"] for one in told["affected"]["deliveries"]] == DELIVERIES


LOST = [("use_in", "M-01"), ("use_out", "M-01"), ("use_in", "P-2"), ("use_out", "T-2")]


@pytest.mark.parametrize("large", [False, True], ids=["looked through whole", "by tally"])
@pytest.mark.parametrize("damaged", LOST, indirect=True, ids="-".join)
def test_a_recall_from_an_index_that_lost_rows_is_refused_and_says_what_to_do(damaged, large, monkeypatch):
    """Each of these rows lies on the only way from D-1 to D-2: without it the inn is not called."""
    if large:
        monkeypatch.setattr(sound, "SMALL", 0)
        monkeypatch.setattr(sound, "MIDDLING", 0)
    done = run(damaged, "recall", "D-1")
    assert (done.exit_code, done.stdout) == (1, "")
    assert "it is damaged (" in done.stderr
    assert "use_" in done.stderr
    assert "`lotwalk migrate`" in done.stderr
    assert "`lotwalk verify`" in done.stderr


@pytest.mark.parametrize("damaged", [("use_out", "M-01")], indirect=True, ids="-".join)
def test_every_answer_that_walks_or_gives_a_history_is_refused(damaged, tmp_path):
    pdf = str(tmp_path / "answer.pdf")
    for words in (
        ("trace", "M-01", "--forward"),
        ("show", "M-01"),
        ("report", "recall", "D-1", "--out", pdf),
        ("report", "trace", "P-1", "--out", pdf),
        ("export", "spreadsheet", "P-1", "--out", str(tmp_path / "answer.xlsx")),
    ):
        done = run(damaged, *words)
        assert done.exit_code == 1, (words, done.stdout, done.stderr)
        assert "it is damaged (" in done.stderr
    assert not Path(pdf).exists()


@pytest.mark.parametrize("damaged", [("use_out", "M-01")], indirect=True, ids="-".join)
def test_where_there_is_no_time_a_recall_answers_all_the_same_and_warns(damaged):
    """Without the way over the mat a SQLite file still names D-1; a server may read that way from the table itself."""
    told = run(damaged, "recall", "D-1")
    assert "--although-damaged answers from what can be read" in told.stderr
    done = run(damaged, "recall", "D-1", "--although-damaged", "--format", "json")
    assert done.exit_code == 0
    assert "THE ANSWER MAY LEAVE LOTS AND CUSTOMERS OUT" in done.stderr
    assert "D-1" in [one["code"] for one in json.loads(done.stdout)["affected"]["deliveries"]]


@pytest.mark.parametrize("damaged", LOST, indirect=True, ids="-".join)
def test_verify_sees_it_and_migrate_makes_the_index_again(damaged):
    told = run(damaged, "verify")
    assert told.exit_code == 1
    assert "THE LOG IS NOT WHOLE" in told.stdout
    mended = run(damaged, "migrate")
    assert mended.exit_code == 0, mended.stderr
    assert "all indexes" in mended.stdout
    assert run(damaged, "verify").exit_code == 0
    done = run(damaged, "recall", "D-1", "--format", "json")
    assert [one["code"] for one in json.loads(done.stdout)["affected"]["deliveries"]] == DELIVERIES


@pytest.mark.parametrize("damaged", [("use_out", "M-01")], indirect=True, ids="-".join)
def test_indexes_are_not_made_again_from_a_table_that_was_changed(damaged):
    """They would agree with what nobody wrote, and the damage would no longer be seen by a recall."""
    engine = store.open_engine(damaged)
    with store.writing(engine) as connection:
        connection.execute(text("UPDATE use SET at_from = at_from - 60 WHERE node = 40"))
    done = run(damaged, "migrate")
    assert done.exit_code == 1
    assert "the log is not whole (E20: " in done.stderr
    with store.reading(engine) as connection:
        assert damage(connection) is not None
    engine.dispose()


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ("UPDATE thing SET counted = 0 WHERE code = 'H-2'", "H-2 is not stored as a harvest lot"),
        ("UPDATE thing SET farm_wide = 1 WHERE code = 'M-01'", "M-01 is not stored as a growing medium"),
        (
            "UPDATE use SET amount = '7' WHERE node = 56 AND role = 1",
            "E28: its stored uses are not",
        ),
        ("UPDATE entry SET at_from = at_from - 60 WHERE seq = 25", "E25: the stored at_from is not what was recorded"),
        (
            "UPDATE entry SET record = replace(record, '20 packs', '10 packs') WHERE seq = 28",
            "E28: its text is not",
        ),
    ],
    ids=["a lot that is counted", "how far it is shared", "an amount", "a time", "a text"],
)
def test_what_no_index_holds_is_held_against_the_texts_in_a_small_book(where, changed, told):
    book = farm(where)
    with book.ledger.engine.begin() as connection:
        connection.execute(text(changed))
    book.ledger.engine.dispose()
    done = run(where, "recall", "D-1")
    assert (done.exit_code, done.stdout) == (1, "")
    assert told in done.stderr


def test_a_tally_sees_each_row_that_an_index_lost_and_none_where_nothing_is_lost(where):
    """Of some things alone in a SQLite file; of all in PostgreSQL, which may read an entry's uses by any index."""
    book = farm(where)
    with book.ledger.reading() as connection:
        things = {code: key for key, code in connection.execute(text("SELECT id, code FROM thing"))}
        assert damage(connection) is None
        assert damage_of(connection, things.values()) is None
    book.ledger.engine.dispose()
    hollow(where, "use_out", "T-2")
    with book.ledger.reading() as connection:
        assert damage_of(connection) is not None
        assert damage_of(connection, [things["T-2"]]) is not None
        of_others = damage_of(connection, [things["T-1"], things["M-01"]])
        assert (of_others is None) is (connection.dialect.name == "sqlite")
    book.ledger.engine.dispose()


def test_a_key_that_leads_searches_astray_is_seen_in_a_large_book(tmp_path, monkeypatch):
    """The rows of `use` are the branches of its own tree. One node of a branch is made larger by a bit: all rows are
    still there for a pass, and each index has them, but whoever looks for a node past it finds nothing."""
    path = str(tmp_path / "farm.db")
    book = farm(path)
    washings = "".join(
        f"    - {{kind: washing, at: 2026-03-18 09:{minute:02}, by: TO, items: M-02..M-06, method: brushed}}\n"
        for minute in range(40)
    )
    load(book, washings)
    with book.ledger.reading() as connection:
        nodes = list(connection.execute(text("SELECT DISTINCT node FROM use")).scalars())
        assert nodes_agree(connection, nodes)
        depth = connection.exec_driver_sql("SELECT max(length(path)) FROM dbstat WHERE name = 'use'").scalar_one()
        assert depth > 1, "the table has branches"
    book.ledger.engine.dispose()
    start, size = page_of(path, "use")
    content = bytearray(Path(path).read_bytes())
    page = content[start : start + size]
    cells = [
        int.from_bytes(page[12 + 2 * one : 14 + 2 * one], "big") for one in range(int.from_bytes(page[3:5], "big"))
    ]
    # A cell: four bytes of the page below, the row's length, then its header, then the node in one byte.
    at = cells[0] + 5 + page[cells[0] + 5]
    content[start + at] ^= 0x40
    Path(path).write_bytes(content)
    with book.ledger.reading() as connection:
        assert not nodes_agree(connection, nodes)
    book.ledger.engine.dispose()


def test_a_tally_reads_the_table_once_as_it_stands_and_once_by_its_indexes(tmp_path):
    """SQLite answers `FROM use NOT INDEXED WHERE role <= 4` out of `use_in` all the same: an index held against
    itself."""
    book = farm(str(tmp_path / "farm.db"))
    with book.ledger.reading() as connection:
        plans = []
        connection.connection.driver_connection.set_trace_callback(plans.append)
        damage_of(connection, [1, 2])
        connection.connection.driver_connection.set_trace_callback(None)
        asked = [sql for sql in plans if " use u" in sql]
        ways = {
            row[3]: sql
            for sql in asked
            for row in connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {sql}")
            if row[3].split()[1] == "u"
        }
    book.ledger.engine.dispose()
    assert "SCAN u" in ways
    for index in ("use_in", "use_out", "use_clear", "use_long"):
        assert any(f"COVERING INDEX {index} " in way for way in ways), (index, ways)


def test_an_amendment_that_its_index_lost_or_made_up_is_seen(tmp_path):
    """A made up one would take an entry in force out of the walk."""
    path = str(tmp_path / "farm.db")
    book = farm(path)
    book.amend(22, {"note": "looked at twice"}, because="a word more", by=["TO"])
    with book.ledger.reading() as connection:
        assert damage_of(connection, []) is None
    book.ledger.engine.dispose()
    with store.writing(book.ledger.engine) as connection:
        (place,) = connection.exec_driver_sql(
            "SELECT rootpage FROM sqlite_master WHERE name = 'sqlite_autoindex_entry_1'"
        ).one()
        (size,) = connection.exec_driver_sql("PRAGMA page_size").one()
    book.ledger.engine.dispose()
    content = bytearray(Path(path).read_bytes())
    page = content[(place - 1) * size : place * size]
    # The numbers of the amended entry and of its amendment, a byte each: E22 is said to be amended, then E23.
    at = (place - 1) * size + page.index(bytes([22, 29]))
    content[at] = 23
    Path(path).write_bytes(content)
    with store.reading(book.ledger.engine) as connection:
        told = connection.exec_driver_sql("SELECT amends FROM entry WHERE amends > 0").scalars().all()
        assert told == [23]
        found = damage_of(connection, [])
        assert found is not None
        assert "entry_amends" in found.text
        assert not verify(connection, book.ledger.kinds).ok
    book.ledger.engine.dispose()


@pytest.mark.parametrize("table", ["use", "thing", "entry", "sheet", "ref", "attachment", "farm"])
def test_a_table_that_is_gone_is_bad_news_and_no_slip_of_the_person(where, table):
    farm(where).ledger.engine.dispose()
    if "://" in where:
        with psycopg.connect(where) as server:
            server.execute(f"DROP TABLE {table} CASCADE")
    else:
        with closing(sqlite3.connect(where)) as file:
            file.execute(f"DROP TABLE {table}")
    done = run(where, "verify")
    assert done.exit_code == 1
    assert f"the table {table} is missing" in done.stdout
    if table in ("use", "thing", "entry"):
        told = run(where, "recall", "D-1")
        assert (told.exit_code, told.stdout) == (1, "")
        assert f"the table {table} is missing" in told.stderr


@pytest.mark.parametrize("changed", ["DELETE FROM alembic_version", "UPDATE alembic_version SET version_num = 'x'"])
def test_a_ledger_that_does_not_say_of_which_form_it_is_is_damaged_and_not_begun_anew(where, changed):
    farm(where).ledger.engine.dispose()
    engine = store.open_engine(where)
    with engine.begin() as connection:
        connection.execute(text(changed))
    engine.dispose()
    done = run(where, "verify")
    assert done.exit_code == 1
    assert "alembic_version does not say of which form this ledger is" in done.stderr
    assert "`lotwalk start`" not in done.stderr


def test_a_damaged_rule_set_is_told_as_damage_and_a_recall_can_do_without_it(where):
    book = farm(where)
    with book.ledger.engine.begin() as connection:
        name = connection.execute(text("SELECT rules_digest FROM farm")).scalar_one()
        change = text("UPDATE attachment SET content = :content WHERE digest = :digest")
        connection.execute(change, {"content": b"\x00 no rules", "digest": name})
    book.ledger.engine.dispose()
    done = run(where, "recall", "D-1")
    assert (done.exit_code, done.stdout) == (1, "")
    assert "it is damaged (E1: the attached file" in done.stderr
    done = run(where, "recall", "D-1", "--although-damaged", "--format", "json")
    assert [one["code"] for one in json.loads(done.stdout)["affected"]["deliveries"]] == DELIVERIES


def test_where_too_much_is_damaged_the_answer_says_so(tmp_path):
    path = tmp_path / "farm.db"
    farm(str(path)).ledger.engine.dispose()
    start, size = page_of(path, "use")
    content = bytearray(path.read_bytes())
    content[start : start + size] = bytes(size)
    path.write_bytes(content)
    done = run(str(path), "recall", "D-1", "--although-damaged")
    assert (done.exit_code, done.stdout) == (1, "")
    assert "Too much of it is damaged to answer from it at all" in done.stderr
    told = run(str(path), "verify")
    assert told.exit_code == 1
    assert "THE LOG IS NOT WHOLE" in told.stdout
    assert f"lotwalk --ledger {path} restore BACKUP" in told.stdout
