"""What the balances show to be wrong: the sample farm's planted gaps and no others, and each finding on its own."""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from tests.balance.farm import LIMITS, load, weighed
from tests.balance.test_sheets import GROWN, PACKED
from tests.sample import ledger

from lotwalk import demo
from lotwalk.balance.findings import findings
from lotwalk.balance.limits import Limits
from lotwalk.book import Book
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.values.units import Units

DAY = 86_400
LATER = int(datetime(2026, 6, 1, tzinfo=UTC).timestamp())


def found(book: Book, now: int = LATER, limits: Limits = LIMITS) -> dict[str, object]:
    with book.ledger.reading() as connection:
        units = Units.load(book.ledger.settings(connection).measures)
        listed = findings(connection, book.ledger.kinds, limits, units, now)
    assert len({one.id for one in listed}) == len(listed)
    assert all(one.text and one.do and one.basis for one in listed)
    return {one.id: one for one in listed}


@pytest.fixture(scope="module")
def sample():
    book = Book.open(str(ledger()))
    yield book
    book.ledger.engine.dispose()


def test_the_planted_gaps_of_the_sample_farm_and_no_others(sample):
    # As samples/README.md tells them: seed-overdrawn, unaccounted, over-delivered, harvest-overdrawn.
    end = int(datetime(2026, 3, 2, tzinfo=UTC).timestamp())
    listed = found(sample, end)
    assert set(listed) == {
        "overdrawn:S-ARU-1",
        "unaccounted:P-0114-6",
        "over-delivered:P-0126-2",
        "overdrawn:H-0218-2",
    }
    assert {one.severity for one in listed.values()} == {"major"}
    assert "13.5 oz out of 12 oz" in listed["overdrawn:S-ARU-1"].text
    assert "3 lb of P-0114-6" in listed["unaccounted:P-0114-6"].text
    assert "8 oz too much" in listed["over-delivered:P-0126-2"].text
    assert "recall.accounted 95-105 %, common practice, no source" in listed["overdrawn:H-0218-2"].basis


def test_the_sample_farm_without_its_corrections_shows_the_pounds_written_for_ounces(tmp_path):
    sheets = demo.sheets()
    book, clock = demo.start(str(tmp_path / "farm.db"), sheets[0])
    for sheet in sheets:
        demo.load(book, clock, sheet)
    # T-165 took 2.25 lb of S-BRO-1 where 2.25 oz were meant.
    assert "overdrawn:S-BRO-1" in found(book)
    demo.correct(book, clock)
    assert "overdrawn:S-BRO-1" not in found(book)
    book.ledger.engine.dispose()


def test_a_lot_is_missing_only_once_it_is_past_its_time_and_nothing_speaks_of_it(book):
    load(book, GROWN + PACKED)
    noon = int(datetime(2026, 3, 10, 12, tzinfo=UTC).timestamp())
    assert "unaccounted:P-1" not in found(book, noon + 13 * DAY)
    assert "unaccounted:P-1" in found(book, noon + 15 * DAY)
    load(book, "- {kind: hold, at: 2026-03-20, lots: P-1, reason: a call}")
    assert "unaccounted:P-1" not in found(book, noon + 15 * DAY)
    assert "unaccounted:P-1" in found(book, noon + 26 * DAY)


def test_a_count_that_is_short_shows_at_once(farm):
    load(farm, GROWN + PACKED)
    load(farm, "- {kind: stock-count, at: 2026-03-10 09:00, lot: P-1, amount: 900 g}")
    now = int(datetime(2026, 3, 10, 12, tzinfo=UTC).timestamp())
    (one,) = found(farm, now).values()
    assert (one.id, one.severity, one.about) == ("unaccounted:P-1", "major", ("P-1",))
    assert "100 g of P-1" in one.text


def test_a_bag_in_use_and_supplies_taken_by_the_handful_are_not_missing(farm):
    load(farm, GROWN + PACKED)
    load(farm, "- {kind: packing, at: 2026-03-10, lot: P-2, from: P-1 1 kg, amount: 1 kg, packaging: BOXES}")
    load(farm, "- {kind: delivery, at: 2026-03-11, code: D-1, customer: CAFE, items: P-2 1 kg}")
    load(farm, "- {kind: stock-count, at: 2026-03-12, lot: BOXES, amount: 100 boxes}")
    assert found(farm) == {}


