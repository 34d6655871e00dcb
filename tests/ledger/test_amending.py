"""Correcting an entry: the original stays readable, and what the book says from then on follows the correction."""

import pytest
from tests.ledger.farm import current, everything, history, load, number, refused, uses

from lotwalk.errors import Refused
from lotwalk.ledger.verify.entries import verify

WASHING = "- {kind: washing, at: 2026-03-02 09:00, by: TO, items: M-01..M-03, method: brushed, note: first}\n"


def amended(book, entry: str, **changes):
    return book.amend(int(entry[1:]), changes, because="a slip", by=["AK"])


def not_amended(book, entry: str, changes: dict, because: str = "a slip", by=("AK",)) -> str:
    """Why an amendment is refused. Nothing at all may have been written."""
    before = everything(book)
    with pytest.raises(Refused) as caught:
        book.amend(int(entry[1:]), changes, because=because, by=by)
    assert everything(book) == before
    return str(caught.value)


def test_the_original_stays_readable_and_the_newest_counts(book):
    (washing,) = load(book, WASHING)
    changes = {"items": "M-01..M-02", "note": None}
    (receipt,) = book.amend(number(washing), changes, because="M-03 was left out", by=["AK"])
    assert receipt.name == washing.name
    first, second = history(book, washing.name)
    assert (first.fields["items"], first.fields["note"]) == ("M-01..M-03", "first")
    assert second.fields["items"] == "M-01..M-02"
    assert "note" not in second.fields
    assert (second.because, second.amended_by, second.by) == ("M-03 was left out", ("AK",), ("TO",))
    assert (second.amends, second.number, second.seq) == (first.seq, first.seq, first.seq + 1)
    assert uses(book, washing.name) == {"by TO", "touched M-01", "touched M-02"}


def test_an_entry_is_amended_again_and_again_under_its_first_name(book):
    (washing,) = load(book, WASHING)
    for note in ("second", "third", "fourth"):
        assert amended(book, washing.name, note=note)[0].name == washing.name
    found = history(book, washing.name)
    assert [version.fields["note"] for version in found] == ["first", "second", "third", "fourth"]
    assert [version.amends for version in found[1:]] == [version.seq for version in found[:-1]]


def test_the_people_the_time_and_the_place_can_be_amended(book):
    (washing,) = load(book, WASHING)
    amended(book, washing.name, at="2026-03-02 10:00", by="AK, TO", place="WASH")
    version = current(book, washing.name)
    assert (version.at, version.by, version.place) == ("2026-03-02 10:00", ("AK", "TO"), "WASH")
    assert {"by AK", "by TO", "place WASH"} <= uses(book, washing.name)


@pytest.mark.parametrize(
    ("entry", "because", "by", "changes", "problem"),
    [
        ("E20", "", ("AK",), {"note": "x"}, "it is not said why"),
        ("E20", "  ", ("AK",), {"note": "x"}, "it is not said why"),
        ("E20", "a slip", (), {"note": "x"}, "by: it is not said who amends it"),
        ("E20", "a slip", ("ZZ",), {"note": "x"}, "by: ZZ is not a person in the book"),
        ("E20", "a slip", ("M-01",), {"note": "x"}, "by: M-01 is not a person in the book"),
        ("E99", "a slip", ("AK",), {"note": "x"}, "there is no entry E99"),
        ("E20", "a slip", ("AK",), {}, "E20 already says so"),
        ("E20", "a slip", ("AK",), {"note": "first"}, "E20 already says so"),
        ("E20", "a slip", ("AK",), {"temperature": None}, "E20 already says so"),
        ("E20", "a slip", ("AK",), {"at": "2026-03-02T09:00", "by": "to"}, "E20 already says so"),
        ("E20", "a slip", ("AK",), {"items": None}, "items: missing"),
        ("E20", "a slip", ("AK",), {"items": "M-09"}, "items: M-09 is not in the book"),
        ("E20", "a slip", ("AK",), {"at": "yesterday"}, "at: "),
        ("E20", "a slip", ("AK",), {"reading": "12 ppm"}, "there is no field `reading` in a record of kind washing"),
        ("E1", "a slip", ("AK",), {"name": "Tarn Side"}, "E1 holds the farm's settings"),
        ("E20", "a slip", ("AK",), {"kind": "contact", "note": "x"}, "kind: E20 is a washing for good"),
        ("E20", "a slip", ("A K",), {"note": "x"}, "by: A K is not a person in the book"),
        ("E20", "a slip", "AK,", {"note": "x"}, "by: a code is missing before or after a comma"),
    ],
)
def test_an_amendment_that_cannot_stand_is_refused(lite, entry, because, by, changes, problem):
    load(lite, WASHING)
    assert not_amended(lite, entry, changes, because, by).startswith(problem)


