"""Whether what was measured keeps to the rule set's numbers, and where those come from."""

from collections.abc import Iterable
from decimal import Decimal

from lotwalk.judge.ruleset.limits import NO_SOURCE, Limit
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.kinds.model import Value
from lotwalk.pages.definitions.model import Column, Section
from lotwalk.values.units import Amount

_FROM_MEMORY = ", from memory"


def outside(value: Value | None, column: Column, rules: RuleSet) -> bool:
    """Return whether a value is above the limit that the column names, or outside its range.

    Of a range that was read the worse end counts. A value or a limit that is not there is inside.
    """
    ends = _ends(value)
    for key in (column.most, column.within):
        bounds = _ends(rules.limits[key].value) if key in rules.limits else ()
        if not ends or not bounds or _unit(ends[0]) != _unit(bounds[0]):
            continue
        low, high = (min, max)
        numbers, limits = list(map(_number, ends)), list(map(_number, bounds))
        if high(numbers) > high(limits) or (key == column.within and low(numbers) < low(limits)):
            return True
    return False


def limit_sentences(sections: Iterable[Section], rules: RuleSet) -> list[str]:
    """Return a sentence for each limit that a column or a chart goes by, with its source."""
    found: dict[str, str] = {}
    for section in sections:
        named = [(column.title, key) for column in section.columns for key in (column.most, column.within)]
        named += [(chart.title, chart.limit) for chart in section.charts]
        for title, key in named:
            if key:
                limit = rules.limits.get(key)
                found.setdefault(key, f"{title}: {_told(limit) if limit else 'the rule set has no limit'}.")
    return list(found.values())


def _told(limit: Limit) -> str:
    source = NO_SOURCE if limit.confidence == "practice" else limit.source
    memory = _FROM_MEMORY if limit.confidence == "memory" and "memory" not in source else ""
    note = f". {limit.note}" if limit.note else ""
    return f"the rule set's limit is {limit.written} ({source}{memory}){note}".rstrip(".")


def _ends(value: object) -> tuple[Amount | Decimal, ...]:
    if isinstance(value, Amount | Decimal):
        return (value,)
    if isinstance(value, tuple):
        return tuple(end for end in value if isinstance(end, Amount | Decimal))
    return ()


def _number(end: Amount | Decimal) -> Decimal:
    return end.value if isinstance(end, Amount) else end


def _unit(end: Amount | Decimal) -> str:
    return end.unit if isinstance(end, Amount) else ""