def test_what_is_lost_in_the_scales_is_within_the_tolerance(farm):
    load(farm, GROWN + PACKED)
    load(farm, "- {kind: delivery, at: 2026-03-11, code: D-1, customer: CAFE, items: P-1 950 g}")
    assert found(farm) == {}
    tight = replace(LIMITS, accounted=(Decimal(100), Decimal(100)))
    assert set(found(farm, limits=tight)) == {"unaccounted:P-1"}


def test_no_delivery_may_be_larger_than_what_was_made(farm):
    load(farm, GROWN + PACKED)
    (name,) = load(farm, "- {kind: delivery, at: 2026-03-11, code: D-1, customer: CAFE, items: P-1 1.01 kg}")
    (one,) = found(farm).values()
    assert (one.id, one.about) == ("over-delivered:P-1", ("P-1", name))
    assert "10 g too much" in one.text


def test_thirds_of_a_pound_are_not_more_than_the_pound(farm):
    load(farm, GROWN)
    load(farm, "- {kind: harvest, at: 2026-03-09, lot: H-1, from: T-1, amount: 1 lb}")
    rows = ", ".join(["H-1 1/3 lb"] * 3)
    load(farm, f"- {{kind: delivery, at: 2026-03-10, code: D-1, customer: CAFE, items: [{rows}]}}")
    # Kept to fifteen figures, the thirds of 453.59237 g are 151.197456666667 g each.
    (lot,) = weighed(farm, "H-1").lots
    assert 0 < -lot.sums.unaccounted < Decimal("1e-10")
    assert found(farm) == {}


def test_a_missing_lot_of_which_some_was_taken_without_an_amount(farm):
    load(farm, GROWN + PACKED)
    (name,) = load(farm, "- {kind: sample, at: 2026-03-11, of: P-1, test: Listeria}")
    (one,) = found(farm).values()
    assert (one.id, one.severity, one.about) == ("unaccounted:P-1", "minor", ("P-1", name))
    assert f"{name} took some and does not say how much" in one.text


def test_taking_more_than_the_scales_explain_is_overdrawn(farm):
    load(farm, GROWN)
    load(farm, "- {kind: harvest, at: 2026-03-09, lot: H-1, from: T-1, amount: 1 kg}")
    load(farm, "- {kind: packing, at: 2026-03-09, lot: P-1, from: H-1 1.05 kg, amount: 1 kg}")
    load(farm, "- {kind: delivery, at: 2026-03-11, code: D-1, customer: CAFE, items: P-1 1 kg}")
    assert found(farm) == {}
    load(farm, "- {kind: sample, at: 2026-03-10, of: H-1, amount: 1 g}")
    assert set(found(farm)) == {"overdrawn:H-1"}


def test_counts_that_cannot_be(farm):
    load(farm, GROWN + PACKED)
    load(
        farm,
        """
        - {kind: stock-count, at: 2026-03-11, lot: P-1, amount: 1.2 kg}
        - {kind: stock-count, at: 2026-03-11, lot: S-2, amount: 100 g}
        - {kind: disposal, at: 2026-03-12, items: S-2 807.18474 g}
        """,
    )
    listed = found(farm)
    assert set(listed) == {"overcounted:P-1", "counted-short:S-2", "unaccounted:S-2"}
    assert listed["unaccounted:S-2"].severity == "minor"


def test_a_count_does_not_hide_that_too_much_was_taken(farm):
    load(farm, GROWN + PACKED)
    load(
        farm,
        """
        - {kind: stock-count, at: 2026-03-11, lot: P-1, amount: 1 kg}
        - {kind: disposal, at: 2026-03-12, items: P-1 1.2 kg}
        """,
    )
    # The count less what was taken since is -200 g, so that the sums balance to the gram.
    (lot,) = weighed(farm, "P-1").lots
    assert lot.sums.percent == 100
    assert not lot.sums.within(LIMITS.accounted)
    assert set(found(farm)) == {"overdrawn:P-1", "counted-short:P-1"}


