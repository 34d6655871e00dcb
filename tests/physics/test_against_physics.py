"""On random farms the book reaches at least what germs reach: trace from the cause, and recall from what became ill."""

import os

from tests.physics.trial import try_many

FARMS = int(os.environ.get("LOTWALK_FARMS", "25"))
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
