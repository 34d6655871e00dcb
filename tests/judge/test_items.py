"""Washed since the last use, seen clean, standing free, in use."""

import pytest
from tests.judge.memory import Book, breaks, clean_book, least, of_kind, ppm, time

GOOD = {"reading": ppm("110 ppm")}


def unwashed_book():
    book = Book()
    book.equipment("M-001..M-024")
    book.receipt(label_min=least("100 ppm"), label_contact=time("2 min"))
    book.solution()
    return book


def test_an_item_not_washed_since_its_last_use_fails_alone():
    book = clean_book()
    book.use("M-013", "2026-03-02 17:20")
    verdict = book.verdict(book.dip("M-001..M-024", **GOOD))
    assert verdict.failed == ("M-013",)
    assert len(verdict.passed) == 23
    assert breaks(verdict) == ["M-013 was not washed since its last use: wash it, then dip M-013 again."]


def test_several_unwashed_items_are_named_as_a_range():
    verdict = (book := unwashed_book()).verdict(book.dip("M-001..M-003, M-007", **GOOD))
    assert breaks(verdict) == [
        "M-001..M-003 and M-007 were not washed since their last use: wash them, then dip again."
    ]


def test_codes_with_and_without_a_number_are_named_as_they_are():
    book = unwashed_book()
    book.equipment("BENCH")
    verdict = book.verdict(book.dip("BENCH, M-001, M-002, SHELF", **GOOD))
    assert breaks(verdict)[0].startswith("BENCH, M-001, M-002 and SHELF were not washed since their last use")


def test_washed_in_the_same_entry_counts():
    book = unwashed_book()
    book.use("M-001", "2026-03-02 17:20")
    assert book.verdict(book.dip("M-001", "2026-03-02 17:40", washed=True, **GOOD)).passed == ("M-001",)
    assert book.verdict(book.dip("M-001", "2026-03-02 17:30", washed=False, **GOOD)).failed == ("M-001",)


def test_soil_left_fails_all():
    book = clean_book()
    verdict = book.verdict(book.dip("M-001, M-002", washed=True, seen_clean=False, **GOOD))
    assert verdict.passed == ()
    assert "Soil was left" in breaks(verdict)[0]


def test_a_washing_after_the_sanitising_does_not_count():
    book = unwashed_book()
    book.washing("M-001", "2026-03-02 17:45")
    assert book.verdict(book.dip("M-001", **GOOD)).failed == ("M-001",)


@pytest.mark.parametrize("at", ["2026-03-02", "2026-03-02 pm", "2026-03-02 17:00..17:45", "2026-03-02 17:00..17:40"])
def test_a_washing_that_may_have_come_after_is_asked_for(at):
    """The dip is of 17:40. It says itself that the mat was washed first, or nothing does."""
    book = unwashed_book()
    washing = book.washing("M-001", at)
    verdict = book.verdict(book.dip("M-001", **GOOD))
    assert breaks(verdict) == [
        f"The washing of M-001 of {at} ({washing.name}) may have come after this: "
        "write washed: yes here, if it was washed first; or wash it, then dip it again."
    ]
    assert washing.number in verdict.evidence
    assert book.verdict(book.dip("M-001", washed=True, **GOOD)).passed == ("M-001",)


def test_a_washing_of_a_span_that_ends_before_the_dip_counts():
    book = unwashed_book()
    book.washing("M-001", "2026-03-02 17:00..17:39")
    assert book.verdict(book.dip("M-001", **GOOD)).passed == ("M-001",)


def test_a_dip_with_a_date_alone_says_itself_that_it_was_washed_first():
    book = unwashed_book()
    book.washing("M-001", "2026-03-02 17:00")
    assert book.verdict(book.dip("M-001", "2026-03-02", **GOOD)).failed == ("M-001",)
    assert book.verdict(book.dip("M-001", "2026-03-02", washed=True, **GOOD)).passed == ("M-001",)


def test_a_washing_with_a_date_alone_counts_on_the_earlier_line_of_an_attested_sheet():
    book = unwashed_book()
    book.washing("M-001", "2026-03-02", group=5, line=1)
    assert book.verdict(book.dip("M-001", group=5, line=2, **GOOD)).passed == ("M-001",)
    book.washing("M-002", "2026-03-02", group=5, line=4)
    assert "M-002 was not washed" in breaks(book.verdict(book.dip("M-002", group=5, line=3, **GOOD)))[0]


