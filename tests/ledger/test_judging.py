"""Verdicts in the book: what passed is cleared, what failed is only touched, and late evidence changes the answer."""

import pytest
from tests.ledger.farm import SOLUTION, current, everything, history, load, names, number, uses

from lotwalk.ledger.verdict import Verdict

DAY = (
    SOLUTION
    + """
    - {kind: washing, at: 2026-03-02 08:00, by: TO, items: M-01..M-03, method: brushed}
"""
)
DIP = """
    - {kind: sanitising, at: 2026-03-02 09:00, by: TO, items: M-01..M-03, solution: SOL-1, reading: 110 ppm,
       contact: 2 min}
"""
ALL = ("M-01", "M-02", "M-03")


def dipped(book, day: str = DAY, dip: str = DIP):
    """The receipt of a dip."""
    return load(book, day + dip)[-1]


def verdicts(book, name: str) -> list[tuple[tuple[str, ...], tuple[str, ...]]]:
    """What passed and what failed, in each version of an entry that was judged."""
    return [
        (version.verdict.passed, version.verdict.failed)
        for version in history(book, name)
        if version.verdict is not None
    ]


def breaks(receipt) -> list[str]:
    return [reason.text for reason in receipt.verdict.reasons if reason.kind == "break"]


def test_what_passes_is_cleared(book):
    dip = dipped(book)
    assert (dip.verdict.passed, dip.verdict.failed) == (ALL, ())
    assert {use for use in uses(book, dip.name) if "M-" in use} == {"cleared M-01", "cleared M-02", "cleared M-03"}
    assert uses(book, dip.name, part=1) == set()


def test_what_fails_is_touched(lite):
    dip = dipped(lite, dip=DIP.replace("110 ppm", "60 ppm"))
    assert (dip.verdict.passed, dip.verdict.failed) == ((), ALL)
    assert {use for use in uses(lite, dip.name) if "M-" in use} == {"touched M-01", "touched M-02", "touched M-03"}
    assert uses(lite, dip.name, part=1) == set()
    assert breaks(dip)[0].startswith("Reading 60 ppm is below the label's 100 ppm")


def test_a_mixed_dip_walks_as_two_and_only_the_first_has_amounts(book):
    dip = dipped(book, DAY.replace("items: M-01..M-03", "items: [M-01, M-03]"))
    assert (dip.verdict.passed, dip.verdict.failed) == (("M-01", "M-03"), ("M-02",))
    assert uses(book, dip.name, part=0) == {"by TO", "took SOL-1", "cleared M-01", "cleared M-03"}
    assert uses(book, dip.name, part=1) == {"by TO", "took SOL-1", "shared SOL-1", "touched M-02"}
    nodes = {row[0] & 1 for row in everything(book)["use"] if row[0] >> 1 == current(book, dip.name).seq}
    assert nodes == {0, 1}


def test_a_water_test_that_passes_clears_and_one_that_fails_names(book):
    good, bad = load(
        book,
        """
        - {kind: water-test, at: 2026-03-02 09:00, by: TO, source: WELL, lab: LAB, e_coli: <1 MPN/100 mL}
        - {kind: water-test, at: 2026-03-09 09:00, by: TO, source: WELL, lab: LAB, e_coli: 4 MPN/100 mL}
        """,
    )
    assert uses(book, good.name) == {"by TO", "to LAB", "cleared WELL"}
    assert uses(book, bad.name) == {"by TO", "to LAB", "about WELL"}


@pytest.mark.parametrize(
    ("at", "clears"),
    [
        ("2026-03-02", True),
        ("2026-03-02 pm", True),
        ("2026-03-02 09:00..10:30", True),
        ("2026-03-02..2026-03-03", False),
    ],
)
def test_a_dip_of_more_than_a_day_clears_nothing(lite, at, clears):
    dip = dipped(lite, dip=DIP.replace("2026-03-02 09:00", at).replace("2 min", "2 min, washed: yes"))
    assert dip.verdict.passed == (ALL if clears else ())
    if not clears:
        assert any("longer than a day" in text for text in breaks(dip))


def test_a_water_test_of_more_than_a_day_clears_nothing(lite):
    (test,) = load(
        lite, "- {kind: water-test, at: 2026-03-02..2026-03-04, by: TO, source: WELL, e_coli: <1 MPN/100 mL}\n"
    )
    assert test.verdict.failed == ("WELL",)
    assert "about WELL" in uses(lite, test.name)


