"""An entry of a time that has not come yet goes in, since a clock may be wrong; and it is said."""

import pytest

WASHING = {"by": "TO", "items": "M-01", "method": "brushed"}


@pytest.mark.parametrize("at", ["2062-03-02", "2026-12-31 09:00"])
def test_a_time_that_is_still_to_come_is_said(lite, at):
    receipt = lite.record("washing", **WASHING, at=at)
    (notice,) = receipt.notices
    assert notice.startswith(f"its time, {at}, is still to come by this computer's clock (20")


def test_a_time_of_today_or_before_is_not(lite):
    from lotwalk.values.times import show_when, zone

    today = show_when(int(lite.ledger.clock()), int(lite.ledger.clock()), zone("UTC"))[:10]
    assert lite.record("washing", **WASHING, at=today).notices == ()
    assert lite.record("washing", **WASHING, at="2020-01-01").notices == ()
