"""The calculator and the judge agree: what one calls bad or dangerous, the other does not let pass.

A mix is asked of both, which are given the same label, rule set, strength, pH and temperature. The judge sees a dip
that is good in all else: washed items, a contact as long as the label asks, a mix in its life.
"""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.judge.memory import Book, degrees, least, ppm, time

from lotwalk.errors import NotUnderstood
from lotwalk.judge import Judge, RuleSet
from lotwalk.judge.calculator.advice import Asked, advise
from lotwalk.judge.calculator.on_record import OnRecord, steps_of, unrinsed
from lotwalk.judge.dangers.never import never_together
from lotwalk.mixing.concentrate import read_stock
from lotwalk.mixing.limits import Limits
from lotwalk.values.units import Amount, Units

UNITS = Units.load("metric")
RULES = {name: RuleSet.load(name) for name in ("us", "eu", "general")}
ACTIVES = [
    "sodium hypochlorite", "calcium hypochlorite", "quaternary ammonium", "iodine", "peroxyacetic acid",
    "hydrogen peroxide", "chlorine dioxide", "bleach with vinegar", "hydrogen peroxide and vinegar",
    "sodium chlorite with bleach",
]  # fmt: skip
STRENGTHS = st.integers(1, 600) | st.sampled_from([12, 13, 24, 25, 49, 50, 99, 100, 200, 201, 400, 500, 501])
PH = (
    st.none()
    | st.decimals(0, 14, places=1)
    | st.sampled_from([Decimal(one) for one in ("4.9", "5", "8", "10", "10.1")])
)
HEAT = st.none() | st.integers(1, 60) | st.sampled_from([13, 20, 24, 38, 49])


def judged(rules, active, strength, ph, heat, low, high, rinse, row=None):
    """Return whether the judge lets a dip pass, with nothing left on it and no danger; and whether it sees one."""
    book = Book(rules)
    book.equipment("M-001")
    label = {"label_min": low, "label_max": high, "label_contact": low and time("2 min")}
    told = {name: value for name, value in label.items() if value}
    if row:
        uses = [{"use": "food contact", "min": low, "contact": time("2 min"), **row}]
        book.add("label", "2026-01-01", {"active": active, "uses": uses}, uses=[("names", "code", "LBL")])
        told = {"label": "LBL"}
    book.receipt(active=active, product="Plain", **told)
    book.solution()
    book.washing("M-001")
    dip = book.dip(
        "M-001",
        reading=ppm(f"{strength} ppm"),
        ph=ph,
        temperature=heat and degrees(f"{heat} degC"),
        rinse="MAIN" if rinse else None,
    )
    verdict = book.verdict(dip)
    dangers = Judge(rules).notices("chemicals", dip, book)
    residue = [reason for reason in verdict.reasons if reason.kind == "residue"]
    return not (verdict.failed or residue or dangers), bool(dangers)


def advised(rules, active, strength, ph, heat, low, high, rinse, row=None):
    """Return whether the calculator has nothing bad to say of the mix, and whether it calls it a danger."""
    most, source = unrinsed(rules, active)
    limits = Limits(low, high, most, source, rinse=rinse, steps=steps_of(rules, active))
    stock = read_stock(Amount(Decimal(5), "percent", "5 %"), chlorine=False)
    danger = "DANGER" if never_together(rules, active) else ""
    asks = row or {}
    product = OnRecord("", "", active, stock, limits, danger=danger, ph=asks.get("ph"),
                       temperature=asks.get("temperature") and (asks["temperature"],) * 2)  # fmt: skip
    heat = heat and degrees(f"{heat} degC")
    asked = Asked(Amount(Decimal(strength), "mg/L", f"{strength} ppm"), UNITS.read("10 L", ("volume",)), ph=ph,
                  temperature=heat)  # fmt: skip
    try:
        return not advise(product, asked, rules, (), UNITS).bad, False
    except NotUnderstood as why:
        return False, why.what.startswith("DANGER")


@settings(max_examples=600, deadline=None)
@given(
    name=st.sampled_from(sorted(RULES)), active=st.sampled_from(ACTIVES), strength=STRENGTHS, ph=PH, heat=HEAT,
    low=st.none() | st.sampled_from([5, 12, 50, 100, 150]), above=st.none() | st.sampled_from([0, 50, 400]),
    rinse=st.booleans(),
)  # fmt: skip
def test_the_calculator_and_the_judge_agree(name, active, strength, ph, heat, low, above, rinse):
    rules = RULES[name]
    if low is None and not (rules.flag("sanitising.without_label") and ph is not None and heat is not None):
        # Nobody knows what the label says: the calculator tells so, and the judge waits for it.
        low = 50
    high = None if above is None or low is None else least(f"{low + above} ppm")
    asked = (rules, active, strength, ph, heat, low and least(f"{low} ppm"), high, rinse)
    assert judged(*asked) == advised(*asked)


@settings(max_examples=200, deadline=None)
@given(
    active=st.sampled_from(ACTIVES[:5]), strength=st.sampled_from([49, 50, 99, 100, 150]),
    ph=st.decimals(0, 14, places=1), heat=st.integers(1, 60),
    asks=st.none() | st.tuples(st.integers(4, 7), st.integers(0, 3)),
    warm=st.none() | st.sampled_from([5, 20, 40]),
)  # fmt: skip
def test_they_agree_on_what_a_label_asks_of_ph_and_heat(active, strength, ph, heat, asks, warm):
    row = {"temperature": warm and degrees(f"{warm} degC")}
    row["ph"] = asks and (Decimal(asks[0]), Decimal(asks[0] + asks[1]))
    row = {name: value for name, value in row.items() if value}
    asked = (RULES["us"], active, strength, ph, heat, least("50 ppm"), None, False, row)
    assert judged(*asked) == advised(*asked)


@pytest.mark.parametrize(("ph", "danger"), [("4.9", True), ("5", False)])
def test_both_call_an_acid_chlorine_mix_a_danger(ph, danger):
    asked = (RULES["us"], "bleach", 100, Decimal(ph), 25, least("100 ppm"), least("200 ppm"), False)
    assert judged(*asked) == advised(*asked) == (not danger, danger)
