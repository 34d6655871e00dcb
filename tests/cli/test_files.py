"""A file that a command writes has its name once it is whole; what the program did not write is never lost."""

import os

import pytest

from lotwalk.cli.files import check_free, file_name, written
from lotwalk.errors import NotUnderstood


def test_what_goes_wrong_halfway_leaves_the_older_file_and_nothing_beside_it(tmp_path):
    path = tmp_path / "log.pdf"
    path.write_bytes(b"%PDF-1.4 older")

    with pytest.raises(KeyboardInterrupt), written(path) as file:
        file.write(b"%PDF-1.4 hal")
        raise KeyboardInterrupt

    assert path.read_bytes() == b"%PDF-1.4 older"
    assert [one.name for one in tmp_path.iterdir()] == ["log.pdf"]


def test_a_name_that_is_a_link_leads_to_the_same_file_afterwards(tmp_path):
    (tmp_path / "shared").mkdir()
    real = tmp_path / "shared" / "log.pdf"
    real.write_bytes(b"%PDF- older")
    link = tmp_path / "log.pdf"
    link.symlink_to(real)

    with written(link) as file:
        file.write(b"%PDF- newer")

    assert link.is_symlink()
    assert real.read_bytes() == b"%PDF- newer"


@pytest.mark.skipif(os.name == "nt", reason="permissions of POSIX")
def test_a_file_that_is_written_anew_may_be_read_by_the_same_people(tmp_path):
    path = tmp_path / "log.pdf"
    path.write_bytes(b"%PDF- older")
    path.chmod(0o640)

    with written(path) as file:
        file.write(b"%PDF- newer")

    assert path.stat().st_mode & 0o777 == 0o640


def test_a_folder_that_is_missing_is_told(tmp_path):
    with pytest.raises(NotUnderstood, match="away is no folder that is there"), written(tmp_path / "away" / "log.pdf"):
        raise AssertionError("nothing is written")


def test_only_what_begins_as_expected_is_written_over(tmp_path):
    check_free(tmp_path / "new.pdf")
    ours, theirs = tmp_path / "ours.pdf", tmp_path / "theirs.pdf"
    ours.write_bytes(b"%PDF-1.4")
    theirs.write_bytes(b"my notes")

    check_free(ours)
    for path in (theirs, tmp_path):
        with pytest.raises(NotUnderstood, match="is there already and is no PDF"):
            check_free(path)


@pytest.mark.parametrize(
    ("words", "name"),
    [
        (("Q-1", "Q/2"), "Q-1-Q_2"),
        (("harvest", ""), "harvest"),
        (("../secret",), "_secret"),
        (("a b",), "a_b"),
        (("x" * 300,), "x" * 80),
        (("",), "paper"),
    ],
)
def test_a_code_becomes_a_name_that_every_system_takes(words, name):
    assert file_name(*words) == name
