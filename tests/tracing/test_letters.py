"""Letters of a recall: each names what one customer got, and nothing and nobody else."""

import json
import re
from pathlib import Path

import pytest
import yaml
from click.testing import CliRunner
from tests.tracing.conftest import Read

from lotwalk.cli.commands.printing.letter_files import places
from lotwalk.cli.main import program

ON = "2026-03-01"
STALL = "STALL"
"""The one customer of the sample farm that is a market (samples/00-register.yaml)."""


def _customers():
    """The customers of the sample farm as its own sheet registers them."""
    sheet = Path(__file__).parents[2] / "samples" / "00-register.yaml"
    entries = yaml.safe_load(sheet.read_text("utf-8"))
    return {one["code"]: one for one in entries if one.get("kind") == "customer"}


def _run(sample, *arguments):
    done = CliRunner().invoke(program, ["--ledger", str(sample), *map(str, arguments)])
    assert done.exit_code == 0, (done.output, done.exception)
    return done


@pytest.fixture(scope="module", params=["Q-1", "Q-2", "Q-3"])
def handed(request, sample, tmp_path_factory):
    """The letters of a recall that calls every customer, by their files' names; and the answer as JSON."""
    folder = tmp_path_factory.mktemp("letters")
    asked = (request.param, "--on", ON, "--level", "5")
    _run(sample, "report", "recall", *asked, "-o", folder / "ours.pdf", "--letters", folder / "theirs")
    told = _run(sample, "recall", *asked, "--format", "json").stdout
    files = {path.stem: Read(path.read_bytes()) for path in (folder / "theirs").iterdir()}
    return files, json.loads(told)


def _everything(read):
    """All text of a file: on its pages, in its bookmarks, and in the description of the file."""
    about = read.reader.metadata or {}
    return " ".join([read.text, *map(str, about.values()), *map(str, read.bookmarks())])


def test_every_customer_to_call_has_a_letter_and_the_stall_a_notice_too(handed):
    files, answer = handed
    called = {one["customer"] for one in answer["first"]["calls"]}
    assert called == _customers().keys()
    assert files.keys() == called | {f"{STALL}-notice"}


def test_no_letter_names_another_customer_or_anything_that_another_got(handed):
    files, answer = handed
    customers = _customers()
    got = {one["customer"]: one for one in answer["first"]["calls"]}
    lots = {lot for one in got.values() for lot in one["lots"]}
    deliveries = {code for one in got.values() for code in one["deliveries"]}
    looked = 0
    for name, read in files.items():
        own, text = name.removesuffix("-notice"), _everything(read)
        words = set(re.findall(r"[\w-]+", text))
        assert not words & (lots - set(got[own]["lots"])), name
        assert not words & (deliveries - set(got[own]["deliveries"])), name
        for code, other in customers.items():
            if code != own:
                private = [other["name"], *(str(other[key]) for key in ("contact", "phone", "email") if key in other)]
                assert code not in words, (name, code)
                assert not [one for one in private if one in text], (name, code)
                looked += 1
    assert looked == len(files) * (len(customers) - 1)


def test_no_letter_tells_causes_tests_or_what_the_book_says_of_itself(handed):
    files, answer = handed
    sold = {lot for one in answer["first"]["calls"] for lot in one["lots"]}
    causes = {one["code"] for one in answer["candidates"]} - sold
    assert len(causes) > 50
    for name, read in files.items():
        text = _everything(read)
        assert not set(re.findall(r"[\w-]+", text)) & causes, name
        for word in ("Salmonella", "root ", "candidate", "Q-1", "Q-2", "Q-3", "kept away", "level "):
            assert word.casefold() not in text.casefold(), (name, word)


def test_a_letter_names_each_lot_with_all_by_which_it_is_found(handed):
    files, answer = handed
    bags = {one["lot"]: one for one in answer["packages"]}
    for one in answer["first"]["calls"]:
        told = files[one["customer"]].text
        for lot in one["lots"]:
            bag = bags.get(lot, {})
            for words in (lot, bag.get("best_before"), bag.get("printed")):
                assert not words or words in told, (one["customer"], lot)


def test_a_letter_holds_the_elements_of_a_recall_message(handed):
    """21 CFR 7.49(b) and (c)(1): stop at once; tell those it was passed on to; what it is, so that it is identified;
    the reason and the hazard; what to do with it; a ready means to answer."""
    files, _ = handed
    for name, read in files.items():
        if not name.endswith("-notice"):
            for words in (
                "FOOD RECALL", "URGENT", "We recall the following, which we delivered to you",
                "The reason, and the hazard", "Stop using, selling and serving it now", "tell them today", "destroy it",
                "Answer at once", "Call us: Ilse Brandvold, 555-0100", "We passed it on to",
            ):  # fmt: skip
                assert words in read.text, (name, words)


