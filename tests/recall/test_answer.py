"""A book is asked from Python: the same answers as on the command line, as values, on a farm worked out by hand.

Two lots of seed go into two crops. Both are cut with KN-1, which is dipped in between in a mix that is too weak: the
dip does not count, so each crop could have given something to the other.
"""

from decimal import Decimal

import pytest

from lotwalk.book import Book
from lotwalk.errors import NotUnderstood
from lotwalk.recall.question import Question
from lotwalk.sheets.reader import read_sheet

FIRST_OF_MAY = 1_777_593_600
SHEET = """
common: {by: TO, at: 2026-03-01 08:00}
entries:
- {kind: person, code: TO, name: Tess Orr}
- {kind: supplier, code: SEEDS, name: Seeds}
- {kind: customer, code: CAFE, name: Corner Cafe, phone: 555 0101}
- {kind: customer, code: SHOP, name: Corner Shop}
- {kind: equipment, codes: KN-1, type: tool}
- {kind: water-source, code: MAIN, name: Main, type: municipal}
- {kind: seed-receipt, lot: S-1, crop: pea, supplier: SEEDS, supplier_lot: TB-7, amount: 5 kg}
- {kind: seed-receipt, lot: S-2, crop: radish, supplier: SEEDS, amount: 5 kg}
- {kind: supplies-receipt, lot: BL-1, product: Bleach, type: sanitiser, active: chlorine, label_min: 50 ppm,
   label_max: 200 ppm, label_contact: 1 min}
- {kind: solution, lot: SOL-1, product: BL-1, volume: 10 L}
- {kind: sowing, batch: T-1, seed: S-1 200 g, trays: 1, water: none}
- {kind: sowing, batch: T-2, seed: S-2 200 g, trays: 1, water: none}
- {kind: harvest, at: 2026-03-11 07:00, lot: H-1, from: T-1 1, amount: 900 g, cut: above the medium, equipment: KN-1}
- {kind: sanitising, at: 2026-03-11 12:00, items: KN-1, solution: SOL-1, reading: 20 ppm, contact: 2 min, washed: yes}
- {kind: harvest, at: 2026-03-12 07:00, lot: H-2, from: T-2 1, amount: 800 g, cut: above the medium, equipment: KN-1}
- {kind: delivery, at: 2026-03-13 09:00, code: D-1, customer: CAFE, items: H-1 900 g}
- {kind: delivery, at: 2026-03-13 10:00, code: D-2, customer: SHOP, items: H-2 500 g}
"""


@pytest.fixture
def book(tmp_path):
    begun = Book.start(
        str(tmp_path / "farm.db"), name="F", location="L", timezone="UTC", measures="metric", clock=lambda: FIRST_OF_MAY
    )
    with begun as book:
        book.load(read_sheet(SHEET, "farm.yaml"))
        yield book


def test_a_recall_is_a_value_with_all_that_is_to_be_done(book):
    answer = book.recall("D-2")
    assert answer.question == Question(("D-2",))
    assert {"S-2", "T-2", "H-2", "KN-1", "T-1", "S-1"} <= {one.thing.code for one in answer.found.candidates}
    assert answer.scope is answer.found
    # The shop got what was asked about; the cafe is reached through the knife.
    assert [(one.customer, one.phone, one.level, one.lots) for one in answer.calls] == [
        ("SHOP", "", 1, ("H-2",)),
        ("CAFE", "555 0101", 3, ("H-1",)),
    ]
    assert answer.names == {"SHOP": "Corner Shop", "CAFE": "Corner Cafe"}
    # 800 g were cut and 500 g went out; 900 g were cut and all of it went out.
    held = {one.code: (one.amount, one.unit) for one in answer.holds.lots}
    assert held["H-2"] == (Decimal(300), "g")
    assert "H-1" not in held
    assert answer.stands_for == {"D-2": ("D-2",)}
    assert answer.log_fits
    assert answer.detail is None
    assert (answer.farm, answer.zone.key) == ("F", "UTC")


def test_its_options_are_those_of_the_command_line(book):
    by_lots = book.recall("D-2", level=2)
    assert by_lots.scope is not by_lots.found
    assert [one.code for one in by_lots.scope.deliveries] == ["D-2"]
    assert [one.code for one in by_lots.found.deliveries] == ["D-1", "D-2"]
    looked_at = book.recall(["D-2"], cause="H-2").detail
    assert looked_at is not None
    assert looked_at.cause == "H-2"
    assert [step.went for step in looked_at.back["D-2"]] == ["D-2"]
    explained = book.recall("D-2", why="Corner Cafe").detail
    assert explained is not None
    assert explained.because == "CAFE is in this recall since it got D-1 (level 3)."
    # What is said as one word is the same as a list of one, and no letters.
    assert book.recall("D-2", distrust="all").found.doubt.all
    bought = book.recall(customer="SHOP", since="2026-03-13", until="2026-03-13")
    assert bought.codes == ("SHOP",)
    assert bought.started_from == ["D-2"]
    by_the_paper = book.recall("TB-7")
    assert by_the_paper.found.asked[0].read_as is not None
    assert by_the_paper.found.asked[0].read_as.words == "TB-7"


