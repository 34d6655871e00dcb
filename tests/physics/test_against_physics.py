"""On random farms the book reaches at least what germs reach: trace from the cause, and recall from what became ill."""

import os

from tests.physics import sheet
from tests.physics.acts import Cutting, Harvest, Sow
from tests.physics.farm import Farm
from tests.physics.probe import tried, try_many

FARMS = int(os.environ.get("LOTWALK_FARMS", "40"))
"""As many farms are tried, or as many as LOTWALK_FARMS says."""


def test_the_book_reaches_what_germs_reach(template):
    """What is told of a farm where it does not is the smallest sheet that shows it, and what is not reached."""
    total = try_many(range(FARMS), template)
    assert not total.wrong, "\n\n".join(total.told)
    assert total.causes > 10 * FARMS
    assert total.recalls >= FARMS


def test_the_farms_do_many_sorts_of_things_and_dirty_many_lots(template):
    """Farms on which nothing got dirty would prove nothing."""
    total = try_many(range(1000, 1010), template)
    assert len(total.drawn) >= 18
    assert sum(total.dirty.values()) > 300


def test_a_knife_that_is_left_out_of_the_sheet_is_found_out(template, monkeypatch):
    """KN-1 is dirty and cuts T-1. The model says that it reaches H-1 even where nobody writes so."""
    cut = Harvest(minute=600, lot="H-1", of=(Cutting(batch="T-1"),), knife="KN-1")
    farm = Farm((Sow(minute=400, batch="T-1", seed="S-1", on=("M-1",)), cut), soiled=((1, "KN-1"),))
    assert tried(farm, template)[0].misses == []
    honest = sheet.WRITE[Harvest]
    monkeypatch.setitem(sheet.WRITE, Harvest, lambda act, silent: honest(act, silent) | {"equipment": "none"})
    (missed,) = [miss for miss in tried(farm, template)[0].misses if miss.cause.code == "KN-1"]
    assert missed.things == {"H-1", "M-1"}
