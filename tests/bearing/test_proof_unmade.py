"""A break that was believed is no longer, once something is written that it does not agree with; and the other way.

The farm of this file, by hand. KN-1 cuts T-1 on M-1 on the 9th. M-1 is dipped well on the 10th, and T-2 is sown on it
on the 12th. So what was on KN-1 gets onto T-2 by M-1 exactly where that dip is no clean break.
"""

from itertools import permutations

import pytest
from tests.bearing.farm import FIRST, dip, forward, history, load

from lotwalk.book import Book
from lotwalk.checks.by_subject import CHECKS
from lotwalk.checks.findings import find
from lotwalk.ledger.verify.entries import verify

SOW = """
    - {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 100 g, trays: 1, equipment: M-1, water: none}
    - {kind: harvest, at: 2026-03-09 09:00, lot: H-1, from: T-1, amount: 300 g, cut: above the medium, equipment: KN-1}
"""
SOLUTION = "- {kind: solution, at: 2026-03-10 08:00, lot: SOL-2, product: BL-1, volume: 10 L}\n"
DIP = dip("M-1", "2026-03-10 09:00").replace("SOL-1", "SOL-2")
AGAIN = """
    - {kind: sowing, at: 2026-03-12 09:00, batch: T-2, seed: S-2 100 g, trays: 1, equipment: M-1, water: none}
"""
SOILED = "- {kind: washing, at: 2026-03-10 10:00, items: M-1, method: looked at again, seen_clean: no, water: none}\n"
FELL = "- {kind: contact, at: 2026-03-10 09:30, what: fell on the floor, items: M-1}\n"
DIPPED = FIRST + 3
"""The number of the dip."""


def passed(book, entry=DIPPED):
    """What an entry's verdict passes by now."""
    return history(book, entry)[-1].judged.passed


def number(receipt):
    """The number of the entry of a receipt."""
    return int(receipt.name[1:])


def found(book):
    """The names of the open findings."""
    with book.ledger.reading() as connection:
        return {one.finding.id for one in find(book.records(connection), CHECKS) if one.open}


def whole(book):
    with book.ledger.reading() as connection:
        checked = verify(connection, book.ledger.kinds)
    return checked.ok, checked.why


@pytest.fixture
def dipped(book):
    """The farm with T-1 cut and M-1 dipped."""
    load(book, SOW)
    load(book, SOLUTION)
    load(book, DIP)
    assert passed(book) == ("M-1",)
    return book


def test_what_is_seen_not_clean_after_its_dip_is_judged_again_at_once_and_the_receipt_says_so(dipped):
    _, again = load(dipped, SOILED)
    assert (again.name, again.verdict.failed) == (f"E{DIPPED}", ("M-1",))
    assert f"M-1 was noted as not clean after this (E{DIPPED + 1})" in again.verdict.because("break")[0].text
    assert passed(dipped) == ()
    (sown,) = load(dipped, AGAIN)
    assert "T-2" in forward(dipped, "KN-1")
    assert {f"no-clean-break:{sown.name}", f"not-clean:E{DIPPED}"} <= found(dipped)
    assert whole(dipped) == (True, "")


def test_the_order_of_typing_decides_nothing(template, tmp_path):
    """The dip, the sowing on it, what was seen and a use in between, typed in any order, give the same verdict."""
    parts = {"dip": DIP, "seen": SOILED, "fell": FELL}
    for place, order in enumerate(permutations(parts)):
        where = tmp_path / f"{place}.db"
        where.write_bytes(template.read_bytes())
        book = Book.open(str(where), clock=lambda: 1_774_500_000)
        load(book, SOW)
        load(book, SOLUTION)
        made = {}
        for name in order:
            made[name] = number(load(book, parts[name])[0])
            if {"dip", "seen"} <= made.keys():
                assert passed(book, made["dip"]) == (("M-1",) if "fell" in made else ()), order
        assert whole(book) == (True, "")
        book.ledger.engine.dispose()


