"""What is left of a lot after a part of it was taken, and nobody says a word of the rest.

What a packing left of a lot lay on the same bench. What a cut left of a batch was under the same knife, and stands on:
that is seen when fewer trays were cut than were sown, or when the batch is cut again, however late that is typed.
"""

from dataclasses import replace

import pytest
from tests.bearing.farm import FIRST, back, dip, forward, history, load, uses

from lotwalk.book import Book
from lotwalk.judge import NUMBER
from lotwalk.ledger.verify.entries import verify
from lotwalk.ledger.write.resolve import Resolver
from lotwalk.values.roles import Role

_RESOLVE = Resolver.resolve

SOWN = """
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 100 g, trays: 4, equipment: M-1..M-4, water: none}
"""
NO_MATS = """
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 100 g, trays: 4, equipment: none, water: none}
"""
CUT = "- {{kind: harvest, at: {}, lot: {}, from: [{}], amount: 900 g, cut: above the medium, equipment: {}}}\n"
FIRST_CUT = CUT.format("2026-03-10 09:00", "H-1", "{batch: T-1}", "KN-1")
SECOND_CUT = CUT.format("2026-03-20 09:00", "H-2", "{batch: T-1}", "KN-2").replace("H-2,", "H-2, cutting: 2,")
HALF = CUT.format("2026-03-10 09:00", "H-1", "T-1 2", "KN-1")
OTHER_HALF = CUT.format("2026-03-11 09:00", "H-2", "T-1 2", "KN-2")
REASON = "filed anew, since what it left of a lot is recorded otherwise now"
STANDS_ON = (
    "2 of 4 trays of T-1 are taken by now, and nothing is said of the others, so they stand on; write"
    " `finished: yes` if none does"
)


def passed(book, number):
    """The items that a dip cleared, by what the book says now."""
    return set(history(book, number)[-1].judged.passed)


def whole(book):
    with book.ledger.reading() as connection:
        return verify(connection, book.ledger.kinds).ok


# The rest of what was packed.

PACKED = """
- {kind: packing, at: 2026-03-10 11:00, lot: P-1, from: H-1 100 g, amount: 100 g, equipment: KN-2}
- {kind: packing, at: 2026-03-11 11:00, lot: P-2, from: H-1 800 g, amount: 800 g, equipment: RK-1}
"""


def test_the_rest_of_a_lot_has_met_what_a_part_of_it_was_packed_on(book):
    load(book, SOWN + FIRST_CUT + PACKED)
    assert {"H-1", "P-2"} <= forward(book, "KN-2")
    assert "KN-2" in back(book, "P-2")


def test_what_was_packed_before_has_not_met_what_the_rest_is_packed_on(book):
    load(book, SOWN + FIRST_CUT + PACKED)
    assert "P-1" not in forward(book, "RK-1")


def test_what_is_used_up_met_nothing_more(book):
    load(book, SOWN + FIRST_CUT + PACKED)
    assert uses(book, FIRST + 2, "handled") == {"handled H-1"}
    # 100 g and 800 g of 900 g: of the last packing nothing is left.
    assert uses(book, FIRST + 3, "handled") == set()


@pytest.mark.parametrize("change", ["more is taken", "the first is void", "more was cut"])
def test_what_seemed_used_up_and_was_not_is_read_again(book, change):
    load(book, SOWN + FIRST_CUT + PACKED)
    if change == "more is taken":
        more = "- {kind: packing, at: 2026-03-12 11:00, lot: P-3, from: H-1 20 g, amount: 20 g, equipment: none}\n"
        load(book, more, "more.yaml")
        assert "P-3" in forward(book, "RK-1")
    elif change == "the first is void":
        book.void(FIRST + 2, because="not done", by=["TO"])
    else:
        book.amend(FIRST + 1, {"amount": "950 g"}, because="misread the scale", by=["TO"])
    assert uses(book, FIRST + 3, "handled") == {"handled H-1"}
    assert whole(book)


def test_of_two_packings_of_a_day_without_hours_either_may_have_been_the_first(book):
    days = PACKED.replace("2026-03-11 11:00", "2026-03-10").replace("2026-03-10 11:00", "2026-03-10")
    load(book, SOWN + FIRST_CUT + days)
    assert "P-2" in forward(book, "KN-2")
    assert "P-1" in forward(book, "RK-1")


