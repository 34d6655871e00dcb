"""What a test found stands first, and nothing that a test says takes a candidate off the list or moves it down."""

from dataclasses import replace

import pytest

from lotwalk.book import Book
from lotwalk.recall.asking.asked import ask
from lotwalk.recall.recall import recall
from lotwalk.recall.traceback.ranking import rank
from lotwalk.sheets.reader import read_sheet

FARM = """
common: {by: TO, at: 2026-03-01 08:00}
entries:
- {kind: person, code: TO, name: Tess Orr}
- {kind: supplier, code: SEEDS, name: Seeds}
- {kind: customer, code: CAFE, name: Corner Cafe}
- {kind: lab, code: LAB, name: County Laboratory}
- {kind: water-source, code: WELL, name: Well, type: ground}
- {kind: equipment, codes: "KN-1, KN-2", type: tool}
- {kind: seed-receipt, lot: S-1, crop: pea, supplier: SEEDS, amount: 5 kg}
- {kind: seed-receipt, lot: S-2, crop: radish, supplier: SEEDS, amount: 5 kg}
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: [S-1 200 g, S-2 20 g], trays: 2, water: WELL}
- {kind: sowing, at: 2026-03-02 10:00, batch: T-2, seed: S-2 200 g, trays: 2, water: WELL}
- {kind: harvest, at: 2026-03-10 09:00, lot: H-1, from: T-1 2, amount: 900 g, cut: above the medium, equipment: KN-1}
- {kind: harvest, at: 2026-03-10 10:00, lot: H-2, from: T-2 2, amount: 900 g, cut: above the medium, equipment: KN-2}
- {kind: delivery, at: 2026-03-10 15:00, code: D-1, customer: CAFE, items: H-1 900 g}
- {kind: delivery, at: 2026-03-10 16:00, code: D-2, customer: CAFE, items: H-2 900 g}
- {kind: sanitising, at: 2026-03-11 09:00, items: "KN-1, KN-2", method: heat, temperature: 90 C, contact: 5 min,
   washed: yes}
- {kind: sowing, at: 2026-03-12 09:00, batch: T-3, seed: S-1 200 g, trays: 2, water: none}
- {kind: harvest, at: 2026-03-18 09:00, lot: H-3, from: T-3 2, amount: 900 g, cut: above the medium, equipment: KN-1}
- {kind: harvest, at: 2026-03-18 10:00, lot: H-4, from: T-2, amount: 100 g, cut: above the medium, equipment: KN-1}
- {kind: delivery, at: 2026-03-18 15:00, code: D-3, customer: CAFE, items: H-3 900 g}
"""


@pytest.fixture
def book(tmp_path):
    where = str(tmp_path / "farm.db")
    book = Book.start(where, name="F", location="L", timezone="UTC", measures="metric", clock=lambda: 1_774_500_000)
    book.load(read_sheet(FARM, "farm.yaml"))
    yield book
    book.ledger.engine.dispose()


def add(book, *entries):
    text = "entries:\n" + "".join(f"- {{by: TO, {one}}}\n" for one in entries)
    return [receipt.name for receipt in book.load(read_sheet(text, "more.yaml"), again=True)]


def asked(book, *codes):
    with book.ledger.reading() as connection:
        return recall(connection, ask(connection, codes), book.ledger.kinds)


def order(found):
    return [(one.thing.code, one.spell) for one in found.candidates]


def sample(of, test, result, at="2026-03-20 09:00"):
    return f"kind: sample, at: {at}, of: {of}, lab: LAB, test: '{test}', result: '{result}'"


def test_who_tested_positive_stands_first_and_the_others_stay_as_they_were(book):
    """S-2, the widest of the lots behind D-1, is found to carry Salmonella."""
    before = asked(book, "D-1")
    assert order(before)[0] == ("H-1", None)
    (entry,) = add(book, sample("S-2", "Salmonella", "detected in 25 g"))
    after = asked(book, "D-1")
    (seed,) = [one for one in order(before) if one[0] == "S-2"]
    assert order(after) == [seed, *(one for one in order(before) if one != seed)]
    assert [(one.thing.code, one.evidence.germs, one.evidence.entry, one.evidence.at) for one in after.found] == [
        ("S-2", ("Salmonella",), entry, "2026-03-20 09:00")
    ]
    # It reaches H-1, H-2 and H-4, and both deliveries of the 10th.
    (found,) = after.found
    assert found.candidate == after.candidates[0]
    assert list(found.candidate.deliveries) == ["D-1", "D-2"]


def test_it_stands_first_in_the_ranking_though_it_explains_less(book):
    """S-1 explains D-1 and D-3, S-2 only D-1."""
    add(book, sample("S-2", "Salmonella", "detected in 25 g"))
    found = asked(book, "D-1", "D-3")
    ranked = [one.candidate for one in rank(found.candidates, 2, found.further)]
    assert (ranked[0].thing.code, ranked[0].explains) == ("S-2", 1)
    without = [replace(one, evidence=()) for one in found.candidates]
    plain = [one.candidate.thing.code for one in rank(without, 2, found.further)]
    assert [one.thing.code for one in ranked[1:]] == [code for code in plain if code != "S-2"]