def test_a_note_that_is_voided_or_amended_lets_the_dip_stand_again(dipped):
    note, _ = load(dipped, SOILED)
    assert passed(dipped) == ()
    dipped.amend(number(note), {"seen_clean": "yes"}, because="another mat", by=["TO"])
    assert passed(dipped) == ("M-1",)
    dipped.amend(number(note), {"seen_clean": "no"}, because="it was this one", by=["TO"])
    assert passed(dipped) == ()
    dipped.void(number(note), because="another mat", by=["TO"])
    assert passed(dipped) == ("M-1",)
    load(dipped, AGAIN)
    assert "T-2" not in forward(dipped, "KN-1")


def test_a_use_between_that_is_voided_leaves_the_dip_unproved(dipped):
    (fell,) = load(dipped, FELL)
    load(dipped, SOILED)
    assert passed(dipped) == ("M-1",)
    dipped.void(number(fell), because="it was M-2", by=["TO"])
    assert passed(dipped) == ()


LENT = "- {kind: delivery, at: 2026-03-09 12:00, code: D-1, customer: CAFE, items: H-1 100 g, lent: M-1}\n"
HOME = "- {kind: items-back, at: 2026-03-11 08:00, items: M-1, customer: CAFE}\n"


def test_a_dip_of_what_is_lent_out_does_not_pass_whenever_that_is_typed(dipped):
    """Lent on the 9th and back on the 11th, the dip dated the 10th: both are typed after it."""
    lent, again = load(dipped, LENT)
    assert (again.name, again.verdict.failed) == (f"E{DIPPED}", ("M-1",))
    assert f"M-1 was lent out then ({lent.name}, 2026-03-09 12:00)" in again.verdict.because("break")[0].text
    (home,) = load(dipped, HOME)
    assert passed(dipped) == ()
    load(dipped, AGAIN)
    assert "T-2" in forward(dipped, "KN-1")
    dipped.amend(number(home), {"at": "2026-03-09 18:00"}, because="wrong day", by=["TO"])
    assert passed(dipped) == ("M-1",)
    dipped.void(number(home), because="never came back", by=["TO"])
    assert passed(dipped) == ()
    dipped.amend(number(lent), {"lent": None}, because="that was M-2", by=["TO"])
    assert passed(dipped) == ("M-1",)


def test_a_dip_before_the_registration_of_what_was_dipped_does_not_pass(book):
    load(book, "- {kind: equipment, at: 2026-03-11 08:00, codes: M-9, type: medium}\n")
    load(book, dip("M-9", "2026-03-02 09:00"))
    dipping = FIRST + 1
    assert "M-9 was not there yet" in history(book, dipping)[-1].judged.because("break")[0].text
    book.amend(FIRST, {"at": "2026-03-01 08:00"}, because="typed later", by=["TO"])
    assert passed(book, dipping) == ("M-9",)
    book.void(FIRST, because="wrong", by=["TO"])
    assert passed(book, dipping) == ()
    load(book, "- {kind: equipment, at: 2026-03-01 08:00, codes: M-9, type: medium}\n")
    assert passed(book, dipping) == ("M-9",)


def test_what_got_a_new_tag_is_there_from_that_change_on(book):
    load(book, "- {kind: equipment-change, at: 2026-03-02 12:00, items: M-2, what: retagged, codes: N-2}\n")
    load(book, dip("N-2", "2026-03-02 09:00"))
    assert passed(book, FIRST + 1) == ()
    load(book, dip("N-2", "2026-03-02 15:00"))
    assert passed(book, FIRST + 2) == ("N-2",)


