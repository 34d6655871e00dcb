"""Amounts as people write them ("2 lb", "1 1/2 cups", "50-100 ppm"), read into the units that the ledger keeps."""

import difflib
import re
from collections.abc import Collection
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from lotwalk.errors import NotUnderstood
from lotwalk.values.unit_table import ARITHMETIC, WIDE, Shown, Table, Unit, load_table, plain_decimal, spelling

_VULGAR = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5",
    "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip
_VULGAR_SIGN = re.compile("[" + "".join(_VULGAR) + "]")
_DIGITS = r"[0-9]{1,12}"
_NUMBER = re.compile(
    rf"(?P<sign>[-−]\s*)?(?:(?:(?P<whole>{_DIGITS})\s+)?(?P<over>{_DIGITS})\s*/\s*(?P<under>{_DIGITS})"
    rf"|(?P<decimal>{_DIGITS}(?:\.[0-9]{{1,18}})?|\.[0-9]{{1,18}}))(?![0-9.])\s*"
)
_FIRST_UNIT = re.compile(r"([^0-9]*[^0-9\s.])\s*(?=[0-9.])")
_LAST_UNIT = re.compile(r"[0-9]\s*([^0-9]+)$")
_COMMA = re.compile(r"([0-9]+),([0-9]+)")
_EXPONENT = re.compile(r"[0-9][eE][-+]?[0-9]")
_TO = re.compile(r"\s*\.\.\s*|\s+to\s+|\s*[–—]\s*|(?<=[^\s])\s*-\s*(?=[^\s])", re.IGNORECASE)

_PLAIN_FIGURES = 3
_SUMMED = ("mass", "volume", "time", "length")
"""The dimensions in which an amount can be written in parts: `2 lb 3 oz`, `1 h 30 min`."""
_TIME_PARTS = ((86400, "d"), (3600, "h"), (60, "min"))


@dataclass(frozen=True, slots=True)
class Amount:
    """An amount in the unit that the ledger keeps, beside what was written.

    `unit` is g, mL, mg/L, s, degC, count, percent, MPN/100 mL, CFU/100 mL, per 100 mL, kPa or mm. `value` has no
    exponent and no trailing zeros, so that one amount has one text.
    """

    value: Decimal
    unit: str
    written: str


