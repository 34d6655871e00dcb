"""`recall --why` and `--cause` tell a path so that somebody who was not there can follow it."""

import pytest

from lotwalk.book import Book

FARM = """
common: {by: TO, at: 2026-03-01 08:00}
entries:
- {kind: person, code: TO, name: Tess Orr}
- {kind: supplier, code: SEEDS, name: Seeds}
- {kind: customer, code: CAFE, name: Corner Cafe}
- {kind: water-source, code: WELL, name: Well, type: ground, used_for: harvest}
- {kind: equipment, codes: M-1..M-9, type: medium}
- {kind: equipment, codes: KN-1, type: tool}
- {kind: place, code: ROOM, name: Room, use: growing, usual_water: WELL}
- {kind: supplies-receipt, lot: BL-1, product: Bleach, type: sanitiser, active: chlorine, expires: 2027-01-31,
   label_min: 50 ppm, label_max: 200 ppm, label_contact: 1 min}
- {kind: seed-receipt, lot: S-1, crop: pea, supplier: SEEDS, amount: 5 kg}
- {kind: seed-receipt, lot: S-2, crop: radish, supplier: SEEDS, amount: 5 kg}
- {kind: sowing, at: 2026-03-01 09:00, batch: T-0, seed: S-1 9 g, trays: 1, equipment: "M-1, M-2, M-3", water: none}
- {kind: harvest, at: 2026-03-02 09:00, lot: H-0, from: T-0 1, amount: 9 g, cut: above the medium, equipment: none}
- {kind: washing, at: 2026-03-02 10:00, items: "M-2, M-3", method: brush}
- {kind: solution, at: 2026-03-02 10:30, lot: SOL-1, product: BL-1, volume: 10 L}
- {kind: sanitising, at: 2026-03-02 11:00, items: M-2, solution: SOL-1, reading: 20 ppm, contact: 2 min, washed: yes}
- {kind: sanitising, at: 2026-03-03, items: M-3, solution: SOL-1, reading: 110 ppm, contact: 2 min, washed: yes}
- {kind: sowing, at: 2026-03-03 09:00, batch: T-1, seed: S-2 9 g, trays: 1, equipment: M-1, water: none}
- {kind: sowing, at: 2026-03-03 10:00, batch: T-2, seed: S-2 9 g, trays: 1, equipment: M-2, place: ROOM}
- {kind: sowing, at: 2026-03-03 11:00, batch: T-3, seed: S-2 9 g, trays: 1, equipment: M-3, water: none}
- {kind: harvest, at: 2026-03-10 09:00, lot: H-1, from: T-1 1, amount: 90 g, cut: above the medium, equipment: none}
- {kind: harvest, at: 2026-03-10 09:00, lot: H-2, from: T-2 1, amount: 90 g, cut: above the medium, equipment: none}
- {kind: harvest, at: 2026-03-10 09:00, lot: H-3, from: T-3 1, amount: 90 g, cut: above the medium, equipment: none}
- {kind: delivery, at: 2026-03-10 15:00, code: D-1, customer: CAFE, items: H-1 90 g}
- {kind: delivery, at: 2026-03-10 15:00, code: D-2, customer: CAFE, items: H-2 90 g}
- {kind: delivery, at: 2026-03-10 15:00, code: D-3, customer: CAFE, items: H-3 90 g}
"""


@pytest.fixture
def told(lotwalk, tmp_path, monkeypatch):
    """The words of a command, on one line."""
    where = str(tmp_path / "paths.db")
    book = Book.start(where, name="F", location="L", timezone="UTC", rules="us", clock=lambda: 1_774_500_000)
    (tmp_path / "farm.yaml").write_text(FARM)
    book.load(tmp_path / "farm.yaml")
    book.ledger.engine.dispose()
    monkeypatch.setenv("LOTWALK_LEDGER", where)
    return lambda *arguments: " ".join(lotwalk("recall", *arguments).out.split())


def test_what_stood_on_an_item_and_that_nothing_cleaned_it(told):
    words = told("D-1", "--cause", "S-1")
    assert "1. 2026-03-01 09:00, sowing (E12), by TO: S-1 was used, and M-1 was in contact with it." in words
    assert "M-1 was not sanitised in between: the book has no cleaning of it after step 1." in words
    assert "T-1 stood on M-1 from 2026-03-03 09:00 (E18) until then." in words
    assert "H-1 was cut from M-1." in words
    assert "S-1 is counted" not in words, "a lot has no cleanings between which it is counted"
    words = told("D-2", "--cause", "M-2")
    assert "M-2 is counted from the beginning of the book to today." in words


def test_what_was_asked_to_be_explained_comes_first(told):
    words = told("D-1", "--cause", "S-2", "--why", "D-2", "--distrust", "all")
    assert words.startswith("Asked: D-1 (delivery) D-2: if it was S-2, this is how it could have come from there: 1. ")
    assert words.index("D-2: if it was S-2") < words.index("how it could have come to D-1")
    assert "H-1 went out as D-1, to CAFE." in words


def test_why_a_cleaning_between_does_not_count(told):
    words = told("D-2", "--cause", "S-1")
    assert "The sanitising of 2026-03-02 11:00 (E16) does not count as a clean break of M-2: " in words
    assert "20 ppm" in words


def test_a_cleaning_without_an_hour_may_have_come_after(told):
    words = told("D-3", "--cause", "S-1")
    assert "The sanitising of 2026-03-03 (E17) cleared M-3, but nothing shows that it came between the two" in words


def test_a_cleaning_that_is_not_believed_is_said_to_be_so(told):
    words = told("D-3", "--cause", "S-1", "--distrust", "E17")
    assert "The sanitising of 2026-03-03 (E17) cleared M-3, but is not believed here." in words


def test_what_is_only_assumed_is_said_to_be_so(told):
    words = told("D-2", "--cause", "WELL")
    assert "Water from WELL was used in making T-2. The entry does not name WELL, which is usual there" in words


def test_a_cause_that_lies_behind_only_by_silence_is_marked(told, lotwalk):
    candidates = {one["code"]: one for one in lotwalk("recall", "D-2", "--format", "json").json["candidates"]}
    assert candidates["WELL"]["assumed"] is True
    assert candidates["M-2"]["assumed"] is False
    assert " assumed " in told("D-2", "--causes")


def test_what_would_narrow_the_scope_is_told_as_what_must_be_shown(told):
    words = told("D-2", "--cause", "S-1")
    assert "that the sanitising of 2026-03-02 11:00 (E16) did clean M-2. As it stands it does not count: " in words