def test_an_amendment_to_what_a_value_means_already_is_none(lite):
    """Python values and text that say the same are the same."""
    (washing,) = load(
        lite, "- {kind: washing, at: 2026-03-02 09:00, by: TO, items: M-01, method: a, seen_clean: yes}\n"
    )
    assert "already says so" in not_amended(lite, washing.name, {"seen_clean": True})
    assert amended(lite, washing.name, seen_clean=False)


def test_several_things_wrong_with_an_amendment_are_told_at_once(lite):
    load(lite, WASHING)
    problems = not_amended(lite, "E20", {"note": "x"}, because="", by=()).splitlines()
    assert [problem.split(";")[0] for problem in problems] == ["it is not said why", "by: it is not said who amends it"]


def test_one_person_may_be_named_as_text(book):
    (washing,) = load(book, WASHING)
    book.amend(number(washing), {"note": "second"}, because="a slip", by="ak")
    assert current(book, washing.name).amended_by == ("AK",)


def test_the_second_of_two_who_amend_the_same_version_is_told(book):
    """Both read the entry as it was first recorded; what the first of them wrote is not lost."""
    (washing,) = load(book, WASHING)
    seen = current(book, washing.name).seq
    book.amend(number(washing), {"note": "by Ana"}, because="a slip", by=["AK"], seen=seen)
    with pytest.raises(Refused, match=f"{washing.name} was amended meanwhile by AK: a slip"):
        book.amend(number(washing), {"note": "by Tess"}, because="another slip", by=["TO"], seen=seen)
    with pytest.raises(Refused, match="was amended meanwhile"):
        book.void(number(washing), because="typed twice", by=["TO"], seen=seen)
    assert current(book, washing.name).fields["note"] == "by Ana"
    book.amend(number(washing), {"note": "both"}, because="a slip", by=["TO"], seen=seen + 1)


WATER = """
    - {kind: water-test, at: 2026-03-02 09:00, by: TO, source: WELL, e_coli: 4 MPN/100 mL}
    - {kind: water-test, at: 2026-03-04 09:00, by: TO, source: WELL, e_coli: <1 MPN/100 mL}
"""
MENDED = """
    - {kind: corrective-action, at: 2026-03-03, by: TO, about: E20, cause: a crack, action: mended, closed: 2026-03-03}
"""


def test_a_verdict_that_changed_meanwhile_is_no_amendment_by_somebody(book):
    """Tess reads the good test of 4 March, which does not open the well again: the failure of 2 March is not mended.

    Then the mending is typed in, and the book judges that test anew. Nobody has written over what she read, so her note
    goes in; of what Ana amends after that she is told.
    """
    _, good = load(book, WATER)
    seen = current(book, good.name).seq
    _, again = load(book, MENDED)
    assert (again.name, again.verdict.passed) == (good.name, ("WELL",))
    book.amend(number(good), {"note": "cold day"}, because="left out", by=["TO"], seen=seen)
    assert current(book, good.name).fields["note"] == "cold day"
    seen = current(book, good.name).seq
    book.amend(number(good), {"note": "wet day"}, because="a slip", by=["AK"], seen=seen)
    with pytest.raises(Refused, match=f"{good.name} was amended meanwhile by AK: a slip"):
        book.amend(number(good), {"note": "dry day"}, because="a slip", by=["TO"], seen=seen)


