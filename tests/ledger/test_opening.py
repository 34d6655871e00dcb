"""What stands beside a ledger's file is played into it only where it belongs there.

A ledger grows by batches of twelve people. A program that is killed leaves its last batch in the -wal. Each
answer here is held against what was recorded.
"""

import os
import random
import shutil
import signal
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import Engine, event, text
from tests.killing import contents, killed
from tests.ledger.farm import SETTINGS

from lotwalk.book import Book
from lotwalk.errors import LedgerError
from lotwalk.ledger.verify.entries import Verification, verify
from lotwalk.sheets.reader import read_sheet

NOBODY = 65_534
BATCHES = 9


def batch(number: int) -> set[str]:
    return {f"P-{number}-{one}" for one in range(12)}


def load(where: Path, number: int) -> Book:
    book = Book.open(str(where))
    rows = [f"- {{kind: person, at: 2026-03-01, by: TO, code: {code}, name: P}}\n" for code in sorted(batch(number))]
    book.load(read_sheet("entries:\n" + "".join(rows), f"{number}.yaml"))
    return book


@pytest.fixture(scope="module")
def states(tmp_path_factory) -> Path:
    """A folder with copies of a ledger: `0.db` to `8.db` after each batch, and `crash.db` with a -wal beside it.

    The ninth batch was begun by the program that was killed.
    """
    folder = tmp_path_factory.mktemp("states")
    ledger = folder / "crash.db"
    book = Book.start(str(ledger), **SETTINGS)
    book.record("person", at="2026-03-01", by="TO", code="TO", name="Tess Orr")
    book.ledger.engine.dispose()
    for number in range(1, BATCHES):
        shutil.copy(ledger, folder / f"{number - 1}.db")
        load(ledger, number).ledger.engine.dispose()
    shutil.copy(ledger, folder / f"{BATCHES - 1}.db")
    assert killed(lambda: load(ledger, BATCHES))
    return folder


@pytest.fixture
def farm(states, tmp_path) -> Path:
    """The ledger as the killed program left it."""
    folder = tmp_path / "farm"
    folder.mkdir()
    for end in ("", "-wal", "-shm"):
        shutil.copy(states / f"crash.db{end}", folder / f"farm.db{end}")
    return folder / "farm.db"


def recorded(batches: int) -> set[str]:
    return {"TO"}.union(*map(batch, range(1, batches + 1)))


def found(path: Path) -> tuple[Verification, set[str]]:
    book = Book.open(str(path))
    with book.ledger.reading() as connection:
        answer = verify(connection, book.ledger.kinds)
        codes = set(connection.execute(text("SELECT code FROM thing")).scalars())
    book.ledger.engine.dispose()
    return answer, codes


def whole(path: Path) -> set[str]:
    answer, codes = found(path)
    assert answer.why == ""
    return codes


def refused(path: Path) -> str:
    """Why it cannot be opened; not a byte of it or beside it may have changed."""
    before = contents(path.parent)
    with pytest.raises(LedgerError) as caught:
        Book.open(str(path))
    assert contents(path.parent) == before
    return str(caught.value)


def test_what_a_killed_program_had_committed_is_there_at_the_next_opening(farm):
    assert whole(farm) == recorded(BATCHES)
    assert sorted(path.name for path in farm.parent.iterdir()) == ["farm.db"]


def test_a_program_that_is_killed_in_the_middle_of_a_batch_leaves_the_earlier_ones(states, tmp_path):
    path = tmp_path / "farm.db"
    shutil.copy(states / "3.db", path)

    def load_until_killed():
        event.listen(Engine, "before_cursor_execute", die)
        load(path, 4)

    def die(connection, cursor, statement, *_):
        # The entries are in by now, and their uses are not.
        if statement.startswith("INSERT INTO use"):
            os.kill(os.getpid(), signal.SIGKILL)

    assert killed(load_until_killed, 999)
    assert whole(path) == recorded(3)


