"""The model itself, on farms worked out by hand: where germs go, and what stops them. The book has no part in it."""

import pytest
from tests.physics.acts import Cover, Cutting, Harvest, Incident, Sow, Tend
from tests.physics.cleaning import Dip, Lost, Retag, Wash
from tests.physics.farm import Farm, live
from tests.physics.goods import Deliver, Dispose, ItemsBack, Move, Pack, Return, Taken, Tried
from tests.physics.waters import Mix, WaterTest

SOWN = Sow(minute=10, batch="T-1", seed="S-1", on=("M-1", "DM-1"))
WET = Tend(minute=20, batches=("T-1",), water="WELL")
CUT = Harvest(minute=30, lot="H-1", of=(Cutting(batch="T-1"),), knife="KN-1", crate="CR-1")
AGAIN = Sow(minute=60, batch="T-2", seed="S-2", on=("M-1",))
MIXED = Mix(minute=5, lot="SOL-1", water="MAINS")


def dirty(*acts, at=1, code="WELL"):
    """What gets dirty of something that is dirty from a minute on."""
    lived = live(Farm(acts, soiled=((at, code),)))
    assert len(lived.done) == len(acts)
    return lived.world.dirtied[f"{code} at {at}"] - {code}


def dip(**more):
    return Dip(**{"minute": 50, "items": ("M-1",), "mix": "SOL-1", "ppm": 100, "seconds": 120, "scraped": True} | more)


def test_a_wet_batch_wets_what_it_stands_on_at_once():
    assert dirty(SOWN, WET) == {"T-1", "M-1", "DM-1"}


def test_what_a_crop_left_on_its_mat_is_on_the_next_one():
    assert dirty(SOWN, WET, CUT, AGAIN) == {"T-1", "M-1", "DM-1", "H-1", "KN-1", "CR-1", "T-2"}


@pytest.mark.parametrize(
    ("treated", "reaches"),
    [
        (dip(), False),
        (dip(ppm=40), True),
        (dip(seconds=30), True),
        (dip(scraped=False), True),
        (dip(soiled=("M-1",)), True),
        (dip(mix="", degrees=80, seconds=30), False),
        (dip(mix="", degrees=70), True),
        (Wash(minute=50, items=("M-1",), water="MAINS"), True),
    ],
)
def test_only_a_proper_dip_of_a_washed_thing_kills(treated, reaches):
    assert ("T-2" in dirty(MIXED, SOWN, WET, CUT, treated, AGAIN)) == reaches


def test_a_washing_counts_until_the_thing_is_used_again():
    washed = Wash(minute=40, items=("M-1",))
    assert "T-2" not in dirty(MIXED, SOWN, WET, CUT, washed, dip(scraped=False), AGAIN)
    used = Incident(minute=45, items=("M-1",))
    assert "T-2" in dirty(MIXED, SOWN, WET, CUT, washed, used, dip(scraped=False), AGAIN)


def test_a_bath_carries_what_did_not_come_out_clean_to_what_does_not_either():
    weak = dip(minute=50, ppm=40)
    assert "KN-2" in dirty(MIXED, SOWN, WET, CUT, weak, dip(minute=55, items=("KN-2",), ppm=40))
    assert "KN-2" not in dirty(MIXED, SOWN, WET, CUT, weak, dip(minute=55, items=("KN-2",)))


def test_clean_water_after_a_test_that_found_nothing():
    assert dirty(WaterTest(minute=5, source="WELL", passes=True), SOWN, WET) == set()
    assert "T-1" in dirty(WaterTest(minute=5, source="WELL", passes=False), SOWN, WET)


def test_a_crop_goes_on_standing_on_a_mat_with_a_new_tag():
    retagged = Retag(minute=15, item="M-1", codes=("N-1", "N-2"))
    assert {"N-1", "N-2"} <= dirty(SOWN, retagged, WET)
    assert "M-1" not in dirty(SOWN, retagged, WET)


def test_a_cover_takes_along_what_it_lay_on():
    other = Sow(minute=12, batch="T-2", seed="S-2", on=("M-2",))
    assert "M-2" in dirty(SOWN, other, WET, Cover(minute=25, batch="T-2", item="DM-1", off="T-1"))


def test_a_part_is_taken_without_touching_the_rest():
    some = Pack(minute=40, lot="P-1", of=(Taken(lot="H-1", all=False),), bench="BE-1")
    assert dirty(SOWN, CUT, some, code="BE-1") == {"P-1"}
    tipped = Pack(minute=40, lot="P-1", of=(Taken(lot="H-1", all=False),), bench="BE-1", tipped=True)
    assert dirty(SOWN, CUT, tipped, code="BE-1") == {"P-1", "H-1", "CR-1"}


def test_what_is_put_into_a_crate_lies_in_it_and_no_longer_where_it_was():
    moved = Move(minute=40, lots=("H-1",), to="COLD", crate="CR-2")
    assert dirty(SOWN, CUT, moved, code="CR-1") == {"H-1", "M-1", "DM-1", "KN-1", "CR-2"}
    assert dirty(SOWN, CUT, moved, at=35, code="CR-2") == {"H-1"}
    assert dirty(SOWN, CUT, moved, at=45, code="CR-1") == set()


def test_what_is_put_to_one_lot_after_another_carries_it():
    other = Sow(minute=12, batch="T-2", seed="S-2", on=("M-2",))
    first, then = (Tried(minute=n, lots=(f"T-{n - 21}",), item="KN-2", how="sample") for n in (22, 23))
    assert {"T-2", "M-2", "KN-2"} <= dirty(SOWN, other, WET, first, then)


def test_what_came_back_brings_what_was_in_the_van():
    out = Deliver(minute=40, code="D-1", of=(Taken(lot="H-1"),), van="VAN-1", lent=("CR-1",))
    back = ItemsBack(minute=50, items=("CR-1",))
    stock = Return(minute=60, delivery="D-1", lot="H-1", then="restocked", new="P-9")
    assert dirty(SOWN, CUT, out, back, stock, code="VAN-1") == {"D-1", "CR-1", "P-9"}


def test_what_is_lent_lost_or_stood_on_cannot_be_used():
    for first in (SOWN, Lost(minute=10, item="M-1")):
        lived = live(Farm((first, AGAIN)))
        assert lived.done == [first]
    freed = Dispose(minute=40, of=Taken(lot="T-1"))
    assert len(live(Farm((SOWN, freed, AGAIN))).done) == 3
