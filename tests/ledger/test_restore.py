"""A backup comes into the place of the ledger as a whole or not at all, and what lay there is kept.

The farm's book has four entries when the backup is made: its settings and three people. Then two more are recorded,
the second of them by a program that is killed, so that it stands in the file beside the ledger only.
"""

import os
import shutil
import sqlite3
import tempfile
from pathlib import Path

import pytest
from sqlalchemy import text
from tests.killing import contents, killed, people, recorded_and_killed
from tests.ledger.farm import SETTINGS

from lotwalk.book import Book
from lotwalk.errors import LedgerError
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.keep.backup import back_up
from lotwalk.ledger.keep.restore import Restoring, restore
from lotwalk.ledger.verify.entries import verify

BEFORE = {"TO", "AK", "BL"}
AFTER = BEFORE | {"NEW", "NEWEST"}
KINDS = Kinds.load()


@pytest.fixture
def folder(tmp_path) -> Path:
    made = tmp_path / "farm"
    made.mkdir()
    ledger = made / "farm.db"
    Book.start(str(ledger), **SETTINGS).ledger.engine.dispose()
    people(ledger, "TO", "AK", "BL")
    book = Book.open(str(ledger))
    back_up(book.ledger, tmp_path / "farm.bak")
    book.ledger.engine.dispose()
    people(ledger, "NEW")
    recorded_and_killed(ledger, "NEWEST")
    return made


def codes(path: Path) -> set[str]:
    """The people in a ledger in which nothing is wrong."""
    book = Book.open(str(path))
    with book.ledger.reading() as connection:
        assert verify(connection, book.ledger.kinds).why == ""
        found = set(connection.execute(text("SELECT code FROM thing")).scalars())
    book.ledger.engine.dispose()
    return found


def put_back(folder: Path, backup: str = "../farm.bak", **more):
    return restore(str(folder / "farm.db"), folder / backup, KINDS, **more)


def aside(folder: Path) -> list[Path]:
    return sorted(folder.glob("farm-set-aside-*.db"))


def test_the_backup_takes_the_place_and_what_lay_there_is_kept_with_its_companions(folder):
    backup = (folder / "../farm.bak").read_bytes()
    done = put_back(folder, clock=lambda: 1_772_366_400.0)
    assert codes(folder / "farm.db") == BEFORE
    assert (folder / "../farm.bak").read_bytes() == backup
    [old] = aside(folder)
    assert old.name.startswith("farm-set-aside-2026-03-01-")
    assert [path.name for path in done.aside][:2] == [old.name, f"{old.name}-wal"]
    assert codes(old) == AFTER
    assert not (folder / "farm.db-restoring").exists()


def test_what_it_means_is_told_before_anything_is_changed(folder):
    before = contents(folder)
    told: list[Restoring] = []
    assert put_back(folder, agreed=lambda one: bool(told.append(one))) is None
    assert contents(folder) == before
    [one] = told
    assert (one.after.size, one.before.size, one.shared, one.beyond, one.of_another_farm) == (4, 6, 4, 2, False)
    assert one.lacking == ("E5", "E6")
    assert (one.there, one.form, one.unknown) == (True, "0002", ())


def test_killed_before_any_of_its_changes_it_leaves_the_old_ledger_or_the_new_one(folder, tmp_path):
    outcomes = []
    for moment in range(60):
        place = tmp_path / f"at-{moment}"
        shutil.copytree(folder, place)
        cut = killed(lambda place=place: put_back(place, "../farm.bak"), moment)
        found = codes(place / "farm.db")
        assert found in (BEFORE, AFTER)
        outcomes.append(found == BEFORE)
        if found == BEFORE:
            [old] = aside(place)
            assert codes(old) == AFTER, "what was set aside holds all that was recorded"
        else:
            put_back(place, "../farm.bak")
            assert codes(place / "farm.db") == BEFORE
            assert codes(aside(place)[0]) == AFTER
        assert not (place / "farm.db-restoring").exists()
        if not cut:
            break
    else:
        pytest.fail("it makes more changes than were tried")
    # Old up to one moment, and new from then on; some moments lie on either side.
    assert outcomes == sorted(outcomes)
    assert {False, True} == set(outcomes[:-1])


