"""`restore`: what is said before, what is asked, and what is said after."""

import shutil

import pytest

START = ("start", "--name", "Hill", "--location", "Up", "--timezone", "Europe/London")


def person(code: str) -> tuple[str, ...]:
    return ("record", "person", "--code", code, "--name", "A", "--by", "TO")


@pytest.fixture
def farm(lotwalk, tmp_path):
    """A book of three entries, of which the backup has two."""
    for command in (START, person("TO"), ("backup", "b.bak"), person("AK")):
        assert lotwalk(*command).status == 0
    return tmp_path


def test_it_is_not_done_where_nobody_can_be_asked(lotwalk, farm):
    done = lotwalk("restore", "b.bak")
    assert done.status == 2
    assert done.err.endswith("nobody can be asked here whether to go on; add --yes\n")
    assert "The newest 1 entry of these is not in the backup." in done.out
    assert lotwalk("verify", "--format", "json").json["entries"] == 3


@pytest.mark.parametrize("answer", ["y", "n"])
def test_it_asks_and_takes_no_for_an_answer(lotwalk, farm, monkeypatch, answer):
    monkeypatch.setattr("lotwalk.cli.commands.restore.on_terminal", lambda: True)
    done = lotwalk("restore", "b.bak", stdin=f"{answer}\n")
    assert done.status == 0
    assert "Put the backup in its place? [y/N]" in done.err
    assert ("Nothing was changed." in done.out) == (answer == "n")
    assert lotwalk("verify", "--format", "json").json["entries"] == (2 if answer == "y" else 3)


def test_it_says_where_the_old_file_is_and_how_to_read_it(lotwalk, farm):
    done = lotwalk("restore", "b.bak", "--yes")
    assert (done.status, done.err) == (0, "")
    [old] = farm.glob("lotwalk-set-aside-*.db")
    assert f"lotwalk --ledger {old.name} show E3" in done.out
    assert "lotwalk.db is the backup now: 2 entries." in done.out
    assert lotwalk("--ledger", old.name, "verify", "--format", "json").json["entries"] == 3


def test_the_book_of_another_farm_is_told_before_it_asks(lotwalk, farm):
    lotwalk("--ledger", "other.db", "start", "--name", "Dale", "--location", "Down", "--timezone", "Europe/London")
    done = lotwalk("restore", "other.db")
    assert "THE BACKUP IS OF ANOTHER BOOK" in done.out


def test_a_backup_of_an_older_form_is_put_back_and_then_to_be_migrated(lotwalk, farm):
    from tests.old.test_old_ledger import HERE

    shutil.copy(HERE / "book-form-1.sqlite3", "old.db")
    done = lotwalk("restore", "old.db", "--yes")
    assert done.status == 0
    assert "It is of an older form (0001). Bring it up to date:" in done.out
    assert "lotwalk --ledger lotwalk.db migrate" in done.out
    assert "It holds records of kinds that are not known here" in done.out
    assert "of an older form (0001); run `lotwalk --ledger lotwalk.db migrate`" in lotwalk("verify").err


def test_own_kinds_are_said_to_be_in_no_backup(lotwalk, farm):
    (farm / "own").mkdir()
    done = lotwalk("--kinds", "own", "restore", "b.bak", "--yes")
    assert "Kinds of record of your own are files, and in no backup: see that own is as it should be." in done.out


def test_a_backup_says_how_it_is_put_back(lotwalk, farm):
    done = lotwalk("backup", "again.bak")
    assert "copy nothing over it" in done.out
    assert "lotwalk --ledger lotwalk.db restore again.bak" in done.out