def test_an_amount_in_another_unit_is_a_finding(farm):
    (made,) = load(farm, "- {kind: seed-receipt, at: 2026-03-01, lot: S-9, crop: pea, supplier: HOLT, amount: 3 bags}")
    (taken,) = load(farm, "- {kind: disposal, at: 2026-03-02, items: S-9 1 bag}")
    farm.amend(int(made[1:]), {"amount": "3 kg"}, because="weighed", by=["TO"])
    (one,) = found(farm).values()
    assert (one.id, one.about) == ("other-unit:S-9", ("S-9", taken))


def grow(book: Book, weights: list[int], crop: str = "S-1", first: int = 1, **more: str) -> None:
    """A batch of two trays for each weight, cut and sold a week after it was sown, day by day."""
    extra = "".join(f", {name}: {value}" for name, value in more.items())
    for number, weight in enumerate(weights, first):
        day = f"2026-{4 + number // 28:02d}-{1 + number % 28:02d}"
        load(
            book,
            f"""
            - {{kind: sowing, at: {day} 08:00, batch: B-{number}, seed: {crop} 10 g, trays: 2, equipment: M-1}}
            - {{kind: harvest, at: {day} 18:00, lot: C-{number}, from: B-{number}, amount: {weight} g{extra}}}
            - {{kind: delivery, at: {day} 19:00, code: D-{number}, customer: CAFE, items: C-{number} {weight} g}}
            """,
        )


USUAL = [400, 420, 380, 440, 400, 360, 420, 400]
"""Two trays' worth: 200, 210, 190, 220, 200, 180, 210 and 200 g a tray. Median 200, median deviation 10."""


def test_a_harvest_beyond_what_this_farm_ever_cut(farm):
    # Six deviations of 10 g, a twentieth of the median, above 200 g are 260 g a tray.
    grow(farm, [*USUAL, 520])
    assert found(farm) == {}
    grow(farm, [522], first=10)
    (one,) = found(farm).values()
    assert one.id == "yield:C-10"
    assert one.about[:2] == ("C-10", "B-10")
    for words in ("261 g a tray", "9 earlier harvests of pea", "is 200 g", "deviation 10 g", "above 260 g"):
        assert words in one.text
    assert "common practice, no source" in one.basis


def test_seven_earlier_harvests_are_too_few_to_say(farm):
    grow(farm, [*USUAL[:7], 4000])
    assert found(farm) == {}


def test_another_crop_has_a_history_of_its_own(farm):
    grow(farm, USUAL)
    grow(farm, [4000], crop="S-2", first=9)
    assert found(farm) == {}
    grow(farm, [4000], crop="S-3", first=10)
    assert set(found(farm)) == {"yield:C-10"}


def test_soaked_seed_is_of_the_crop_that_was_soaked(farm):
    grow(farm, USUAL)
    load(farm, "- {kind: soaking, at: 2026-03-30, lot: SOAK-1, seed: S-3 100 g}")
    grow(farm, [4000], crop="SOAK-1", first=9)
    assert set(found(farm)) == {"yield:C-9"}


def test_what_grew_again_is_not_compared(farm):
    grow(farm, USUAL)
    grow(farm, [4000], first=9, cutting="2")
    assert "yield:C-9" not in found(farm)


def test_harvests_all_alike_leave_room_for_a_better_day(farm):
    # All at 200 g: the deviation counts as 5 % of the median, so up to 260 g is plausible.
    grow(farm, [400] * 8 + [520])
    assert found(farm) == {}
    grow(farm, [524], first=10)
    assert set(found(farm)) == {"yield:C-10"}


def test_a_rule_set_may_take_the_limits_away(tmp_path, farm):
    own = tmp_path / "ours.yaml"
    own.write_text(
        "title: Ours\nbased_on: general\n"
        "harvest: {most_deviations: {value: none}}\n"
        "recall: {shelf_life: {value: none}, accounted: {value: none}}\n"
    )
    limits = Limits.of(RuleSet.load(str(own)))
    grow(farm, [*USUAL, 4000])
    load(farm, GROWN + PACKED)
    assert found(farm, limits=limits) == {}
    assert set(found(farm)) == {"yield:C-9", "unaccounted:P-1"}
    assert limits.accounted == (100, 100)
