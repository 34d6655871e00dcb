"""A pack is held against what its product declared when it was packed.

The product's first record, of 9 March, declares nothing; it is mended at 14:00 on the 10th, so what was packed before
went out in bags that do not say mustard. The farm is that of `allergen_farm.py`, by the European list.
"""

import pytest
from tests.checks.allergen_farm import Farm


@pytest.fixture
def farm(tmp_path):
    made = Farm(str(tmp_path / "farm.db"))
    yield made
    made.book.ledger.engine.dispose()


@pytest.fixture
def mended(farm):
    """The same farm, on which P-MILD was packed at noon on the 10th, and the product mended at two."""
    farm.clock("2026-03-10 12:05")
    farm.packed = farm.pack("2026-03-10 12:00")
    farm.clock("2026-03-10 14:00")
    farm.mend(allergens="mustard")
    return farm


def test_bags_packed_before_their_product_was_mended_stay_a_finding(mended):
    (finding,) = mended.found().values()
    assert (finding.id, finding.severity) == (f"allergen:{mended.packed.name}", "critical")
    assert finding.text == (
        f"ALLERGEN: P-MILD ({mended.packed.name}, 2026-03-10 12:00) holds mustard (Mustard Greens, S-MUS), and its"
        " product MIXA declared no allergen when it was packed. It does since 2026-03-10 14:00: bags from before do"
        " not say so."
    )
    assert f"about allergen:{mended.packed.name}" in finding.do
    assert "on hold" in finding.do and "call back" in finding.do


def test_bags_packed_after_it_was_mended_pass(mended):
    mended.clock("2026-03-10 15:05")
    assert mended.pack("2026-03-10 15:00", lot="P-LATER").notices == ()
    assert [one.about[1] for one in mended.found().values()] == ["P-MILD"]


def test_what_was_packed_before_and_typed_after_is_told_at_the_door(mended):
    mended.clock("2026-03-15 18:00")
    told = mended.pack("2026-03-10 13:00", lot="P-SLIP")
    assert told.notices[0] == mended.found()[f"allergen:{told.name}"].told
    assert "declared no allergen when it was packed" in told.notices[0]


@pytest.mark.parametrize(("at", "counts"), [("2026-03-10", True), ("2026-03-10 pm", True), ("2026-03-11", False)])
def test_a_pack_without_an_hour_may_be_from_before_the_mend(mended, at, counts):
    mended.clock("2026-03-11 18:00")
    assert bool(mended.pack(at, lot="P-DAY").notices) is counts


def test_a_declaration_that_is_taken_away_says_nothing_of_what_was_packed_before(farm):
    farm.clock("2026-03-10 12:05")
    farm.pack("2026-03-10 12:00", product="MIXM")
    farm.clock("2026-03-10 14:00")
    farm.mend("MIXM", allergens=None)
    assert farm.found() == {}
    farm.clock("2026-03-10 15:05")
    (told,) = farm.pack("2026-03-10 15:00", lot="P-LATER", product="MIXM").notices
    assert "and its product MIXM declares no allergen." in told


def test_a_product_that_is_struck_out_and_written_again_mends_no_bag(farm):
    farm.clock("2026-03-10 12:05")
    receipt = farm.pack("2026-03-10 12:00")
    farm.clock("2026-03-10 14:00")
    with farm.book.ledger.reading() as connection:
        number = farm.book.records(connection, int(farm.now)).maker("MIXA").number
    farm.book.void(number, because="written anew", by=["TO"])
    farm.book.record("product", at="2026-03-10 14:00", by="TO", code="MIXA", name="Mild mix", commodity="mixed greens",
                     allergens="mustard")  # fmt: skip
    assert list(farm.found()) == [f"allergen:{receipt.name}"]
    farm.clock("2026-03-10 15:05")
    assert farm.pack("2026-03-10 15:00", lot="P-LATER").notices == ()


def test_what_was_done_about_the_bags_closes_it_and_it_stays_readable(mended):
    name = f"allergen:{mended.packed.name}"
    mended.clock("2026-03-10 16:00")
    mended.book.record("corrective-action", at="2026-03-10 16:00", by="TO", about=name, closed="2026-03-10",
                       cause="the record was typed without it; the printed label did carry mustard",
                       action="a bag from the shelf looked at")  # fmt: skip
    (one,) = mended.standing().values()
    assert one.finding.id == name
    assert one.closed_by


def test_a_pack_that_was_typed_under_another_product_is_held_against_its_own(mended):
    mended.book.amend(int(mended.packed.name[1:]), {"product": "MIXM"}, because="packed as the hot mix", by=["TO"])
    assert mended.found() == {}


def test_a_label_printed_after_the_mend_declares_it(mended):
    text, notices = mended.label()
    assert "Allergens: mustard" in text
    assert "NOT DECLARED" not in text
    assert notices == ()


def test_bags_from_before_the_mend_on_either_database(where):
    farm = Farm(where)
    farm.clock("2026-03-10 12:05")
    receipt = farm.pack("2026-03-10 12:00")
    farm.clock("2026-03-10 14:00")
    farm.mend(allergens="mustard")
    farm.clock("2026-03-10 15:05")
    later = farm.pack("2026-03-10 15:00", lot="P-LATER")
    found = farm.found()
    farm.book.ledger.engine.dispose()
    assert (list(found), later.notices) == ([f"allergen:{receipt.name}"], ())