@pytest.fixture
def in_sight():
    """A folder that other users may look into, as the test's own is not."""
    made = Path(tempfile.mkdtemp())
    made.chmod(0o755)
    yield made
    shutil.rmtree(made)


def test_a_restore_that_was_cut_short_where_nothing_may_be_written_says_what_to_do(folder, in_sight, tmp_path):
    shutil.copy(tmp_path / "farm.bak", in_sight)
    moment = 0
    while True:
        place = in_sight / f"at-{moment}"
        shutil.copytree(folder, place)
        assert killed(lambda place=place: put_back(place, "../farm.bak"), moment)
        if not (place / "farm.db").exists():
            break
        moment += 1
    user = os.geteuid()
    if user == 0:
        place.chmod(0o555)
        os.seteuid(65_534)
    try:
        with pytest.raises(LedgerError, match=r"a restore was cut short.* Run any command on it, such as verify"):
            Book.open(str(place / "farm.db"))
    finally:
        if user == 0:
            os.seteuid(0)
    place.chmod(0o755)
    assert codes(place / "farm.db") == BEFORE


def test_a_ledger_that_is_gone_or_garbage_is_replaced_too(folder):
    for name in ("farm.db", "farm.db-wal", "farm.db-shm"):
        (folder / name).unlink()
    assert put_back(folder).told.there is False
    assert codes(folder / "farm.db") == BEFORE
    assert aside(folder) == []
    (folder / "farm.db").write_text("eggs, milk")
    done = put_back(folder)
    assert (done.told.there, done.told.before) == (True, None)
    assert aside(folder)[0].read_text() == "eggs, milk"


def test_what_a_vanished_ledger_left_beside_it_is_set_aside_too(folder):
    (folder / "farm.db").unlink()
    left = (folder / "farm.db-wal").read_bytes()
    with pytest.raises(LedgerError, match=r"farm\.db-wal holds what was written to it last"):
        Book.open(str(folder / "farm.db"))
    with pytest.raises(LedgerError, match=r"farm\.db-wal holds what was written to it last"):
        Book.start(str(folder / "farm.db"), **SETTINGS)
    put_back(folder)
    assert codes(folder / "farm.db") == BEFORE
    [kept] = folder.glob("farm-set-aside-*-wal")
    assert kept.read_bytes() == left


def test_the_ledgers_own_file_can_be_put_back_without_what_lies_beside_it(folder):
    main = (folder / "farm.db").read_bytes()
    put_back(folder, "farm.db")
    assert codes(folder / "farm.db") == BEFORE | {"NEW"}
    [old] = aside(folder)
    assert old.read_bytes() == main
    assert codes(old) == AFTER


def test_it_is_refused_while_another_program_has_the_ledger_open(folder):
    before = contents(folder)
    other = sqlite3.connect(folder / "farm.db")
    try:
        assert other.execute("SELECT count(*) FROM entry").fetchone() == (6,)
        # The other program must be another process: a process is not told of its own locks.
        assert not killed(lambda: refused(folder, "another program has it open"), 999)
    finally:
        other.close()
    assert (folder / "farm.db").stat().st_size
    assert aside(folder) == []
    assert before.keys() >= {"farm.db"}


def refused(folder: Path, words: str) -> None:
    """Kill this process unless a restore is refused in these words."""
    try:
        put_back(folder)
    except LedgerError as error:
        if words in str(error):
            return
    os.abort()


def test_it_is_refused_while_this_program_has_the_ledger_open(folder):
    book = Book.open(str(folder / "farm.db"))
    with pytest.raises(LedgerError, match="this program has it open itself"):
        put_back(folder)
    book.ledger.engine.dispose()