def test_a_washing_of_the_same_minute_counts_and_is_told():
    """As on a phone, where both are written when the work is done."""
    book = unwashed_book()
    washing = book.washing("M-001, M-002", "2026-03-02 17:40")
    verdict = book.verdict(book.dip("M-001, M-002", **GOOD))
    assert verdict.passed == ("M-001", "M-002")
    assert f"The washing of M-001 and M-002 ({washing.name}) has the same minute as this: " in "".join(
        of_kind(verdict, "note")
    )
    book.washing("M-001", "2026-03-02 17:30")
    told = of_kind(book.verdict(book.dip("M-001", **GOOD)), "note")
    assert not any("same minute" in note for note in told)


def test_a_date_of_which_the_same_day_is_written_is_no_minute():
    book = unwashed_book()
    book.washing("M-001", "2026-03-02")
    assert book.verdict(book.dip("M-001", "2026-03-02", **GOOD)).failed == ("M-001",)


def test_several_washings_of_unknown_order_are_told_each_with_its_items():
    book = unwashed_book()
    first, second = book.washing("M-001", "2026-03-02"), book.washing("M-002, M-003", "2026-03-02 pm")
    told = breaks(book.verdict(book.dip("M-001..M-003", **GOOD)))
    assert [one.partition(" may")[0] for one in told] == [
        f"The washing of M-001 of 2026-03-02 ({first.name})",
        f"The washing of M-002 and M-003 of 2026-03-02 pm ({second.name})",
    ]
    assert "if they were washed first; or wash them, then dip them again" in told[1]


def test_a_use_of_unknown_order_does_not_undo_a_washing():
    book = unwashed_book()
    book.washing("M-001", "2026-03-02 17:00")
    book.use("M-001", "2026-03-02")
    assert book.verdict(book.dip("M-001", **GOOD)).passed == ("M-001",)


def test_a_washing_vouches_for_no_dip_where_some_of_a_use_of_several_days_may_lie_between():
    """The thing was used day after day; nobody says that none of it was after the washing at 17:00."""
    used = "2026-03-01..2026-03-03"
    book = unwashed_book()
    book.washing("M-001", "2026-03-02 17:00")
    book.use("M-001", used)
    verdict = book.verdict(book.dip("M-001", **GOOD))
    assert verdict.failed == ("M-001",)
    assert breaks(verdict) == [
        f"M-001 may have been used (E5, {used}) after its washing (E4): write washed: yes here, if it was washed"
        " after that; or wash it, then dip it again."
    ]
    assert book.verdict(book.dip("M-001", washed=True, **GOOD)).passed == ("M-001",)


def test_of_two_washings_on_one_day_neither_is_a_use_after_the_other():
    book = unwashed_book()
    book.washing("M-001", "2026-03-01")
    book.washing("M-001", "2026-03-01")
    assert book.verdict(book.dip("M-001", **GOOD)).passed == ("M-001",)


def test_lines_of_a_sheet_in_order_decide_between_times_that_overlap():
    book = unwashed_book()
    book.washing("M-001", "2026-03-02", group=5, line=1)
    book.use("M-001", "2026-03-02", group=5, line=2)
    assert book.verdict(book.dip("M-001", "2026-03-02", group=5, line=3, **GOOD)).failed == ("M-001",)


def test_a_later_use_does_not_hide_one_that_the_sheet_puts_after_the_washing():
    """M-001 was washed that day, at no hour written, and by the sheet used after that, at nine. A use at noon makes it
    no cleaner.
    """
    book = unwashed_book()
    book.washing("M-001", "2026-03-02", group=5, line=1)
    book.use("M-001", "2026-03-02 09:00", group=5, line=2)
    dip = book.dip("M-001", **GOOD)
    assert book.verdict(dip).failed == ("M-001",)
    book.use("M-001", "2026-03-02 12:00")
    assert book.verdict(dip).failed == ("M-001",)


def test_a_failed_dip_needs_no_new_washing():
    book = clean_book()
    weak = book.dip("M-001", "2026-03-02 17:30", reading=ppm("60 ppm"))
    assert book.verdict(weak).failed == ("M-001",)
    assert book.verdict(book.dip("M-001", "2026-03-02 17:40", **GOOD)).passed == ("M-001",)


