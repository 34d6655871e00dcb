"""Cold stores and lots: small farms, a gap and its absence."""

import pytest
from tests.checks.small import Small

from lotwalk.checks.subjects import stock, storage

GROWN = """
- {kind: sowing, at: 2026-03-02 09:00, batch: T-1, seed: S-1 200 g, trays: '4', equipment: M-1..M-4, water: none}
- kind: harvest
  at: 2026-03-09 09:00
  lot: H-1
  from: T-1 4
  amount: 1 kg
  cut: above the medium
  equipment: KN-1
  into: COLD
"""
PACKED = """
- kind: packing
  at: 2026-03-09 10:00
  lot: P-1
  product: PEA-50
  from: H-1 1 kg
  packs: 20
  pack_size: 50 g
  packaging: BOXES
  equipment: none
  into: COLD
  best_before: 2026-03-16
"""
READ = "- {{kind: storage-check, at: {at}, where: {where}, temperature: {temperature}}}\n"
SOLD = "- {{kind: delivery, at: {at}, code: {code}, customer: CAFE, items: P-1 {amount}{more}}}\n"


@pytest.fixture
def farm(where):
    made = Small(where)
    yield made
    made.book.ledger.engine.dispose()


def read(at, temperature="4 degC", where="COLD"):
    return READ.format(at=at, temperature=temperature, where=where)


def sold(at, code="D-1", amount="500 g", more=""):
    return SOLD.format(at=at, code=code, amount=amount, more=more)


def test_a_warm_spell_is_one_finding_from_the_last_good_reading_to_the_next(farm):
    farm.load(GROWN + PACKED)
    names = farm.load(
        read("2026-03-09 12:00")
        + read("2026-03-09 17:00", "9 degC")
        + read("2026-03-09 18:00", "48 F")
        + read("2026-03-10 06:00", "5 degC")
        + sold("2026-03-10 08:00", amount="1 kg")
    )
    found = farm.found(storage, "2026-03-11")
    assert list(found) == [f"warm-store:COLD:{names[1]}"]
    text = found[f"warm-store:COLD:{names[1]}"].text
    # From 12:00 to 06:00.
    assert "9 degC" in text and "48 F" in text and "18 h 0 min at most" in text and "P-1" in text


def test_five_degrees_are_in_the_limit_and_41_fahrenheit_too(lite):
    lite.load(read("2026-03-09 12:00", "5 degC") + read("2026-03-09 13:00", "41 F"))
    assert lite.found(storage, "2026-03-11") == {}
    lite.load(read("2026-03-09 14:00", "41.1 F"))
    assert len(lite.found(storage, "2026-03-11")) == 1


def test_the_highest_since_the_check_before_counts(lite):
    (name,) = lite.load("- {kind: storage-check, at: 2026-03-09, where: COLD, temperature: 4 degC, max: 8 degC}\n")
    found = lite.found(storage, "2026-03-11")
    assert "8 degC on 2026-03-09" in found[f"warm-store:COLD:{name}"].text
    assert "at its highest since the check before" in found[f"warm-store:COLD:{name}"].text


def test_days_on_which_nobody_read_a_store_that_held_something(farm):
    farm.load(GROWN + PACKED)
    (name, _) = farm.load(read("2026-03-09 12:00") + sold("2026-03-13 08:00", amount="1 kg"))
    found = farm.found(storage, "2026-03-20")
    # 9 March was read and on the 13th the lot went; what stood empty afterwards needs no reading.
    assert list(found) == [f"unread-store:COLD:{name}"]
    assert "2026-03-10, a Tuesday, to 2026-03-12, a Thursday" in found[f"unread-store:COLD:{name}"].text
    farm.load(read("2026-03-10 20:00") + read("2026-03-11 05:00") + read("2026-03-12 23:00"))
    assert farm.found(storage, "2026-03-20") == {}


def test_the_next_reading(lite):
    assert lite.due(storage, "2026-03-09") == []
    lite.load(GROWN + PACKED + read("2026-03-09 12:00"))
    assert [(one.by, one.about) for one in lite.due(storage, "2026-03-09")] == [("2026-03-10", ("COLD",))]


def test_a_dry_store_may_be_warm_as_long_as_nobody_reads_it(lite):
    lite.load(GROWN.replace("into: COLD", "into: SHED"))
    assert lite.found(storage, "2026-03-12") == {}


def test_a_warm_delivery(lite):
    lite.load(GROWN + PACKED + read("2026-03-09 12:00"))
    lite.load(
        sold("2026-03-09 13:00", "D-1", more=", temperature: 4 degC")
        + sold("2026-03-09 14:00", "D-2", "100 g", ", temperature: 47 F")
        + sold("2026-03-09 15:00", "D-3", "400 g")
    )
    assert list(lite.found(storage, "2026-03-10")) == ["warm-delivery:D-2"]


