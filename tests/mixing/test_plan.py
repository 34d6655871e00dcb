"""Mixing, mending and what was mixed: held to the balance of mass."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lotwalk.errors import NotUnderstood
from lotwalk.mixing.concentrate import Stock
from lotwalk.mixing.limits import Limits, check_target
from lotwalk.mixing.plan import by_dose, mend, mix, mixed
from lotwalk.mixing.tools import load_tools
from lotwalk.values.units import Amount, Units

METRIC = Units.load("metric")
TOOLS = load_tools("metric")
NONE = Limits()


def decimals(low, high, places=2):
    return st.decimals(Decimal(str(low)), Decimal(str(high)), places=places, allow_nan=False)


stocks = decimals(5, 150).map(lambda holds: Stock("made up", holds))
strengths = decimals(1, 1000)
volumes = decimals(200, 1_000_000)


def ppm(text):
    return METRIC.read(text, ("concentration", "percent"))


def limits(least="100 ppm", most="200 ppm", **more):
    return Limits(ppm(least) if least else None, ppm(most) if most else None, **more)


def close(one, other):
    return float(one) == pytest.approx(float(other), rel=1e-12)


@given(stocks, strengths, volumes)
def test_what_was_mixed_is_what_was_aimed_at(stock, target, volume):
    plan = mix(stock, target, volume, (), NONE)
    back = mixed(stock, Amount(plan.product, "mL", ""), volume)
    assert close(back.ppm, target)
    assert plan.product > 0


@given(stocks, strengths, strengths, volumes)
def test_mending_lands_on_the_target(stock, have, want, volume):
    plan = mend(stock, have, want, volume, (), NONE)
    sanitiser = have * volume + plan.product * stock.holds * 1000
    assert close(sanitiser, want * (volume + plan.product + plan.water))
    assert close(plan.volume, volume + plan.product + plan.water)
    assert plan.product >= 0
    assert plan.water >= 0
    assert not (plan.product and plan.water)
    if plan.mode == "weaken":
        assert close(have * (volume - plan.instead), want * volume)


@given(decimals(50, 900), strengths, strengths, volumes)
def test_a_powder_adds_no_volume(holds, have, want, volume):
    plan = mend(Stock("made up", holds, "g"), have, want, volume, (), NONE)
    if plan.mode == "strengthen":
        assert plan.volume == volume
        assert close(have * volume + plan.product * holds * 1000, want * volume)


@given(stocks, strengths, volumes)
def test_every_amount_proposed_can_be_measured_and_gives_what_is_said(stock, target, volume):
    plan = mix(stock, target, volume, TOOLS, NONE)
    for choice in plan.choices:
        tool, amount = choice.measured.tool, choice.measured.amount
        assert amount > 0
        assert amount % tool.step == 0
        assert abs(amount - plan.product) <= tool.step / 2
        assert close(choice.ppm, mixed(stock, Amount(amount, "mL", ""), volume).ppm)


@given(stocks, decimals(100, 200), volumes)
def test_no_rounding_leaves_the_limits_of_the_label(stock, target, volume):
    for choice in mix(stock, target, volume, TOOLS, limits()).choices:
        assert 100 <= round(choice.ppm, 9) <= 200
        assert abs(choice.measured.amount - stock.holds**-1 * target * volume / 1000) <= choice.measured.tool.step


@given(stocks, decimals(0, 150), decimals(100, 200), volumes)
def test_no_topping_up_leaves_the_limits_of_the_label(stock, have, want, volume):
    plan = mend(stock, have, want, volume, TOOLS, limits())
    for choice in plan.choices:
        assert max(have, Decimal(100)) <= round(choice.ppm, 9) <= 200


def test_a_mix_that_reads_what_was_aimed_at_is_left_alone():
    plan = mend(Stock("x", Decimal(50)), Decimal(100), Decimal(100), Decimal(1000), TOOLS, NONE)
    assert (plan.mode, plan.product, plan.water) == ("enough", 0, 0)


def test_a_strong_mix_is_mended_without_knowing_the_product():
    plan = mend(None, Decimal(300), Decimal(100), Decimal(4000), TOOLS, NONE)
    assert (plan.water, plan.volume) == (8000, 12000)
    with pytest.raises(NotUnderstood, match="not known"):
        mend(None, Decimal(50), Decimal(100), Decimal(4000), TOOLS, NONE)


def test_the_labels_own_dose_is_scaled_and_needs_no_strength():
    us = Units.load("us")
    dose, per = us.read("1 fl oz", ("volume",)), us.read("4 gal", ("volume",))
    plan = by_dose(dose, per, us.read("2 gal", ("volume",)).value, None, load_tools("us"))
    assert plan.ppm is None
    assert plan.choices[0].measured.words == "1 tbsp"
    assert plan.choices[0].ppm is None
    # Half a US fluid ounce is a tablespoon (NIST Handbook 44, appendix C).
    assert plan.product == us.read("1 tbsp", ("volume",)).value


def test_tablets_are_counted_whole():
    dose, per = METRIC.read("1 piece", ("count",)), METRIC.read("5 L", ("volume",))
    plan = by_dose(dose, per, Decimal(20_000), None, TOOLS)
    assert [one.measured.words for one in plan.choices] == ["4"]


@pytest.mark.parametrize(
    ("stock", "target", "volume", "told"),
    [
        ("50", "50000", "1000", "no stronger than that"),
        ("50", "0", "1000", "no sanitiser"),
        ("50", "100", "0", "a tub of nothing"),
    ],
)
def test_what_cannot_be_mixed_is_refused(stock, target, volume, told):
    with pytest.raises(NotUnderstood, match=told):
        mix(Stock("5 %", Decimal(stock)), Decimal(target), Decimal(volume), TOOLS, NONE)


def test_more_product_than_the_tub_holds_is_refused():
    with pytest.raises(NotUnderstood, match="more than the tub holds"):
        mixed(Stock("5 %", Decimal(50)), METRIC.read("2 L", ("volume",)), Decimal(1000))
    with pytest.raises(NotUnderstood, match="expected its weight in g"):
        mixed(Stock("65 %", Decimal(650), "g"), METRIC.read("2 mL", ("volume",)), Decimal(1000))


@pytest.mark.parametrize(
    ("target", "limit", "refused"),
    [
        ("200 ppm", limits(), False),
        ("201 ppm", limits(), True),
        ("201 ppm", limits(rinse=True), True),
        ("0.02 %", limits(), False),
        ("0.0201 %", limits(), True),
        ("201 ppm", limits(None, None, unrinsed=ppm("200 ppm")), True),
        ("201 ppm", limits(None, None, unrinsed=ppm("200 ppm"), rinse=True), False),
        ("250 ppm", limits(None, "300 ppm", unrinsed=ppm("200 ppm")), True),
        ("250 ppm", limits(None, "300 ppm", unrinsed=ppm("200 ppm"), rinse=True), False),
    ],
)
def test_a_target_above_the_label_or_unrinsed_above_the_rule_set_is_refused(target, limit, refused):
    if refused:
        with pytest.raises(NotUnderstood):
            check_target(ppm(target), limit)
    else:
        check_target(ppm(target), limit)
