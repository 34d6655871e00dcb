"""Whether pH and temperature let a solution work: inside the label's limits, else the rule set's table."""

from decimal import Decimal

from lotwalk.judge.acts import Act, Step
from lotwalk.judge.case import Case, ends, numbers
from lotwalk.judge.label import Need
from lotwalk.judge.life import FRESH
from lotwalk.judge.ruleset.limits import Active
from lotwalk.judge.words import degrees, is_fahrenheit
from lotwalk.mixing.limits import ppm
from lotwalk.science.chlorine import TableRow, band, lowest_temperature
from lotwalk.values.units import Amount


def check_conditions(
    case: Case, need: Need, codes: list[str], reading: Amount | None, *, unproven: bool = False
) -> None:
    """Fail the items where the solution was too cold, or its pH outside the limits.

    What the label asks must be on record. For what the label is silent on, the rule set's table is held against what is
    on record, and what it asks and nobody wrote is told as unshown; where the rule set's numbers stand in for a label,
    both must be on record. `unproven`: there is no reading that counts, and the solution fails of what no strength
    could work with.
    """
    active = case.rules.active(need.active)
    if active:
        _caution(case, active, codes)
    _check_label(case, need, codes)
    if active is None or active.table is None:
        return
    if reading is not None:
        rows = band(active.table.rows, reading.value)
        if rows:
            _check_table(case, need, codes, reading, rows)
    elif unproven:
        _check_ph(case, need, codes, active.table.rows)
        _check_coldest(case, need, codes, active.table.rows)


def _check_label(case: Case, need: Need, codes: list[str]) -> None:
    temperature, ph = ends(case.entry.values.get("temperature")), numbers(case.entry.values.get("ph"))
    if need.temperature:
        low, high = need.temperature
        if temperature is None:
            text = f"No temperature is recorded, and the label asks for {low.written}"
            case.fails(text, "measure and write it", codes)
        elif temperature[0].value < low.value:
            text = f"Temperature {temperature[0].written} is below the label's {low.written}"
            case.fails(text, Act(Step.MEND, f"warm the mix to {low.written}, read it again", True), codes)
        elif low.value < high.value < temperature[1].value:
            text = f"Temperature {temperature[1].written} is above the label's {high.written}"
            case.fails(text, Act(Step.MEND, f"let the mix cool to {high.written}, read it again", True), codes)
    if need.ph:
        least, most = need.ph
        asked = f"{least} to {most}" if least < most else f"{most} or lower"
        if ph is None:
            case.fails(f"No pH is recorded, and the label asks for {asked}", "measure and write it", codes)
        elif ph[1] > most or (least < most and ph[0] < least):
            text = f"pH {ph[1]} is outside the label's {asked}"
            case.fails(text, Act(Step.FRESH, f"{FRESH} as the label says, read it", True), codes)


def _check_table(case: Case, need: Need, codes: list[str], reading: Amount, rows: tuple[TableRow, ...]) -> None:
    temperature, ph = ends(case.entry.values.get("temperature")), numbers(case.entry.values.get("ph"))
    in_degf = temperature is not None and is_fahrenheit(temperature[0])
    highest = _highest_ph(rows)
    known = ph if _check_ph(case, need, codes, rows) else None
    fitting = [row for row in rows if not known or row.ph_at_most is None or known[1] <= row.ph_at_most] or list(rows)
    coldest = min(fitting, key=lambda row: row.lowest(fahrenheit=in_degf))
    if temperature and not need.temperature and temperature[0].value < coldest.lowest(fahrenheit=in_degf):
        asked = degrees(coldest.temperature, coldest.fahrenheit, first=in_degf)
        text = f"Temperature {temperature[0].written} is below the {asked} that this strength needs"
        step = _stronger(case, need, temperature[0], known[1] if known else highest)
        mend = f"make the mix {step:f} ppm or stronger, within the label" if step else f"warm the mix to {asked}"
        case.fails(text, Act(Step.MEND, f"{mend}, read it again", True), codes)
        return
    missing = _missing(temperature or need.temperature, ph or need.ph, highest)
    if not missing:
        return
    asked = missing.replace(" or ", " and ")
    text = f"No {missing} is recorded, and the strength counts from {_told(rows, first=in_degf)}"
    if need.conditions:
        case.fails(text, f"measure and write the {asked}, or record the label", codes)
    else:
        case.unshown(text, f"write the {asked} too", codes)


def _highest_ph(rows: tuple[TableRow, ...]) -> Decimal | None:
    return max((row.ph_at_most for row in rows if row.ph_at_most is not None), default=None)


def _check_ph(case: Case, need: Need, codes: list[str], rows: tuple[TableRow, ...]) -> bool:
    """Fail the items where the pH is above all rows, unless the label speaks of pH; return whether they do not."""
    ph, highest = numbers(case.entry.values.get("ph")), _highest_ph(rows)
    if not ph or need.ph or highest is None or ph[1] <= highest:
        return True
    text = f"pH {ph[1]} is above the rule set's {highest}"
    case.fails(text, Act(Step.FRESH, f"{FRESH} with other water or product, read it", True), codes)
    return False


def _check_coldest(case: Case, need: Need, codes: list[str], rows: tuple[TableRow, ...]) -> None:
    temperature = ends(case.entry.values.get("temperature"))
    if temperature is None or need.temperature:
        return
    in_degf = is_fahrenheit(temperature[0])
    coldest = min(rows, key=lambda row: row.lowest(fahrenheit=in_degf))
    if temperature[0].value < coldest.lowest(fahrenheit=in_degf):
        asked = degrees(coldest.temperature, coldest.fahrenheit, first=in_degf)
        text = f"Temperature {temperature[0].written} is below the {asked} that even a strong mix needs"
        case.fails(text, Act(Step.MEND, f"warm the mix to {asked}, read it again", True), codes)


def _stronger(case: Case, need: Need, heat: Amount, ph: Decimal | None) -> Decimal | None:
    """Return the least strength (mg/L) inside the label's limits that the table allows at a temperature, or None."""
    active = case.rules.active(need.active)
    rows = active.table.rows if active and active.table else ()
    most = ppm(need.most) if need.most else None
    for step in sorted({row.at_least for row in rows if row.at_least is not None}):
        coldest = lowest_temperature(rows, step, ph or Decimal(0), fahrenheit=is_fahrenheit(heat))
        if coldest is not None and heat.value >= coldest and (most is None or step <= most):
            return step
    return None


def _missing(temperature: object, ph: object, highest: Decimal | None) -> str:
    lacking = [] if temperature else ["temperature"]
    if not ph and highest is not None:
        lacking.append("pH")
    return " or ".join(lacking)


def _told(rows: tuple[TableRow, ...], *, first: bool) -> str:
    """Return the temperatures of rows, each with the highest pH that it allows; `first`: the degF first."""
    warmest: dict[str, Decimal | None] = {}
    for row in rows:
        shown = degrees(row.temperature, row.fahrenheit, first=first)
        known = warmest.get(shown)
        if row.ph_at_most is None or known is None or row.ph_at_most > known:
            warmest[shown] = row.ph_at_most
    parts = [low + (f" at pH {ph} or lower" if ph is not None else "") for low, ph in warmest.items()]
    return " or ".join(parts)


def _caution(case: Case, active: Active, codes: list[str]) -> None:
    limit, ph = active.limits.get("caution_below_ph"), numbers(case.entry.values.get("ph"))
    if limit and isinstance(limit.value, Decimal) and ph and ph[0] < limit.value:
        case.notes(f"pH {ph[0]} is below {limit.written}", limit.note.rstrip(".") or "take care", codes)