@pytest.mark.parametrize(
    ("test", "result"),
    [
        ("generic E. coli", "detected in 25 g"),
        ("coliforms", "found"),
        ("aerobic plate count", "fail"),
        ("ATP swab", "failed"),
        ("Salmonella", "not detected in 25 g"),
        ("Salmonella", "to follow"),
        ("Salmonella and E. coli", "Salmonella not detected; E. coli 20 cfu/g"),
    ],
)
def test_an_indicator_a_negative_and_what_is_not_known_move_nothing_and_drop_nothing(book, test, result):
    before = asked(book, "D-1")
    (entry,) = add(book, sample("S-2", test, result))
    after = asked(book, "D-1")
    assert (order(after), after.found) == (order(before), ())
    (seed,) = [one for one in after.candidates if one.thing.code == "S-2"]
    assert [one.entry for one in seed.evidence] == [entry], "it is told all the same"


def test_e_coli_in_the_well_is_told_and_moves_nothing(book):
    before = order(asked(book, "D-1"))
    (entry,) = add(book, "kind: water-test, at: 2026-03-11 08:00, source: WELL, e_coli: 4 MPN/100 mL")
    after = asked(book, "D-1")
    assert (order(after), after.found) == (before, ())
    (well,) = [one for one in after.candidates if one.thing.code == "WELL"]
    assert [(one.entry, one.result, one.germs) for one in well.evidence] == [(entry, "failed", ("generic E. coli",))]


def test_of_an_item_only_the_spell_that_the_positive_speaks_of_is_moved(book):
    """KN-1 was clean from 11 March 09:00 on. D-1 was cut with it before, D-3 after; the swab is of the 18th."""
    add(book, sample("KN-1", "Listeria swab", "detected", at="2026-03-18 12:00"))
    before, after = asked(book, "D-1"), asked(book, "D-3")
    assert before.found == ()
    assert [(one.thing.code, one.candidate.spell.start is not None) for one in after.found] == [("KN-1", True)]
    assert after.candidates[0].thing.code == "KN-1"


def test_a_positive_of_a_time_not_known_speaks_of_every_spell(book):
    add(
        book,
        "kind: certificate, at: 2026-03-20, number: L-1, type: pathogen test, covers: KN-1, result: Listeria detected",
    )
    for delivery in ("D-1", "D-3"):
        found = asked(book, delivery)
        assert [one.thing.code for one in found.found] == ["KN-1"]
        assert found.candidates[0].thing.code == "KN-1"


def test_a_pass_of_a_time_not_known_is_told_where_it_was_filed_and_nowhere_else(book):
    add(
        book,
        "kind: certificate, at: 2026-03-20, number: L-1, type: pathogen test, covers: KN-1, result: not detected",
    )
    marks = {
        delivery: [len(one.evidence) for one in asked(book, delivery).candidates if one.thing.code == "KN-1"]
        for delivery in ("D-1", "D-3")
    }
    assert marks == {"D-1": [0], "D-3": [1]}


def test_what_was_found_in_the_very_lot_asked_about_is_told(book):
    """H-1 is no candidate of its own recall."""
    (entry,) = add(book, sample("H-1", "Salmonella", "detected in 25 g"))
    found = asked(book, "H-1")
    assert [(one.thing.code, one.evidence.entry, one.candidate) for one in found.found] == [("H-1", entry, None)]


def test_two_tests_of_one_lot_are_both_told(book):
    names = add(book, sample("S-2", "Salmonella", "detected"), sample("S-2", "STEC", "presumptive positive"))
    assert [one.evidence.entry for one in asked(book, "D-1").found] == names


def test_a_positive_that_names_no_known_germ_counts(book):
    add(book, sample("S-2", "pathogen panel", "positive"))
    found = asked(book, "D-1")
    assert [(one.evidence.germs, one.evidence.looked_for) for one in found.found] == [((), "pathogen panel")]


def test_of_the_spells_that_a_positive_speaks_of_the_one_that_reached_most_is_told(book):
    """KN-1 cut H-1 on the 10th, was clean on the 11th, and cut H-3 and H-4 on the 18th; asked about D-1 and D-3, both
    of its spells are candidates. Of the certificate nobody knows when the swab was taken, so it speaks of both.

    Which spell is told must not hang on which of them comes first. The earlier one reached D-1 alone. The later one
    reached D-3 and, since H-4 was sent too, D-4.
    """
    add(
        book,
        "kind: delivery, at: 2026-03-18 16:00, code: D-4, customer: CAFE, items: H-4 100 g",
        "kind: certificate, at: 2026-03-20, number: L-1, type: pathogen test, covers: KN-1, result: Listeria detected",
    )
    found = asked(book, "D-1", "D-3")
    spells = {tuple(one.deliveries) for one in found.candidates if one.thing.code == "KN-1"}
    assert spells == {("D-1",), ("D-3", "D-4")}
    assert [list(one.candidate.deliveries) for one in found.found] == [["D-3", "D-4"]]