@pytest.mark.parametrize(
    ("asked", "wrong"),
    [
        ({}, "it is not said what it is about"),
        ({"codes": ("D-2",), "level": 6}, "level 6"),
        ({"codes": ("D-2",), "through": ("cats",)}, "through cats"),
        ({"codes": ("D-9",)}, "D-9 is not in the book"),
        ({"since": "2026-03-01"}, "it is not said which customer"),
        ({"customer": "SHOP", "since": "2026-03-02", "until": "2026-03-01"}, "--until is before --from"),
        ({"codes": ("D-2",), "cause": "S-9"}, "S-9 is no candidate cause here"),
        ({"codes": ("D-2",), "believe": ("H-1",)}, "--believe H-1"),
    ],
)
def test_what_cannot_be_asked_is_refused_in_words(book, asked, wrong):
    with pytest.raises(NotUnderstood, match=wrong):
        book.recall(Question(**asked))


def test_an_option_that_there_is_not_is_a_slip_of_the_programmer(book):
    with pytest.raises(TypeError, match="levels"):
        book.recall("D-2", levels=2)


def test_a_trace_goes_one_way_and_says_what_it_stands_for(book):
    forward = book.trace("S-1", "forward")
    by_lots = {one.thing.code for one in forward.walk.reached if one.link == "ingredient"}
    assert by_lots == {"T-1", "H-1", "D-1"}
    back = {one.thing.code: one.level for one in book.trace("TB-7", "back").walk.reached}
    assert "SEEDS:TB-7" in back
    # The knife was used on the 11th for H-1 and on the 12th for H-2.
    late = book.trace("KN-1", "forward", since="2026-03-12")
    assert "H-1" not in {one.thing.code for one in late.walk.reached}
    with pytest.raises(NotUnderstood, match="S-1 is a seed lot"):
        book.trace("S-1", "forward", since="2026-03-12")
    with pytest.raises(NotUnderstood, match="sideways"):
        book.trace("S-1", "sideways")


def test_a_balance_says_whether_it_balances(book):
    even = book.balance("H-1")
    assert even.balanced
    short = book.balance(["H-1..H-2"], onward=True)
    assert not short.balanced
    assert [(one.code, one.sums.unaccounted) for one in short.found.lots] == [("H-1", 0), ("H-2", 300)]
    # All that was sown of S-2 went into T-2, and all of T-2 into H-2, of which 500 g were delivered.
    further = book.balance("S-2", onward=True).further["S-2"]
    assert {one.code: (one.share, one.delivered) for one in further}["H-2"] == (1, 500)


def test_what_the_checks_find_and_what_is_due(book):
    found = book.check(on="2026-03-14")
    # The dip was too weak, and the knife cut on.
    assert {"not-clean:E15", "tool-not-clean:KN-1:E16"} <= {one.finding.id for one in found.open}
    assert not found.closed
    majors = book.check(only="major", on="2026-03-14").open
    assert {one.finding.severity for one in majors} == {"major"}
    assert len(majors) < len(found.open)
    with pytest.raises(NotUnderstood, match="--only nonsense names no check"):
        book.check(only="nonsense")
    ahead = book.due(0, on="2026-03-14")
    assert ahead.today == "2026-03-14"
    assert all(one.by <= "2026-03-14" for one in ahead.due)


def test_entries_by_kind_and_time(book):
    assert [one.fields["lot"] for one in book.entries("harvest")] == ["H-1", "H-2"]
    assert [one.fields["lot"] for one in book.entries("harvest", since="2026-03-12")] == ["H-2"]
    assert [one.kind for one in book.entries(since="2026-03-13", until="2026-03-13")] == ["delivery", "delivery"]
    number = book.entries("harvest")[0].number
    book.void(number, because="typed twice", by=["TO"])
    assert [one.fields["lot"] for one in book.entries("harvest")] == ["H-2"]
    assert [one.void for one in book.entries("harvest", void=True)] == [True, False]
    with pytest.raises(NotUnderstood):
        book.entries("ploughing")


def test_a_thing_with_all_that_names_it(book):
    known = book.thing("TB-7")
    assert known.thing.code == "S-1"
    assert known.read_as is not None
    assert [one.version.kind for one in known.mentions] == ["seed-receipt", "sowing"]
    assert known.record is not None
    assert known.record.fields["crop"] == "pea"
    assert not known.void


def test_several_answers_are_of_one_state_on_one_connection(book):
    with book.ledger.reading() as connection:
        before = book.recall("D-2", at=connection)
        book.record("delivery", at="2026-03-14 09:00", by="TO", code="D-3", customer="SHOP", items="H-2 100 g")
        again = book.recall("D-2", at=connection)
    assert again.found.deliveries == before.found.deliveries
    assert "D-3" in {one.code for one in book.recall("D-2").found.deliveries}


def test_a_book_lets_go_of_its_file_at_the_end(tmp_path, book):
    with Book.open(str(tmp_path / "farm.db")) as opened:
        opened.recall("D-2")
        assert opened.ledger.engine.pool.checkedin() > 0
    assert opened.ledger.engine.pool.checkedin() == 0
