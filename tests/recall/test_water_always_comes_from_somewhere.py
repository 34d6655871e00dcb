"""Soaking, washing, mixing and filling take water even where nobody writes which, and water may stand in a tank.

At SHED the usual water is the WELL. Whatever was wrong with it reaches what was soaked, washed, mixed or filled there,
as assumed; where a place has no usual water, the silence is counted.
"""

import pytest
from tests.ledger.farm import load, start, uses

from lotwalk.ledger.read.things import find_things
from lotwalk.walk.model import BACK, FORWARD, Start
from lotwalk.walk.walk import walk

THINGS = """
    - {kind: equipment, at: 2026-03-01, by: TO, codes: TANK-1, type: tank}
    - {kind: equipment, at: 2026-03-01, by: TO, codes: BUCKET-1, type: container}
"""
CROP = """
    - {kind: harvest, at: 2026-03-12 09:00, by: TO, lot: H-1, from: T-1 1 tray, amount: 1 kg, cut: above the medium}
    - {kind: packing, at: 2026-03-12 10:00, by: TO, lot: P-1, from: H-1 1 kg, packs: 20, product: PEA-50,
       water: none}
"""


@pytest.fixture
def book(where):
    book = start(where)
    load(book, THINGS)
    yield book
    book.ledger.engine.dispose()


def reached(book, code, direction=FORWARD, window=None):
    with book.ledger.reading() as connection:
        thing = find_things(connection, [code])[code.casefold()]
        return walk(connection, direction, [Start(thing.id, window)])


SOAKED = """
    - {kind: soaking, at: 2026-03-02 08:00, by: TO, lot: SOAK-1, seed: S-1 100 g, place: PLACE, equipment: BUCKET-1}
    - {kind: sowing, at: 2026-03-02 16:00, by: TO, batch: T-1, seed: SOAK-1 100 g, trays: 1, water: MAINS,
       equipment: M-01}
"""
WASHED = """
    - {kind: washing, at: 2026-03-02 08:00, by: TO, items: M-01, method: brushed, place: PLACE}
    - {kind: sowing, at: 2026-03-02 16:00, by: TO, batch: T-1, seed: S-1 100 g, trays: 1, water: MAINS,
       equipment: M-01}
"""
MIXED = """
    - {kind: solution, at: 2026-03-02 08:00, by: TO, lot: SOL-1, product: BLEACH, amount: 1 mL, volume: 10 L,
       place: PLACE}
    - {kind: soaking, at: 2026-03-02 09:00, by: TO, lot: SOAK-1, seed: S-1 100 g, solution: SOL-1, water: none}
    - {kind: sowing, at: 2026-03-02 16:00, by: TO, batch: T-1, seed: SOAK-1 100 g, trays: 1, water: MAINS,
       equipment: M-01}
"""
FILLED = """
    - {kind: tank-fill, at: 2026-03-02 08:00, by: TO, tank: TANK-1, place: PLACE}
    - {kind: sowing, at: 2026-03-02 16:00, by: TO, batch: T-1, seed: S-1 100 g, trays: 1, water: TANK-1,
       equipment: M-01}
"""
WAYS = pytest.mark.parametrize(
    "story", [SOAKED, WASHED, MIXED, FILLED], ids=["soaking", "washing", "mixing", "filling a tank"]
)


@WAYS
def test_the_usual_water_of_the_place_reaches_the_crop_and_stands_behind_it(book, story):
    """WELL -> the soak, the mat, the mix or the tank -> T-1 -> H-1 -> P-1, and back."""
    load(book, story.replace("PLACE", "SHED") + CROP)
    assert {"T-1", "H-1", "P-1"} <= reached(book, "WELL").codes()
    back = {one.thing.code: one for one in reached(book, "P-1", BACK).reached}
    assert back["WELL"].assumed


@WAYS
def test_where_no_water_is_usual_the_silence_is_counted(book, story):
    """At WASH no usual water is on record: one entry names none. Nobody invents one."""
    load(book, story.replace("PLACE", "WASH") + CROP)
    back = reached(book, "P-1", BACK)
    assert "WELL" not in back.codes()
    assert back.silent["water"] == 1


@WAYS
def test_none_is_an_answer(book, story):
    load(book, story.replace("place: PLACE", "place: SHED, water: none") + CROP)
    back = reached(book, "P-1", BACK)
    assert "WELL" not in back.codes()
    assert "water" not in back.silent


def test_water_out_of_a_tank_is_the_tank_s_and_a_test_of_its_source_does_not_clean_it(book):
    """The well was bad on the 2nd, when TANK-1 was filled, and passed its test on the 3rd. T-1 was watered out of the
    tank on the 4th: what was bad still stood in it. With the WELL itself written, the test would stand between."""
    load(
        book,
        """
    - {kind: sowing, at: 2026-03-01 16:00, by: TO, batch: T-1, seed: S-1 100 g, trays: 1, water: MAINS, equipment: M-01}
    - {kind: tank-fill, at: 2026-03-02 08:00, by: TO, tank: TANK-1, water: WELL}
    - {kind: water-test, at: 2026-03-03 08:00, by: TO, source: WELL, lab: LAB, e_coli: <1 MPN/100 mL}
    - {kind: growing-check, at: 2026-03-04 08:00, by: TO, batches: T-1, water: TANK-1}
    """
        + CROP,
    )
    bad = (0, 1_772_496_000)  # until 2026-03-03 00:00 UTC
    assert {"TANK-1", "T-1", "P-1"} <= reached(book, "WELL", window=bad).codes()


