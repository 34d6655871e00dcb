"""A backup is the whole ledger of one moment, in one file, verified, and never over another file."""

import os
import shutil
import sqlite3
import subprocess
import sys
import threading
import time
from functools import partial
from pathlib import Path

import pytest
from sqlalchemy import text
from tests.killing import killed
from tests.ledger.farm import everything, load, start

from lotwalk.book import Book
from lotwalk.errors import LedgerError
from lotwalk.ledger.keep import backup
from lotwalk.ledger.keep.backup import back_up
from lotwalk.ledger.verify.entries import verify

SHEET = """
    - {kind: washing, at: 2026-03-02 09:00, by: TO, items: M-01, method: brushed}
    - {kind: washing, at: 2026-03-02 10:00, by: "TO, AK", items: M-02, method: grün \U0001f331}
"""


@pytest.fixture
def book(where):
    book = start(where)
    load(book, SHEET)
    book.ledger.amend(2, {"name": "Tess Orme"}, because="married", by=["TO"])
    yield book
    book.ledger.engine.dispose()


def test_the_copy_holds_all_and_answers_alike(book, tmp_path):
    found = back_up(book.ledger, tmp_path / "copy.db")
    copy = Book.open(str(tmp_path / "copy.db"))
    try:
        assert everything(copy) == everything(book)
        with copy.ledger.reading() as connection, book.ledger.reading() as source:
            assert verify(connection, copy.ledger.kinds) == verify(source, book.ledger.kinds) == found
        assert found.ok
        before = found.entries
        copy.record("person", at="2026-03-20", by="TO", code="NEW", name="New")
        with book.ledger.reading() as connection:
            assert book.ledger.head(connection).size == before
    finally:
        copy.ledger.engine.dispose()


def test_the_copy_is_one_file_that_needs_no_other(book, tmp_path):
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    back_up(book.ledger, folder / "copy.db")
    assert [path.name for path in folder.iterdir()] == ["copy.db"]
    with sqlite3.connect(f"file:{folder / 'copy.db'}?mode=ro&immutable=1", uri=True) as opened:
        assert opened.execute("PRAGMA journal_mode").fetchone() == ("delete",)
        assert opened.execute("SELECT count(*) FROM entry").fetchone()[0] > 0
        assert opened.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_nothing_is_written_over(book, tmp_path):
    (tmp_path / "copy.db").write_text("mine")
    with pytest.raises(LedgerError, match="never writes over one"):
        back_up(book.ledger, tmp_path / "copy.db")
    assert (tmp_path / "copy.db").read_text() == "mine"
    with pytest.raises(LedgerError, match="this is a folder"):
        back_up(book.ledger, tmp_path)


def test_a_failure_leaves_nothing_behind(book, tmp_path, monkeypatch):
    folder = tmp_path / "elsewhere"
    folder.mkdir()

    def full(path):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(backup, "settle", full)
    with pytest.raises(LedgerError, match=r"no copy was made: the disk is full\. Nothing was kept of it"):
        back_up(book.ledger, folder / "copy.db")
    assert list(folder.iterdir()) == []


def test_a_ledger_that_is_not_whole_is_copied_and_told(book, tmp_path):
    with book.ledger.engine.begin() as connection:
        connection.execute(text("UPDATE entry SET record = replace(record, 'TO', 'XX') WHERE seq = 3"))
    found = back_up(book.ledger, tmp_path / "copy.db")
    assert (found.ok, found.first_bad) == (False, "E3")
    assert (tmp_path / "copy.db").is_file()


WRITER = """
import sys
from lotwalk.book import Book
book = Book.open(sys.argv[1])
print("ready", flush=True)
for number in range(200):
    book.record("person", at="2026-03-01", by="TO", code=f"P-{number:03}", name="Another")
"""


def test_while_another_program_writes_each_copy_is_of_one_moment(book, where, tmp_path):
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2] / "trace")}
    writer = subprocess.Popen([sys.executable, "-c", WRITER, where], env=environment, stdout=subprocess.PIPE)
    try:
        assert writer.stdout.readline() == b"ready\n"
        sizes = [back_up(book.ledger, tmp_path / f"copy-{number}.db") for number in range(4)]
    finally:
        writer.kill()
        writer.wait()
        writer.stdout.close()
    assert all(found.ok for found in sizes)
    assert [found.entries for found in sizes] == sorted(found.entries for found in sizes)


