"""Syringes, spoons, jugs and scales: of an amount, what can really be measured."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from functools import cache
from pathlib import Path

from lotwalk.errors import KindError, NotUnderstood
from lotwalk.mixing import data
from lotwalk.values.unit_table import plain_decimal
from lotwalk.values.units import Amount, Units

_KEYS = {"name", "kind", "division", "holds", "from", "parts", "times"}
_CLOSE = Decimal("0.05")
"""So much off, a tool is only taken where no other of its kind comes closer."""
_FARTHEST = Decimal("0.2")
"""A tool that is farther off than this part of the amount does not measure it."""


@dataclass(frozen=True, slots=True)
class Tool:
    """One measuring tool.

    `parts` are what it measures at once, the largest first, in `unit` (mL, g or count): of a tool with marks, what it
    holds. `step` is from one mark to the next, or the smallest part. Less than `least` cannot be seen in it.
    """

    name: str
    kind: str
    unit: str
    step: Decimal
    parts: tuple[Amount, ...]
    least: Decimal
    times: int


@dataclass(frozen=True, slots=True)
class Measured:
    """An amount that a tool can measure, and the words for how: `2 x 10 mL and 4.5 mL`, `1 tbsp and 1/2 tsp`."""

    tool: Tool
    amount: Decimal
    words: str
    fills: int


@cache
def load_tools(measures: str, path: Path | None = None) -> tuple[Tool, ...]:
    """Return the tools of a file, else those of schemas/mixing/tools.yaml, read in a system of measures.

    Raises KindError for a file that breaks its rules.
    """
    place = path or data.SHIPPED / "tools.yaml"
    listed = data.read(place, "tools")
    if not isinstance(listed, list) or not listed:
        raise KindError(f"{place.name}: tools: a list was expected")
    return tuple(
        _tool(one, f"{place.name}: tools[{number}]", Units.load(measures)) for number, one in enumerate(listed, 1)
    )


def _tool(written: object, where: str, units: Units) -> Tool:
    if not isinstance(written, Mapping) or not set(written) <= _KEYS or not written.get("name"):
        raise KindError(f"{where}: a mapping was expected, with name, kind, division and holds (or parts), times")
    marked = "parts" not in written
    texts = [written.get("holds", ""), written.get("division", "")] if marked else written["parts"]
    if not isinstance(texts, list) or not texts:
        raise KindError(f"{where}: parts: a list of amounts was expected")
    amounts = [_read(text, where, units) for text in texts]
    sizes = [one.value for one in amounts]
    step, times = sizes[-1], str(written.get("times", "1"))
    if len({one.unit for one in amounts}) != 1 or step <= 0 or sizes != sorted(sizes, reverse=True):
        raise KindError(f"{where}: amounts of one kind were expected, the largest first")
    if any(size % step for size in sizes):
        raise KindError(f"{where}: multiples of the smallest part or division were expected")
    if not (times.isascii() and times.isdigit() and 0 < int(times) < 100):
        raise KindError(f"{where}: times: a whole number was expected, not {times}")
    parts = tuple(amounts[:1] if marked else amounts)
    name = str(written["name"])
    least = _read(written.get("from", amounts[-1].written), where, units)
    return Tool(name, str(written.get("kind") or name), amounts[0].unit, step, parts, least.value, int(times))


def _read(text: object, where: str, units: Units) -> Amount:
    try:
        return units.read(str(text), ("volume", "mass", "count"))
    except NotUnderstood as why:
        raise KindError(f"{where}: {why}") from None


def measure(
    amount: Decimal, tool: Tool, least: Decimal = Decimal(0), most: Decimal = Decimal("Infinity")
) -> Measured | None:
    """Return what a tool measures nearest to an amount in its unit, or None where it cannot.

    It is within half a step of the amount. Where that is below `least` or above `most` it is the next step inside
    them, and so within one.
    """
    if amount > tool.parts[0].value * (tool.times + 1):
        return None
    steps = (amount / tool.step).quantize(Decimal(1), rounding=ROUND_HALF_EVEN)
    if steps * tool.step > most:
        steps = (most / tool.step).quantize(Decimal(1), rounding=ROUND_FLOOR)
    elif steps * tool.step < least:
        steps = -(-least / tool.step).quantize(Decimal(1), rounding=ROUND_FLOOR)
    value = plain_decimal(steps * tool.step)
    if value < tool.least or not least <= value <= most or abs(value - amount) > tool.step:
        return None
    words = list(_words(value, tool))
    fills = sum(count for count, _ in words)
    if fills > tool.times:
        return None
    told = [text if count == 1 else f"{count} x {text}" for count, text in words]
    return Measured(tool, value, " and ".join(filter(None, [", ".join(told[:-1]), told[-1]])), fills)


def _words(value: Decimal, tool: Tool) -> Iterator[tuple[int, str]]:
    for part in tool.parts:
        count, value = divmod(value, part.value)
        if count:
            yield int(count), part.written
    if value:
        unit = {"count": ""}.get(tool.unit, tool.unit)
        yield 1, f"{plain_decimal(value):f} {unit}".strip()


def best(
    amount: Decimal,
    unit: str,
    tools: Sequence[Tool],
    least: Decimal = Decimal(0),
    most: Decimal = Decimal("Infinity"),
) -> list[Measured]:
    """Return, for each kind of tool that can measure the amount, the tool that fits it best; the closest first.

    `least` and `most` are what the amount must not pass, such as the label's limits.
    """
    kinds: dict[str, list[Measured]] = {}
    for tool in tools:
        found = measure(amount, tool, least, most) if tool.unit == unit and amount > 0 else None
        if found and _off(found, amount) <= _FARTHEST:
            kinds.setdefault(tool.kind, []).append(found)
    chosen = [min(found, key=lambda one: _fit(one, amount)) for found in kinds.values()]
    return sorted(chosen, key=lambda one: (_off(one, amount) > _CLOSE, one.fills, _off(one, amount)))


def _fit(one: Measured, amount: Decimal) -> tuple[bool, int, Decimal, Decimal]:
    return _off(one, amount) > _CLOSE, one.fills, _off(one, amount), one.tool.parts[0].value


def _off(one: Measured, amount: Decimal) -> Decimal:
    return abs(one.amount - amount) / amount