def test_the_day_on_which_summer_time_ends_has_25_hours_and_can_clear(lite):
    (test,) = load(lite, "- {kind: water-test, at: 2026-10-25, by: TO, source: WELL, e_coli: <1 MPN/100 mL}\n")
    version = current(lite, test.name)
    assert version.end - version.start + 1 == 25 * 3600
    assert test.verdict.passed == ("WELL",)


# What is recorded or corrected later, and what the book then says of the dip.


def test_a_late_washing_is_told_with_its_receipt_and_filed_with_it(book):
    dip = dipped(book, SOLUTION)
    assert dip.verdict.failed == ALL
    washing, again = load(book, "- {kind: washing, at: 2026-03-02 08:00, by: TO, items: M-01..M-02, method: brushed}\n")
    assert again.name == dip.name
    assert again.verdict.passed == ("M-01", "M-02")
    first, second = history(book, dip.name)
    assert first.verdict.failed == tuple(ALL)
    assert second.because == "judged again: what the verdict rests on has changed"
    assert (second.evidence, second.amended_by, second.amends) == ((washing.name,), (), first.seq)
    assert (second.recorded_at, second.seq) == (current(book, washing.name).recorded_at, number(washing) + 1)
    assert (second.fields, second.by, second.at) == (first.fields, first.by, first.at)
    assert uses(book, dip.name) == {"by TO", "took SOL-1", "cleared M-01", "cleared M-02"}
    assert uses(book, dip.name, part=1) == {"by TO", "took SOL-1", "shared SOL-1", "touched M-03"}


def test_what_changes_no_verdict_files_no_version(lite):
    dip = dipped(lite)
    receipts = load(lite, "- {kind: washing, at: 2026-03-02 08:30, by: TO, items: M-01..M-02, method: brushed}\n")
    assert len(receipts) == 1
    assert len(history(lite, dip.name)) == 1


def test_a_washing_on_another_day_changes_nothing(lite):
    dip = dipped(lite, SOLUTION)
    for at in ("2026-03-02 09:01", "2026-03-05 08:00"):
        receipts = load(lite, f"- {{kind: washing, at: {at}, by: TO, items: M-01, method: brushed}}\n")
        assert len(receipts) == 1
    assert len(history(lite, dip.name)) == 1


def test_a_use_recorded_late_between_washing_and_dip_fails_the_dip(book):
    dip = dipped(book)
    use, again = load(
        book,
        "- {kind: contact, at: 2026-03-02 08:30, by: TO, what: fell on the floor, items: [M-02, BENCH]}\n",
    )
    assert again.name == dip.name
    assert verdicts(book, dip.name) == [(ALL, ()), (("M-01", "M-03"), ("M-02",))]
    assert history(book, dip.name)[-1].evidence == (use.name,)


NO_READING = DIP.replace("reading: 110 ppm,", "")


def test_a_dip_without_a_reading_rests_on_the_readings_around_it(book):
    """The reading before it is there; the one that ends the day is recorded later."""
    before = "\n    - {kind: solution-check, at: 2026-03-02 08:50, by: TO, solution: SOL-1, reading: 120 ppm}\n"
    dip = dipped(book, DAY + before, NO_READING)
    assert dip.verdict.passed == ()
    (_, again) = load(
        book, "- {kind: solution-check, at: 2026-03-02 16:00, by: TO, solution: SOL-1, reading: 105 ppm}\n"
    )
    assert (again.name, again.verdict.passed) == (dip.name, ALL)
    (_, weak) = load(book, "- {kind: solution-check, at: 2026-03-02 11:00, by: TO, solution: SOL-1, reading: 60 ppm}\n")
    assert (weak.name, weak.verdict.failed) == (dip.name, ALL)
    assert verdicts(book, dip.name) == [((), ALL), (ALL, ()), ((), ALL)]


def test_a_weak_reading_of_its_own_is_not_mended_by_others(lite):
    dip = dipped(lite, dip=DIP.replace("110 ppm", "60 ppm"))
    load(
        lite,
        """
        - {kind: solution-check, at: 2026-03-02 08:50, by: TO, solution: SOL-1, reading: 120 ppm}
        - {kind: solution-check, at: 2026-03-02 09:30, by: TO, solution: SOL-1, reading: 120 ppm}
        """,
    )
    assert verdicts(lite, dip.name) == [((), ALL)]


def test_an_amended_reading_is_judged_as_it_says_now(book):
    dip = dipped(book, dip=DIP.replace("110 ppm", "11 ppm"))
    (receipt,) = book.amend(number(dip), {"reading": "110 ppm"}, because="misread the strip", by=["TO"])
    assert receipt.verdict.passed == ALL
    assert verdicts(book, dip.name) == [((), ALL), (ALL, ())]
    assert "cleared M-01" in uses(book, dip.name)


