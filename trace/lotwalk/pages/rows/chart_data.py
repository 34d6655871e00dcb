"""The points of a report's charts, gathered from its entries: one chart for each thing that was measured."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from lotwalk.errors import NotUnderstood
from lotwalk.judge.ruleset.limits import Limit
from lotwalk.kinds.model import Value
from lotwalk.ledger.model import Version
from lotwalk.pages.definitions.model import Chart
from lotwalk.pages.rows.reading import Reading
from lotwalk.pages.rows.values import Values, words
from lotwalk.pages.rows.versions import Period
from lotwalk.pages.sheet.chart import ChartBox, Point, Scale
from lotwalk.science.water import read_result
from lotwalk.values.codes import fold
from lotwalk.values.units import Amount, Units

_PER = Decimal(100)
"""Counts of bacteria are drawn for so many millilitres."""


@dataclass(slots=True)
class _Series:
    """The points of one chart."""

    code: str
    unit: str
    points: list[Point]


class Gathered:
    """Gathers the points of the charts of one section."""

    def __init__(self, charts: Sequence[Chart], values: Values, state: Reading) -> None:
        self._charts = charts
        self._values = values
        self._state = state
        self._units = Units.load(state.settings.measures)
        self._series: dict[tuple[int, str], _Series] = {}

    def add(self, version: Version) -> None:
        """Take in an entry in force."""
        if version.void:
            return
        for number, chart in enumerate(self._charts):
            for code in self._values.codes(version, chart.by) if chart.by else [""]:
                for name in chart.values:
                    found = self._result(version, name) if chart.results else self._amount(chart, version, name)
                    if found:
                        unit, point = found
                        key = (number, fold(code))
                        series = self._series.setdefault(key, _Series(code, unit, []))
                        series.points.append(point)

    def boxes(self, period: Period, width: float) -> list[ChartBox]:
        """Return the charts to draw, by the codes of what was measured."""
        found = []
        for (number, _), series in sorted(self._series.items()):
            chart = self._charts[number]
            name = words(self._values.maker(series.code).get("name", "")) if series.code else ""
            thing = f"{series.code}{f' ({name})' if name else ''}: " if series.code else ""
            scale = Scale.of(self._units, series.unit, chart.results)
            found.append(
                ChartBox(
                    title=f"{thing}{chart.title}, {scale.unit}",
                    points=sorted(series.points, key=lambda point: point.at),
                    scale=scale,
                    limit=self._limit(chart, series.unit),
                    limit_words=self._limit_words(chart),
                    span=(period.start, period.end),
                    zone=self._state.settings.zone,
                    width=width,
                )
            )
        return found

    def _amount(self, chart: Chart, version: Version, name: str) -> tuple[str, Point] | None:
        read = _highest(self._values.amount(version, name))
        if read is None:
            return None
        limit = self._limit(chart, read.unit)
        too_far = limit is not None and float(read.value) > limit
        written = self._values.field(version, name)
        return read.unit, Point(version.start, float(read.value), "out" if too_far else "in", written)

    def _result(self, version: Version, name: str) -> tuple[str, Point] | None:
        written = self._values.field(version, name)
        try:
            result = read_result(written)
        except NotUnderstood:
            return None
        volume = result.volume or _PER
        if result.detected:
            count = result.count
            found = Point(version.start, float(count * _PER / volume), "out", written) if count else None
            return "", found or Point(version.start, None, "out", written)
        if result.below is None:
            return "", Point(version.start, None, "none", written)
        below = result.below * _PER / volume
        return "", Point(version.start, float(below) if below > 1 else None, "none", written)

    def _limit(self, chart: Chart, unit: str) -> float | None:
        limit = self._written(chart)
        if chart.results or limit is None or not isinstance(limit.value, Amount) or limit.value.unit != unit:
            return None
        return float(limit.value.value)

    def _limit_words(self, chart: Chart) -> str:
        limit = self._written(chart)
        if limit is None:
            return ""
        if chart.results:
            return f"Limit: none found in {limit.written}"
        shown = self._units.show(limit.value.value, limit.value.unit) if isinstance(limit.value, Amount) else ""
        return f"Limit: {shown}, written as {limit.written}" if shown not in ("", limit.written) else f"Limit: {shown}"

    def _written(self, chart: Chart) -> Limit | None:
        return self._state.rules.limits.get(chart.limit)


def _highest(value: Value | None) -> Amount | None:
    if isinstance(value, Amount):
        return value
    if isinstance(value, tuple) and isinstance(value[1], Amount):
        return value[1]
    return None
