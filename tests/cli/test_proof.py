"""`proof`: what a buyer gets, against the head on the paper that they hold."""

import json
import re
import sqlite3
from pathlib import Path

from pypdf import PdfReader
from tests.ledger.stranger import proves, run


def _printed_head(path):
    """The head on each page of a paper, as it stands there."""
    heads = {
        re.search(r"Ledger head: size \d+, root [0-9a-f]{64}", page.extract_text())[0] for page in PdfReader(path).pages
    }
    (head,) = heads
    return head


def test_the_head_on_a_buyers_paper_is_what_a_later_proof_is_against(lotwalk, ledger, tmp_path):
    """The paper of D-1 left the farm; then the book went on. The proof is against the words on the paper."""
    assert lotwalk("report", "trace", "D-1", "--out", "paper.pdf").status == 0
    head = _printed_head("paper.pdf")
    assert lotwalk("record", "washing", "--items", "M-001", "--method", "brushed", "--by", "TO").status == 0
    done = lotwalk("proof", "D-1", "--for", "CAFE", "--against", head, "--out", "proof.json")
    # The delivery (E21), and the complaint about it (E23), which somebody described in their own words.
    assert (done.status, done.out, done.err) == (0, "proof.json: 2 entries, of 1 only the place and the hash.\n", "")
    size, root = re.fullmatch(r"Ledger head: size (\d+), root (.*)", head).groups()
    proof = json.loads(Path("proof.json").read_text("utf-8"))
    assert [one["entry"] for one in proof["entries"] if one["record"]] == ["E21"]
    status, said = run(tmp_path, proof, f"{size}:{root}")
    assert (status, said) == (0, "Proved: 2 entries stand in the log; 2 of them stood in it by the head given.\n")


def test_without_a_head_the_proof_says_that_it_begins_today(lotwalk, ledger):
    done = lotwalk("proof", "E21")
    head = "{size}:{root}".format(**done.json["tree"])
    assert done.json["against"] is None
    assert f"begins with it: {head}\n" in done.err
    assert head in lotwalk("verify").out
    assert proves(done.json, head)


def test_a_head_that_is_none_of_this_log_is_bad_news(lotwalk, ledger):
    root = lotwalk("verify", "--format", "json").json["head"]["root"]
    for head, word in ((f"23:{'0' * 64}", "none of this log"), (f"25:{root}", "2 at the end are missing")):
        done = lotwalk("proof", "D-1", "--against", head, "--out", "proof.json")
        assert (done.status, done.out) == (1, "")
        assert word in done.err
        assert not Path("proof.json").exists()


def test_what_is_not_understood_is_told_and_nothing_is_written(lotwalk, ledger):
    Path("farm.json").write_text("{}", "utf-8")
    for arguments, word in (
        (["D-9"], "D-9 is not in the book"),
        (["E99"], "there is no entry E99"),
        (["D-1", "--against", "23"], "is not a head"),
        (["D-1", "--for", "NOBODY"], "NOBODY"),
        (["D-1", "--out", "farm.json"], "is no proof"),
    ):
        done = lotwalk("proof", *arguments)
        assert (done.status, done.out) == (2, ""), arguments
        assert word in done.err, arguments
    assert Path("farm.json").read_text("utf-8") == "{}"
    assert lotwalk("proof", "D-1", "--out", "proof.json").status == 0
    assert lotwalk("proof", "D-1", "--out", "proof.json").status == 0, "an earlier proof is written over"


def test_a_thing_is_found_by_what_a_paper_says(lotwalk, ledger):
    done = lotwalk("proof", "INV 77")
    assert [one["entry"] for one in done.json["entries"]] == ["E21", "E23"]
    assert "INV 77 is no code. It is read as D-1" in done.err


def test_nothing_is_proved_from_a_log_that_was_changed(lotwalk, ledger):
    """Peaks in the middle of the log are edited: a path that rests on them leads to no root."""
    with sqlite3.connect(ledger) as file:
        file.execute("UPDATE entry SET peaks = zeroblob(length(peaks)) WHERE seq BETWEEN 8 AND 15")
    file.close()
    done = lotwalk("proof", "E20")
    assert (done.status, done.out) == (1, "")
    assert "lotwalk verify" in done.err
