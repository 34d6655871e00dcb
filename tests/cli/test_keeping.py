"""`start`, `verify`, `migrate`, `kinds`, `report`: the ledger itself, and what leaves it."""

import contextlib
import sqlite3

import pytest

from lotwalk.kinds.library import Kinds
from lotwalk.store import engine

START = ("start", "--name", "Hill", "--location", "Up", "--timezone", "Europe/London")


def test_start_begins_a_ledger_and_never_writes_over_one(lotwalk, tmp_path):
    done = lotwalk(*START, "--measures", "metric", "--rules", "eu")
    assert (done.status, done.err) == (0, "")
    assert "Hill" in done.out
    assert (tmp_path / "lotwalk.db").is_file()
    assert lotwalk("verify").status == 0
    again = lotwalk(*START)
    assert again.status == 2
    assert "there is a ledger here already" in again.err


@pytest.mark.parametrize(
    "arguments",
    [
        ["--timezone", "Europe/Londn"],
        ["--rules", "none-such"],
        ["--measures", "roman"],
        ["--name", "  "],
    ],
    ids=" ".join,
)
def test_a_start_that_is_not_understood_leaves_no_file(lotwalk, tmp_path, arguments):
    done = lotwalk(*START, *arguments)
    assert (done.status, done.out) == (2, "")
    assert done.err
    assert not (tmp_path / "lotwalk.db").exists()


def test_start_names_every_missing_setting_off_a_terminal(lotwalk):
    done = lotwalk("start")
    assert done.status == 2
    assert [line.split(":")[0] for line in done.err.splitlines()] == ["name", "location", "timezone"]


def test_verify_prints_the_head_which_a_later_ledger_must_still_hold(lotwalk, ledger):
    first = lotwalk("verify", "--format", "json").json
    assert (first["entries"], first["ok"], first["first_bad"], first["why"]) == (23, True, None, "")
    head = f"{first['head']['size']}:{first['head']['root']}"
    assert head in lotwalk("verify").out
    lotwalk("record", "person", "--code", "AK", "--name", "Ada", "--by", "TO")
    assert lotwalk("verify", "--head", head).status == 0
    assert lotwalk("verify", "--head", f"size 23, root {first['head']['root']}").status == 0, "as on a printed page"
    assert lotwalk("verify", "--head", f"23:{'0' * 64}").status == 1
    assert lotwalk("verify", "--head", f"99:{'0' * 64}", "--format", "json").json["ok"] is False


@pytest.mark.parametrize(
    ("edit", "bad"),
    [
        ("UPDATE entry SET record = replace(record, '110 ppm', '190 ppm') WHERE seq = 19", "E19"),
        ("UPDATE entry SET root = 'x' WHERE seq = 12", "E12"),
        ("UPDATE entry SET digest = NULL WHERE seq = 12", "E12"),
        ("UPDATE entry SET record = '{}' WHERE seq = 5", "E5"),
        ("DELETE FROM use WHERE node = 38 AND role = 7", "E19"),
        ("UPDATE farm SET name = 'Another'", "E1"),
        ("UPDATE attachment SET content = 7", "E1"),
    ],
)
def test_an_edit_behind_the_ledgers_back_is_bad_news(lotwalk, ledger, edit, bad):
    with contextlib.closing(sqlite3.connect(ledger)) as database:
        database.execute(edit.replace("NULL", "x'00'"))
        database.commit()
    done = lotwalk("verify", "--format", "json")
    assert done.status == 1
    assert (done.json["ok"], done.json["first_bad"]) == (False, bad)
    assert done.json["why"]
    told = lotwalk("verify")
    assert told.status == 1
    assert told.out.startswith("THE LOG IS NOT WHOLE")