def test_an_amended_label_judges_what_was_dipped_by_it_again(book):
    """E15 is the label; SOL-1 is made of BLEACH, whose receipt names it."""
    dip = dipped(book)
    label = {"use": "food contact", "min": "150 ppm", "max": "200 ppm", "contact": "2 min"}
    amendment, again = book.amend(15, {"uses": label}, because="read the wrong line", by=["TO"])
    assert (amendment.name, again.name) == ("E15", dip.name)
    assert again.verdict.failed == ALL
    assert history(book, dip.name)[-1].evidence == ("E15",)


def test_an_amended_receipt_judges_what_was_dipped_in_solutions_of_it_again(book):
    dip = dipped(book)
    _, again = book.amend(16, {"expires": "2026-02-28"}, because="misread", by=["TO"])
    assert (again.name, again.verdict.failed) == (dip.name, ALL)
    _, back = book.amend(16, {"expires": "2027-01-01"}, because="read it right the first time", by=["TO"])
    assert (back.name, back.verdict.passed) == (dip.name, ALL)


def test_an_amended_solution_judges_what_was_dipped_in_it_again(book):
    solution, _, dip = load(book, DAY + DIP)
    _, again = book.amend(number(solution), {"discard_at": "2026-03-02 08:45"}, because="left out", by=["TO"])
    assert (again.name, again.verdict.failed) == (dip.name, ALL)
    again = book.void(number(solution), because="never mixed", by=["TO"])[-1]
    assert (again.name, again.verdict.failed) == (dip.name, ALL)
    assert len(verdicts(book, dip.name)) == 3


def test_a_solution_of_a_solution_of_an_amended_receipt_counts_too(book):
    """However many times it was diluted."""
    solution = "    - {{kind: solution, at: 2026-03-02 07:3{0}, by: TO, lot: MIX-{0}, product: {1}, volume: 9 L}}\n"
    chain = "".join(
        solution.format(step, made_of)
        for step, made_of in enumerate(["BLEACH", *(f"MIX-{number}" for number in range(7))])
    )
    washing = "    - {kind: washing, at: 2026-03-02 08:00, by: TO, items: M-01..M-03, method: brushed}\n"
    dip = dipped(book, chain + washing, DIP.replace("SOL-1", "MIX-7"))
    assert dip.verdict.passed == ALL
    again = book.amend(16, {"expires": "2026-02-28"}, because="misread", by=["TO"])[-1]
    assert (again.name, again.verdict.failed) == (dip.name, ALL)


def test_an_amended_equipment_record_judges_its_items_again(lite):
    dip = dipped(lite)
    again = lite.amend(9, {"porous": "yes"}, because="they are of felt", by=["TO"])[-1]
    assert (again.name, again.verdict.failed) == (dip.name, ALL)


def test_a_voided_washing_fails_the_dip(book):
    _, washing, dip = load(book, DAY + DIP)
    _, again = book.void(number(washing), because="another day's", by=["TO"])
    assert (again.name, again.verdict.failed) == (dip.name, ALL)


def test_a_washing_moved_to_another_item_fails_the_one_and_passes_the_other(book):
    _, washing, dip = load(book, DAY.replace("items: M-01..M-03", "items: M-01") + DIP)
    assert dip.verdict.passed == ("M-01",)
    _, again = book.amend(number(washing), {"items": "M-02"}, because="the wrong mat", by=["TO"])
    assert (again.name, again.verdict.passed) == (dip.name, ("M-02",))


def test_strips_that_turn_out_to_be_old_undo_the_readings_made_with_them(book):
    """The dip has no reading of its own; the readings around it were made with STRIPS."""
    load(book, DAY)
    strips, *_, dip = load(
        book,
        """
    - {kind: supplies-receipt, at: 2026-03-01, by: TO, lot: STRIPS, product: Strips, type: test strips,
       expires: 2027-01-01}
    - {kind: solution-check, at: 2026-03-02 08:30, by: TO, solution: SOL-1, reading: 120 ppm, with: STRIPS}
    - {kind: solution-check, at: 2026-03-02 09:30, by: TO, solution: SOL-1, reading: 120 ppm, with: STRIPS}
"""
        + NO_READING,
    )
    assert dip.verdict.passed == ALL
    again = book.amend(number(strips), {"expires": "2026-02-01"}, because="misread", by=["TO"])[-1]
    assert (again.name, again.verdict.failed) == (dip.name, ALL)


