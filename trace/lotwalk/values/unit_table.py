"""The table of units, read from schemas/units.yaml into immutable dataclasses."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Context, Decimal, InvalidOperation
from functools import lru_cache
from typing import Any

from lotwalk.data import folder
from lotwalk.errors import KindError, NotUnderstood

ARITHMETIC = Context(prec=15)
"""Fifteen figures, whatever the thread's own decimal context: an amount is hashed, so it has one value."""

WIDE = Context(prec=60)
"""For rounding to a number of decimals, which must not fail for want of figures."""

_NUMBERS = (("is", "1"), ("less", "0"), ("over", "1"))
_LIMITS = (("least", "0"), ("most", "Infinity"))


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: `canonical = (written - less) * factor / over`, in the unit `keep`."""

    name: str
    dimension: str
    keep: str
    factor: Decimal
    less: Decimal
    over: Decimal

    def canonical(self, value: Decimal) -> Decimal:
        """Return a value written in this unit in the unit that is kept."""
        shifted = ARITHMETIC.subtract(value, self.less)
        return plain_decimal(ARITHMETIC.divide(ARITHMETIC.multiply(shifted, self.factor), self.over))

    def written(self, value: Decimal) -> Decimal:
        """Return a value in the unit that is kept in this unit."""
        scaled = ARITHMETIC.divide(ARITHMETIC.multiply(value, self.over), self.factor)
        return plain_decimal(ARITHMETIC.add(scaled, self.less))


@dataclass(frozen=True, slots=True)
class Dimension:
    """One dimension: the unit kept, an example for messages, and the numbers it allows, in the unit kept."""

    name: str
    keep: str
    example: str
    whole: bool
    least: Decimal
    most: Decimal


@dataclass(frozen=True, slots=True)
class Shown:
    """One line of how a dimension's amounts are shown: used where the value in `unit` is at least `least`."""

    unit: Unit
    label: str
    places: int
    least: Decimal


@dataclass(frozen=True, slots=True)
class Table:
    """The units as one system of measures reads and shows them. `units` is keyed by `spelling`."""

    system: str
    dimensions: Mapping[str, Dimension]
    units: Mapping[str, Unit]
    shown: Mapping[str, tuple[Shown, ...]]

    def unit(self, name: str) -> Unit:
        """Return the unit of that name. Raises NotUnderstood."""
        try:
            return self.units[spelling(name)]
        except KeyError:
            raise NotUnderstood(f"`{name}` is not a unit of measure", "a unit of schemas/units.yaml") from None


def spelling(name: str) -> str:
    """Return the form in which a unit's name is looked up: no case, spaces or points, and `/` for `per`."""
    folded = name.casefold().replace("μ", "u").replace("º", "°")
    return re.sub(r"[\s.]", "", re.sub(r"\bper\b(?!\s*cent)", "/", folded))


def plain_decimal(value: Decimal) -> Decimal:
    """Return the same number without an exponent, trailing zeros or a negative zero: one number, one text."""
    short = value.normalize(ARITHMETIC)
    if not short:
        return Decimal(0)
    exponent = short.as_tuple().exponent
    return short if isinstance(exponent, int) and exponent <= 0 else short.quantize(Decimal(1), context=WIDE)


@lru_cache(maxsize=8)
def load_table(system: str) -> Table:
    """Return the table of a system of measures. Raises NotUnderstood if units.yaml has no such system."""
    return build_table(_parsed(), system)


def build_table(data: Mapping[str, Any], system: str) -> Table:
    """Return the table of a system from the parsed file. Raises KindError if the file breaks its rules."""
    if system not in data["systems"]:
        known = " or ".join(data["systems"])
        raise NotUnderstood(f"there is no system of measures `{system}`", known)
    dimensions: dict[str, Dimension] = {}
    units: dict[str, Unit] = {}
    for name, body in data["dimensions"].items():
        least, most = (_number(body.get(key, usual), f"units.yaml: {name}") for key, usual in _LIMITS)
        dimensions[name] = Dimension(name, body["keep"], body["example"], body.get("whole") == "yes", least, most)
        for unit, names in _units_of(name, body):
            for written in names:
                _add(units, written, unit)
    own = data["systems"][system]
    for name, names in own["names"].items():
        for written in names:
            _add(units, written, _known(units, name))
    shown = {name: tuple(_lines(units, lines)) for name, lines in own["show"].items()}
    return Table(system, dimensions, units, shown)


def _parsed() -> Mapping[str, Any]:
    from lotwalk.values.yaml_text import file_text, words_of  # YAML is slow to import, and not every command needs it.

    path = folder("schemas") / "units.yaml"
    data: Mapping[str, Any] = words_of(file_text(path), path.name)
    return data


def _units_of(dimension: str, body: Mapping[str, Any]) -> Iterator[tuple[Unit, list[str]]]:
    for name, unit in body["units"].items():
        where = f"units.yaml: {dimension}: {name}"
        factor, less, over = (_number(unit.get(key, usual), where) for key, usual in _NUMBERS)
        yield Unit(name, dimension, unit.get("keep", body["keep"]), factor, less, over), [name, *unit.get("names", [])]


def _number(text: str, where: str) -> Decimal:
    try:
        return Decimal(text)
    except InvalidOperation:
        raise KindError(f"{where}: `{text}` is not a number") from None


def _add(units: dict[str, Unit], name: str, unit: Unit) -> None:
    key = spelling(name)
    if units.setdefault(key, unit) is not unit:
        raise KindError(f"units.yaml: `{name}` is a name of both {units[key].name} and {unit.name}")


def _known(units: Mapping[str, Unit], name: str) -> Unit:
    if spelling(name) not in units:
        raise KindError(f"units.yaml: systems: there is no unit `{name}`")
    return units[spelling(name)]


def _lines(units: Mapping[str, Unit], lines: list[Mapping[str, str]]) -> Iterator[Shown]:
    for line in lines:
        where = f"units.yaml: show: {line['unit']}"
        unit = _known(units, line["unit"])
        yield Shown(unit, line.get("as", unit.name), int(line["places"]), _number(line.get("from", "0"), where))