def stocked(farm, on):
    """What the checks find without the balances, which have tests of their own."""
    balances = ("unaccounted", "overdrawn", "over-delivered", "overcounted", "counted-short", "other-unit", "yield")
    return {name: one for name, one in farm.found(stock, on).items() if one.check not in balances}


def test_what_moved_while_on_hold(farm):
    farm.load(GROWN + PACKED)
    names = farm.load(
        sold("2026-03-09 13:00", "D-1", "200 g")
        + "- {kind: hold, at: 2026-03-09 14:00, lots: P-1, reason: a call}\n"
        + sold("2026-03-09 15:00", "D-2", "200 g")
        + "- {kind: sample, at: 2026-03-09 16:00, of: P-1, amount: 50 g, lab: LAB}\n"
        + "- {kind: release, at: 2026-03-10 08:00, lots: P-1, reason: clear}\n"
        + sold("2026-03-10 09:00", "D-3", "200 g")
    )
    found = stocked(farm, "2026-03-11")
    assert list(found) == ["held-moved:P-1:D-2"]
    assert found["held-moved:P-1:D-2"].severity == "critical"
    assert f"({names[1]} of 2026-03-09 14:00: a call)" in found["held-moved:P-1:D-2"].text


def test_a_hold_that_nobody_ends(lite):
    (name,) = lite.load(GROWN + PACKED + "- {kind: hold, at: 2026-03-09 14:00, lots: P-1, reason: a call}\n")[-1:]
    assert [(one.by, one.about[0]) for one in lite.due(stock, "2026-03-10")] == [("2026-03-23", "P-1")]
    assert stocked(lite, "2026-03-20") == {}
    assert list(stocked(lite, "2026-03-25")) == [f"hold-long:P-1:{name}"]
    lite.load("- {kind: disposal, at: 2026-03-24, items: P-1}\n")
    assert list(stocked(lite, "2026-03-25")) == [f"hold-open:P-1:{name}"]
    assert lite.due(stock, "2026-03-25") == []
    lite.load("- {kind: release, at: 2026-03-25, lots: P-1, reason: binned}\n")
    assert stocked(lite, "2026-03-26") == {}


def test_sold_after_its_best_before(lite):
    lite.load(GROWN + PACKED + sold("2026-03-16 18:00", "D-1") + sold("2026-03-17 08:00", "D-2"))
    assert list(stocked(lite, "2026-03-18")) == ["past-date:P-1:D-2"]


def test_what_came_back_keeps_the_date_of_its_lot(lite):
    lite.load(
        GROWN
        + PACKED
        + sold("2026-03-12 08:00", "D-1")
        + "- {kind: return, at: 2026-03-13, delivery: D-1, lot: P-1, amount: 100 g, then: restocked, new_lot: P-1R}\n"
        + "- {kind: delivery, at: 2026-03-17 08:00, code: D-2, customer: CAFE, items: P-1R 100 g}\n"
    )
    found = stocked(lite, "2026-03-18")
    assert "after its best before 2026-03-16" in found["past-date:P-1R:D-2"].text


def test_packed_in_nothing(lite):
    lite.load(GROWN + PACKED.replace("  packaging: BOXES\n", ""))
    assert list(stocked(lite, "2026-03-10")) == ["bare:P-1"]


def test_a_tray_sold_growing_needs_nothing_around_it(lite):
    lite.load(GROWN.replace("above the medium", "with roots") + PACKED.replace("  packaging: BOXES\n", ""))
    assert stocked(lite, "2026-03-10") == {}


def test_lent_and_not_home(farm):
    farm.load(GROWN + PACKED + sold("2026-03-10 08:00", "D-1", more=", lent: 'CR-1..CR-3'"))
    assert [(one.by, one.about[0]) for one in farm.due(stock, "2026-03-11")] == [
        ("2026-03-17", "CR-1"),
        ("2026-03-17", "CR-2"),
        ("2026-03-17", "CR-3"),
    ]
    farm.load(
        """
        - {kind: items-back, at: 2026-03-15, items: CR-1, customer: CAFE}
        - {kind: equipment-change, at: 2026-03-16, items: CR-2, what: lost}
        """
    )
    assert stocked(farm, "2026-03-17") == {}
    assert list(stocked(farm, "2026-03-18")) == ["not-home:CR-3:D-1"]


def test_a_void_lot_that_an_entry_still_uses(lite):
    lite.load(GROWN)
    (packed, _) = lite.load(PACKED + sold("2026-03-10 08:00"))
    lite.book.void(int(packed[1:]), because="never packed", by=["TO"])
    found = stocked(lite, "2026-03-11")
    assert list(found) == ["void-used:P-1"]
    assert found["void-used:P-1"].severity == "major"


def test_the_balances_come_along_under_their_own_names(lite):
    lite.load(GROWN + PACKED + sold("2026-03-10 08:00", amount="1.5 kg"))
    assert "over-delivered:P-1" in lite.found(stock, "2026-03-11")