def test_nothing_is_left_where_the_row_says_so(book):
    load(book, SOWN + FIRST_CUT + PACKED.replace("from: H-1 100 g", "from: [{lot: H-1, amount: 100 g, finished: yes}]"))
    assert "P-2" not in forward(book, "KN-2")


def test_the_rest_of_a_bought_lot_has_not_met_what_some_of_it_was_sown_with(book):
    # A scoop that was put into a sack of seed is not followed.
    sowing = "- {{kind: sowing, at: 2026-03-0{0} 09:00, batch: T-{0}, seed: S-1 100 g, trays: 1, equipment: KN-{0}}}\n"
    load(book, sowing.format(1) + sowing.format(2))
    assert "T-2" not in forward(book, "KN-1")


# A batch that is cut again.

ORDERS = pytest.mark.parametrize("second_first", [False, True], ids=["as it was done", "the second typed first"])


@pytest.mark.parametrize("sown", [SOWN, NO_MATS], ids=["on mats", "mats not named"])
@ORDERS
def test_a_later_cutting_shows_that_the_first_left_something(book, sown, second_first):
    load(book, sown)
    cuts = [(FIRST_CUT, "first.yaml"), (SECOND_CUT, "second.yaml")]
    for sheet, name in reversed(cuts) if second_first else cuts:
        load(book, sheet, name)
    assert "H-2" in forward(book, "KN-1")
    assert "KN-1" in back(book, "H-2")
    assert whole(book)


def test_both_cuttings_on_one_sheet_are_read_so_at_once(book):
    load(book, NO_MATS + FIRST_CUT + SECOND_CUT)
    assert "H-2" in forward(book, "KN-1")
    assert len(history(book, FIRST + 1)) == 1


def test_the_receipt_says_that_the_first_is_filed_anew(book):
    load(book, SOWN + FIRST_CUT)
    receipts = load(book, SECOND_CUT, "second.yaml")
    (told,) = [one for one in receipts if one.name == f"E{FIRST + 1}"]
    assert told.notices == (REASON,)
    old, new = history(book, FIRST + 1)
    assert (new.fields, new.at, new.by, new.amended_by) == (old.fields, old.at, old.by, ())
    assert uses(book, FIRST + 1, "handled") == {"handled T-1"}


@pytest.mark.parametrize("change", ["void", "another batch"])
def test_without_the_later_cutting_the_first_left_nothing(book, change):
    load(book, SOWN + SOWN.replace("T-1", "T-9").replace("M-1..M-4", "TR-5") + FIRST_CUT)
    load(book, SECOND_CUT, "second.yaml")
    if change == "void":
        book.void(FIRST + 3, because="written twice", by=["TO"])
    else:
        book.amend(FIRST + 3, {"from": [{"batch": "T-9"}]}, because="another batch", by=["TO"])
    assert uses(book, FIRST + 2, "handled") == set()
    assert whole(book)


def test_a_batch_that_is_amended_into_a_later_cutting_shows_it_too(book):
    load(book, SOWN + SOWN.replace("T-1", "T-9").replace("M-1..M-4", "TR-5") + FIRST_CUT)
    load(book, SECOND_CUT.replace("batch: T-1", "batch: T-9"), "second.yaml")
    assert uses(book, FIRST + 2, "handled") == set()
    book.amend(FIRST + 3, {"from": [{"batch": "T-1"}]}, because="another batch", by=["TO"])
    assert uses(book, FIRST + 2, "handled") == {"handled T-1"}


def test_the_mats_of_a_batch_that_is_cut_again_were_not_free_in_between(book):
    load(book, SOWN + FIRST_CUT + dip("M-1..M-4", "2026-03-10 12:00"))
    assert passed(book, FIRST + 2) == {"M-1", "M-2", "M-3", "M-4"}
    receipts = load(book, SECOND_CUT, "second.yaml")
    assert passed(book, FIRST + 2) == set()
    assert f"E{FIRST + 2}" in {one.name for one in receipts}


def test_cut_in_two_goes_on_one_day_without_hours_the_batch_is_finished(book):
    # Neither is surely the later, so the one that was typed last counts as that.
    halves = [cut.replace(" 09:00", "").replace("03-11", "03-10") for cut in (HALF, OTHER_HALF)]
    load(book, SOWN + "".join(halves) + dip("M-1..M-4", "2026-03-12 09:00"))
    assert passed(book, FIRST + 3) == {"M-1", "M-2", "M-3", "M-4"}


