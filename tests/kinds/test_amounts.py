"""Amounts beside codes."""

from decimal import Decimal

import pytest


def mention(checked, path):
    (found,) = [mention for mention in checked.mentions if mention.path == path]
    return found


def amount(checked, path):
    found = mention(checked, path).amount
    return found and (found.value, found.unit)


def delivery(read, **row):
    return read("delivery", code="D-1", customer="CAFE", items={"lot": "P-1"} | row)


def test_amounts_are_canonical(read):
    checked = read("seed-receipt", lot="S-1", crop="pea", supplier="KS", amount="2 lb")
    assert amount(checked, "lot") == (Decimal("907.18474"), "g")  # the pound is 453.59237 g by definition
    assert mention(checked, "lot").amount.written == "2 lb"
    assert amount(checked, "supplier") is None


def test_the_amount_stands_in_the_row_not_in_the_entry(read):
    checked = read("harvest", lot="H-1", **{"from": "T-1 6, T-2"}, amount="2.4 kg", cut="with roots")
    assert amount(checked, "lot") == (2400, "g")
    assert amount(checked, "from[0].batch") == (6, "count")
    assert amount(checked, "from[1].batch") is None


def test_codes_of_trays_are_counted_and_narrow_what_a_batch_stands_on(read):
    row = {"batch": "T-1", "trays": "M-001..M-004"}
    checked = read("harvest", lot="H-1", **{"from": row}, amount="2.4 kg", cut="with roots")
    assert amount(checked, "from[0].batch") == (4, "count")
    assert mention(checked, "from[0].batch").with_only == ("M-001", "M-002", "M-003", "M-004")
    assert mention(checked, "from[0].trays").codes == ("M-001", "M-002", "M-003", "M-004")
    counted = read("harvest", lot="H-1", **{"from": "T-1 4"}, amount="2.4 kg", cut="with roots")
    assert mention(counted, "from[0].batch").with_only is None


def test_packs_times_their_size_are_an_amount(read):
    checked = read("packing", lot="P-1", **{"from": "H-1 3 kg"}, packs=12, pack_size="0.5 kg")
    assert amount(checked, "lot") == (6000, "g")
    assert str(mention(checked, "lot").amount.value) == "6000"


@pytest.mark.parametrize("row", [{"packs": "12"}, {"amount": "12 packs"}, {"amount": "12 clamshells"}])
def test_packs_without_a_size_wait_for_the_lot(read, row):
    checked = delivery(read, **row)
    assert amount(checked, "items[0].lot") is None
    assert mention(checked, "items[0].lot").packs == 12


@pytest.mark.parametrize("row", [{"amount": "2 kg"}, {"amount": "2 kg", "packs": "40"}])
def test_the_first_amount_given_counts(read, row):
    checked = delivery(read, **row)
    assert amount(checked, "items[0].lot") == (2000, "g")
    assert mention(checked, "items[0].lot").packs is None


def test_a_delivered_row_needs_an_amount_or_packs(refusal):
    (problem,) = refusal("delivery", code="D-1", customer="CAFE", items=[{"lot": "P-1"}])
    assert problem == "items[0]: amount or packs must be given"


def test_what_is_packed_may_be_a_count(read):
    checked = read("packing", lot="P-1", **{"from": "T-1 6 trays"}, amount="6 trays")
    assert amount(checked, "lot") == (6, "count")
    assert amount(checked, "from[0].lot") == (6, "count")
