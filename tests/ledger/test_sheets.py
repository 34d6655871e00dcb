"""A sheet goes in whole or not at all, with every mistake told at once."""

import pytest
from tests.ledger.farm import current, everything, history, load, names, number, refused

from lotwalk.errors import Refused


def test_every_mistake_is_told_at_once_with_its_line_and_nothing_is_written(book):
    found = refused(
        book,
        """
        - {kind: washing, at: 2026-03-02 09:00, by: TO, items: M-01, method: brushed}
        - {kind: washing, at: 2026-03-02 09:61, by: TO, items: M-02, method: brushed}
        - kind: sowing
          at: 2026-03-02
          by: TO
          batch: E7
          seed: S-9 200 g
          trays: four
        - {kind: washin, at: 2026-03-02, by: TO, items: M-03}
        - {kind: stock-count, at: 2026-03-02, by: TO, lot: S-1, amount: 3}
        - {kind: stock-count, at: 2026-03-02, by: TO, lot: S-9, amount: 3 g}
        """,
    )
    assert [": ".join(problem.split(": ")[:2]) for problem in found] == [
        "sheet.yaml:2: at",
        "sheet.yaml:6: batch",
        "sheet.yaml:7: seed[0].lot",
        "sheet.yaml:8: trays",
        "sheet.yaml:9: kind",
        "sheet.yaml:10: amount",
        "sheet.yaml:11: lot",
    ]


def test_mistakes_in_reading_and_in_looking_up_are_told_together(book):
    found = refused(
        book,
        """
        - {kind: washing, at: 2026-03-02, by: TO, items: M-01, method: brushed, seen_clean: perhaps}
        - {kind: washing, at: 2026-03-02, by: ZZ, items: S-1, method: brushed}
        """,
    )
    assert [problem.split(";")[0] for problem in found] == [
        "sheet.yaml:1: seen_clean: `perhaps` is neither yes nor no",
        "sheet.yaml:2: by: ZZ is not in the book",
        "sheet.yaml:2: items: S-1 is a seed lot",
    ]


def test_every_unknown_code_of_a_list_is_told(book):
    (problem,) = refused(
        book,
        """
        - {kind: washing, at: 2026-03-02, by: TO, items: M-05..M-09, method: brushed}
        """,
    )
    assert problem.startswith("sheet.yaml:1: items: M-07, M-08, M-09 are not in the book; expected the code of an item")


def test_every_code_that_is_taken_is_told(book):
    found = refused(
        book,
        """
        - {kind: equipment, at: 2026-03-02, by: TO, codes: M-05..M-08, type: medium}
        - {kind: washing, at: 2026-03-03, by: TO, items: M-07..M-08, method: brushed}
        """,
    )
    assert [problem.split(";")[0] for problem in found] == ["sheet.yaml:1: codes: M-05, M-06 are already in the book"]


def test_an_entry_with_a_mistake_does_not_make_others_wrong(book):
    """T-1, H-1 and M-07 would be in the book but for the mistakes on lines 1 to 3."""
    found = refused(
        book,
        """
        - {kind: sowing, at: 2026-03-02, by: TO, batch: T-1, seed: S-1 200 g, trays: many, equipment: M-01}
        - {kind: harvest, at: 2026-03-09, by: TO, lot: H-1, from: T-1, amount: 12, cut: with roots}
        - {kind: equipment-change, at: 2026-03-09, by: TO, items: M-99, what: cut, codes: [M-07, M-08]}
        - {kind: growing-check, at: 2026-03-05, by: TO, batches: T-1, water: WELL}
        - {kind: packing, at: 2026-03-09, by: TO, lot: P-1, from: H-1 100 g, packs: 2, product: PEA-50}
        - {kind: delivery, at: 2026-03-09, by: TO, code: D-1, customer: CAFE, items: P-1 2 packs}
        - {kind: washing, at: 2026-03-09, by: TO, items: "M-07, M-08", method: brushed}
        """,
    )
    assert [problem.split(";")[0] for problem in found] == [
        "sheet.yaml:1: trays: `many` does not start with a number that can be read",
        "sheet.yaml:2: amount: `12` has no unit",
        "sheet.yaml:3: items: M-99 is not in the book",
    ]


