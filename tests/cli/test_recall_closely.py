"""`recall` looked at closely: levels, one cause, why a code is in the scope, and the exercise.

In the farm of `farm.yaml`, Q-1 is about D-1; D-1 and D-2 hold P-1 of H-1 of T-1, cut with the knife that cut T-2 too.
"""

import sqlite3
from itertools import pairwise

import pytest

from lotwalk.ledger.verify import sound


def _recall(lotwalk, *options):
    return lotwalk("recall", "Q-1", *options, "--format", "json").json


def test_rings_widen_and_the_last_is_the_widest_scope(lotwalk, ledger):
    answer = _recall(lotwalk)
    levels = answer["rings"]
    assert [one["ring"] for one in levels] == [1, 2, 3, 4, 5]
    for part in ("lots", "deliveries", "customers"):
        totals = [one[part] for one in levels]
        assert totals == sorted(totals)
        assert totals[-1] == len(answer["affected"][part])
    assert "scope" not in answer


def test_a_ring_restricts_whom_to_call_and_leaves_the_widest_scope_in_sight(lotwalk, ledger):
    widest, narrow = _recall(lotwalk), _recall(lotwalk, "--level", "1")
    assert narrow["affected"] == widest["affected"]
    assert set(narrow["scope"]["lots"]) == {"T-1", "H-1", "P-1"}
    # H-2 shares only the knife and the seed with what was complained of.
    assert "H-2" in widest["affected"]["lots"]


def test_a_cause_has_a_path_to_what_was_asked_and_says_where_its_scope_stops(lotwalk, ledger):
    answer = _recall(lotwalk, "--cause", "M-001")
    steps = answer["detail"]["to_asked"]["Q-1"]
    assert steps[0]["through"] == "M-001"
    assert steps[-1]["to"] in ("D-1", "P-1")
    for before, after in pairwise(steps):
        assert before["to"] == after["through"]
    (edge,) = [one for one in answer["detail"]["edges"] if "M-001" in one["codes"]]
    told = lotwalk("recall", "Q-1", "--cause", "M-001").out
    assert "Where the scope stops" in told
    assert edge["entry"] in told


def test_why_walks_on_to_the_code_asked_about(lotwalk, ledger):
    steps = _recall(lotwalk, "--cause", "S-1", "--why", "D-2")["detail"]["to_why"]
    assert steps[0]["through"] == "S-1"
    assert steps[-1]["to"] == "D-2"
    assert "this is how it could have come from" in lotwalk("recall", "Q-1", "--why", "D-2").out


def test_why_a_customer_is_to_be_called_is_told_with_the_path_to_what_it_got(lotwalk, ledger):
    # SHOP got D-2, with P-1 in it, as the cafe that complained got D-1.
    for asked in ("SHOP", "corner shop"):
        detail = _recall(lotwalk, "--why", asked)["detail"]
        assert (detail["why"], detail["why_code"], detail["why_deliveries"]) == ("SHOP", "D-2", ["D-2"])
        assert detail["to_why"][-1]["to"] == "D-2"
    told = " ".join(lotwalk("recall", "Q-1", "--why", "SHOP").out.split())
    assert "SHOP is in this recall since it got D-2 (level 1)." in told
    assert "D-2: if it was H-1, this is how it could have come from there:" in told
    told = " ".join(lotwalk("recall", "Q-1", "--why", "CAFE").out.split())
    assert "CAFE is in this recall since it got D-1 (asked about)." in told
    assert told.count("P-1 went out as D-1, to CAFE") == 1