SHEET = """
    in_order: {in_order}
    common: {{by: TO}}
    entries:
    - {{kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 100 g, trays: 1, equipment: M-1, water: none}}
    - {{kind: sowing, at: 2026-03-02 09:10, batch: T-2, seed: S-2 100 g, trays: 1, equipment: M-2, water: none}}
    - {{kind: growing-check, at: {watered}, batches: T-1, equipment: KN-1, water: none}}
    - {{kind: solution, at: 2026-03-04 08:00, lot: SOL-2, product: BL-1, volume: 10 L}}
    - {{kind: sanitising, at: 2026-03-04 09:00, items: KN-1, solution: SOL-2, reading: 100 ppm, contact: 2 min,
       washed: yes, temperature: 20 C, ph: 7}}
    - {{kind: growing-check, at: 2026-03-06 09:00, batches: T-2, equipment: KN-1, water: none}}
"""


@pytest.mark.parametrize("in_order", ["yes", "no"])
def test_line_order_does_not_part_what_went_on_for_days(book, in_order):
    """KN-1 works on T-1 from the 2nd to the 9th, is dipped on the 4th and works on T-2 on the 6th.

    It may have gone back to T-1 on the 5th, whichever line each stands on.
    """
    load(book, SHEET.format(in_order=in_order, watered="2026-03-02..2026-03-09"))
    assert "T-2" in forward(book, "S-1")


@pytest.mark.parametrize(("in_order", "reached"), [("yes", False), ("no", True)])
def test_within_a_day_line_order_is_the_growers_own_word(book, in_order, reached):
    """It works on T-1 some time on the 4th; on a sheet in order that was before the dip of nine."""
    load(book, SHEET.format(in_order=in_order, watered="2026-03-04"))
    assert ("T-2" in forward(book, "S-1")) is reached


def test_hot_water_that_is_not_hot_enough_touches_the_usual_tub_and_counts_as_silent_where_there_is_none(book):
    load(
        book,
        """
        - {kind: place, at: 2026-03-01 08:00, code: WASH, name: Wash room, use: wash, usual_items: BUCKET}
        - {kind: place, at: 2026-03-01 08:00, code: YARD, name: Yard, use: wash}
    """,
    )
    for knife, degrees, place in (
        ("KN-1", 60, "WASH"),
        ("KN-2", 60, "YARD"),
        ("KN-1", 80, "WASH"),
        ("KN-2", 80, "YARD"),
    ):
        load(
            book,
            f"- {{kind: sanitising, at: 2026-03-02 09:00, items: {knife}, method: heat, temperature: {degrees} C,"
            f" contact: 2 min, washed: yes, place: {place}}}\n",
        )
    versions = [history(book, FIRST + 2 + number)[-1] for number in range(4)]
    touched = [{use.code for use in one.uses if use.role and use.role.word == "touched"} for one in versions]
    assert touched == [{"KN-1", "BUCKET"}, {"KN-2"}, set(), set()]
    assert ["tub" in one.silent for one in versions] == [False, True, False, False]


def test_a_mix_that_is_spilt_carries_what_was_left_in_it(book):
    """KN-1 goes unwashed into SOL-1, and KN-2 washed: the one leaves in the bath what it had on it. SOL-1 is spilt on
    M-1, and T-1 sown on it."""
    load(book, dip("KN-1", "2026-03-02 09:00").replace("washed: yes", "washed: no"))
    load(book, dip("KN-2", "2026-03-02 09:10"))
    (spilt,) = load(book, "- {kind: contact, at: 2026-03-02 10:00, what: spilt, items: M-1, lots: SOL-1}\n")
    load(book, "- {kind: sowing, at: 2026-03-02 11:00, batch: T-1, seed: S-1 100 g, trays: 1, equipment: M-1}\n")
    assert {"M-1", "T-1"} <= forward(book, "KN-1")
    assert not {"M-1", "T-1"} & forward(book, "KN-2")
    assert "shared SOL-1" in {f"{use.role.word} {use.code}" for use in history(book, number(spilt))[-1].uses}
    assert whole(book) == (True, "")
