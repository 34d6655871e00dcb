"""Whether pH and temperature let a solution work: inside the label's limits, else the rule set's table."""

from decimal import Decimal

from lotwalk.judge.case import Case, ends, numbers
from lotwalk.judge.label import Need
from lotwalk.judge.limits import Active
from lotwalk.science.chlorine import TableRow, band, lowest_temperature
from lotwalk.values.units import Amount


def check_conditions(case: Case, need: Need, codes: list[str], reading: Amount | None) -> None:
    """Fail the items where the solution was too cold, or its pH outside the limits.

    What the label asks must be on record. The rule set's table is held against what is on record; where the
    rule set's numbers stand in for a label, both must be.
    """
    active = case.rules.active(need.active)
    if active:
        _caution(case, active, codes)
    if need.temperature or need.ph:
        _check_label(case, need, codes)
    elif active and active.table and reading is not None:
        rows = band(active.table.rows, reading.value)
        if rows:
            _check_table(case, need, codes, reading, rows)


def _check_label(case: Case, need: Need, codes: list[str]) -> None:
    temperature, ph = ends(case.entry.values.get("temperature")), numbers(case.entry.values.get("ph"))
    if need.temperature:
        low, high = need.temperature
        if temperature is None:
            text = f"No temperature is recorded, and the label asks for {low.written}"
            case.fails(text, "measure and write it", codes)
        elif temperature[0].value < low.value:
            text = f"Temperature {temperature[0].written} is below the label's {low.written}"
            case.fails(text, "warm the mix, read it again, then dip again", codes)
        elif low.value < high.value < temperature[1].value:
            text = f"Temperature {temperature[1].written} is above the label's {high.written}"
            case.fails(text, "let the mix cool, read it again, then dip again", codes)
    if need.ph:
        least, most = need.ph
        asked = f"{least} to {most}" if least < most else f"{most} or lower"
        if ph is None:
            case.fails(f"No pH is recorded, and the label asks for {asked}", "measure and write it", codes)
        elif ph[1] > most or (least < most and ph[0] < least):
            text = f"pH {ph[1]} is outside the label's {asked}"
            case.fails(text, "make a fresh mix as the label says, then dip again", codes)


def _check_table(case: Case, need: Need, codes: list[str], reading: Amount, rows: tuple[TableRow, ...]) -> None:
    temperature, ph = ends(case.entry.values.get("temperature")), numbers(case.entry.values.get("ph"))
    coldest = min(row.temperature for row in rows)
    limits = [row.ph_at_most for row in rows if row.ph_at_most is not None]
    highest = max(limits, default=None)
    if ph and highest is not None and ph[1] > highest:
        text = f"pH {ph[1]} is above the rule set's {highest}"
        case.fails(text, "make a fresh mix with other water or product, then dip again", codes)
        return
    if temperature and ph:
        coldest = lowest_temperature(rows, reading.value, ph[1]) or coldest
    if temperature and temperature[0].value < coldest:
        text = f"Temperature {temperature[0].written} is below the {coldest} degC that this strength needs"
        case.fails(text, "warm the mix, or make a stronger one within the label, then dip again", codes)
        return
    missing = _missing(temperature, ph, highest)
    if not missing:
        return
    asked = missing.replace(" or ", " and ")
    text = f"No {missing} is recorded, and the strength counts from {_told(rows)}"
    if need.conditions:
        case.fails(text, f"measure and write the {asked}, or record the label", codes)
    else:
        case.notes(text, f"write the {asked} too", codes)


def _missing(temperature: object, ph: object, highest: Decimal | None) -> str:
    lacking = [] if temperature else ["temperature"]
    if not ph and highest is not None:
        lacking.append("pH")
    return " or ".join(lacking)


def _told(rows: tuple[TableRow, ...]) -> str:
    warmest: dict[Decimal, Decimal | None] = {}
    for row in rows:
        known = warmest.get(row.temperature)
        if row.ph_at_most is None or known is None or row.ph_at_most > known:
            warmest[row.temperature] = row.ph_at_most
    parts = [f"{low} degC" + (f" at pH {ph} or lower" if ph is not None else "") for low, ph in warmest.items()]
    return " or ".join(parts)


def _caution(case: Case, active: Active, codes: list[str]) -> None:
    limit, ph = active.limits.get("caution_below_ph"), numbers(case.entry.values.get("ph"))
    if limit and isinstance(limit.value, Decimal) and ph and ph[0] < limit.value:
        case.notes(f"pH {ph[0]} is below {limit.written}", limit.note.rstrip(".") or "take care", codes)