def test_why_answers_for_whatever_stands_on_a_list_of_the_recall(lotwalk, ledger):
    answer = _recall(lotwalk)
    listed = {one["code"] for one in answer["candidates"]} | set(answer["affected"]["customers"])
    listed |= {*answer["affected"]["lots"], *(one["code"] for one in answer["affected"]["deliveries"])}
    listed |= {one["lot"] for name in ("holds", "packages") for one in answer[name]}
    listed |= {code for one in answer["calls"] for code in (one["customer"], *one["lots"], *one["deliveries"])}
    assert {"KN-1", "M-001", "S-1", "SEEDCO:0302", "H-2", "SHOP", "CAFE", "P-1", "D-2"} <= listed
    for code in listed:
        detail = _recall(lotwalk, "--why", code)["detail"]
        assert detail["why"] == code
        assert detail["to_asked"]["Q-1"] or detail["cause"] == code


def test_why_walks_to_an_item_that_is_no_candidate(lotwalk, ledger):
    # T-2 stood on M-003, and was sown with the seed of T-1, which is behind what was complained of.
    detail = _recall(lotwalk, "--why", "M-003")["detail"]
    assert detail["to_why"][-1]["to"] == "M-003"
    assert (detail["cause"], detail["to_why"][0]["through"]) == ("S-1", "S-1")
    # What stands on a package or a paper is read as elsewhere.
    assert _recall(lotwalk, "--why", "inv 77")["detail"]["why"] == "D-1"


def test_why_walks_on_from_what_was_asked_about_where_nothing_is_behind_it(lotwalk, ledger):
    # Voided, H-1's harvest leaves nothing behind H-1 but the packing that left some of it; then H-1 is asked about.
    assert lotwalk("void", "E15", "--because", "never happened", "--by", "TO").status == 0
    detail = lotwalk("recall", "H-1", "--why", "SHOP", "--format", "json").json["detail"]
    assert (detail["cause"], detail["why_code"], detail["to_why"][-1]["to"]) == ("H-1", "D-2", "D-2")
    told = " ".join(lotwalk("recall", "H-1", "--why", "SHOP").out.split())
    assert "if it was H-1, this is how it could have come from there" in told


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--why", "SEEDCO"), "SEEDCO (supplier) is not in the scope of this recall: nothing in the book leads to it"),
        (("--why", "WASH"), "WASH (place) is not in the scope of this recall: nothing in the book leads to it"),
        (("--cause", "CAFE"), "CAFE is no candidate cause here"),
        (("--why", "S-999"), "S-999 is not in the scope of this recall"),
        (("--cause", "P-1", "--why", "T-2"), "T-2 is not reached from P-1"),
        (("--mock",), "it is not said who practises"),
        (("--level", "6"), "6 is not in the range"),
    ],
)
def test_what_cannot_be_answered_is_told(lotwalk, ledger, options, told):
    done = lotwalk("recall", "Q-1", *options)
    assert done.status == 2
    assert told in done.err


def test_an_exercise_is_recorded_with_how_it_went(lotwalk, ledger):
    done = lotwalk("recall", "P-1", "--mock", "--by", "TO")
    assert done.status == 0
    assert "recall exercise recorded" in done.err
    (entry,) = lotwalk("log", "recall-exercise", "--format", "json").json["entries"]
    assert entry["fields"]["started_from"] == "P-1"
    assert entry["by"] == ["TO"]
    assert int(entry["fields"]["deliveries"]) == len(
        lotwalk("recall", "P-1", "--format", "json").json["affected"]["deliveries"]
    )


def test_trays_that_still_grow_are_not_missing(lotwalk, ledger):
    sown = ("--batch", "T-9", "--seed", "S-1 100 g", "--trays", "3", "--by", "TO", "--at", "2026-03-14 09:00")
    assert lotwalk("record", "sowing", *sown).status == 0
    living = ("--code", "D-9", "--customer", "SHOP", "--items", "T-9 1 tray", "--by", "TO", "--at", "2026-03-14 10:00")
    assert lotwalk("record", "delivery", *living).status == 0
    done = lotwalk("recall", "Q-1", "--all", "--mock", "--by", "TO")
    told = " ".join(done.out.split())
    assert "1 delivered, 2 still growing. 100.0 % is accounted for." in told
    assert "up to 2 pieces, still growing" in told
    by_weight = next(one for one in _recall(lotwalk)["balance"]["totals"] if one["unit"] == "g" and not one["bought"])
    assert f"{float(by_weight['accounted_percent']):.1f} % accounted for" in done.err