@pytest.mark.parametrize(
    ("story", "entry"),
    [
        ("- {kind: washing, at: 2026-03-02, by: TO, items: M-01, method: brushed, water: TANK-1}", "E22"),
        ("- {kind: solution, at: 2026-03-02, by: TO, lot: SOL-1, product: BLEACH, amount: 1 mL, volume: 10 L,"
         " water: TANK-1, equipment: BUCKET-1}", "E22"),
        ("- {kind: soaking, at: 2026-03-02, by: TO, lot: SOAK-1, seed: S-1 100 g, water: TANK-1}", "E22"),
        ("- {kind: growing-check, at: 2026-03-02, by: TO, batches: T-9, water: BUCKET-1, place: SHED}", "E23"),
    ],
    ids=["washing", "mixing", "soaking", "watering"],
)  # fmt: skip
def test_a_tank_or_a_bucket_may_be_named_as_the_water_and_is_touched(book, story, entry):
    sown = "- {kind: sowing, at: 2026-03-01 16:00, by: TO, batch: T-9, seed: S-1 1 g, trays: 1, water: MAINS}"
    load(book, f"    {sown}\n    {story}\n" if entry == "E23" else f"    {story}\n")
    told = uses(book, entry)
    tank = "BUCKET-1" if entry == "E23" else "TANK-1"
    assert f"touched {tank}" in told
    assert not any(use.startswith("drew") for use in told), "its source is behind the filling, and not here"


def test_a_bucket_that_a_mix_was_made_in_ties_it_to_the_next_mix_in_it(book):
    load(
        book,
        """
    - {kind: solution, at: 2026-03-02 08:00, by: TO, lot: SOL-1, product: BLEACH, amount: 1 mL, volume: 10 L,
       water: MAINS, equipment: BUCKET-1}
    - {kind: solution, at: 2026-03-02 09:00, by: TO, lot: SOL-2, product: BLEACH, amount: 1 mL, volume: 10 L,
       water: MAINS, equipment: BUCKET-1}
    """,
    )
    assert "SOL-2" in reached(book, "BUCKET-1").codes()


def test_the_usual_water_of_a_place_may_stand_in_a_tank(book):
    load(
        book,
        """
    - {kind: place, at: 2026-03-01, by: TO, code: BAY, name: Bay 2, use: growing, usual_water: TANK-1}
    - {kind: sowing, at: 2026-03-02 16:00, by: TO, batch: T-1, seed: S-1 100 g, trays: 1, place: BAY, equipment: M-01}
    """,
    )
    assert "touched TANK-1 assumed" in uses(book, "E23")


RINSED = """
    - {kind: label, at: 2026-03-01, by: TO, code: L-2, product: Clean It, active: chlorine,
       uses: {use: food contact, min: 100 ppm, max: 200 ppm, contact: 2 min, rinse: RINSE}}
    - {kind: supplies-receipt, at: 2026-03-01, by: TO, lot: CLEAN, product: Clean It, type: sanitiser, label: L-2}
    - {kind: solution, at: 2026-03-02 07:30, by: TO, lot: SOL-1, product: CLEAN, amount: 20 mL, volume: 10 L,
       water: MAINS}
    - {kind: sanitising, at: 2026-03-02 08:00, by: TO, items: M-01, solution: SOL-1, reading: 150 ppm, ph: 7,
       temperature: 20 C, contact: 2 min, washed: yes, tub: none, place: PLACE}
    - {kind: sowing, at: 2026-03-02 16:00, by: TO, batch: T-1, seed: S-1 100 g, trays: 1, water: MAINS,
       equipment: M-01}
"""


def test_a_rinse_that_the_label_asks_for_takes_the_usual_water(book):
    """M-01 is clean, and then rinsed with the WELL, which is usual at SHED: WELL -> M-01 -> T-1."""
    receipts = load(book, RINSED.replace("PLACE", "SHED").replace("RINSE", "yes"))
    assert receipts[3].verdict.passed == ("M-01",)
    assert "T-1" in reached(book, "WELL").codes()
    [well] = [one for one in reached(book, "T-1", BACK).reached if one.thing.code == "WELL"]
    assert well.assumed


@pytest.mark.parametrize(
    ("said", "silent"),
    [("place: WASH", 1), ("place: SHED, rinse_water: none", 0), ("place: SHED, rinse_water: MAINS", 0)],
)
def test_the_rinse_where_no_water_is_usual_and_where_something_is_written(book, said, silent):
    load(book, RINSED.replace("place: PLACE", said).replace("RINSE", "yes"))
    back = reached(book, "T-1", BACK)
    assert "WELL" not in back.codes()
    assert back.silent.get("rinse_water", 0) == silent


def test_no_rinse_is_assumed_that_no_label_asks_for(book):
    load(book, RINSED.replace("PLACE", "SHED").replace("RINSE", "no"))
    back = reached(book, "T-1", BACK)
    assert "WELL" not in back.codes()
    assert "rinse_water" not in back.silent


def test_a_label_that_is_put_right_takes_the_rinse_with_it(book):
    """The label is found to ask for a rinse after all, and then not to."""
    receipts = load(book, RINSED.replace("PLACE", "SHED").replace("RINSE", "no"))
    label = int(receipts[0].name.removeprefix("E"))
    use = {"use": "food contact", "min": "100 ppm", "max": "200 ppm", "contact": "2 min"}
    book.amend(label, {"uses": [use | {"rinse": "yes"}]}, because="read again", by=["TO"])
    assert "T-1" in reached(book, "WELL").codes()
    book.amend(label, {"uses": [use]}, because="read once more", by=["TO"])
    assert "T-1" not in reached(book, "WELL").codes()