def test_the_washing_recorded_with_a_failed_dip_still_counts():
    book = unwashed_book()
    book.dip("M-001", "2026-03-02 17:30", washed=True, reading=ppm("60 ppm"))
    again = book.dip("M-001", "2026-03-02 17:40", **GOOD)
    assert book.verdict(again).passed == ("M-001",)
    book.use("M-001", "2026-03-02 17:35")
    assert book.verdict(again).failed == ("M-001",)


def test_a_rack_that_others_dried_on_was_used():
    book = clean_book()
    book.equipment("RACK-1")
    book.washing("RACK-1", "2026-03-02 17:00")
    book.add(
        "sanitising", "2026-03-02 17:10", {}, uses=[("cleared", "items", "M-001"), ("touched", "dried_on", "RACK-1")]
    )
    assert book.verdict(book.dip("RACK-1", **GOOD)).failed == ("RACK-1",)


def test_an_item_noted_as_unclean_after_its_washing_fails():
    book = clean_book()
    book.washing("M-002", "2026-03-02 17:10", clean=False)
    verdict = book.verdict(book.dip("M-001, M-002", **GOOD))
    assert verdict.passed == ("M-001",)
    assert "M-002 was noted as not clean after washing" in breaks(verdict)[0]
    book.washing("M-002", "2026-03-02 17:20")
    # Washed once more and seen clean: the note is older than that washing.
    assert book.verdict(book.dip("M-002", **GOOD)).failed == ()


def test_an_item_that_was_washed_and_not_clean_is_not_told_to_be_unwashed():
    book = unwashed_book()
    note = book.washing("M-001", "2026-03-02 17:10", clean=False)
    verdict = book.verdict(book.dip("M-001, M-002", **GOOD))
    assert breaks(verdict) == [
        "M-002 was not washed since its last use: wash it, then dip M-002 again.",
        f"M-001 was noted as not clean after washing ({note.name}): "
        "wash it again and write seen_clean: yes, then dip M-001 again.",
    ]
    assert note.number in verdict.evidence
    # Used again since, it is an item that nobody washed.
    book.use("M-001", "2026-03-02 17:20")
    assert "M-001 and M-002 were not washed since" in breaks(book.verdict(book.dip("M-001, M-002", **GOOD)))[0]


def test_an_item_under_an_unfinished_batch_fails():
    book = clean_book()
    sowing = [("made", "batch", "T-1"), ("touched", "equipment", "M-001")]
    book.add("sowing", "2026-02-20 10:00", {}, uses=sowing, tells=[("bears", "M-001")])
    dip = book.dip("M-001, M-002", **GOOD)
    assert breaks(book.verdict(dip)) == [
        "M-001 still carries T-1: record what finished T-1, a harvest, disposal, packing or delivery, with its time."
    ]
    book.add("harvest", "2026-03-03", {}, uses=[("took", "from[1].batch", "T-1")], tells=[("finished", "T-1")])
    assert book.verdict(dip).failed == ("M-001",)
    book.add("disposal", "2026-03-02", {}, uses=[("took", "items[1].lot", "T-1")], tells=[("finished", "T-1")])
    assert book.verdict(dip).failed == ()


def test_a_sowing_of_unknown_order_is_not_standing():
    book = clean_book()
    sowing = [("made", "batch", "T-1"), ("touched", "equipment", "M-001")]
    book.add("sowing", "2026-03-02", {}, uses=sowing, tells=[("bears", "M-001")])
    assert book.verdict(book.dip("M-001", **GOOD)).passed == ("M-001",)


def test_a_lost_item_fails_until_it_is_found():
    book = clean_book()
    book.add("equipment-change", "2026-02-20", {"what": "lost"}, tells=[("gone", "M-001")])
    dip = book.dip("M-001", **GOOD)
    assert "M-001 is recorded as lost or retired" in breaks(book.verdict(dip))[0]
    book.add("equipment-change", "2026-02-22", {"what": "found"}, tells=[("back", "M-001")])
    assert book.verdict(dip).passed == ("M-001",)
    book.add("equipment-change", "2026-02-25", {"what": "retired"}, tells=[("gone", "M-001")])
    assert book.verdict(dip).failed == ("M-001",)


