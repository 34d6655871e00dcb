"""`amend` and `void`: the original stays, with who changed it and why."""

import pytest

WHY = ("--because", "misread the strip", "--by", "TO")


def test_an_amendment_says_what_it_was_and_why(lotwalk, ledger):
    done = lotwalk("amend", "E19", "--set", "reading=40 ppm", *WHY)
    assert (done.status, done.err) == (0, "")
    assert "Does NOT count as clean: M-001..M-003 (3)" in done.lines
    entry = lotwalk("show", "E19", "--format", "json").json
    assert entry["fields"]["reading"] == "40 ppm"
    assert entry["amends"] == {"number": 19, "because": "misread the strip", "by": ["TO"], "evidence": []}
    assert [one["fields"]["reading"] for one in entry["versions"]] == ["110 ppm", "40 ppm"]
    assert "110 ppm  ->  40 ppm" in lotwalk("show", "E19").out


def test_a_field_can_be_taken_away_and_rows_replaced(lotwalk, ledger):
    done = lotwalk(
        "amend", "e16", "--set", "from=batch=T-1; trays=1", "--set", "from=T-2 1", "--set", "note=both", *WHY
    )
    assert done.status == 0, done.err
    fields = lotwalk("show", "E16", "--format", "json").json["fields"]
    assert fields["from"] == [{"batch": "T-1", "trays": "1"}, "T-2 1"]
    assert lotwalk("amend", "E16", "--remove", "note", *WHY).status == 0
    assert "note" not in lotwalk("show", "E16", "--format", "json").json["fields"]


def test_time_and_people_are_amended_like_any_field(lotwalk, ledger):
    assert lotwalk("amend", "E17", "--set", "at=2026-03-10 10:05", *WHY).status == 0
    assert lotwalk("show", "E17", "--format", "json").json["at"] == "2026-03-10 10:05"


def test_files_can_be_attached_later(lotwalk, ledger, tmp_path):
    (tmp_path / "strip.png").write_bytes(b"\x89PNG\r\n\x1a\n a picture")
    assert lotwalk("amend", "E19", "--set", "files=strip.png", *WHY).status == 0
    assert [file["name"] for file in lotwalk("show", "E19", "--format", "json").json["files"]] == ["strip.png"]
    assert lotwalk("amend", "E19", "--set", "note=kept", *WHY).status == 0
    assert [file["name"] for file in lotwalk("show", "E19", "--format", "json").json["files"]] == ["strip.png"]


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["E19", "--set", "reading=40 ppm", "--by", "TO"], "it is not said why"),
        (["E19", "--set", "reading=40 ppm", "--because", "x"], "it is not said who"),
        (["E19", "--set", "reading=40 ppm", "--because", "x", "--by", "NOBODY"], "NOBODY is not a person"),
        (["E19", "--set", "reading=110 ppm", *WHY], "E19 already says so"),
        (["E19", *WHY], "nothing is changed"),
        (["E19", "--set", "reding=40 ppm", *WHY], "there is no field `reding`"),
        (["E19", "--set", "reading", *WHY], "`reading` is not a change"),
        (["E19", "--set", "ph=7", "--set", "ph=8", *WHY], "`ph` is set twice"),
        (["E19", "--set", "ph=7", "--remove", "ph", *WHY], "both set and removed"),
        (["E19", "--set", "reading=40", *WHY], "`40` has no unit"),
        (["E19", "--set", "items=M-999", *WHY], "M-999 is not in the book"),
        (["E19", "--set", "files=gone.pdf", *WHY], "gone.pdf cannot be read"),
        (["E99", "--set", "ph=7", *WHY], "there is no entry E99"),
        (["E1", "--set", "name=New", *WHY], "E1 holds the farm's settings"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_what_cannot_be_amended_so_is_told_and_nothing_is_written(lotwalk, ledger, arguments, told):
    done = lotwalk("amend", *arguments)
    assert (done.status, done.out) == (2, "")
    assert told in done.err
    assert lotwalk("verify", "--format", "json").json["entries"] == 23


def test_a_void_entry_stays_readable_and_its_lot_is_marked(lotwalk, ledger):
    assert lotwalk("void", "E21", "--because", "typed twice", "--by", "TO").status == 0
    told = lotwalk("show", "D-1").out
    assert "D-1: delivery, VOID" in told
    assert "E21 made it once, and is void: typed twice (TO)" in told
    assert lotwalk("show", "E21", "--format", "json").json["void"] is True
    again = lotwalk("void", "E21", "--because", "again", "--by", "TO")
    assert again.status == 2
    assert "E21 is void" in again.err