def test_what_a_wrong_entry_stands_on_is_no_further_mistake(book):
    """Line 1 names a medium that does not exist; T-1 stands on M-01 all the same."""
    found = refused(
        book,
        """
        - {kind: sowing, at: 2026-03-02, by: TO, batch: T-1, seed: S-1 200 g, trays: 2, equipment: "M-01, M-77"}
        - kind: harvest
          at: 2026-03-09
          by: TO
          lot: H-1
          from: {batch: T-1, trays: M-01}
          amount: 1 kg
          cut: with roots
        """,
    )
    assert [problem.split(";")[0] for problem in found] == ["sheet.yaml:1: equipment: M-77 is not in the book"]


def test_a_code_may_be_named_only_below_the_line_that_makes_it(lite):
    (problem,) = refused(
        lite,
        """
        - {kind: growing-check, at: 2026-03-05, by: TO, batches: T-1, water: WELL}
        - {kind: sowing, at: 2026-03-02, by: TO, batch: T-1, seed: S-1 200 g, trays: 2}
        """,
    )
    assert problem == (
        "sheet.yaml:1: batches: T-1 is not in the book; "
        "expected the code of a tray-batch that is already in, or earlier on this sheet"
    )


def test_a_code_may_be_named_below_its_making_whatever_the_times_say(lite):
    receipts = load(
        lite,
        """
        - {kind: sowing, at: 2026-03-02, by: TO, batch: T-1, seed: S-1 200 g, trays: 2}
        - {kind: growing-check, at: 2026-03-01, by: TO, batches: T-1, water: WELL}
        """,
    )
    assert len(receipts) == 2


WASHING = "- {kind: washing, at: 2026-03-02 09:00, by: TO, items: M-01, method: brushed}\n"


def test_a_sheet_that_is_in_is_refused(book):
    load(book, WASHING, "monday.yaml")
    assert refused(book, WASHING, name="copy.yaml") == [
        "copy.yaml: this sheet is already in the book (as monday.yaml); expected a sheet that is not in yet"
    ]


def test_a_sheet_that_was_refused_can_go_in_later(book):
    refused(book, "- {kind: washing, at: 2026-03-02 09:00, by: RB, items: M-01, method: brushed}\n")
    book.record("person", at="2026-03-01", by="TO", code="RB", name="Rob Bell")
    load(book, "- {kind: washing, at: 2026-03-02 09:00, by: RB, items: M-01, method: brushed}\n")


def test_an_entry_alike_to_one_in_the_book_needs_again(book):
    (first,) = load(book, WASHING)
    twice = "# typed a second time\n" + WASHING
    (problem,) = refused(book, twice)
    assert problem.startswith(
        f"sheet.yaml:2: this washing is already in the book as {first.name}; expected `again: yes`"
    )
    (second,) = load(book, f"again: yes\nentries:\n{WASHING}")
    assert number(second) == number(first) + 1
    with pytest.raises(Refused, match=f"already in the book as {first.name}"):
        book.record("washing", at="2026-03-02 09:00", by="TO", items="M-01", method="brushed")
    assert book.record("washing", at="2026-03-02 09:00", by="TO", items="M-01", method="brushed", again=True)


@pytest.mark.parametrize(
    "other",
    [
        "{kind: washing, at: 2026-03-02 09:01, by: TO, items: M-01, method: brushed}",
        "{kind: washing, at: 2026-03-02 09:00, by: AK, items: M-01, method: brushed}",
        "{kind: washing, at: 2026-03-02 09:00, by: TO, items: M-02, method: brushed}",
        "{kind: washing, at: 2026-03-02 09:00, by: TO, items: M-01, method: brushed, place: WASH}",
        "{kind: washing, at: 2026-03-02 09:00, by: TO, items: M-01, method: brushed, note: a second time}",
    ],
    ids=["time", "person", "items", "place", "note"],
)
def test_entries_that_differ_in_anything_are_not_alike(lite, other):
    load(lite, WASHING)
    assert load(lite, f"- {other}\n")


def test_the_order_of_people_and_the_way_a_time_is_written_make_no_difference(lite):
    load(lite, "- {kind: washing, at: 2026-03-02 09:00, by: [TO, AK], items: M-01, method: brushed}\n")
    (problem,) = refused(lite, "- {kind: washing, at: 2026-03-02T09:00, by: [ak, TO], items: M-01, method: brushed}\n")
    assert "already in the book" in problem


def test_only_entries_in_force_are_compared(book):
    (first,) = load(book, WASHING)
    book.void(number(first), because="typed twice", by=["TO"])
    assert load(book, "# once more\n" + WASHING)


def test_entries_alike_on_one_sheet_are_taken_with_a_notice(book):
    one, two = load(book, WASHING + WASHING)
    assert one.notices == ()
    assert two.notices == (f"alike to {one.name} in the same batch; both were taken",)
    assert names([one, two]) == [f"E{number(one)}", f"E{number(one) + 1}"]


