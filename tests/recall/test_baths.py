"""What did not come out clean shares its bath with all else that did not: dips, washings and produce washes in one mix.

The farm of each test is a few lines of a sheet; what a walk must reach is worked out by hand beside it. On all of them
mat M-1 carried batch T-1, in which the trouble is, and was then dipped; mat M-2 was dipped in the same mix on a later
day, and batch T-2 was sown on it. Nothing else joins the two.
"""

from textwrap import dedent

import pytest

from lotwalk.book import Book
from lotwalk.ledger.read.things import find_thing
from lotwalk.ledger.read.uses import mentions
from lotwalk.ledger.verify.entries import verify
from lotwalk.recall.asking.asked import ask
from lotwalk.recall.recall import recall
from lotwalk.sheets.reader import read_sheet
from lotwalk.walk.distrust import doubt
from lotwalk.walk.model import BACK, FORWARD, Start
from lotwalk.walk.walk import walk

REGISTER = """
    common: {at: 2026-03-01 08:00, by: TO}
    entries:
    - {kind: person, code: TO, name: Tess Orr}
    - {kind: supplier, code: HOLT, name: Holt Seeds}
    - {kind: customer, code: CAFE, name: Corner Cafe}
    - {kind: water-source, code: MAINS, name: town water, type: municipal}
    - {kind: equipment, codes: M-1..M-4, type: medium}
    - {kind: equipment, codes: TUB, type: container}
    - {kind: equipment, codes: RACK, type: rack}
    - {kind: equipment, codes: TANK, type: tank}
    - {kind: place, code: BARE, name: Bare room, use: wash}
    - {kind: place, code: WASH, name: Wash room, use: wash, usual_items: "TUB, RACK"}
    - {kind: supplies-receipt, lot: BLEACH, product: Bleach, type: sanitiser, active: chlorine, label_min: 100 ppm,
       label_max: 200 ppm, label_contact: 2 min, registration: N-1, expires: 2027-01-01}
    - {kind: supplies-receipt, lot: SPRAY, product: Spray, type: sanitiser, active: alcohol, label_contact: 1 min,
       label_min: 100 ppm, registration: N-2, expires: 2027-01-01}
    - {kind: supplies-receipt, lot: SOAP, product: Soap, type: detergent}
    - {kind: seed-receipt, lot: S-1, crop: pea, supplier: HOLT, supplier_lot: A, amount: 5 kg}
    - {kind: seed-receipt, lot: S-2, crop: radish, supplier: HOLT, supplier_lot: B, amount: 5 kg}
    - {kind: sowing, batch: T-1, seed: S-1 200 g, trays: 1, equipment: M-1, water: none}
    - {kind: harvest, at: 2026-03-09 08:00, lot: H-1, from: T-1, amount: 1 kg, cut: above the medium, equipment: none}
    - {kind: solution, at: 2026-03-09 09:00, lot: SOL, product: BLEACH, volume: 20 L}
    - {kind: solution, at: 2026-03-09 09:00, lot: SUDS, product: SOAP, volume: 20 L}
    - {kind: solution, at: 2026-03-09 09:00, lot: OTHER, product: BLEACH, volume: 20 L}
"""
SOWN = "- {kind: sowing, at: 2026-03-12, by: TO, batch: T-2, seed: S-2 200 g, trays: 1, equipment: M-2, water: none}"


def dip(items: str, at: str, reading: str = "30 ppm", more: str = "") -> str:
    return (
        f"- {{kind: sanitising, at: 2026-03-{at}, by: TO, items: {items!r}, solution: SOL, reading: {reading},"
        f" contact: 2 min, washed: yes{more}}}"
    )


WEAK_1, WEAK_2 = dip("M-1", "10 09:00"), dip("M-2", "11 09:00")
GOOD_1, GOOD_2 = dip("M-1", "10 09:00", "150 ppm"), dip("M-2", "11 09:00", "150 ppm")