class Units:
    """One system of measures, `us` or `metric`: what a bare gallon or cup is, and how amounts are shown."""

    __slots__ = ("_table",)

    def __init__(self, table: Table) -> None:
        self._table = table

    @classmethod
    def load(cls, system: str) -> "Units":
        """Return the system of that name from schemas/units.yaml, read once. Raises NotUnderstood."""
        return _load(system)

    def read(self, text: str, dimensions: Collection[str]) -> Amount:
        """Return the amount that `text` says, which must be of one of the dimensions.

        A bare whole number is an amount only where nothing but a count is accepted. Raises NotUnderstood.
        """
        return _read(self, str(text), tuple(dimensions))

    def read_range(self, text: str, dimensions: Collection[str]) -> tuple[Amount, Amount]:
        """Return the lower and the upper amount of `50-100 ppm`, `50 ppm to 100 ppm` or `50 ppm..100 ppm`.

        A single amount is returned twice. Both carry the whole text. Raises NotUnderstood, also on a range that
        runs backwards.
        """
        written = str(text).strip()
        parting = _TO.search(written)
        if not parting or parting.start() == 0:
            amount = self.read(written, dimensions)
            return amount, amount
        first, last = written[: parting.start()], written[parting.end() :]
        high = self.read(last, dimensions)
        found = _NUMBER.fullmatch(_with_fractions(first) + " ")
        if found:
            # The unit stands once, at the end, for both.
            tail = _NUMBER.match(_with_fractions(last))
            first = f"{first} {_with_fractions(last)[tail.end() :]}" if tail else first
        low = self.read(first, dimensions)
        if low.unit != high.unit:
            raise NotUnderstood(f"the ends of `{written}` are of two kinds", self._expected(dimensions))
        if low.value > high.value:
            raise NotUnderstood(f"the range `{written}` runs backwards", "the lower amount first")
        return Amount(low.value, low.unit, written), Amount(high.value, high.unit, written)

    def show(self, amount: Decimal, unit: str) -> str:
        """Return an amount for people to read, in this system's measures: `907 g`, `2.4 kg`, `1 h 30 min`."""
        known = self._table.unit(unit)
        value = known.canonical(amount)
        if known.dimension == "time":
            return _show_time(value)
        if known.dimension == "count":
            return f"{value:f}"
        chosen: Shown | None = None
        for line in self._table.shown.get(known.dimension, ()):
            if chosen is None or abs(line.unit.written(value)) >= line.least:
                chosen = line
        if chosen is None:
            return f"{value:f} {known.keep}"
        return f"{_rounded(chosen.unit.written(value), chosen.places):f} {chosen.label}"

    def show_in(self, amount: Decimal, unit: str, name: str) -> str:
        """Return an amount in the unit of that name, for people to read: `0.64 fl oz`.

        Raises NotUnderstood where the name is no unit, or one of something else.
        """
        known, wanted = self._table.unit(unit), self._table.unit(name)
        if known.dimension != wanted.dimension:
            raise NotUnderstood(f"`{name}` measures {wanted.dimension}", f"a unit of {known.dimension}")
        return f"{_rounded(wanted.written(known.canonical(amount)), 2):f} {name}"

    def show_like(self, value: Decimal, like: Amount) -> str:
        """Return a value, in the unit that is kept, in the unit in which another amount of it was written: `1.32 gal`.

        It has three figures. What is less than one of that unit is shown as this system shows it.
        """
        found = _LAST_UNIT.search(_with_fractions(like.written))
        unit = self._table.units.get(spelling(found[1])) if found else None
        if found is None or unit is None or unit.written(value) < 1:
            return self.show(value, like.unit)
        return f"{figures(unit.written(value)):f} {found[1].strip()}"

    def usual(self, dimension: str) -> tuple[str, ...]:
        """Return the units in which this system shows amounts of a dimension, as it prints them: `oz`, `lb`.

        Every one of them can be read again; a dimension without any gives none.
        """
        if dimension == "time":
            return ("s", *(name for _, name in reversed(_TIME_PARTS)))
        return tuple(dict.fromkeys(line.label for line in self._table.shown.get(dimension, ())))

    def unit_of(self, amount: Amount) -> str:
        """Return the name of the unit in which an amount was written, `degF` for `55 F`; empty for none."""
        found = _LAST_UNIT.search(_with_fractions(amount.written))
        unit = self._table.units.get(spelling(found[1])) if found else None
        return unit.name if unit else ""

    def dimension_of(self, unit: str) -> str:
        """Return the dimension of a unit, kept or written: `mass` for `g` and for `lb`. Raises NotUnderstood."""
        return self._table.unit(unit).dimension

    def _parse(self, text: str, dimensions: tuple[str, ...]) -> Amount:
        written = text.strip()
        expected = self._expected(dimensions)
        found = _NUMBER.match(_with_fractions(written))
        _check_number(written, found, expected)
        assert found is not None
        rest = _with_fractions(written)[found.end() :].strip()
        if not rest:
            return self._bare(found, written, dimensions)
        parts = self._parts(found, rest, written, expected)
        for unit, _ in parts:
            if unit.dimension not in dimensions:
                raise NotUnderstood(f"`{written}` is {_a(unit.dimension)}", expected)
        total = Decimal(0)
        for unit, value in parts:
            total = ARITHMETIC.add(total, unit.canonical(value))
        dimension = self._table.dimensions[parts[0][0].dimension]
        if not dimension.least <= total <= dimension.most:
            raise NotUnderstood(f"there is no {dimension.name} of {written}", expected)
        if dimension.whole and total != total.to_integral_value():
            raise NotUnderstood(f"`{written}` is not a whole number", expected)
        return Amount(plain_decimal(total), parts[0][0].keep, written)

    def _bare(self, found: re.Match[str], written: str, dimensions: tuple[str, ...]) -> Amount:
        expected = self._expected(dimensions)
        if dimensions != ("count",):
            raise NotUnderstood(f"`{written}` has no unit", expected)
        value = _value(found)
        if value < 0 or value != value.to_integral_value():
            raise NotUnderstood(f"`{written}` is not a whole number", expected)
        return Amount(plain_decimal(value), "count", written)

    def _parts(self, found: re.Match[str], rest: str, written: str, expected: str) -> list[tuple[Unit, Decimal]]:
        """Return the units and values of an amount, which has several parts in `2 lb 3 oz`."""
        parts: list[tuple[Unit, Decimal]] = []
        while True:
            unit = self._table.units.get(spelling(rest))
            more = None if unit else _FIRST_UNIT.match(rest)
            if more:
                unit = self._table.units.get(spelling(more[1]))
            if unit is None:
                raise NotUnderstood(
                    f"`{more[1] if more else rest}` in `{written}` is not a unit{self._near(rest)}", expected
                )
            if parts and not (
                unit.dimension == parts[-1][0].dimension
                and unit.dimension in _SUMMED
                and unit.factor < parts[-1][0].factor
            ):
                raise NotUnderstood(f"the parts of `{written}` do not add up to one amount", expected)
            parts.append((unit, _value(found)))
            if not more:
                return parts
            rest = rest[more.end() :]
            following = _NUMBER.match(rest)
            if not following or following["sign"] or following.end() == len(rest):
                raise NotUnderstood(f"the end of `{written}` is not a number with its unit", expected)
            found, rest = following, rest[following.end() :]

    def _near(self, name: str) -> str:
        close = difflib.get_close_matches(spelling(name), self._table.units, n=1, cutoff=0.75)
        return f" (did you mean {self._table.units[close[0]].name}?)" if close else ""

    def _expected(self, dimensions: Collection[str]) -> str:
        return " or ".join(f"{_a(name)} such as {self._table.dimensions[name].example}" for name in dimensions)