IN_ORDER = """
    in_order: yes
    entries:
    - {kind: washing, at: 2026-03-02, by: TO, items: M-01, method: brushed}
    - {kind: washing, at: 2026-03-02, by: TO, items: M-02, method: brushed}
"""


def test_an_amendment_keeps_its_line_on_the_sheet(book):
    first, _ = load(book, IN_ORDER)
    before = current(book, first.name)
    amended(book, first.name, method="scraped", at="2026-03-02")
    after = current(book, first.name)
    assert (after.sheet, after.line) == (before.sheet, before.line) == (before.sheet, 3)
    assert group_and_line(book, after.seq) == group_and_line(book, before.seq) != (0, 0)


def test_an_amendment_of_its_time_takes_it_off_the_sheet(book):
    first, _ = load(book, IN_ORDER)
    amended(book, first.name, at="2026-03-02 09:00")
    after = current(book, first.name)
    assert (after.sheet, after.line) == (None, 0)
    assert group_and_line(book, after.seq) == (0, 0)


def group_and_line(book, seq: int) -> tuple[int, int]:
    """The attested sheet and the line with which the uses of a version are stored."""
    found = {(row[5], row[6]) for row in everything(book)["use"] if row[0] >> 1 == seq}
    (one,) = found
    return one


def test_codes_can_be_taken_from_and_added_to_an_equipment_record(book):
    """E9 registers M-01 to M-06."""
    amended(book, "E9", codes="M-01..M-04, M-07")
    load(book, "- {kind: washing, at: 2026-03-02, by: TO, items: M-07, method: brushed}\n")
    (problem,) = refused(book, "- {kind: equipment, at: 2026-03-02, by: TO, codes: [M-06, M-07], type: medium}\n")
    assert problem.startswith("sheet.yaml:1: codes: M-07 is already in the book")
    load(book, "- {kind: equipment, at: 2026-03-02, by: TO, codes: M-06, type: medium}\n")
    assert not_amended(book, "E9", {"codes": "M-01..M-06"}).startswith("codes: M-06 is already in the book")


def test_a_thing_keeps_its_kind_when_its_record_is_amended(book):
    assert not_amended(book, "E9", {"type": "tray"}).startswith(
        "codes: M-01, M-02, M-03, M-04, M-05 and 1 more are already codes of a growing medium"
    )


def test_a_lot_can_be_given_another_code(book):
    (sowing,) = load(book, "- {kind: sowing, at: 2026-03-02, by: TO, batch: T-1, seed: S-1 200 g, trays: 2}\n")
    amended(book, sowing.name, batch="T-01")
    assert uses(book, sowing.name) == {"by TO", "made T-01 2 count", "took S-1 200 g"}
    load(book, "- {kind: growing-check, at: 2026-03-05, by: TO, batches: T-01, water: WELL}\n")
    load(book, "- {kind: sowing, at: 2026-03-03, by: TO, batch: T-1, seed: S-1 200 g, trays: 2}\n")


def test_the_type_of_a_thing_follows_its_record(book):
    """BLEACH, E16, was typed in as packaging: as a sanitiser it reaches the whole farm."""
    assert thing(book, "BLEACH")[5:8] == ("sanitiser", 1, 1)
    amended(book, "E16", type="packaging")
    assert thing(book, "BLEACH")[5:8] == ("packaging", 1, 0)
    amended(book, "E16", type="sanitiser")
    assert thing(book, "BLEACH")[5:8] == ("sanitiser", 1, 1)
    with book.ledger.reading() as connection:
        assert verify(connection, book.ledger.kinds).ok


def thing(book, code: str):
    (row,) = (row for row in everything(book)["thing"] if row[1] == code)
    return row