@pytest.fixture
def farm(tmp_path):
    """Loads the register, then these lines, and opens the book."""
    books = []

    def load(*lines: str) -> Book:
        book = Book.start(str(tmp_path / f"{len(books)}.db"), name="F", location="L", timezone="UTC", measures="metric")
        books.append(book)
        book.load(read_sheet(dedent(REGISTER), "register"))
        book.load(read_sheet("\n".join(lines), "week"))
        return book

    yield load
    for book in books:
        book.ledger.engine.dispose()


def reached(book: Book, code: str, direction: str = FORWARD, *distrust: str) -> dict[str, tuple[int, str]]:
    """Each reached thing with its level and link."""
    with book.ledger.reading() as connection:
        assert verify(connection, book.ledger.kinds).why == ""
        start = [Start(find_thing(connection, code).id)]
        found = walk(connection, direction, start, doubt=doubt(connection, distrust))
    return {one.thing.code: (one.level, one.link) for one in found.reached}


def roles(book: Book, code: str) -> list[tuple[str, str]]:
    with book.ledger.reading() as connection:
        return [(one.version.kind, one.role.word) for one in mentions(connection, find_thing(connection, code))]


def test_two_dips_that_failed_in_one_mix_meet_in_it(farm):
    """M-1 (under T-1), SOL, M-2, T-2: two items and the bath between them, so level 4. Back as well."""
    book = farm(WEAK_1, WEAK_2, SOWN)
    found = reached(book, "T-1")
    assert found["T-2"] == (4, "contact")
    assert (found["SOL"], found["M-2"]) == ((4, "contact"), (4, "contact"))
    assert reached(book, "T-2", BACK)["T-1"] == (4, "contact")
    # The later dip is as much in the bath of the earlier one as the other way round in a mix without hours; by the
    # hour, nothing goes back in time: M-2 was in it after M-1.
    assert "T-1" not in reached(book, "M-2")


def test_what_passed_shares_nothing(farm):
    for first, second in ((GOOD_1, WEAK_2), (WEAK_1, GOOD_2), (GOOD_1, GOOD_2)):
        assert "T-2" not in reached(farm(first, second, SOWN), "T-1")


def test_of_a_mixed_load_only_what_failed_shares(farm):
    """M-3 was noted as not clean in the load of M-2, so it failed and M-2 passed: T-3 on M-3 is reached, T-2 is not."""
    mixed = dip("M-2, M-3", "11 09:00", "150 ppm")
    unclean = "- {kind: washing, at: 2026-03-11 08:00, by: TO, items: M-3, method: brush, seen_clean: no, tub: none}"
    other = SOWN.replace("T-2", "T-3").replace("M-2", "M-3")
    # `washed: yes` would speak for both, so the washing of M-2 is an entry of its own.
    mixed = mixed.replace(", washed: yes", "")
    clean = "- {kind: washing, at: 2026-03-11 08:10, by: TO, items: M-2, method: brush, tub: none}"
    book = farm(WEAK_1, unclean, clean, mixed, SOWN, other)
    found = reached(book, "T-1")
    assert "T-3" in found
    assert "T-2" not in found
    assert "T-2" in reached(book, "T-1", FORWARD, "SOL")


def test_a_disbelieved_dip_shares_its_bath(farm):
    book = farm(WEAK_1, GOOD_2, SOWN)
    assert "T-2" not in reached(book, "T-1")
    for word in ("SOL", "BLEACH", "sanitising", "all"):
        assert reached(book, "T-1", FORWARD, word)["T-2"] == (4, "contact")
        assert reached(book, "T-2", BACK, word)["T-1"] == (4, "contact")


def test_two_washings_in_one_detergent_mix_meet_in_it(farm):
    """A washing clears nothing, so both are in what the other left. The detergent itself, from the can, is no bath."""
    wash = "- {{kind: washing, at: 2026-03-{} 09:00, by: TO, items: {}, method: brush, detergent: {}, tub: none}}"
    assert "T-2" in reached(farm(wash.format(10, "M-1", "SUDS"), wash.format(11, "M-2", "SUDS"), SOWN), "T-1")
    assert "T-2" not in reached(farm(wash.format(10, "M-1", "SOAP"), wash.format(11, "M-2", "SOAP"), SOWN), "T-1")