def test_a_test_marks_its_candidate_and_what_it_does_not_show_is_said(lotwalk, ledger):
    paper = ("--number", "COA-9", "--type", "pathogen test", "--covers", "S-1", "--by", "TO", "--at", "2026-03-01")
    assert lotwalk("record", "certificate", *paper, "--result", "not detected in 25 g").status == 0
    candidates = {one["code"]: one for one in _recall(lotwalk)["candidates"]}
    (found,) = candidates["S-1"]["evidence"]
    assert (found["kind"], found["result"], found["at"]) == ("certificate", "passed", "2026-03-01")
    told = " ".join(lotwalk("recall", "Q-1", "--all").out.split())
    assert f"tested: passed {found['entry']}" in told
    # 1 - 0.99 ** 60 = 45 %: the acceptance of 54.7 % in FAO 444, table 3.2.
    assert "one sample would find it 1 time in 100, and 60 samples 45 times" in told
    closely = " ".join(lotwalk("recall", "Q-1", "--cause", "S-1").out.split())
    assert f"S-1: the certificate of 2026-03-01 ({found['entry']}), passed: `not detected in 25 g`." in closely


def test_the_answer_says_what_to_hold_whom_to_call_and_what_to_say(lotwalk, ledger):
    count = ("--lot", "P-1", "--amount", "50 g", "--by", "TO", "--at", "2026-03-14 12:00")
    assert lotwalk("record", "stock-count", *count).status == 0
    answer = _recall(lotwalk)
    held = {one["lot"]: one for one in answer["holds"]}
    assert (held["P-1"]["amount"], held["P-1"]["unit"], held["P-1"]["counted"], held["P-1"]["held"]) == (
        "50", "g", True, None,
    )  # fmt: skip
    assert [one["customer"] for one in answer["calls"]] == ["CAFE", "SHOP"]
    told = " ".join(lotwalk("recall", "Q-1", "--all").out.split())
    assert "Put what is not on hold apart, mark it, and record it: lotwalk record hold --lots" in told
    assert "This is Hill Farm. We are recalling what you got from us" in told
    assert "lotwalk record recall-contact --customer CAFE --complaint Q-1" in told
    assert lotwalk("record", "hold", "--lots", "P-1", "--reason", "recall", "--by", "TO").status == 0
    call = ("--complaint", "Q-1", "--customer", "CAFE", "--reached", "no", "--by", "TO")
    assert lotwalk("record", "recall-contact", *call).status == 0
    told = " ".join(lotwalk("recall", "Q-1", "--all").out.split())
    assert "50 g, counted since E" in told
    assert "NOT reached E" in told


def test_an_end_of_a_larger_book_that_does_not_fit_is_said_beside_the_answer(lotwalk, ledger, monkeypatch):
    """Where the log is too long to be derived again for an answer, its newest entry is looked at all the same."""
    monkeypatch.setattr(sound, "SMALL", 0)
    with sqlite3.connect(ledger) as connection:
        connection.execute("UPDATE entry SET root = zeroblob(32) WHERE seq = (SELECT max(seq) FROM entry)")
    connection.close()
    done = lotwalk("recall", "Q-1", "--format", "json")
    assert done.json["log_fits"] is False
    assert "is not what was hashed when it was recorded" in done.err


def test_from_a_book_whose_end_was_edited_nothing_is_told(lotwalk, ledger):
    assert _recall(lotwalk)["log_fits"] is True
    with sqlite3.connect(ledger) as connection:
        connection.execute(
            "UPDATE entry SET record = replace(record, 'two', 'ten') WHERE seq = (SELECT max(seq) FROM entry)"
        )
    connection.close()
    done = lotwalk("recall", "Q-1", "--format", "json")
    assert (done.status, done.out) == (1, "")
    assert "its text is not what was hashed when it was recorded" in done.err
