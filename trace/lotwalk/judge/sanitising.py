"""Whether a sanitising counts as a clean break, item by item."""

from decimal import Decimal

from lotwalk.judge.acts import Act, Step
from lotwalk.judge.case import Case, ends, named, too_long
from lotwalk.judge.items import check_items
from lotwalk.judge.label import item_of
from lotwalk.judge.ruleset.limits import HeatRow
from lotwalk.judge.strength import check_contact, check_solution
from lotwalk.judge.words import degrees, is_fahrenheit, listed, many

HEAT = "heat"


def judge_sanitising(case: Case) -> None:
    """Fail the items for which the record does not show a clean break, each with the act that mends it.

    Missing evidence is not a pass. Too strong is told as a residue and fails nothing.
    """
    if too_long(case):
        return
    if case.entry.values.get("method") == HEAT:
        _check_heat(case)
    else:
        _check_chemical(case)
    check_items(case)


def _check_chemical(case: Case) -> None:
    solutions = named(case.entry, "solution")
    if not solutions:
        case.fails("No solution is named", "write which solution, or which ready-to-use product, it was")
    for solution in solutions:
        check_solution(case, solution)


def _check_heat(case: Case) -> None:
    heat = case.rules.heat
    if heat is None:
        case.fails("The rule set has no numbers for heat", "name a rule set that has, or sanitise by a label")
        return
    temperature = ends(case.entry.values.get("temperature"))
    if temperature is None:
        case.fails("No temperature is recorded", Act(Step.HEAT, "heat them again, measure, and write the temperature"))
        return
    groups: dict[bool, list[str]] = {}
    for code in case.codes:
        groups.setdefault(item_of(case, code).porous, []).append(code)
    for porous, codes in groups.items():
        rows = [row for row in heat.rows if row.porous or not porous]
        if not rows:
            text = f"{listed(codes)} {many(codes, 'is', 'are')} porous, and the rule set's heat is for other surfaces"
            case.fails(text, "use a way that a label allows for porous items", codes)
            continue
        in_degf = is_fahrenheit(temperature[0])
        row = _nearest(rows, temperature[0].value, fahrenheit=in_degf)
        if temperature[0].value < row.lowest(fahrenheit=in_degf):
            asked = degrees(row.temperature.value, row.fahrenheit, first=in_degf)
            text = f"Temperature {temperature[0].written} is below the rule set's {asked}"
            do = f"heat {listed(codes)} again to {asked} for {row.contact.written}"
            case.fails(text, Act(Step.HEAT, do), codes)
        check_contact(case, row.contact, "the rule set's", codes, act="heat")


def _nearest(rows: list[HeatRow], temperature: Decimal, *, fahrenheit: bool) -> HeatRow:
    """Return the hottest row that the temperature reaches, else the coolest one."""
    reached = [row for row in rows if row.lowest(fahrenheit=fahrenheit) <= temperature]
    if reached:
        return max(reached, key=lambda row: row.temperature.value)
    return min(rows, key=lambda row: row.temperature.value)