def test_a_sheet_in_order_may_not_go_back_in_time(lite):
    assert refused(
        lite,
        """
        in_order: yes
        entries:
        - {kind: washing, at: 2026-03-02, by: TO, items: M-01, method: brushed}
        - {kind: washing, at: 2026-03-02 09:00, by: TO, items: M-02, method: brushed}
        - {kind: washing, at: 2026-03-02 am, by: TO, items: M-03, method: brushed}
        - {kind: washing, at: 2026-03-02 08:59, by: TO, items: M-04, method: brushed}
        - {kind: washing, at: 2026-03-01, by: TO, items: M-05, method: brushed}
        """,
    ) == [
        f"sheet.yaml:{line}: {at} is before 2026-03-02 09:00 on line 4; "
        "expected lines in the order in which things happened, or no `in_order`"
        for line, at in ((6, "2026-03-02 08:59"), (7, "2026-03-01"))
    ]


def test_a_sheet_not_in_order_may_go_back_in_time(lite):
    assert load(
        lite,
        """
        - {kind: washing, at: 2026-03-02 09:00, by: TO, items: M-01, method: brushed}
        - {kind: washing, at: 2026-03-02 08:59, by: TO, items: M-02, method: brushed}
        """,
    )


def test_a_sheet_and_its_lines_are_kept_with_the_entries(book):
    (receipt,) = load(book, "in_order: yes\nentries:\n" + WASHING, "monday.yaml")
    version = current(book, receipt.name)
    assert version.line == 3
    assert version.sheet in {row[1] for row in everything(book)["sheet"]}


def test_lines_of_a_sheet_in_order_tell_which_of_two_things_came_first(book):
    """M-01 was washed and then dipped on the same day; M-02 the other way round."""
    load(book, "- {kind: solution, at: 2026-03-01, by: TO, lot: SOL-1, product: BLEACH, volume: 10 L}\n")
    dip = "{kind: sanitising, at: 2026-03-02, by: TO, items: %s, solution: SOL-1, reading: 110 ppm, contact: 2 min}\n"
    first = load(
        book,
        "in_order: yes\nentries:\n"
        "- {kind: washing, at: 2026-03-02, by: TO, items: M-01, method: brushed}\n"
        f"- {dip % 'M-01'}"
        f"- {dip % 'M-02'}"
        "- {kind: washing, at: 2026-03-02, by: TO, items: M-02, method: brushed}\n",
    )
    assert (first[1].verdict.passed, first[1].verdict.failed) == (("M-01",), ())
    assert (first[2].verdict.passed, first[2].verdict.failed) == ((), ("M-02",))


def test_a_sheet_that_is_in_no_order_leaves_the_order_of_a_day_open(book):
    """Either may have come first, so the washing counts only where the dip itself says that it did."""
    load(book, "- {kind: solution, at: 2026-03-01, by: TO, lot: SOL-1, product: BLEACH, volume: 10 L}\n")
    receipts = load(
        book,
        """
        - {kind: sanitising, at: 2026-03-02, by: TO, items: M-02, solution: SOL-1, reading: 110 ppm, contact: 2 min}
        - {kind: washing, at: 2026-03-02, by: TO, items: M-02, method: brushed}
        """,
    )
    assert receipts[0].verdict.failed == ("M-02",)
    (again,) = book.amend(number(receipts[0]), {"washed": "yes"}, because="they were washed first", by=["TO"])
    assert again.verdict.passed == ("M-02",)


def test_a_sheet_is_judged_once_after_its_last_line(book):
    """The label and the washing stand below the dip that they speak for: one version, no re-judging."""
    receipts = load(
        book,
        """
        - {kind: supplies-receipt, at: 2026-03-01, by: TO, lot: BL-2, product: Bleach, type: sanitiser,
           active: chlorine, label_min: 100 ppm, label_contact: 2 min, expires: 2027-01-01}
        - {kind: solution, at: 2026-03-02 07:30, by: TO, lot: SOL-1, product: BL-2, volume: 10 L}
        - {kind: sanitising, at: 2026-03-02 09:00, by: TO, items: M-01, solution: SOL-1, reading: 110 ppm,
           contact: 2 min}
        - {kind: washing, at: 2026-03-02 08:00, by: TO, items: M-01, method: brushed}
        """,
    )
    assert len(receipts) == 4
    assert receipts[2].verdict.passed == ("M-01",)
    assert len(history(book, receipts[2].name)) == 1