def test_trimmings_that_are_thrown_away_show_no_crop(book):
    thrown = "- {kind: disposal, at: 2026-03-10 17:00, items: T-1, to: compost}\n"
    load(book, SOWN + FIRST_CUT + dip("M-1..M-4", "2026-03-10 12:00") + thrown)
    assert uses(book, FIRST + 1, "handled") == set()
    assert passed(book, FIRST + 2) == {"M-1", "M-2", "M-3", "M-4"}


# Fewer trays than were sown.


def test_fewer_trays_than_were_sown_and_nothing_said_leave_the_rest_standing(book):
    receipts = load(book, SOWN + HALF + dip("M-1..M-4", "2026-03-10 12:00"))
    assert STANDS_ON in receipts[1].notices
    assert uses(book, FIRST + 1, "handled") == {"handled T-1"}
    # Which of the mats are free nobody says.
    assert passed(book, FIRST + 2) == set()


THE_REST = pytest.mark.parametrize(
    "rest",
    [
        OTHER_HALF,
        "- {kind: disposal, at: 2026-03-11 09:00, items: [{lot: T-1, trays: 2}], to: compost}\n",
        "- {kind: disposal, at: 2026-03-11 09:00, items: T-1, to: compost}\n",
        "- {kind: packing, at: 2026-03-11 09:00, lot: P-1, from: T-1 2 trays, amount: 90 g, equipment: none}\n",
        "- {kind: delivery, at: 2026-03-11 09:00, code: D-1, customer: CAFE, items: T-1 2 trays}\n",
        "- {kind: growing-check, at: 2026-03-11 09:00, batches: T-1, trays_lost: 2, water: none, equipment: none}\n",
    ],
    ids=["cut", "thrown away by number", "thrown away", "packed", "sold", "given up"],
)


@THE_REST
def test_it_is_finished_once_the_last_tray_is_gone(book, rest):
    load(book, SOWN + HALF + rest + dip("M-1..M-4", "2026-03-12 09:00"))
    assert passed(book, FIRST + 3) == {"M-1", "M-2", "M-3", "M-4"}


@THE_REST
def test_until_then_the_other_trays_stood(book, rest):
    """Two of four trays are cut on the 10th at 09:00, the mats are dipped at noon, and the others go on the 11th."""
    load(book, SOWN + HALF + rest + dip("M-1..M-4", "2026-03-10 12:00"))
    assert uses(book, FIRST + 1, "handled") == {"handled T-1"}
    assert passed(book, FIRST + 3) == set()


def test_a_dip_is_judged_again_when_it_is_typed_late_that_the_last_trays_were_gone(book):
    load(book, SOWN + HALF + dip("M-1..M-4", "2026-03-12 09:00"))
    load(book, "- {kind: disposal, at: 2026-03-11 09:00, items: [{lot: T-1, trays: 2}], to: compost}\n", "late.yaml")
    assert passed(book, FIRST + 2) == {"M-1", "M-2", "M-3", "M-4"}
    book.void(FIRST + 3, because="another batch", by=["TO"])
    assert passed(book, FIRST + 2) == set()


def test_a_dip_is_judged_again_when_another_tray_is_taken_after_the_last(book):
    """T-1 is of two trays, both sold by the 10th, and TR-5 is dipped on the 11th. A third one is thrown away on the
    16th: somebody miscounted, and what took two is not known to have been the last. So TR-5 may have borne T-1."""
    load(
        book,
        """
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 100 g, trays: 2, equipment: TR-5, water: none}
- {kind: delivery, at: 2026-03-09 09:00, code: D-1, customer: CAFE, items: T-1 1 tray}
- {kind: delivery, at: 2026-03-10 09:00, code: D-2, customer: CAFE, items: T-1 1 tray}
"""
        + dip("TR-5", "2026-03-11 09:00"),
    )
    assert uses(book, FIRST + 3, "cleared", "touched") == {"cleared TR-5"}
    thrown = "- {kind: disposal, at: 2026-03-16 09:00, items: T-1 1 tray, to: compost}\n"
    load(book, thrown, "thrown.yaml")
    assert uses(book, FIRST + 3, "cleared", "touched") == {"touched TR-5"}
    book.void(FIRST + 4, because="that was T-2", by=["TO"])
    assert uses(book, FIRST + 3, "cleared", "touched") == {"cleared TR-5"}


