"""Photographs and papers that go with an entry: known by their bytes, kept once, never opened."""

import pytest
from tests.ledger.farm import current, everything, number, records, refused

from lotwalk.errors import Refused
from lotwalk.ledger.verify.entries import verify

PDF, PNG, JPEG = b"%PDF-1.7 paper", b"\x89PNG\r\n\x1a\n picture", b"\xff\xd8\xff photograph"
WASHING = {"at": "2026-03-02", "by": "TO", "items": "M-01", "method": "brushed"}


def test_files_are_kept_with_their_names_and_types(book, tmp_path):
    for name, content in (("a.pdf", PDF), ("b.png", PNG), ("c.jpeg", JPEG)):
        (tmp_path / name).write_bytes(content)
    receipt = book.record("washing", **WASHING, files=["a.pdf", "b.png", "c.jpeg"], folder=tmp_path)
    kept = [(file.name, file.media_type) for file in current(book, receipt.name).files]
    assert kept == [("a.pdf", "application/pdf"), ("b.png", "image/png"), ("c.jpeg", "image/jpeg")]
    assert {PDF, PNG, JPEG} <= {bytes(row[3]) for row in everything(book)["attachment"]}
    assert len(records(book)[-1]["files"]) == 3


def test_a_file_that_comes_twice_is_kept_once(book, tmp_path):
    """Under the name that it had first; each entry says what it called it."""
    (tmp_path / "first.pdf").write_bytes(PDF)
    (tmp_path / "second.pdf").write_bytes(PDF)
    book.record_all(
        [
            {"kind": "washing", **WASHING, "files": "first.pdf"},
            {"kind": "washing", **WASHING, "items": "M-02", "files": "second.pdf"},
        ],
        folder=tmp_path,
    )
    assert [record["files"][0]["name"] for record in records(book)[-2:]] == ["first.pdf", "second.pdf"]
    assert [row[1] for row in everything(book)["attachment"] if row[2] == "application/pdf"] == ["first.pdf"]
    with book.ledger.reading() as connection:
        assert verify(connection, book.ledger.kinds).why == ""


def test_a_name_cannot_lead_out_of_a_folder(lite, tmp_path):
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / " ..a\\b\u202e.pdf").write_bytes(PDF)
    receipt = lite.record("washing", **WASHING, files="in/ ..a\\b\u202e.pdf", folder=tmp_path)
    (name,) = (file.name for file in current(lite, receipt.name).files)
    assert not set(name) & {"/", "\\", "\u202e"}
    assert not name.startswith(".")


def largest_file(book, folder, megabytes):
    """Let the farm go by rules of its own that name the largest file."""
    rules = folder / "ours.yaml"
    rules.write_text(
        "title: Ours\nfor: us\nbased_on: general\n"
        f"papers:\n  largest_file: {{value: {megabytes}, confidence: practice}}\n"
    )
    with book.ledger.reading() as connection:
        farm = book.ledger.settings(connection)
    settings = {"name": farm.name, "location": farm.location, "timezone": farm.zone.key, "measures": farm.measures}
    book.record_all([{"kind": "farm", "at": "2026-03-02", **settings, "rules": str(rules)}])


def test_the_rule_set_says_how_large_a_file_may_be(lite, tmp_path):
    (tmp_path / "scan.pdf").write_bytes(PDF.ljust(20_000_001))
    with pytest.raises(Refused, match="has 20,000,001 bytes; expected at most 20,000,000"):
        lite.record("washing", **WASHING, files="scan.pdf", folder=tmp_path)
    largest_file(lite, tmp_path, '"21"')
    receipt = lite.record("washing", **WASHING, files="scan.pdf", folder=tmp_path)
    assert [file.name for file in current(lite, receipt.name).files] == ["scan.pdf"]


def test_without_a_rule_the_ledger_has_a_limit_of_its_own(lite, tmp_path):
    largest_file(lite, tmp_path, "none")
    (tmp_path / "scan.pdf").write_bytes(PDF.ljust(20_000_001))
    with pytest.raises(Refused, match="has 20,000,001 bytes"):
        lite.record("washing", **WASHING, files="scan.pdf", folder=tmp_path)


@pytest.mark.parametrize(
    ("name", "problem"),
    [
        ("none.pdf", "none.pdf cannot be read; expected the name of a file beside the sheet"),
        ("folder", "folder is not a file; expected a PDF, PNG or JPEG file"),
        ("page.html", "page.html is neither PDF, PNG nor JPEG; expected a file of one of these"),
        ("large.pdf", "large.pdf has 1,001 bytes; expected at most 1,000"),
    ],
)
def test_a_file_that_cannot_be_kept_is_told_with_its_line(lite, tmp_path, name, problem):
    largest_file(lite, tmp_path, '"0.001"')
    (tmp_path / "folder").mkdir()
    (tmp_path / "page.html").write_text("<html>")
    (tmp_path / "large.pdf").write_bytes(PDF.ljust(1_001))
    found = refused(
        lite,
        f"""
        - kind: washing
          at: 2026-03-02
          by: ZZ
          items: M-01
          method: brushed
          files: {name}
        """,
        folder=tmp_path,
    )
    assert any(told.startswith("sheet.yaml:1: files: ") and told.endswith(problem) for told in found)


def test_a_file_of_an_amendment_is_told_too(lite):
    receipt = lite.record("washing", **WASHING)
    with pytest.raises(Refused, match=r"files: none\.pdf cannot be read"):
        lite.amend(number(receipt), {"files": "none.pdf"}, because="a slip", by=["TO"])


@pytest.mark.parametrize("absolute", [False, True])
def test_a_sheet_brings_in_no_file_from_outside_its_folder(lite, tmp_path, absolute):
    """A sheet may come from somebody else; what a person types at the command line may stand anywhere."""
    (tmp_path / "sheets").mkdir()
    (tmp_path / "secret.pdf").write_bytes(PDF)
    name = str(tmp_path / "secret.pdf") if absolute else "../secret.pdf"
    sheet = tmp_path / "sheets" / "sheet.yaml"
    sheet.write_text(f"- {{kind: washing, at: 2026-03-02, by: TO, items: M-01, method: brushed, files: '{name}'}}\n")
    with pytest.raises(Refused, match=r"sheet\.yaml:1: files: .*secret\.pdf leads out of the sheet's folder"):
        lite.load(sheet)
    assert lite.record("washing", **WASHING, files=name, folder=sheet.parent).name


def test_a_link_that_leads_out_of_the_folder_is_no_way_round(lite, tmp_path):
    (tmp_path / "sheets").mkdir()
    (tmp_path / "secret.pdf").write_bytes(PDF)
    (tmp_path / "sheets" / "paper.pdf").symlink_to(tmp_path / "secret.pdf")
    sheet = tmp_path / "sheets" / "sheet.yaml"
    sheet.write_text("- {kind: washing, at: 2026-03-02, by: TO, items: M-01, method: brushed, files: paper.pdf}\n")
    with pytest.raises(Refused, match="leads out of the sheet's folder"):
        lite.load(sheet)