def test_a_rule_set_in_force_that_was_swapped_is_found(lotwalk, ledger):
    lotwalk("record", "farm", "--name", "Hill Farm", "--location", "The Hill", "--timezone", "America/New_York",
            "--measures", "us", "--rules", "eu")  # fmt: skip
    assert lotwalk("verify").status == 0
    with contextlib.closing(sqlite3.connect(ledger)) as database:
        database.execute("UPDATE farm SET rules_digest = (SELECT rules_digest FROM farm WHERE seq = 1)")
        database.commit()
    done = lotwalk("verify", "--format", "json")
    assert (done.status, done.json["first_bad"]) == (1, "E24")


def test_migrate_says_that_there_is_nothing_to_do_or_what_it_did(lotwalk, ledger):
    assert "already of the newest form" in lotwalk("migrate").out
    with contextlib.closing(sqlite3.connect(ledger)) as database:
        database.execute("UPDATE alembic_version SET version_num = '9999'")
        database.commit()
    newer = lotwalk("migrate")
    assert newer.status == 2
    assert "made by a newer Lotwalk (9999)" in newer.err
    assert lotwalk("verify").status == 2


def test_an_empty_database_is_no_ledger(lotwalk, tmp_path):
    sqlite3.connect(tmp_path / "empty.db").close()
    for command in ("migrate", "verify"):
        done = lotwalk("--ledger", "empty.db", command)
        assert done.status == 2
        assert "no ledger has been started here" in done.err
    assert engine.HEAD


def test_kinds_lists_every_kind(lotwalk):
    kinds = Kinds.load()
    listed = lotwalk("kinds", "--format", "json").json["kinds"]
    assert [one["name"] for one in listed] == list(kinds.names)
    (washing,) = [one for one in listed if one["name"] == "washing"]
    assert washing["required"] == ["at", "by", "items", "method"]
    told = lotwalk("kinds").out
    assert all(name in told for name in kinds.names)


def test_a_report_is_written_as_a_pdf_beside_us(lotwalk, ledger, tmp_path):
    done = lotwalk("report", "sanitising")
    assert (done.status, done.err) == (0, "")
    assert done.out.startswith("sanitising.pdf: ")
    assert "2 entries" in done.out
    assert (tmp_path / "sanitising.pdf").read_bytes().startswith(b"%PDF-")
    assert lotwalk("report", "sanitising", "--page", "a4").status == 0, "an earlier PDF is written over"


def test_a_report_never_writes_over_what_is_no_pdf(lotwalk, ledger, tmp_path):
    (tmp_path / "notes.txt").write_text("mine")
    done = lotwalk("report", "sanitising", "--out", "notes.txt")
    assert done.status == 2
    assert "is no PDF" in done.err
    assert (tmp_path / "notes.txt").read_text() == "mine"
    assert lotwalk("report", "sanitising", "--from", "2026-03-05", "--until", "2026-03-01").status == 2
    assert lotwalk("report", "sanitising", "--out", "no/such/folder.pdf").status == 2


def test_a_backup_is_a_ledger_with_the_same_head(lotwalk, ledger, tmp_path):
    done = lotwalk("backup", "copy.db")
    assert (done.status, done.err) == (0, "")
    assert done.lines[0].startswith("copy.db: 23 entries, each as it was recorded; ")
    head = next(line.split()[-1] for line in done.lines if line.split()[0] == "Head")
    assert lotwalk("--ledger", "copy.db", "verify", "--head", head).status == 0
    again = lotwalk("backup", "copy.db")
    assert again.status == 2
    assert "a backup never writes over one" in again.err


def test_a_backup_tells_bad_news_and_what_it_does_not_hold(lotwalk, ledger, tmp_path):
    (tmp_path / "own").mkdir()
    with contextlib.closing(sqlite3.connect(ledger)) as opened:
        opened.execute("UPDATE entry SET record = replace(record, 'TO', 'XX') WHERE seq = 3")
        opened.commit()
    done = lotwalk("--kinds", "own", "backup", "copy.db")
    assert done.status == 1
    assert "THE LOG IS NOT WHOLE: E3" in done.out
    assert "copy own too" in " ".join(done.out.split())
    assert lotwalk("backup", "missing/copy.db").status == 2
