"""What the tests of a water source come to: geometric mean and statistical threshold value, beside a benchmark."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from lotwalk.checks.records import Records
from lotwalk.errors import NotUnderstood
from lotwalk.science.counts import Level, geometric_mean, mean_level, threshold_level
from lotwalk.science.water import LabResult, read_result

MEAN = "water.growing_mean"
THRESHOLD = "water.growing_threshold"
GROWING = "growing"
_HUNDRED = Decimal(100)


@dataclass(frozen=True, slots=True)
class WaterLevel:
    """E. coli in one source over all its tests, per 100 mL.

    `tests` were counted in; `at_limit` of them found none and stand at the limit of detection, and `at_least` were more
    than could be counted and stand at the number that they exceed. `left_out` are entries whose result gives no count
    or no volume. `mean` and `threshold` have their 95 % intervals from two unlike counts on; before that `mean` stands
    alone. The benchmarks are those of the rule set, for water used in growing only, or None.
    """

    source: str
    tests: int
    at_limit: int
    at_least: int
    left_out: tuple[str, ...]
    first: str
    last: str
    mean: Level
    threshold: Level | None
    mean_benchmark: Decimal | None
    threshold_benchmark: Decimal | None
    basis: str

    @property
    def text(self) -> str:
        """Two or three plain sentences."""
        said = [
            f"E. coli in {self.source}, {self.tests} {'tests' if self.tests > 1 else 'test'} of {self.first}"
            f"{f' to {self.last}' if self.last != self.first else ''}: geometric mean {_shown(self.mean)} per 100 mL"
        ]
        if self.threshold:
            said[0] += (
                f"; statistical threshold value {_shown(self.threshold)} (mean and 1.282 sample deviations, n - 1, of"
                " the logarithms; 95 % intervals in brackets)"
            )
        if self.at_limit:
            said.append(f"{self.at_limit} found none and {_stand(self.at_limit)} at the limit of detection")
        if self.at_least:
            said.append(f"{self.at_least} could not be counted to the end and {_stand(self.at_least)} at that number")
        if self.left_out:
            said.append(f"Without {', '.join(self.left_out)}, which {_give(self.left_out)} no count in a volume")
        if self.mean_benchmark is not None and self.threshold_benchmark is not None:
            said.append(
                f"A benchmark and no limit, for growing water: {self.mean_benchmark} and {self.threshold_benchmark}"
                f" ({self.basis})"
            )
        return ". ".join(said) + "."

    def json(self) -> dict[str, object]:
        """Return it as JSON: numbers of E. coli in 100 mL, each with its 95 % interval."""
        return {
            "tests": self.tests,
            "first": self.first,
            "last": self.last,
            "at_limit": self.at_limit,
            "at_least": self.at_least,
            "left_out": list(self.left_out),
            "geometric_mean": _json(self.mean),
            "threshold_value": _json(self.threshold) if self.threshold else None,
            "benchmark": [str(one) for one in (self.mean_benchmark, self.threshold_benchmark) if one is not None],
        }


def levels(records: Records, only: str = "") -> Iterator[WaterLevel]:
    """Yield what the tests of each source (or of one alone) come to, where one test or more can be counted in."""
    for source, tests in records.told_of("tested").items():
        if only and source != only:
            continue
        made = records.maker(source)
        used_for = made.values.get("used_for") if made else None
        counts: list[float] = []
        days: list[str] = []
        at_limit = at_least = 0
        left_out: list[str] = []
        for told in tests:
            result = _result(str(told.record.values.get("e_coli") or ""))
            count = None if result is None else _per_hundred(result)
            if count is None or result is None:
                left_out.append(told.record.name)
                continue
            counts.append(float(count))
            days.append(records.date(told.record.start))
            at_limit += not result.detected
            at_least += result.written.strip()[:1] in (">", "≥")
        if counts:
            growing = GROWING in (used_for if isinstance(used_for, list) else str(used_for or "").split())
            yield WaterLevel(
                source,
                len(counts),
                at_limit,
                at_least,
                tuple(left_out),
                min(days),
                max(days),
                *_levels(counts),
                _benchmark(records, MEAN) if growing else None,
                _benchmark(records, THRESHOLD) if growing else None,
                records.basis(MEAN).partition(": ")[2],
            )


def _levels(counts: list[float]) -> tuple[Level, Level | None]:
    if len(counts) > 1:
        mean, threshold = mean_level(counts), threshold_level(counts)
        return mean, threshold
    only = geometric_mean(counts)
    return Level(only, only, only), None


def _result(text: str) -> LabResult | None:
    try:
        return read_result(text)
    except NotUnderstood:
        return None


def _per_hundred(result: LabResult) -> Decimal | None:
    """The count in 100 mL; of none found, the limit of detection: one in the volume where no other is named."""
    count = result.count if result.detected else (result.below or Decimal(1))
    if count is None or not count or not result.volume:
        return None
    return count * _HUNDRED / result.volume


def _benchmark(records: Records, key: str) -> Decimal | None:
    amount = records.rules.amount(key)
    return amount.value if amount else None


def _shown(level: Level) -> str:
    if level.low == level.high:
        return _number(level.value)
    return f"{_number(level.value)} [{_number(level.low)} to {_number(level.high)}]"


def _number(value: float) -> str:
    """Three figures, which is more than such counts hold."""
    return f"{Decimal(f'{value:.3g}'):f}"


def _json(level: Level) -> dict[str, str]:
    return {"value": _number(level.value), "low": _number(level.low), "high": _number(level.high)}


def _stand(count: int) -> str:
    return "stands" if count == 1 else "stand"


def _give(codes: tuple[str, ...]) -> str:
    return "gives" if len(codes) == 1 else "give"