def test_a_bottle_that_is_sprayed_is_no_bath(farm):
    spray = dip("M-1", "10 09:00").replace("solution: SOL", "solution: SPRAY, method: ready to use")
    later = dip("M-2", "11 09:00").replace("solution: SOL", "solution: SPRAY, method: ready to use")
    assert "T-2" not in reached(farm(spray, later, SOWN), "T-1")


def test_an_incident_with_the_mix_still_reaches_what_passed_in_it(farm):
    """Something wrong came into SOL: whatever was dipped in it took that, farm-wide (level 5), clean or not."""
    spilt = "- {kind: contact, at: 2026-03-10 12:00, by: TO, what: spilt, lots: SOL, items: M-4}"
    found = reached(farm(spilt, GOOD_2, SOWN), "M-4")
    assert found["T-2"] == (5, "contact")


def test_naming_the_tub_undoes_no_clean_break(farm):
    """M-2 passed in the tub in which M-1 failed: the tub is named and not touched. Where it failed too, it is."""
    tub = ", tub: TUB"
    weak, good = dip("M-1", "10 09:00", more=tub), dip("M-2", "11 09:00", "150 ppm", tub)
    book = farm(weak, good, SOWN)
    assert "T-2" not in reached(book, "T-1")
    assert roles(book, "TUB")[-2:] == [("sanitising", "touched"), ("sanitising", "about")]
    other = dip("M-2", "11 09:00", more=tub).replace("solution: SOL", "solution: OTHER")
    assert reached(farm(weak, other, SOWN), "T-1")["T-2"] == (4, "contact")


def test_the_tubs_that_are_usual_in_a_place_are_assumed(farm):
    """TUB is usual in the wash room, and the rack there is no tub. In a bare room nobody says what held the mix."""
    here = ", place: WASH"
    book = farm(dip("M-1", "10 09:00", more=here), dip("M-2", "11 09:00", "150 ppm", here), SOWN)
    assert roles(book, "TUB")[-2:] == [("sanitising", "touched"), ("sanitising", "about")]
    assert "sanitising" not in {kind for kind, _ in roles(book, "RACK")}
    with book.ledger.reading() as connection:
        last = mentions(connection, find_thing(connection, "TUB"))[-1].version
        assert [use.assumed for use in last.uses if use.code == "TUB"] == [True]
    wash = "- {kind: washing, at: 2026-03-11 09:00, by: TO, items: M-2, method: brush, place: WASH}"
    assert reached(farm(dip("M-1", "10 09:00", more=here), wash, SOWN), "T-1")["T-2"] == (4, "contact")


def test_a_load_that_failed_in_no_tub_is_counted_as_silent(farm):
    def silent(*lines: str) -> tuple[str, ...]:
        book = farm(*lines)
        with book.ledger.reading() as connection:
            return mentions(connection, find_thing(connection, "M-1"))[-1].version.silent

    assert "tub" in silent(WEAK_1)
    assert "tub" not in silent(GOOD_1)
    assert "tub" not in silent(dip("M-1", "10 09:00", more=", tub: none"))
    assert "tub" not in silent(dip("M-1", "10 09:00").replace("solution: SOL", "solution: SPRAY, method: ready to use"))


def test_a_dip_that_is_judged_again_shares_its_bath_from_then_on(farm):
    """The reading of M-2's dip was misread: it is amended to 30 ppm, and the tub with it is touched."""
    book = farm(dip("M-1", "10 09:00", more=", place: WASH"), dip("M-2", "11 09:00", "150 ppm", ", place: WASH"), SOWN)
    assert "T-2" not in reached(book, "T-1")
    with book.ledger.reading() as connection:
        number = mentions(connection, find_thing(connection, "M-2"))[1].version.number
    book.amend(number, {"reading": "30 ppm"}, because="misread", by=["TO"])
    assert "T-2" in reached(book, "T-1")
    assert ("sanitising", "about") not in roles(book, "TUB")
    book.amend(number, {"reading": "150 ppm"}, because="it was right", by=["TO"])
    assert "T-2" not in reached(book, "T-1")