def test_what_is_made_of_a_thing_has_the_type_that_the_thing_has_now(book):
    (solution,) = load(
        book, "- {kind: solution, at: 2026-03-02, by: TO, lot: SOL-1, product: BOXES, amount: 9 boxes}\n"
    )
    assert thing(book, "SOL-1")[5] == "packaging"
    amended(book, solution.name, product="BLEACH", amount="20 mL")
    assert thing(book, "SOL-1")[5:8] == ("sanitiser", 0, 1)


def test_an_amended_entry_is_read_in_the_time_zone_and_the_measures_it_was_recorded_in(book):
    """A pint is 568 mL to a metric farm in London; the book then moves to New York, and counts in US measures."""
    (solution,) = load(
        book,
        "- {kind: solution, at: 2026-03-02 09:00, by: TO, lot: SOL-1, product: BLEACH, amount: 1 pt}\n",
    )
    before = current(book, solution.name)
    book.record(
        "farm", at="2026-03-03", name="Tarn End", location="New York", timezone="America/New_York", measures="us",
        rules="general",
    )  # fmt: skip
    for note in ("one", "two"):
        amended(book, solution.name, note=note)
        after = current(book, solution.name)
        assert (after.start, after.zone, after.measures) == (before.start, "Europe/London", "metric")
        assert "took BLEACH 568.26125 mL" in uses(book, solution.name)
    amended(book, solution.name, at="2026-03-02 10:00")
    moved = current(book, solution.name)
    assert (moved.zone, moved.start) == ("America/New_York", before.start + 6 * 3600)


def test_files_stay_until_others_are_named(book, tmp_path):
    (tmp_path / "a.pdf").write_bytes(b"%PDF-1.4 a")
    (tmp_path / "b.pdf").write_bytes(b"%PDF-1.4 b")
    receipt = book.record(
        "washing", at="2026-03-02", by="TO", items="M-01", method="brushed", files="a.pdf", folder=tmp_path
    )
    amended(book, receipt.name, method="scraped")
    assert [file.name for file in current(book, receipt.name).files] == ["a.pdf"]
    book.amend(number(receipt), {"files": ["b.pdf"]}, because="the wrong one", by=["TO"], folder=tmp_path)
    assert [file.name for file in current(book, receipt.name).files] == ["b.pdf"]
    with pytest.raises(Refused, match="already says so"):
        book.amend(number(receipt), {"files": "b.pdf"}, because="the wrong one", by=["TO"], folder=tmp_path)
    book.amend(number(receipt), {"files": None}, because="not ours", by=["TO"])
    assert current(book, receipt.name).files == ()
    assert [file.name for file in history(book, receipt.name)[0].files] == ["a.pdf"]


def test_a_unit_that_was_wrong_is_put_right_at_the_maker_first(lite):
    """H-1 was written in bunches, and so was what was thrown away of it."""
    _, harvest, disposal = load(
        lite,
        """
        - {kind: sowing, at: 2026-03-02, by: TO, batch: T-1, seed: S-1 200 g, trays: 2}
        - {kind: harvest, at: 2026-03-09, by: TO, lot: H-1, from: T-1, amount: 3 bunches, cut: with roots}
        - {kind: disposal, at: 2026-03-10, by: TO, items: H-1 1 bunch}
        """,
    )
    assert "H-1, which is kept in count" in not_amended(lite, disposal.name, {"items": "H-1 100 g"})
    amended(lite, harvest.name, amount="300 g")
    amended(lite, disposal.name, items="H-1 100 g")
    assert "made H-1 300 g" in uses(lite, harvest.name)
    assert "took H-1 100 g" in uses(lite, disposal.name)


def test_people_are_named_as_the_book_writes_them(lite):
    (washing,) = load(lite, WASHING)
    lite.amend(number(washing), {"note": "second"}, because="a slip", by="to, Ak")
    assert current(lite, washing.name).amended_by == ("TO", "AK")