def test_what_touched_a_mat_is_looked_at_again_when_another_tray_is_taken_after_the_last(book):
    """T-1, of one tray, and T-2 share TR-5. T-1 is sold on the 5th, and T-2 is moved on the 8th. On the 16th another
    tray of T-1 is sold: somebody miscounted, so T-1 may have stood there on the 8th."""
    sheets = (
        "- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 9 g, trays: 1, equipment: TR-5, water: none}\n",
        "- {kind: sowing, at: 2026-03-02 10:00, batch: T-2, seed: S-1 9 g, trays: 1, equipment: TR-5, water: none}\n",
        "- {kind: delivery, at: 2026-03-05 09:00, code: D-1, customer: CAFE, items: T-1 1 tray}\n",
        "- {kind: move, at: 2026-03-08 09:00, codes: T-2, to: ROOM, equipment: RK-2}\n",
    )
    for number, sheet in enumerate(sheets):
        load(book, sheet, f"{number}.yaml")
    assert uses(book, FIRST + 3, "handled") == {"handled T-2"}
    more = "- {kind: delivery, at: 2026-03-16 09:00, code: D-2, customer: CAFE, items: T-1 1 tray}\n"
    load(book, more, "more.yaml")
    assert uses(book, FIRST + 3, "handled") == {"handled T-1", "handled T-2"}


def test_one_tray_less_than_that_still_stands(book):
    thrown = "- {kind: disposal, at: 2026-03-11 09:00, items: [{lot: T-1, trays: 1}], to: compost}\n"
    load(book, SOWN + HALF + thrown + dip("M-1..M-4", "2026-03-12 09:00"))
    assert passed(book, FIRST + 3) == set()


@pytest.mark.parametrize("trays", ['"M-1,M-2"', "M-1..M-2"])
def test_a_mat_that_the_row_names_as_cut_is_free(book, trays):
    cut = CUT.format("2026-03-10 09:00", "H-1", f"{{batch: T-1, trays: {trays}}}", "KN-1")
    load(book, SOWN + cut + dip("M-1..M-4", "2026-03-10 12:00"))
    assert uses(book, FIRST + 1, "handled") == {"handled T-1"}
    assert passed(book, FIRST + 2) == {"M-1", "M-2"}
    # T-9 on M-1 has nothing of what stands on the other mats.
    load(book, SOWN.replace("T-1", "T-9").replace("M-1..M-4", "M-1").replace("03-02", "03-12"), "next.yaml")
    assert uses(book, FIRST + 3, "handled") == set()


def test_a_mat_that_is_named_again_bore_in_between(book):
    row = "{batch: T-1, trays: M-1}"
    load(book, SOWN + CUT.format("2026-03-10 09:00", "H-1", row, "KN-1") + dip("M-1", "2026-03-10 12:00"))
    assert passed(book, FIRST + 2) == {"M-1"}
    load(book, CUT.format("2026-03-20 09:00", "H-2", row, "KN-2"), "second.yaml")
    assert passed(book, FIRST + 2) == set()


def test_a_tray_and_the_mat_in_it_are_one(book):
    sown = SOWN.replace("trays: 4", "trays: 2").replace("M-1..M-4", "M-1..M-2, TR-5")
    load(book, sown.replace("equipment: M-1..M-2, TR-5", 'equipment: "M-1..M-2, TR-5"'))
    load(book, CUT.format("2026-03-10 09:00", "H-1", "{batch: T-1, trays: 'M-1, TR-5'}", "KN-1"), "cut.yaml")
    assert uses(book, FIRST + 1, "handled") == {"handled T-1"}


def test_trays_that_were_lost_before_are_not_waited_for(book):
    lost = "- {kind: growing-check, at: 2026-03-05 09:00, batches: T-1, trays_lost: 2, water: none, equipment: none}\n"
    receipts = load(book, SOWN + lost + HALF + dip("M-1..M-4", "2026-03-12 09:00"))
    assert uses(book, FIRST + 2, "handled") == set()
    assert not receipts[2].notices
    assert passed(book, FIRST + 3) == {"M-1", "M-2", "M-3", "M-4"}


@pytest.mark.parametrize(("said", "left"), [("yes", set()), ("no", {"handled T-1"})])
def test_what_is_said_stands(book, said, left):
    row = f"{{batch: T-1, trays: 2, finished: {said}}}"
    receipts = load(book, SOWN + CUT.format("2026-03-10 09:00", "H-1", row, "KN-1"))
    assert uses(book, FIRST + 1, "handled") == left
    assert STANDS_ON not in receipts[1].notices


