"""`load`: whole sheets, all or nothing."""

import pytest

FIVE_MISTAKES = """\
- kind: washing
  at: 2026-03-12 09:00
  by: TO
  items: M-001, M-999
  method: brushed
- kind: washin
  at: 2026-03-12 09:00
  by: TO
- kind: harvest
  at: 2026-03-12 9:00
  by: TO
  lot: H-8
  from: T-1
  amount: 1 kg
  cut: above the medium
- kind: seed-receipt
  at: 2026-03-12 10:00
  by: TO
  lot: S-8
  crop: pea
  supplier: SEEDCO
  amount: 12
- kind: person
  at: 2026-03-12
  by: TO
  code: TO
  name: Tom
"""
GOOD = "- {kind: washing, at: 2026-03-12 09:00, by: TO, items: M-004, method: brushed}\n"


@pytest.fixture
def sheet(tmp_path):
    def write(text, name="sheet.yaml"):
        (tmp_path / name).write_text(text, encoding="utf-8")
        return name

    return write


def test_five_mistakes_give_five_messages_with_their_lines_and_change_nothing(lotwalk, ledger, sheet):
    before = lotwalk("verify").out
    done = lotwalk("load", sheet(FIVE_MISTAKES))
    assert (done.status, done.out) == (2, "")
    told = done.err.splitlines()
    assert [line.split(": ")[0] for line in told] == [f"sheet.yaml:{number}" for number in (4, 6, 10, 22, 26)]
    for line, words in zip(
        told, ("M-999", "'washin'", "one digit", "no unit", "TO is already in the book"), strict=True
    ):
        assert words in line
        assert "expected" in line
    assert lotwalk("verify").out == before


def test_it_says_what_was_loaded(lotwalk, ledger, sheet):
    done = lotwalk("load", sheet(GOOD))
    assert (done.status, done.err) == (0, "")
    assert done.lines == ["sheet.yaml: 1 entry, E24"]


def test_sheets_go_in_one_after_another_each_whole_or_not_at_all(lotwalk, ledger, sheet):
    first, bad = sheet(GOOD, "first.yaml"), sheet(GOOD.replace("M-004", "M-999"), "bad.yaml")
    after = sheet(GOOD.replace("M-004", "M-003"), "after.yaml")
    done = lotwalk("load", first, bad, after)
    assert done.status == 2
    assert done.lines == ["first.yaml: 1 entry, E24"]
    assert "bad.yaml:1: items: M-999" in done.err
    assert lotwalk("show", "E25").status == 2


def test_a_later_sheet_may_name_what_an_earlier_one_makes(lotwalk, ledger, sheet):
    first = sheet("- {kind: person, at: 2026-03-12, by: AK, code: AK, name: Ada}\n", "first.yaml")
    assert lotwalk("load", first, sheet(GOOD.replace("by: TO", "by: AK"))).status == 0


def test_the_same_sheet_goes_in_once(lotwalk, ledger, sheet):
    name = sheet(GOOD)
    assert lotwalk("load", name).status == 0
    done = lotwalk("load", name)
    assert done.status == 2
    assert "this sheet is already in the book" in done.err


def test_what_is_alike_goes_in_when_it_is_said_again(lotwalk, ledger, sheet):
    assert lotwalk("load", sheet(GOOD)).status == 0
    alike = sheet(GOOD + GOOD.replace("09:00", "09:30"), "more.yaml")
    assert "more.yaml:1: this washing is already in the book as E24" in lotwalk("load", alike).err
    assert lotwalk("load", alike, "--again").status == 0


def test_each_verdict_that_failed_is_told_and_no_other(lotwalk, ledger, sheet):
    dips = (
        "- {kind: sanitising, at: 2026-03-10 12:00, by: TO, items: M-001, solution: SOL-1, reading: 30 ppm,\n"
        "   contact: 2 min, washed: yes, temperature: 20 degC}\n"
        "- {kind: sanitising, at: 2026-03-10 13:00, by: TO, items: M-001, solution: SOL-1, reading: 110 ppm,\n"
        "   contact: 2 min, washed: yes, temperature: 20 degC}\n"
    )
    done = lotwalk("load", sheet(dips))
    assert done.status == 0
    assert "  E24, sanitising, 2026-03-10 12:00:" in done.lines
    assert "Does NOT count as clean: M-001 (1)" in done.lines
    assert "30 ppm" in done.out
    assert "E25, sanitising" not in done.out


def test_attached_files_are_found_beside_the_sheet(lotwalk, ledger, tmp_path):
    (tmp_path / "week").mkdir()
    (tmp_path / "week" / "report.pdf").write_bytes(b"%PDF-1.4 a paper")
    (tmp_path / "week" / "sheet.yaml").write_text(GOOD.replace("}", ", files: report.pdf}"))
    assert lotwalk("load", "week/sheet.yaml").status == 0
    (kept,) = lotwalk("show", "E24", "--format", "json").json["files"]
    assert (kept["name"], kept["type"]) == ("report.pdf", "application/pdf")


def test_no_progress_bar_stands_in_a_pipe(ledger, sheet, shell):
    done = shell("load", sheet(GOOD))
    assert (done.status, done.err) == (0, "")
