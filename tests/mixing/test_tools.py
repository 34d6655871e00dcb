"""Measuring tools: what they can measure, and files of them."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lotwalk.errors import KindError
from lotwalk.mixing.tools import best, load_tools, measure

METRIC, US = load_tools("metric"), load_tools("us")
ALL = [*METRIC, *US]
amounts = st.decimals(Decimal("0.01"), Decimal(20_000), places=3, allow_nan=False)


@given(amounts, st.sampled_from(ALL))
def test_what_is_measured_is_within_half_a_division(amount, tool):
    found = measure(amount, tool)
    if found:
        assert abs(found.amount - amount) <= tool.step / 2
        assert found.amount >= tool.least
        assert found.fills <= tool.times


@given(amounts, st.sampled_from(ALL), st.decimals(Decimal(0), Decimal(500), places=3), st.booleans())
def test_limits_hold_and_cost_at_most_a_division(amount, tool, room, below):
    least, most = (amount, amount + room) if below else (max(Decimal(0), amount - room), amount)
    found = measure(amount, tool, least, most)
    if found:
        assert least <= found.amount <= most
        assert abs(found.amount - amount) <= tool.step


@given(amounts, st.sampled_from(["mL", "g"]))
def test_one_tool_of_a_kind_is_proposed(amount, unit):
    found = best(amount, unit, METRIC)
    assert len({one.tool.kind for one in found}) == len(found)
    assert all(one.tool.unit == unit for one in found)


@pytest.mark.parametrize(
    ("amount", "tool", "words"),
    [
        ("3.605", "5 mL syringe", "3.6 mL"),
        ("19.05", "60 mL syringe", "19 mL"),
        ("71.9", "60 mL syringe", "60 mL and 12 mL"),
        ("120", "60 mL syringe", "2 x 60 mL"),
        ("37.5", "measuring spoons", "2 x 1 tbsp, 1 tsp and 1/2 tsp"),
        ("0.3", "measuring spoons", None),
        ("12", "250 mL cylinder", None),
        ("15.44", "200 g scale", "15.4 g"),
    ],
)
def test_the_words_for_an_amount(amount, tool, words):
    (chosen,) = [one for one in METRIC if one.name == tool]
    found = measure(Decimal(amount), chosen)
    assert (found.words if found else None) == words


def test_a_spoon_is_the_farms_own():
    def spoon(tools):
        return next(one for one in tools if one.kind == "spoons").step

    assert spoon(METRIC) == Decimal("1.25")
    assert float(spoon(US)) == pytest.approx(1.232, abs=0.0005)  # NIST SP 811: a teaspoon is 4.928922 mL.


def test_a_growers_own_tools_stand_in_for_the_shipped_ones(tmp_path):
    own = tmp_path / "tools.yaml"
    own.write_text("tools:\n- {name: blue lid, division: 25 mL, holds: 100 mL, times: 2}\n")
    (lid,) = load_tools("metric", own)
    assert measure(Decimal(140), lid).words == "100 mL and 50 mL"
    assert measure(Decimal(300), lid) is None


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("tool: []", "one key, `tools`"),
        ("tools: []", "a list was expected"),
        ("tools: [3]", r"tools\[1\]: a mapping"),
        ("tools: [{name: x, division: 1 mL, holds: 10 g}]", "amounts of one kind"),
        ("tools: [{name: x, division: 3 mL, holds: 10 mL}]", "multiples of the smallest"),
        ("tools: [{name: x, division: 0 mL, holds: 10 mL}]", "amounts of one kind"),
        ("tools: [{name: x, division: 1 mL, holds: ten}]", "does not start with a number"),
        ("tools: [{name: x, division: 1 mL, holds: 10 mL, times: many}]", "a whole number"),
        ("tools: [{name: x, division: 1 mL, holds: 10 mL, colour: red}]", "a mapping"),
        ("tools: [", "cannot be read"),
        ("tools: [{name: x, parts: 3 mL}]", "a list of amounts"),
    ],
)
def test_a_mistake_in_a_file_of_tools_is_told(tmp_path, text, told):
    own = tmp_path / "own.yaml"
    own.write_text(text)
    with pytest.raises(KindError, match=told) as refused:
        load_tools("metric", own)
    assert str(refused.value).startswith("own.yaml: ")