def test_a_checkpoint_that_was_cut_short_is_finished(farm, states, tmp_path):
    """Pages of the -wal are copied into the file one by one, in any order as far as the disk is concerned."""
    shutil.copytree(farm.parent, tmp_path / "done")
    assert whole(tmp_path / "done" / "farm.db") == recorded(BATCHES)
    page, before, after = 4096, farm.read_bytes(), (tmp_path / "done" / "farm.db").read_bytes()
    assert sqlite3.connect(farm).execute("PRAGMA page_size").fetchone() == (page,)
    places = range(0, len(after), page)
    changed = [one for one in places if before[one : one + page] != after[one : one + page]]
    draw = random.Random(1)
    subsets = [changed[:number] for number in range(0, len(changed) + 1, 4)]
    subsets += [sorted(draw.sample(changed, draw.randrange(1, len(changed)))) for _ in range(12)]
    assert len(changed) > 10
    for number, subset in enumerate(subsets):
        folder = tmp_path / f"cut-{number}"
        shutil.copytree(farm.parent, folder)
        for end in ("-wal", "-shm"):
            shutil.copy(states / f"crash.db{end}", folder / f"farm.db{end}")
        with (folder / "farm.db").open("wb") as file:
            file.write(before)
            for place in subset:
                file.seek(place)
                file.write(after[place : place + page])
        assert whole(folder / "farm.db") == recorded(BATCHES)


def test_any_earlier_copy_that_was_put_there_stays_or_becomes_the_whole_book(farm, states):
    outcomes = []
    for number in range(BATCHES):
        shutil.copy(states / f"{number}.db", farm)
        for end in ("-wal", "-shm"):
            shutil.copy(states / f"crash.db{end}", f"{farm}{end}")
        try:
            codes = whole(farm)
        except LedgerError:
            said = refused(farm)
            assert "farm.db-wal beside it does not belong to it" in said
            assert f"`lotwalk --ledger {farm} restore BACKUP` puts a backup in its place" in said
            assert farm.read_bytes() == (states / f"{number}.db").read_bytes()
            outcomes.append("kept")
        else:
            assert codes == recorded(BATCHES)
            outcomes.append("whole")
    assert outcomes[:3] == ["kept"] * 3
    assert outcomes[-1] == "whole", "the copy from right before is the file that the -wal was written for"


def test_a_later_copy_that_was_put_there_stays(farm, states, tmp_path):
    later = tmp_path / "later.db"
    shutil.copytree(farm.parent, tmp_path / "on")
    load(tmp_path / "on" / "farm.db", BATCHES + 1).ledger.engine.dispose()
    shutil.copy(tmp_path / "on" / "farm.db", later)
    shutil.copy(later, farm)
    assert "does not belong to it" in refused(farm)
    assert whole(later) == recorded(BATCHES + 1)


def test_the_book_of_another_farm_stays(farm, tmp_path):
    Book.start(str(tmp_path / "other.db"), **{**SETTINGS, "name": "Elsewhere"}).ledger.engine.dispose()
    shutil.copy(tmp_path / "other.db", farm)
    assert "does not belong to it" in refused(farm)


def test_an_empty_file_does_not_swallow_what_stands_beside_it(farm):
    farm.write_bytes(b"")
    assert "the file itself is empty" in refused(farm)
    with pytest.raises(LedgerError, match="holds what was written to it last"):
        Book.start(str(farm), **SETTINGS)
    assert farm.with_name("farm.db-wal").stat().st_size


def test_a_book_that_was_edited_before_the_crash_still_opens_and_verify_tells(farm, states):
    for end in ("-wal", "-shm"):
        Path(f"{farm}{end}").unlink()
    shutil.copy(states / "4.db", farm)
    with closing(sqlite3.connect(farm)) as opened, opened:
        opened.execute("UPDATE entry SET record = replace(record, 'P-2-3', 'P-2-X') WHERE record LIKE '%P-2-3%'")
    assert killed(lambda: load(farm, 5))
    answer, codes = found(farm)
    assert "its text is not what was hashed" in answer.why
    assert codes == recorded(5)


