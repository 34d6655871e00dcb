"""Chlorine in water: the temperature a sanitising solution needs, and how much of it is at work."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

KELVIN = 273.15


@dataclass(frozen=True, slots=True)
class TableRow:
    """One row of a table of lowest temperatures.

    From `at_least` (mg/L; None: at any strength) and up to pH `ph_at_most` (None: at any pH) the solution
    must be `temperature` degC or warmer. `fahrenheit` is the same as the table prints it in degF, in degC: published
    tables round each column by itself, and a thermometer is held against the column that it reads in.
    """

    at_least: Decimal | None
    ph_at_most: Decimal | None
    temperature: Decimal
    fahrenheit: Decimal | None = None

    def lowest(self, *, fahrenheit: bool) -> Decimal:
        """Return the lowest temperature (degC) for what was read in degF or in degC."""
        return self.fahrenheit if fahrenheit and self.fahrenheit is not None else self.temperature


def band(rows: Iterable[TableRow], strength: Decimal) -> tuple[TableRow, ...]:
    """Return the rows that hold at a strength in mg/L: those of the highest step not above it.

    The answer is empty when the strength is below the table's lowest step.
    """
    reached = [row for row in rows if row.at_least is None or row.at_least <= strength]
    step = max((row.at_least for row in reached if row.at_least is not None), default=None)
    return tuple(row for row in reached if row.at_least in (None, step))


def lowest_temperature(
    rows: Iterable[TableRow], strength: Decimal, ph: Decimal, *, fahrenheit: bool = False
) -> Decimal | None:
    """Return the lowest temperature (degC) a solution of this strength (mg/L) and pH may have.

    `fahrenheit`: by the table's column in degF, for what was read so.

    None means that the table allows it at no temperature: it is too weak, or its pH is too high.

    The table itself stands in the rule set; that of the US Food Code, 4-501.114(A), is the usual one.
    """
    fitting = [row for row in band(rows, strength) if row.ph_at_most is None or ph <= row.ph_at_most]
    return min((row.lowest(fahrenheit=fahrenheit) for row in fitting), default=None)


def hypochlorous_pka(celsius: float) -> float:
    """Return the pKa of hypochlorous acid at a water temperature in degC.

    pKa = 3000/T - 10.0686 + 0.0253 T with T in kelvin (Morris 1966; the formula is from memory, and agrees
    with the published 7.54 at 25 degC).
    """
    kelvin = celsius + KELVIN
    return 3000 / kelvin - 10.0686 + 0.0253 * kelvin


def hypochlorous_fraction(ph: float, celsius: float) -> float:
    """Return the part (0 to 1) of free chlorine that is hypochlorous acid, the form that disinfects best."""
    return fraction_of_acid(ph, hypochlorous_pka(celsius))


def fraction_of_acid(ph: float, pka: float) -> float:
    """Return the part (0 to 1) of a weak acid that is not dissociated: 1 / (1 + 10^(pH - pKa))."""
    return 1 / (1 + 10 ** (ph - pka))