PACKED = """
- {{kind: sowing, at: 2026-03-01, by: TO, batch: T-3, seed: S-2 200 g, trays: 1, equipment: M-3, water: none}}
- {{kind: harvest, at: 2026-03-09 10:00, by: TO, lot: H-3, from: T-3, amount: 1 kg, cut: above the medium,
   equipment: none}}
- {{kind: packing, at: 2026-03-09 11:00, by: TO, lot: P-1, from: H-1 500 g, amount: 500 g, solution: SOL,
   equipment: none, water: none{}}}
- {{kind: packing, at: 2026-03-09 12:00, by: TO, lot: P-3, from: H-3 500 g, amount: 500 g, solution: SOL,
   equipment: none, water: none{}}}
"""
PROVED, UNPROVED = ", reading: 100 ppm, ph: 7", ""


@pytest.mark.parametrize(
    ("first", "second", "meets"),
    [
        (UNPROVED, UNPROVED, True),
        (PROVED, UNPROVED, False),
        (UNPROVED, PROVED, False),
        (PROVED, PROVED, False),
        (", reading: 100 ppm", ", reading: 100 ppm", True),
        (", reading: 20 ppm, ph: 7", ", reading: 20 ppm, ph: 7", True),
    ],
)
def test_lots_washed_in_one_mix_meet_in_it_unless_a_reading_proved_it(farm, first, second, meets):
    """H-1 of T-1 and H-3 of T-3 are washed in SOL, an hour apart. 50 to 200 ppm at pH 6.5 to 7.5 is the rule set's."""
    book = farm(*PACKED.format(first, second).strip().splitlines())
    found = reached(book, "T-1")
    assert ("P-3" in found) is meets
    if meets:
        # Through one bath: as through one item.
        assert found["P-3"] == (3, "contact")
    # What the wash was made of is in both, whatever it was proved to be.
    assert reached(book, "BLEACH")["P-3"] == reached(book, "BLEACH")["P-1"] == (5, "ingredient")


def test_a_mix_made_of_a_mix_a_tank_and_a_feed_share_it(farm):
    """M-1 failed in SOL. SOL2 is made of it, TANK is filled with it, and batch T-4 is given it.

    A path to the tank or the batch goes by M-1 and the bath: level 4. SOL2 is a sanitiser, and so farm-wide itself.
    """
    more = "- {kind: solution, at: 2026-03-10 12:00, by: TO, lot: SOL2, product: SOL, volume: 5 L}"
    fill = "- {kind: tank-fill, at: 2026-03-10 12:10, by: TO, tank: TANK, solution: SOL}"
    sown = SOWN.replace("T-2", "T-4").replace("M-2", "M-4").replace("03-12", "03-02")
    feed = (
        "- {kind: growing-check, at: 2026-03-10 12:20, by: TO, batches: T-4, solution: SOL, equipment: none,"
        " water: none}"
    )
    book = farm(sown, WEAK_1, more, fill, feed)
    found = reached(book, "T-1")
    assert (found["SOL2"][0], found["TANK"][0], found["T-4"][0]) == (5, 4, 4)


def test_a_recall_finds_the_bath_and_what_was_in_it(farm):
    """A complaint about H-2, grown on M-2: behind it are M-2, SOL as a bath, M-1 and T-1, and so H-1 is in scope."""
    cut = (
        "- {kind: harvest, at: 2026-03-20 08:00, by: TO, lot: H-2, from: T-2, amount: 1 kg, cut: above the medium,"
        " equipment: none}"
    )
    book = farm(WEAK_1, WEAK_2, SOWN, cut)
    with book.ledger.reading() as connection:
        found = recall(connection, ask(connection, ["H-2"]), book.ledger.kinds)
    behind = {one.thing.code for one in found.candidates}
    assert {"M-2", "SOL", "M-1", "T-1", "S-1"} <= behind
    assert "H-1" in found.lots
    assert sum(one.thing.code == "SOL" for one in found.candidates) == 1