def soiled_at(book, at, **place):
    return book.washing("M-001", at, clean=False, **place)


def test_what_is_noted_as_not_clean_after_its_dip_was_not_cleaned_by_it():
    book = clean_book()
    dip = book.dip("M-001, M-002", **GOOD)
    assert book.verdict(dip).failed == ()
    note = soiled_at(book, "2026-03-02 18:00")
    verdict = book.verdict(dip)
    assert (verdict.passed, verdict.failed) == (("M-002",), ("M-001",))
    assert breaks(verdict) == [
        f"M-001 was noted as not clean after this ({note.name}), and no other use of it in between is on record: wash"
        " it until no soil is left, then dip M-001 again."
    ]
    assert note.number in verdict.evidence
    book.drop(note)
    assert book.verdict(dip).failed == ()


def test_a_use_surely_between_a_dip_and_a_note_as_not_clean_lets_the_dip_stand():
    book = clean_book()
    dip = book.dip("M-001", **GOOD)
    soiled_at(book, "2026-03-04 18:00")
    use = book.use("M-001", "2026-03-03 08:00")
    assert book.verdict(dip).passed == ("M-001",)
    book.drop(use)
    book.use("M-001", "2026-03-02")
    assert book.verdict(dip).failed == ("M-001",)


def test_a_note_of_the_same_day_may_be_of_after_the_dip_save_on_an_earlier_line_of_a_sheet_in_order():
    day = "2026-03-02"
    book = clean_book()
    soiled_at(book, day)
    verdict = book.verdict(book.dip("M-001", day, washed=True, **GOOD))
    assert breaks(verdict)[0].startswith("M-001 was noted as not clean on a day or at a time that may be after this")
    book = clean_book()
    soiled_at(book, day, group=7, line=2)
    assert book.verdict(book.dip("M-001", day, washed=True, group=7, line=3, **GOOD)).passed == ("M-001",)


def test_a_dip_after_which_soil_was_seen_tells_against_the_dip_before_it():
    book = clean_book()
    dip = book.dip("M-001", **GOOD)
    book.dip("M-001", "2026-03-02 18:00", washed=True, seen_clean=False, **GOOD)
    assert book.verdict(dip).failed == ("M-001",)


def test_what_is_lent_out_cannot_be_cleaned_here():
    """Lent on the 1st; the dip is of the 2nd, and it came back on the 3rd."""
    book = clean_book()
    lent = book.add("delivery", "2026-03-01 08:00", uses=[("touched", "lent", "M-001")], tells=[("lent", "M-001")])
    dip = book.dip("M-001, M-002", washed=True, **GOOD)
    verdict = book.verdict(dip)
    assert (verdict.passed, verdict.failed) == (("M-002",), ("M-001",))
    assert breaks(verdict) == [
        f"M-001 was lent out then ({lent.name}, 2026-03-01 08:00): check the code and the time, or record when M-001"
        " came back."
    ]
    came = [("touched", "items", "M-001")]
    late = book.add("items-back", "2026-03-03 08:00", uses=came, tells=[("home", "M-001")])
    assert book.verdict(dip).failed == ("M-001",)
    book.drop(late)
    book.add("items-back", "2026-03-02", uses=came, tells=[("home", "M-001")])
    assert book.verdict(dip).failed == ()


def test_what_is_registered_later_was_not_there_to_be_cleaned():
    book = clean_book()
    book.drop(book.maker("M-001"))
    dip = book.dip("M-001", washed=True, **GOOD)
    assert breaks(book.verdict(dip)) == [
        "No entry in force registers M-001: register M-001, with the time when it came."
    ]
    later = book.add("equipment", "2026-03-05", {"type": "medium"}, uses=[("names", "codes", "M-001")])
    assert breaks(book.verdict(dip)) == [
        f"M-001 was not there yet: registered at 2026-03-05 ({later.name}): check the code, or amend the time of"
        f" {later.name} if it was there before."
    ]
    book.drop(later)
    book.add("equipment", "2026-03-02", {"type": "medium"}, uses=[("names", "codes", "M-001")])
    assert book.verdict(dip).passed == ("M-001",)