def test_the_notice_speaks_to_people_who_bought_it(handed):
    files, answer = handed
    told = files[f"{STALL}-notice"].text
    stall = next(one for one in answer["first"]["calls"] if one["customer"] == STALL)
    for words in ("please check what you bought", "Sold at Saturday market stall", "Do not eat it", *stall["lots"]):
        assert words in told
    assert "Call us: Ilse Brandvold, 555-0100" in told


def test_each_page_of_a_letter_is_numbered(handed):
    files, _ = handed
    for name, read in files.items():
        for number, page in enumerate(read.pages, 1):
            assert f"Page {number} of {len(read.pages)}" in page, name
            assert "Wrenfallow Greens" in page, name
    assert max(len(read.pages) for read in files.values()) > 1, "a long letter goes on over pages"


def test_the_reason_that_was_agreed_stands_in_every_letter(sample, tmp_path):
    reason = "It may hold germs that make people ill."
    _run(sample, "report", "recall", "Q-1", "--reason", reason, "-o", tmp_path / "ours.pdf")
    files = list((tmp_path / "ours-letters").iterdir())
    assert len(files) == len(_customers()) + 1
    for path in files:
        assert f"as agreed with the regulator: {reason}" in Read(path.read_bytes()).text


def test_letters_of_an_earlier_recall_are_pointed_out(sample, tmp_path):
    folder = tmp_path / "theirs"
    folder.mkdir()
    (folder / "GONE.pdf").write_bytes(b"%PDF-1.4 older")
    done = _run(sample, "report", "recall", "Q-1", "-o", tmp_path / "ours.pdf", "--letters", folder)
    assert "Not of this recall as it stands now, so hand none of it over: GONE.pdf" in done.stderr
    assert (folder / "GONE.pdf").exists()


def test_a_letter_takes_the_place_of_no_other_file(sample, tmp_path):
    folder = tmp_path / "ours-letters"
    folder.mkdir()
    (folder / "MARROW.pdf").write_text("my notes")
    asked = ["--ledger", str(sample), "report", "recall", "Q-1", "-o", str(tmp_path / "ours.pdf")]
    done = CliRunner().invoke(program, asked)
    assert "MARROW.pdf is there already and is no PDF" in str(done.exception)
    assert not (tmp_path / "ours.pdf").exists(), "nothing is written"
    assert [path.name for path in folder.iterdir()] == ["MARROW.pdf"]


def _refused(sample, *arguments):
    done = CliRunner().invoke(program, ["--ledger", str(sample), "report", "recall", *map(str, arguments)])
    assert done.exit_code != 0
    return str(done.exception)


def test_no_letter_is_written_over_the_report(sample, tmp_path):
    """MARROW is a customer, so its letter would have the report's name."""
    out = tmp_path / "MARROW.pdf"
    told = _refused(sample, "Q-1", "-o", out, "--letters", tmp_path)
    assert "MARROW.pdf is the report's own file" in told
    assert list(tmp_path.iterdir()) == [], "nothing is written"
    # A file system may tell no capitals from small letters.
    assert "is the report's own file" in _refused(sample, "Q-1", "-o", tmp_path / "marrow.pdf", "--letters", tmp_path)


def test_the_report_among_the_letters_is_not_called_an_old_letter(sample, tmp_path):
    done = _run(sample, "report", "recall", "Q-1", "-o", tmp_path / "ours.pdf", "--letters", tmp_path)
    assert "hand none of it over" not in done.stderr
    # It names every customer: it must not be handed over with the folder.
    assert "ours.pdf stands among the letters and names every customer: do not hand it over" in done.stderr


def test_a_file_where_the_letters_folder_should_be_is_refused_before_anything_is_written(sample, tmp_path):
    (tmp_path / "theirs").write_text("my notes")
    told = _refused(sample, "Q-1", "-o", tmp_path / "ours.pdf", "--letters", tmp_path / "theirs")
    assert "theirs is no folder" in told
    assert [path.name for path in tmp_path.iterdir()] == ["theirs"]


def test_letters_whose_names_differ_in_capitals_only_are_different_files():
    found = [path.name for path in places(Path("theirs"), ["STALL-notice", "STALL-NOTICE", "CAFE", "cafe"])]
    assert found == ["STALL-notice.pdf", "STALL-NOTICE-2.pdf", "CAFE.pdf", "cafe-2.pdf"]
