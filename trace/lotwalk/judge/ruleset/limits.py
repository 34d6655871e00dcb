"""What a rule set may hold: its limits by name, and how each is read."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import TypeAlias

from lotwalk.errors import NotUnderstood
from lotwalk.science.chlorine import TableRow
from lotwalk.values.units import Amount, Units

LimitValue: TypeAlias = "Amount | tuple[Amount, Amount] | tuple[Decimal, Decimal] | Decimal | bool | tuple[str, ...]"
"""An amount, a range of amounts, a range of bare numbers, a bare number, yes or no, or words."""

CONFIDENCES = ("read", "memory", "computed", "practice")
NO_SOURCE = "common practice, no source"

_TIME = ("amount", "time")
KNOWN: Mapping[str, tuple[str, ...]] = {
    "sanitising.without_label": ("yes-no",),
    "sanitising.solution_life": _TIME,
    "sanitising.day_ends": ("number",),
    "sanitising.between_crops": ("words",),
    "sanitising.each_day": ("words",),
    "sanitising.after_return": ("words",),
    "water.volume": ("amount", "volume"),
    "water.none_is_below": ("amount", "bacteria"),
    "water.never_untreated": ("words", "municipal", "ground", "surface", "rain"),
    "water.never_for": ("words", "growing", "harvest", "surfaces", "hands"),
    "water.tested_types": ("words", "municipal", "ground", "surface", "rain"),
    "water.tests_first_year": ("number",),
    "water.tests_each_year": ("number",),
    "water.supply_paper_every": _TIME,
    "water.inspected_every": _TIME,
    "water.assessed_every": _TIME,
    "water.growing_mean": ("amount", "bacteria"),
    "water.growing_threshold": ("amount", "bacteria"),
    "produce_wash.chlorine": ("range", "concentration"),
    "produce_wash.ph": ("numbers",),
    "storage.warmest": ("amount", "temperature"),
    "storage.checked_every": _TIME,
    "storage.cold_places": ("words",),
    "storage.holds_open": _TIME,
    "storage.lent_for": _TIME,
    "instruments.ice_point_within": ("amount", "temperature"),
    "instruments.ph_slope": ("range", "percent"),
    "instruments.ph_meter_every": _TIME,
    "instruments.thermometer_every": _TIME,
    "records.kept": _TIME,
    "records.written_within": _TIME,
    "records.mended_within": _TIME,
    "records.told_within": _TIME,
    "records.reviewed_within": _TIME,
    "records.reviewed_of": ("words",),
    "records.timed": ("yes-no",),
    "people.trained_every": _TIME,
    "people.before_exclusion": _TIME,
    "people.after_return": _TIME,
    "papers.cutting_assurance_every": _TIME,
    "papers.largest_file": ("number",),
    "papers.seed_tests": ("words",),
    "papers.seed_fit_treatments": ("words",),
    "papers.seed_unfit_treatments": ("words",),
    "papers.exemption_reviewed_every": _TIME,
    "allergens.celery": ("words",),
    "allergens.gluten": ("words",),
    "allergens.lupin": ("words",),
    "allergens.mustard": ("words",),
    "allergens.peanut": ("words",),
    "allergens.sesame": ("words",),
    "allergens.soy": ("words",),
    "allergens.wheat": ("words",),
    "harvest.most_deviations": ("number",),
    "harvest.least_history": ("number",),
    "harvest.least_spread": ("amount", "percent"),
    "recall.traced_within": _TIME,
    "recall.accounted": ("range", "percent"),
    "recall.exercise_every": _TIME,
    "recall.called_again_within": _TIME,
    "recall.shelf_life": _TIME,
}
"""Every limit by its section and name, with how it is read: a form, then the dimension or the words allowed."""

ACTIVE_LIMITS: Mapping[str, tuple[str, ...]] = {
    "contact": _TIME,
    "max": ("amount", "concentration"),
    "caution_below_ph": ("number",),
    "never_with": ("words",),
    "useless_with": ("words",),
    "made_of": ("words",),
}
"""The limits of one active ingredient."""


@dataclass(frozen=True, slots=True)
class Limit:
    """One number of a rule set, as read and as written, with where it is published and how sure that is."""

    key: str
    value: LimitValue
    written: str
    source: str
    confidence: str
    note: str = ""

    @property
    def cited(self) -> str:
        """The limit with its number and citation, as a finding names the rule that it comes from."""
        sure = " (from memory)" if self.confidence == "memory" and "memory" not in self.source else ""
        # A list of words stands in the rule set; a finding that repeated it would bury what it says.
        words = isinstance(self.value, tuple) and all(isinstance(one, str) for one in self.value)
        return f"{self.key}{'' if words else f' {self.written}'}: {self.source}{sure}"


@dataclass(frozen=True, slots=True)
class Table:
    """The lowest temperatures of a sanitising solution, with their citation."""

    rows: tuple[TableRow, ...]
    source: str
    confidence: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Active:
    """What a rule set knows of one active ingredient, apart from any label."""

    name: str
    names: tuple[str, ...]
    limits: Mapping[str, Limit]
    table: Table | None = None

    def amount(self, key: str) -> Amount | None:
        """Return the limit of that name as an amount, or None where the rule set has none."""
        limit = self.limits.get(key)
        return limit.value if limit and isinstance(limit.value, Amount) else None


@dataclass(frozen=True, slots=True)
class HeatRow:
    """Hot water or steam: a temperature held for a time; `porous` where porous items may be treated so.

    `fahrenheit` is the temperature as the source prints it in degF (kept in degC, as all are).
    """

    temperature: Amount
    contact: Amount
    porous: bool = False
    fahrenheit: Decimal | None = None

    def lowest(self, *, fahrenheit: bool) -> Decimal:
        """Return the lowest temperature (degC) for what was read in degF or in degC."""
        return self.fahrenheit if fahrenheit and self.fahrenheit is not None else self.temperature.value


@dataclass(frozen=True, slots=True)
class Heat:
    """The ways in which heat alone sanitises, with their citation."""

    rows: tuple[HeatRow, ...]
    source: str
    confidence: str
    note: str = ""


def read_value(form: tuple[str, ...], written: object) -> LimitValue:
    """Return what a limit's text says, by the form that `KNOWN` gives it. Raises NotUnderstood."""
    kind, allowed = form[0], form[1:]
    if kind == "words":
        return read_words(written, allowed)
    if not isinstance(written, str):
        raise NotUnderstood("this is a list or a mapping", "one value")
    if kind == "amount":
        return Units.load("metric").read(written, allowed)
    if kind == "range":
        return Units.load("metric").read_range(written, allowed)
    if kind == "numbers":
        low, dash, high = written.partition("-")
        ends = read_number(low), read_number(high if dash else low)
        if ends[0] > ends[1]:
            raise NotUnderstood(f"{written} runs backwards", "the lower number first, such as 6.5-7.5")
        return ends
    return read_yes(written) if kind == "yes-no" else read_number(written)


def read_words(written: object, allowed: tuple[str, ...] = ()) -> tuple[str, ...]:
    """Return a list of words, all of them among `allowed` unless that is empty. Raises NotUnderstood."""
    expected = f"a list of {', '.join(allowed)}" if allowed else "a list of words"
    if not isinstance(written, list) or not all(isinstance(word, str) and word.strip() for word in written):
        raise NotUnderstood("this is not a list of words", expected)
    for word in written:
        if allowed and word not in allowed:
            raise NotUnderstood(f"{word} is not known here", expected)
    return tuple(str(word) for word in written)


def read_number(written: object) -> Decimal:
    """Return a bare number of zero or more. Raises NotUnderstood."""
    try:
        number = Decimal(str(written).strip())
    except InvalidOperation:
        number = Decimal("NaN")
    if not number.is_finite() or number < 0 or not isinstance(written, str):
        raise NotUnderstood(f"{written} is not a number", "a number without a unit, such as 4")
    return number


def read_yes(written: object) -> bool:
    """Return True for yes and False for no. Raises NotUnderstood."""
    if written not in ("yes", "no"):
        raise NotUnderstood(f"{written} is neither yes nor no", "yes or no")
    return written == "yes"