@lru_cache(maxsize=8)
def _load(system: str) -> Units:
    return Units(load_table(system))


@lru_cache(maxsize=8192)
def _read(units: Units, text: str, dimensions: tuple[str, ...]) -> Amount:
    """Read one amount; a sheet writes the same few over and over."""
    return units._parse(text, dimensions)


def _with_fractions(text: str) -> str:
    """Return the text with `1½` and `1⁄2` spelled out."""
    return _VULGAR_SIGN.sub(lambda found: f" {_VULGAR[found[0]]}", text.replace("⁄", "/")).strip()


def _value(found: re.Match[str]) -> Decimal:
    if found["decimal"]:
        value = Decimal(found["decimal"])
    else:
        value = ARITHMETIC.divide(Decimal(found["over"]), Decimal(found["under"]))
        value = ARITHMETIC.add(value, Decimal(found["whole"] or 0))
    return ARITHMETIC.minus(value) if found["sign"] else value


def _check_number(written: str, found: re.Match[str] | None, expected: str) -> None:
    """Raise NotUnderstood where a text does not start with a number that can be read one way only."""
    if comma := _COMMA.search(written):
        # Three digits after it, and it may part thousands as well as decimals.
        thousands = f"{comma[1]}{comma[2]} or " if len(comma[2]) == 3 else ""
        raise NotUnderstood(f"there is a comma in the number of `{written}`", f"{thousands}{comma[1]}.{comma[2]}")
    if _EXPONENT.search(written):
        raise NotUnderstood(f"`{written}` has an exponent", "the number written out")
    if not written:
        raise NotUnderstood("nothing is written", expected)
    if not found:
        raise NotUnderstood(f"`{written}` does not start with a number that can be read", expected)
    if found["under"] and (not int(found["under"]) or (found["whole"] and int(found["over"]) >= int(found["under"]))):
        raise NotUnderstood(f"`{written}` holds an impossible fraction", expected)


def _a(dimension: str) -> str:
    return {"bacteria": "a count of bacteria", "percent": "a percentage"}.get(dimension, f"a {dimension}")


def _rounded(value: Decimal, places: int) -> Decimal:
    """Return a value rounded to so many decimals, or to three figures where those show more of it."""
    if not value:
        return value
    figures = _PLAIN_FIGURES - 1 - value.adjusted()
    return plain_decimal(value.quantize(Decimal(1).scaleb(-max(places, figures)), context=WIDE))


def figures(value: Decimal) -> Decimal:
    """Return a value rounded to three figures, for people who measure it."""
    return plain_decimal(round(value, _PLAIN_FIGURES - 1 - value.adjusted())) if value else value


def _show_time(seconds: Decimal) -> str:
    """Return a time in the units people count it in; up to two days are counted in hours."""
    parts = []
    for size, label in _TIME_PARTS:
        if size == 86400 and seconds < 2 * size:
            continue
        count, seconds = divmod(seconds, size)
        if count:
            parts.append(f"{count:f} {label}")
    if seconds or not parts:
        parts.append(f"{plain_decimal(seconds):f} s")
    return " ".join(parts)
