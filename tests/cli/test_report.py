"""`report`: the list, one, all of them, the page of a tag, a grower's own, and the pack."""

import pytest
from pypdf import PdfReader

PERIOD = ("--from", "2026-03-01", "--until", "2026-03-31")


def _text(path) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(path).pages).split())


def test_alone_it_lists_the_reports_with_their_titles(lotwalk):
    done = lotwalk("report")
    assert done.status == 0
    for words in ("cold-storage", "Cold storage log", "water-source", "Water source", "crosswalk", "gaps"):
        assert words in done.out


def test_a_report_is_written_to_the_file_named(ledger, lotwalk, tmp_path):
    done = lotwalk("report", "harvest", *PERIOD, "-o", tmp_path / "h.pdf")
    assert done.status == 0
    assert "h.pdf: Harvest log, " in done.out
    assert "Harvest log" in _text(tmp_path / "h.pdf")


def test_letter_where_the_farm_measures_so_and_a4_elsewhere(ledger, lotwalk, tmp_path):
    lotwalk("report", "training")
    lotwalk("report", "training", "--page", "letter", "-o", "other.pdf")
    boxes = [PdfReader(tmp_path / name).pages[0].mediabox for name in ("training.pdf", "other.pdf")]
    assert [round(float(box.width)) for box in boxes] == [595, 612]


def test_all_go_into_a_folder(ledger, lotwalk, tmp_path):
    done = lotwalk("report", "all", *PERIOD, "-o", tmp_path / "logs")
    assert (done.status, done.err) == (0, "")
    written = {path.name for path in (tmp_path / "logs").iterdir()}
    assert {"harvest.pdf", "water-tests.pdf", "reviews.pdf", "crosswalk.pdf", "gaps.pdf"} <= written
    assert len(done.lines) == len(written)


def test_all_writes_nothing_where_a_file_stands_that_is_no_pdf(ledger, lotwalk, tmp_path):
    (tmp_path / "logs").mkdir()
    (tmp_path / "logs" / "training.pdf").write_text("mine", "utf-8")
    done = lotwalk("report", "all", "-o", tmp_path / "logs")
    assert done.status == 2
    assert "training.pdf is there already and is no PDF" in done.err
    assert [path.name for path in (tmp_path / "logs").iterdir()] == ["training.pdf"]


def test_the_page_of_a_tag_is_chosen_by_what_it_is(ledger, lotwalk, tmp_path):
    found = {}
    for code in ("S-1", "M-001", "MAINS"):
        done = lotwalk("report", "tag", code, "-o", tmp_path / f"{code}.pdf")
        assert done.status == 0, done.err
        found[code] = _text(tmp_path / f"{code}.pdf")
    assert "Lot history: S-1" in found["S-1"]
    assert "Item history: M-001" in found["M-001"]
    assert "Water source: MAINS" in found["MAINS"]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["report", "tag", "NOBODY"], "the book has no NOBODY"),
        (["report", "tag", "TO"], "TO is a person"),
        (["report", "item-history"], "printed for one thing"),
        (["report", "item-history", "S-1"], "S-1 is a seed lot"),
        (["report", "harvest", "S-1"], "not printed for one thing"),
        (["report", "harvst"], "there is no report harvst"),
        (["report", "harvest", "--page", "A0"], "A4 or Letter"),
        (["report", "harvest", "--from", "2026-04-01", "--until", "2026-03-01"], "ends before it starts"),
        (["report", "harvest", "--reports", "nowhere"], "nowhere"),
    ],
)
def test_what_cannot_be_printed_is_told(ledger, lotwalk, tmp_path, arguments, words):
    done = lotwalk(*arguments)
    assert (done.status, done.out) == (2, "")
    assert words in done.err
    assert not list(tmp_path.glob("*.pdf"))


def test_a_folder_of_ones_own_goes_before_what_ships(ledger, lotwalk, tmp_path):
    own = tmp_path / "own"
    own.mkdir()
    (own / "training.yaml").write_text("based_on: training\ntitle: Schulung\nlanguage: de\n", "utf-8")
    (own / "mats.yaml").write_text("based_on: sanitising\ntitle: Our mats\n", "utf-8")
    listed = lotwalk("report", "--reports", own).out
    assert "Schulung" in listed
    assert "Our mats" in listed
    assert lotwalk("report", "training", "--reports", own).status == 0
    assert "Schulung" in _text(tmp_path / "training.pdf")
    done = lotwalk("report", "all", "--reports", own, "-o", "logs")
    assert "Our mats" in done.out


def test_a_kind_of_ones_own_prints_without_a_report(ledger, lotwalk, tmp_path):
    kinds = tmp_path / "kinds"
    kinds.mkdir()
    (kinds / "light-check.yaml").write_text(
        "$schema: https://json-schema.org/draft/2020-12/schema\n$id: light-check\ntitle: Light check\n"
        "description: Lamps looked at.\n$ref: common.yaml\nunevaluatedProperties: false\nrequired: [seen]\n"
        "x-log: [at, seen, by]\nproperties:\n  seen: {title: Seen, description: What, $ref: common.yaml#/$defs/text}\n",
        "utf-8",
    )
    start = ("--kinds", kinds)
    at = ("--at", "2026-03-10 09:00", "--by", "TO")
    assert lotwalk(*start, "record", "light-check", *at, "--seen", "two lamps dim").status == 0
    assert lotwalk(*start, "report", "light-check").status == 0
    assert "two lamps dim" in _text(tmp_path / "light-check.pdf")
    lotwalk(*start, "report", "all", "-o", "logs")
    assert "two lamps dim" in _text(tmp_path / "logs" / "light-check.pdf")


def test_the_pack_is_one_file(ledger, lotwalk, tmp_path):
    done = lotwalk("report", "pack", *PERIOD, "-o", tmp_path / "pack.pdf")
    assert done.status == 0
    assert "pack.pdf: Inspection pack, " in done.out
    assert "Who answers" in PdfReader(tmp_path / "pack.pdf").pages[0].extract_text()
    assert sorted(path.name for path in tmp_path.glob("*.p*")) == ["pack.pdf"]