def test_what_was_written_while_it_asked_is_not_set_aside_unseen(folder):
    with pytest.raises(LedgerError, match=r"it was opened or written to meanwhile\. Nothing was changed"):
        put_back(folder, agreed=lambda told: people(folder / "farm.db", "LATER") is None)
    assert codes(folder / "farm.db") == AFTER | {"LATER"}
    assert aside(folder) == []


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda path: path.unlink(), "there is no such file"),
        (lambda path: path.write_text("eggs, milk"), "this file is not a ledger"),
        (lambda path: path.write_bytes(b""), "this file is not a ledger"),
        (lambda path: path.write_bytes(path.read_bytes()[:40_000]), "it is damaged"),
        (lambda path: _sql(path, "UPDATE entry SET record = replace(record, 'TO', 'XX')"), "its log is not whole"),
        (lambda path: _sql(path, "UPDATE alembic_version SET version_num = '9999'"), "made by a newer Lotwalk"),
        (lambda path: _sql(path, "DROP TABLE alembic_version"), "no ledger was ever started in it"),
    ],
    ids=["missing", "text", "empty", "cut off", "edited", "newer", "no ledger"],
)
def test_a_backup_that_is_no_whole_ledger_is_refused(folder, tmp_path, spoil, words):
    before = contents(folder)
    spoil(tmp_path / "farm.bak")
    with pytest.raises(LedgerError, match=words):
        put_back(folder)
    assert contents(folder) == before
    assert not (folder / "farm.db-restoring").exists()


def _sql(path: Path, statement: str) -> None:
    with sqlite3.connect(path) as opened:
        opened.execute(statement)
    opened.close()


def test_the_book_of_another_farm_and_one_that_parted_are_told(folder, tmp_path):
    told: list[Restoring] = []
    Book.start(str(tmp_path / "other.db"), **{**SETTINGS, "name": "Elsewhere"}).ledger.engine.dispose()
    put_back(folder, "../other.db", agreed=lambda one: bool(told.append(one)))
    shutil.copy(tmp_path / "farm.bak", tmp_path / "parted.db")
    people(tmp_path / "parted.db", "MINE")
    put_back(folder, "../parted.db", agreed=lambda one: bool(told.append(one)))
    assert [(one.of_another_farm, one.shared, one.after.size) for one in told] == [(True, 0, 1), (False, 4, 5)]


def test_a_backup_in_use_or_with_its_newest_entries_beside_it_is_put_back_whole(folder, tmp_path):
    recorded_and_killed(tmp_path / "farm.bak", "LATE")
    before = contents(tmp_path)
    put_back(folder)
    assert contents(tmp_path) == before
    assert codes(folder / "farm.db") == BEFORE | {"LATE"}
    book = Book.open(str(tmp_path / "farm.bak"))
    book.record("person", at="2026-03-01", by="TO", code="LATER", name="Somebody")
    put_back(folder)
    book.ledger.engine.dispose()
    assert codes(folder / "farm.db") == BEFORE | {"LATE", "LATER"}


def test_the_new_file_is_as_private_as_the_one_that_it_replaces(folder):
    (folder / "farm.db").chmod(0o600)
    put_back(folder)
    assert (folder / "farm.db").stat().st_mode & 0o777 == 0o600


def test_a_ledger_on_a_server_is_told_what_to_do_instead(folder):
    with pytest.raises(LedgerError, match=r"for a ledger in a file.*--ledger .*farm.bak verify"):
        restore("postgresql://farm@localhost/farm", folder / "../farm.bak", KINDS)


def test_a_link_to_the_ledger_goes_on_leading_to_it(folder, tmp_path):
    (tmp_path / "link.db").symlink_to(folder / "farm.db")
    restore(str(tmp_path / "link.db"), tmp_path / "farm.bak", KINDS)
    assert (tmp_path / "link.db").is_symlink()
    assert codes(tmp_path / "link.db") == codes(folder / "farm.db") == BEFORE
    assert codes(aside(folder)[0]) == AFTER
