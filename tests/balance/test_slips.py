"""Packs of another size than the packing gives, and what came back of a delivery that did not hold it, are findings."""

import pytest
from tests.balance.farm import load
from tests.balance.test_findings import found
from tests.balance.test_sheets import GROWN

SOLD = (
    GROWN
    + """
    - {kind: harvest, at: 2026-03-09, lot: H-1, from: T-1, amount: 1 kg}
    - {kind: packing, at: 2026-03-10 08:00, lot: P-1, from: H-1 1 kg, packs: 20, pack_size: 50 g}
    - {kind: delivery, at: 2026-03-11, code: D-1, customer: CAFE, items: {lot: P-1, packs: 12}}
    - {kind: delivery, at: 2026-03-11, code: D-2, customer: CAFE, items: H-1 10 g}
"""
)


def slips(book):
    wanted = ("pack-size", "returned-not-sent", "returned-over")
    return {name: one for name, one in found(book).items() if name.split(":")[0] in wanted}


def test_packs_of_the_size_that_the_packing_gives_are_none(farm):
    load(farm, SOLD)
    assert slips(farm) == {}


def test_a_delivery_that_gives_its_packs_another_size_is_one(farm):
    names = load(
        farm,
        SOLD
        + """
    - {kind: delivery, at: 2026-03-12, code: D-3, customer: CAFE, items: {lot: P-1, packs: 2, pack_size: 100 g}}
""",
    )
    ((name, one),) = slips(farm).items()
    assert name == f"pack-size:{names[-1]}:P-1"
    assert f"{names[-1]} reckons the packs of P-1 at 100 g each, and the record of P-1 says 50 g a pack." in one.text


def test_a_pack_size_that_was_amended_after_the_delivery_is_one(farm):
    names = load(farm, SOLD)
    farm.amend(int(names[2][1:]), {"pack_size": "40 g"}, because="weighed again", by=["TO"])
    ((name, one),) = slips(farm).items()
    assert name == f"pack-size:{names[3]}:P-1"
    assert "at 50 g each, and the record of P-1 says 40 g a pack." in one.text


@pytest.mark.parametrize(
    ("came", "name", "told"),
    [
        ("delivery: D-1, lot: P-1, amount: 600 g", None, ""),
        ("delivery: D-1, lot: P-1, amount: 601 g", "returned-over:P-1:D-1", "601 g of 600 g"),
        ("delivery: D-2, lot: P-1, amount: 50 g", "returned-not-sent:P-1:D-2", "did not hold it"),
        (
            "delivery: D-2, lot: P-1, amount: 50 g, then: restocked, new_lot: P-1R",
            "returned-not-sent:P-1:D-2",
            "P-1 came back of D-2",
        ),
    ],
)
def test_what_comes_back_must_have_gone_out_with_that_delivery(farm, came, name, told):
    load(farm, SOLD + f"    - {{kind: return, at: 2026-03-13, {came}}}\n")
    assert list(slips(farm)) == ([name] if name else [])
    if name:
        assert told in slips(farm)[name].text


def test_returns_of_several_days_are_added_up(farm):
    load(
        farm,
        SOLD
        + """
    - {kind: return, at: 2026-03-13, delivery: D-1, lot: P-1, amount: 400 g}
    - {kind: return, at: 2026-03-14, delivery: D-1, lot: P-1, amount: 300 g}
""",
    )
    assert list(slips(farm)) == ["returned-over:P-1:D-1"]