def test_a_commit_that_did_not_reach_the_disk_whole_is_not_there(farm):
    wal = farm.with_name("farm.db-wal")
    bytes_ = bytearray(wal.read_bytes())
    middle = 32 + (24 + 4096) * 3 + 24 + 2000
    bytes_[middle] ^= 16
    wal.write_bytes(bytes_)
    # SQLite takes a -wal up to the first frame whose checksum is wrong: the batch is one commit, and is not there.
    assert whole(farm) == recorded(BATCHES - 1)


@pytest.fixture
def elsewhere(states):
    """The ledger as the killed program left it, where everybody may look and nobody may write."""
    folder = Path(tempfile.mkdtemp())
    for end in ("", "-wal"):
        shutil.copy(states / f"crash.db{end}", folder / f"farm.db{end}")
        (folder / f"farm.db{end}").chmod(0o444)
    folder.chmod(0o555)
    user = os.geteuid()
    if user == 0:
        os.seteuid(NOBODY)
    yield folder / "farm.db"
    if user == 0:
        os.seteuid(user)
    folder.chmod(0o755)
    shutil.rmtree(folder)


def test_where_nothing_may_be_written_it_is_read_with_what_stands_beside_it(elsewhere):
    before = contents(elsewhere.parent)
    assert whole(elsewhere) == recorded(BATCHES)
    assert contents(elsewhere.parent) == before
    book = Book.open(str(elsewhere))
    with pytest.raises(LedgerError, match="may not be written to"):
        book.record("person", at="2026-03-01", by="TO", code="NEW", name="New")
    book.ledger.engine.dispose()


def test_a_journal_that_belongs_to_another_file_is_left_alone_and_ones_own_is_played(states, tmp_path):
    folder = tmp_path / "farm"
    folder.mkdir()
    ledger = folder / "farm.db"
    shutil.copy(states / "8.db", ledger)

    def cut_short():
        opened = sqlite3.connect(ledger, isolation_level=None)
        opened.execute("PRAGMA journal_mode = DELETE")
        opened.execute("PRAGMA cache_size = 1")
        opened.execute("BEGIN IMMEDIATE")
        opened.execute("UPDATE entry SET record = record || ' '")
        opened.execute("UPDATE use SET line = line + 1")
        return opened

    assert killed(cut_short)
    journal = folder / "farm.db-journal"
    assert journal.stat().st_size > 4096
    kept = journal.read_bytes()
    shutil.copy(states / "2.db", ledger)
    assert "farm.db-journal beside it does not belong to it" in refused(ledger)
    assert journal.read_bytes() == kept


def test_ones_own_journal_is_played(states, tmp_path):
    ledger = tmp_path / "farm.db"
    shutil.copy(states / "8.db", ledger)

    def cut_short():
        opened = sqlite3.connect(ledger, isolation_level=None)
        opened.execute("PRAGMA journal_mode = DELETE")
        opened.execute("PRAGMA cache_size = 1")
        opened.execute("BEGIN IMMEDIATE")
        opened.execute("UPDATE entry SET record = record || ' '")
        opened.execute("UPDATE use SET line = line + 1")
        return opened

    assert killed(cut_short)
    assert whole(ledger) == recorded(8)


def test_programs_that_open_it_at_one_moment_wait_for_the_one_that_looks(farm):
    programs = [_program(lambda: whole(farm) == recorded(BATCHES)) for _ in range(4)]
    assert [os.waitstatus_to_exitcode(os.waitpid(one, 0)[1]) for one in programs] == [0, 0, 0, 0]
    assert whole(farm) == recorded(BATCHES)


def _program(asked) -> int:
    """A process that ends with 0 if what it is asked is so."""
    child = os.fork()
    if child:
        return child
    status = 1
    try:
        status = int(not asked())
    finally:
        os._exit(status)
