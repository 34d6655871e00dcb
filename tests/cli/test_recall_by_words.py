"""`recall` for a caller who has no code of this book: what is printed on a package, or what they got and when."""

import pytest


def test_what_is_printed_on_a_paper_is_read_as_what_it_speaks_of_and_that_is_said(lotwalk, ledger):
    done = lotwalk("recall", "INV 77", "--format", "json")
    assert done.json["asked"] == ["D-1"]
    assert "INV 77 is no code. It is read as D-1: document of delivery" in done.err
    assert lotwalk("trace", "0302", "--forward", "--format", "json").json["asked"]["code"] == "S-1"


def test_of_several_things_that_words_are_said_of_all_are_listed(lotwalk, ledger):
    # A best-before date is printed on more than one lot.
    again = ("--from", "H-1 50 g", "--best-before", "2026-03-17", "--by", "TO", "--at", "2026-03-10 13:00")
    assert lotwalk("record", "packing", "--lot", "P-2", *again).status == 0
    done = lotwalk("recall", "2026-03-17")
    assert done.status == 2
    for code in ("P-1", "P-2"):
        assert code in done.err


def test_several_codes_and_ranges_are_asked_as_elsewhere(lotwalk, ledger):
    asked = lotwalk("recall", "D-1,D-2", "--format", "json").json["asked"]
    assert asked == ["D-1", "D-2"] == lotwalk("recall", "D-1..D-2", "--format", "json").json["asked"]
    done = lotwalk("recall", "D-1,D-77")
    assert done.status == 2
    assert "D-77 is not in the book" in done.err


def test_a_supplier_s_lot_that_came_twice_stands_for_all_of_it(lotwalk, ledger):
    again = ("--crop", "radish", "--supplier", "SEEDCO", "--supplier-lot", "0302", "--amount", "1 kg", "--by", "TO")
    assert lotwalk("record", "seed-receipt", "--lot", "S-9", *again, "--at", "2026-03-14").status == 0
    done = lotwalk("recall", "0302", "--format", "json")
    assert done.json["asked"] == ["SEEDCO:0302"]
    assert {"S-1", "S-9", "T-1"} <= set(done.json["affected"]["lots"])
    assert "It is read as SEEDCO:0302, the supplier's lot that came as " in done.err


def test_a_buyer_who_lost_the_label_stands_for_what_they_got(lotwalk, ledger):
    options = ("--customer", "Lark", "--from", "2026-03-09", "--until", "2026-03-10", "--crop", "radish")
    answer = lotwalk("recall", *options, "--format", "json").json
    assert answer["asked"] == ["D-1"]
    (about,) = answer["asked_about"]
    assert (about["customer"], about["stands_for"], about["lots"]) == ("CAFE", ["D-1"], ["P-1"])
    assert set(answer["affected"]["customers"]) == {"CAFE", "SHOP"}
    assert "Asked: CAFE (customer), for D-1 with P-1" in lotwalk("recall", *options, "--all").out
    beside = lotwalk("recall", "D-2", *options, "--format", "json").json
    assert beside["asked"] == ["D-2", "D-1"]
    assert max(one["explains"] for one in beside["candidates"]) == 2


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ((), "it is not said what it is about"),
        (("--crop", "radish"), "it is not said which customer"),
        (("--customer", "CAFE", "--from", "2026-03-10", "--until", "2026-03-09"), "--until is before --from"),
        (("--customer", "CAFE", "--crop", "kale"), "CAFE got no kale; expected something that it got"),
        (("--customer", "CAFE", "--from", "soon"), "soon"),
    ],
)
def test_what_a_buyer_did_not_get_is_refused_with_what_they_did_get(lotwalk, ledger, options, told):
    done = lotwalk("recall", *options)
    assert done.status == 2
    assert told in done.err


def test_an_exercise_may_start_from_a_buyer(lotwalk, ledger):
    done = lotwalk("recall", "--customer", "CAFE", "--mock", "--by", "TO")
    assert done.status == 0
    (entry,) = lotwalk("log", "recall-exercise", "--format", "json").json["entries"]
    assert entry["fields"]["started_from"] == "D-1"