def test_two_backups_to_one_name_give_one(book, tmp_path):
    told = []

    def run():
        try:
            told.append(back_up(book.ledger, tmp_path / "copy.db").ok)
        except LedgerError as error:
            told.append(str(error))

    threads = [threading.Thread(target=run) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert told.count(True) == 1
    assert sum("never writes over one" in str(one) for one in told) == 1
    shutil.copy(tmp_path / "copy.db", tmp_path / "again.db")
    assert Book.open(str(tmp_path / "again.db")).record("person", at="2026-03-20", by="TO", code="N", name="N")


def test_a_backup_that_is_killed_leaves_nothing_under_its_name(fresh, tmp_path):
    where = fresh("sqlite")
    start(where).ledger.engine.dispose()

    def run(folder):
        book = Book.open(where)
        back_up(book.ledger, folder / "copy.db")
        book.ledger.engine.dispose()

    whole = []
    for moment in range(60):
        folder = tmp_path / str(moment)
        folder.mkdir()
        cut = killed(partial(run, folder), moment)
        if (folder / "copy.db").exists():
            copy = Book.open(str(folder / "copy.db"))
            with copy.ledger.reading() as connection:
                assert verify(connection, copy.ledger.kinds).ok
            copy.ledger.engine.dispose()
            whole.append(moment)
        else:
            run(folder)  # and another one to the same name is none the worse for it
        if not cut:
            break
    else:
        pytest.fail("it makes more changes than were tried")
    assert 0 < whole[0] < moment


@pytest.mark.parametrize(
    ("own", "umask", "copy"), [(0o600, 0o022, 0o600), (0o644, 0o022, 0o644), (0o664, 0o077, 0o600)]
)
def test_the_copy_is_read_by_nobody_who_may_not_read_the_ledger(fresh, tmp_path, own, umask, copy):
    where = fresh("sqlite")
    book = start(where)
    Path(where).chmod(own)
    before = os.umask(umask)
    try:
        back_up(book.ledger, tmp_path / "copy.db")
    finally:
        os.umask(before)
        book.ledger.engine.dispose()
    assert (tmp_path / "copy.db").stat().st_mode & 0o777 == copy


def test_a_disk_that_is_full_is_told_in_plain_words_and_nothing_is_left(fresh, tmp_path):
    where = fresh("sqlite")
    start(where).ledger.engine.dispose()
    folder = tmp_path / "stick"
    folder.mkdir()
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2] / "trace")}
    size = Path(where).stat().st_size // 2048  # half of what is needed, in the shell's units of 1,024 bytes
    command = f"ulimit -f {size}; {sys.executable} -m lotwalk --ledger {where} backup {folder / 'copy.db'}"
    done = subprocess.run(["bash", "-c", command], env=environment, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (2, "")
    assert "no copy was made: the disk is full" in done.stderr
    assert list(folder.iterdir()) == []


def test_a_stick_that_knows_no_second_names_gets_its_copy_too(book, tmp_path, monkeypatch):
    def refused(*names):
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", refused)
    back_up(book.ledger, tmp_path / "copy.db")
    assert Book.open(str(tmp_path / "copy.db")).ledger.kinds
    with pytest.raises(LedgerError, match="never writes over one"):
        back_up(book.ledger, tmp_path / "copy.db")
    assert [path.name for path in tmp_path.glob(".lotwalk-*")] == []


def test_what_an_earlier_backup_left_when_it_was_killed_is_removed_a_day_later(book, tmp_path):
    for name, age in ((".lotwalk-old", 2), (".lotwalk-new", 0)):
        (tmp_path / name).mkdir()
        (tmp_path / name / "copy.db").touch()
        then = time.time() - age * 86_400
        os.utime(tmp_path / name, (then, then))
    back_up(book.ledger, tmp_path / "copy.db")
    assert [path.name for path in tmp_path.glob(".lotwalk-*")] == [".lotwalk-new"]