SOWN = """
    - {kind: sowing, at: 2026-02-20 09:00, by: TO, batch: T-1, seed: S-1 200 g, trays: 2, equipment: "M-01, M-02"}
"""


@pytest.mark.parametrize(
    ("late", "freed"),
    [
        ("{kind: harvest, lot: H-1, from: T-1, amount: 1 kg, cut: with roots}", ALL),
        ("{kind: harvest, lot: H-1, from: {batch: T-1, trays: M-01}, amount: 1 kg, cut: with roots}", ("M-01", "M-03")),
        ("{kind: disposal, items: T-1}", ALL),
        ("{kind: disposal, items: {lot: T-1, trays: 1}}", ("M-03",)),
        ("{kind: harvest, lot: H-1, from: {batch: T-1, finished: no}, amount: 1 kg, cut: with roots}", ("M-03",)),
    ],
)
def test_a_batch_finished_by_a_late_record_frees_its_media(lite, late, freed):
    dip = dipped(lite, SOWN + DAY)
    assert dip.verdict.passed == ("M-03",)
    load(lite, late.replace("{kind", "- {at: 2026-03-02 07:00, by: TO, kind", 1) + "\n")
    assert current(lite, dip.name).verdict.passed == freed


def test_a_finish_that_is_taken_back_binds_the_media_again(book):
    finish, *_, dip = load(book, SOWN + "    - {kind: disposal, at: 2026-03-01, by: TO, items: T-1}\n" + DAY + DIP)[1:]
    assert dip.verdict.passed == ALL
    book.amend(number(finish), {"at": "2026-03-03"}, because="a day late", by=["TO"])
    assert current(book, dip.name).verdict.passed == ("M-03",)
    book.amend(number(finish), {"at": "2026-03-01"}, because="no, it was then", by=["TO"])
    assert current(book, dip.name).verdict.passed == ALL
    book.void(number(finish), because="never done", by=["TO"])
    assert current(book, dip.name).verdict.passed == ("M-03",)


def test_a_verdict_changed_by_a_sheet_changes_once_for_all_of_it(book):
    """The sheet brings a washing, and a use after it: only what holds after the last line is filed."""
    dip = dipped(book, SOLUTION)
    receipts = load(
        book,
        """
        - {kind: washing, at: 2026-03-02 08:00, by: TO, items: M-01..M-03, method: brushed}
        - {kind: contact, at: 2026-03-02 08:30, by: TO, what: fell on the floor, items: M-02}
        """,
    )
    assert names(receipts[2:]) == [dip.name]
    assert verdicts(book, dip.name) == [((), ALL), (("M-01", "M-03"), ("M-02",))]


def test_a_dip_judged_again_keeps_its_line_on_the_sheet(book):
    receipts = load(
        book,
        """
        in_order: yes
        entries:
        - {kind: solution, at: 2026-03-02, by: TO, lot: SOL-1, product: BLEACH, volume: 10 L}
        - {kind: sanitising, at: 2026-03-02, by: TO, items: M-01, solution: SOL-1, reading: 110 ppm, contact: 2 min}
        """,
        "monday.yaml",
    )
    dip = receipts[-1]
    assert dip.verdict.failed == ("M-01",)
    load(book, "- {kind: washing, at: 2026-03-01, by: TO, items: M-01, method: brushed}\n")
    before, after = history(book, dip.name)
    assert after.verdict.passed == ("M-01",)
    assert (after.sheet, after.line) == (before.sheet, before.line) == (before.sheet, 4)
    grouped = {(row[5] > 0, row[6]) for row in everything(book)["use"] if row[0] >> 1 == after.seq}
    assert grouped == {(True, 4)}


def test_no_judge_makes_an_entry_of_more_than_a_day_clear(lite):
    """Whatever a judge says of it."""

    class Kind:
        number = 1
        largest_file = None
        keeps = 14 * 86_400

        def judge(self, name, entry, codes, evidence):
            return Verdict(tuple(codes), (), (), ())

        def notices(self, name, entry, evidence, *, verdict=""):
            return ()

    lite.ledger.judging = lambda connection, settings: Kind()
    dip = dipped(lite, SOLUTION, DIP.replace("2026-03-02 09:00", "2026-03-02..2026-03-03"))
    assert (dip.verdict.passed, dip.verdict.failed) == ((), ALL)
    assert "longer than a day" in dip.verdict.reasons[0].text
    assert "touched M-01" in uses(lite, dip.name)
