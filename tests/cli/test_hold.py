"""A hold names lots, batches and items; a delivery or a complaint is replaced by its lots, and the entry says so.

In the farm of `farm.yaml` D-1 and D-2 hold P-1 (800 g made, 500 g and 300 g delivered, so that by the book nothing is
left of it), Q-1 is about D-1, and S-1 came under the supplier's lot 0302. H-1 (900 g) has 100 g left after P-1.
"""

import pytest


@pytest.fixture
def shown(lotwalk, ledger):
    def shown(entry):
        return lotwalk("show", entry, "--format", "json").json["fields"]

    return shown


def held(lotwalk, code):
    """The entry by which a lot is on hold in the recall from Q-1."""
    holds = lotwalk("recall", "Q-1", "--format", "json").json["holds"]
    return {one["lot"]: one["held"] for one in holds}[code]


WHY = ("--reason", "a call", "--by", "TO", "--at", "2026-03-14 11:00")


@pytest.mark.parametrize("named", ["D-1", "d-1", "Q-1"])
def test_a_delivery_or_a_complaint_is_replaced_by_its_lots_and_the_entry_says_so(lotwalk, shown, named):
    done = lotwalk("record", "hold", "--lots", named, *WHY)
    assert done.status == 0
    fields = shown("E24")
    assert (fields["lots"], fields["instead_of"]) == (["P-1"], [named])
    told = " ".join(done.out.split())
    assert f"Note: {named} stands for P-1, written in its place, each lot whole" in told
    assert "Note: P-1 is not shown to be on hand, and held all the same; look in the store" in told
    # On the shelf there is some of it all the same.
    count = ("--lot", "P-1", "--amount", "50 g", "--by", "TO", "--at", "2026-03-14 12:00")
    assert lotwalk("record", "stock-count", *count).status == 0
    assert held(lotwalk, "P-1") == "E24"
    assert lotwalk("verify").status == 0
    # A release by the same name releases the same lots.
    assert lotwalk("record", "release", "--lots", named, *WHY[:4], "--at", "2026-03-14 13:00").status == 0
    assert shown("E26")["lots"] == ["P-1"]
    assert held(lotwalk, "P-1") is None


def test_each_lot_stands_there_once_and_what_is_named_itself_stays(lotwalk, shown):
    done = lotwalk("record", "hold", "--lots", "H-1,D-1,Q-1,M-003,T-2", *WHY)
    assert done.status == 0
    fields = shown("E24")
    assert (fields["lots"], fields["instead_of"]) == (["H-1", "P-1", "M-003", "T-2"], ["D-1", "Q-1"])
    # H-1 is still there as far as the book knows; of T-2 the one tray was cut.
    assert "T-2 and P-1 are not shown to be on hand" in done.out or "P-1 and T-2 are not shown" in done.out
    assert "H-1" not in done.out.split("not shown")[0].split("Note:")[-1]


def test_a_supplier_s_lot_stands_for_what_came_in_under_it(lotwalk, shown):
    assert lotwalk("record", "hold", "--lots", "SEEDCO:0302", *WHY).status == 0
    fields = shown("E24")
    assert (fields["lots"], fields["instead_of"]) == (["S-1"], ["SEEDCO:0302"])


def test_lots_alone_are_as_they_were_written(lotwalk, shown):
    done = lotwalk("record", "hold", "--lots", "H-1..H-2", *WHY)
    assert done.status == 0
    assert shown("E24")["lots"] == "H-1..H-2"
    assert "instead_of" not in shown("E24")
    assert "stands for" not in done.out


def test_what_stands_for_no_lot_is_refused_together_with_all_other_mistakes(lotwalk, ledger, tmp_path):
    empty = ("--code", "Q-9", "--customer", "SHOP", "--type", "illness", "--description", "ill", "--by", "TO")
    days = ("--from", "2026-03-01", "--until", "2026-03-02", "--at", "2026-03-14 10:30")
    assert lotwalk("record", "complaint", *empty, *days).status == 0
    sheet = tmp_path / "holds.yaml"
    sheet.write_text(
        "- {kind: hold, at: 2026-03-14 11:00, by: TO, lots: Q-9, reason: a call}\n"
        "- {kind: hold, at: 2026-03-14 11:00, by: TO, lots: P-77, reason: a call}\n"
    )
    done = lotwalk("load", sheet)
    assert done.status == 2
    assert "holds.yaml:1: lots: Q-9 stands for no lot; expected the lots themselves" in done.err
    assert "holds.yaml:2: lots: P-77 is not in the book" in done.err


def test_a_sheet_may_hold_what_it_delivers_itself(lotwalk, shown, tmp_path):
    sheet = tmp_path / "week.yaml"
    sheet.write_text(
        "common: {by: TO, at: 2026-03-14 16:00}\n"
        "entries:\n"
        "- {kind: delivery, code: D-3, customer: SHOP, items: [H-1 20 g, H-2 50 g]}\n"
        "- {kind: complaint, code: Q-2, customer: SHOP, type: illness, deliveries: 'D-3, D-1', description: ill}\n"
        "- {kind: hold, lots: D-3, reason: a call}\n"
        "- {kind: hold, lots: Q-2, reason: another call}\n"
    )
    done = lotwalk("load", sheet)
    assert done.status == 0
    assert "E26: D-3 stands for H-1 and H-2, written in its place, each lot whole" in done.out
    assert shown("E26")["lots"] == ["H-1", "H-2"]
    assert (shown("E27")["lots"], shown("E27")["instead_of"]) == (["H-1", "H-2", "P-1"], ["Q-2"])


def test_an_amended_hold_says_the_lots_of_what_is_named_now(lotwalk, shown):
    assert lotwalk("record", "hold", "--lots", "D-1", *WHY).status == 0
    because = ("--because", "the other one", "--by", "TO")
    assert lotwalk("amend", "E24", "--set", "lots=H-2", *because).status == 0
    assert shown("E24")["lots"] == "H-2"
    assert "instead_of" not in shown("E24")
    assert lotwalk("amend", "E24", "--set", "lots=H-1,Q-1", *because).status == 0
    assert (shown("E24")["lots"], shown("E24")["instead_of"]) == (["H-1", "P-1"], ["Q-1"])
    # Another field leaves them as they are.
    assert lotwalk("amend", "E24", "--set", "reason=a second call", *because).status == 0
    assert (shown("E24")["lots"], shown("E24")["instead_of"]) == (["H-1", "P-1"], ["Q-1"])


def test_a_held_item_that_is_used_is_a_finding(lotwalk, ledger):
    assert lotwalk("record", "hold", "--lots", "KN-1", *WHY).status == 0
    sown = ("--batch", "T-9", "--seed", "S-1 50 g", "--trays", "1", "--water", "none", "--by", "TO")
    assert lotwalk("record", "sowing", *sown, "--equipment", "KN-1", "--at", "2026-03-14 12:00").status == 0
    washed = ("--items", "KN-1", "--method", "brushed", "--by", "TO", "--at", "2026-03-14 11:30")
    assert lotwalk("record", "washing", *washed).status == 0
    findings = lotwalk("check", "--on", "2026-03-15", "--format", "json").json["findings"]
    (found,) = [one for one in findings if one["id"].startswith("held-moved")]
    assert found["id"] == "held-moved:KN-1:T-9"
    assert "KN-1 was used for T-9 on 2026-03-14 12:00 (E25), while it was on hold (E24" in found["text"]