def test_the_second_cutting_of_two_of_four_trays_leaves_two(book):
    first = CUT.format("2026-03-10 09:00", "H-1", "{batch: T-1, trays: 4, finished: no}", "KN-1")
    second = CUT.format("2026-03-20 09:00", "H-2", "T-1 2", "KN-2").replace("H-2,", "H-2, cutting: 2,")
    load(book, SOWN + first + second + dip("M-1..M-4", "2026-03-20 12:00"))
    assert uses(book, FIRST + 2, "handled") == {"handled T-1"}
    assert passed(book, FIRST + 3) == set()


def test_a_cut_is_read_again_when_the_sowing_turns_out_to_be_of_more_trays(book):
    load(book, SOWN.replace("trays: 4", "trays: 2") + HALF + dip("M-1..M-4", "2026-03-10 12:00"))
    assert passed(book, FIRST + 2) == {"M-1", "M-2", "M-3", "M-4"}
    book.amend(FIRST, {"trays": "4"}, because="miscounted", by=["TO"])
    assert uses(book, FIRST + 1, "handled") == {"handled T-1"}
    assert passed(book, FIRST + 2) == set()


# What came back.

SOLD = """
- {kind: packing, at: 2026-03-10 11:00, lot: P-1, from: H-1 800 g, amount: 900 g, equipment: none}
- {kind: delivery, at: 2026-03-11 09:00, code: D-1, customer: CAFE, items: P-1 300 g, vehicle: VAN-1}
"""
AGAIN = "- {kind: delivery, at: 2026-03-13 09:00, code: D-2, customer: CAFE, items: P-1 300 g}\n"
RETURN = "- {{kind: return, at: 2026-03-12 09:00, delivery: D-1, lot: P-1, amount: 300 g{}}}\n"


@pytest.mark.parametrize(
    ("then", "reached"),
    [("", True), (", then: held", True), (", then: restocked", True), (", then: disposed", False)],
    ids=["nothing said", "held", "restocked without a code", "thrown away"],
)
def test_what_came_back_and_was_not_thrown_away_brings_what_it_met(book, then, reached):
    load(book, SOWN + FIRST_CUT + SOLD + RETURN.format(then) + AGAIN)
    assert ("D-2" in forward(book, "VAN-1")) is reached
    assert ("VAN-1" in back(book, "D-2")) is reached


def test_what_was_sold_before_it_came_back_has_met_nothing_of_it(book):
    load(book, SOWN + FIRST_CUT + SOLD + AGAIN.replace("03-13", "03-11") + RETURN.format(", then: held"))
    assert "D-2" not in forward(book, "VAN-1")


# A book of an older program.


def test_migrate_writes_what_was_left_into_older_entries(template, tmp_path, monkeypatch):
    where = tmp_path / "older.db"
    where.write_bytes(template.read_bytes())
    with monkeypatch.context() as older:
        # A program that knew nothing of what is left: no kind says so, and no judge sees it.
        older.setattr("lotwalk.ledger.write.append.leave", lambda pending, evidence: False)
        older.setattr("lotwalk.ledger.write.append.left_otherwise", lambda *rest: [])
        older.setattr(Resolver, "resolve", _resolve_as_before)
        before = Book.open(str(where), clock=lambda: 1_774_500_000)
        load(before, SOWN + FIRST_CUT)
        load(before, SECOND_CUT + SOLD + RETURN.format(", then: held") + AGAIN, "then.yaml")
        assert uses(before, FIRST + 1, "handled") == uses(before, FIRST + 3, "handled") == set()
        before.ledger.engine.dispose()
    monkeypatch.setattr("lotwalk.judge.NUMBER", NUMBER + 1)
    migrated = Book.migrate(str(where), backup=tmp_path / "before.db")
    assert {one.name for one in migrated.borne} == {f"E{FIRST + 1}", f"E{FIRST + 3}", f"E{FIRST + 5}"}
    after = Book.open(str(where), clock=lambda: 1_774_500_000)
    assert uses(after, FIRST + 1, "handled") == {"handled T-1"}
    assert uses(after, FIRST + 3, "handled") == {"handled H-1"}
    assert uses(after, FIRST + 5, "handled") == {"handled P-1", "handled D-1"}
    assert "D-2" in forward(after, "VAN-1")
    assert whole(after)
    after.ledger.engine.dispose()


def _resolve_as_before(resolver, checked, amended=None):
    found = _RESOLVE(resolver, checked, amended)
    if checked.kind.name == "return":
        found.uses = [replace(use, role=Role.ABOUT) if use.role is Role.HANDLED else use for use in found.uses]
    return found
