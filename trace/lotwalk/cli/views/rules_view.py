"""A rule set for people: every number with its citation, and how sure that is."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from lotwalk.cli.output import print_table, say
from lotwalk.judge.ruleset.limits import Active, Limit
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.judge.words import degrees

CAUTION = (
    "read: in a copy of the source, which is not the official edition. memory: from memory, look it up before you rely"
    " on it. computed: worked out. practice: common practice, a setting and not law. The local regulator, the product"
    " label and licensed advice decide."
)


@dataclass(frozen=True, slots=True)
class Line:
    """One number: its name, value as written, source, how sure that is, and what else there is to say."""

    key: str
    value: str
    source: str
    confidence: str
    note: str

    def json(self) -> dict[str, str]:
        """Return it as JSON."""
        return {
            "key": self.key,
            "value": self.value,
            "source": self.source,
            "confidence": self.confidence,
            "note": self.note,
        }


class RulesView:
    """One rule set."""

    def __init__(self, rules: RuleSet) -> None:
        self.rules = rules
        self.lines = list(lines(rules))

    def json(self) -> dict[str, Any]:
        """Return the rule set as JSON."""
        return {
            "title": self.rules.title,
            "for": self.rules.purpose,
            "digest": self.rules.digest,
            "limits": [line.json() for line in self.lines],
            "cautions": list(self.rules.cautions),
        }

    def csv(self) -> tuple[Sequence[str], list[list[object]]]:
        """Return the rule set as columns and rows."""
        columns = ("key", "value", "source", "confidence", "note")
        return columns, [[line.key, line.value, line.source, line.confidence, line.note] for line in self.lines]

    def table(self) -> None:
        """Print the rule set for people."""
        say(f"{self.rules.title}. {self.rules.purpose}")
        self.rows_of(self.lines)
        for caution in self.rules.cautions:
            say(f"- {caution}")
        say(CAUTION)

    def rows_of(self, told: Sequence[Line]) -> None:
        """Print these numbers."""
        if told:
            rows = [
                [line.key, line.value, ". ".join(part.rstrip(".") for part in (line.source, line.note) if part),
                 line.confidence]
                for line in told
            ]  # fmt: skip
            print_table(("Rule", "Value", "Source", "How sure"), rows)


def lines(rules: RuleSet) -> Iterator[Line]:
    """Yield every number of a rule set."""
    for limit in rules.limits.values():
        yield _line(limit.key, limit)
    for active in rules.actives.values():
        yield from _active(active)
    if rules.heat:
        for heat in rules.heat.rows:
            where = "heat (porous things too)" if heat.porous else "heat"
            value = f"{degrees(heat.temperature.value, heat.fahrenheit)} for {heat.contact.written}"
            yield Line(where, value, rules.heat.source, rules.heat.confidence, rules.heat.note)


def _active(active: Active) -> Iterator[Line]:
    if active.table:
        for row in active.table.rows:
            at_least = f"from {row.at_least:f} mg/L on, " if row.at_least else ""
            ph = f"pH at most {row.ph_at_most:f}: " if row.ph_at_most is not None else ""
            yield Line(
                f"{active.name}.table",
                f"{at_least}{ph}at least {degrees(row.temperature, row.fahrenheit)}",
                active.table.source,
                active.table.confidence,
                active.table.note,
            )
    for key, limit in active.limits.items():
        yield _line(f"{active.name}.{key}", limit)


def _line(key: str, limit: Limit) -> Line:
    return Line(key, limit.written, limit.source, limit.confidence, limit.note)


def changes(base: RuleSet, own: RuleSet) -> list[Line]:
    """Return the numbers that a rule set has otherwise than the one it is based on; one taken away has none."""
    before = {(line.key, line.value) for line in lines(base)}
    after = list(lines(own))
    keys = {line.key for line in after}
    gone = [Line(line.key, "none", "", "", "taken away") for line in lines(base) if line.key not in keys]
    return [line for line in after if (line.key, line.value) not in before] + gone
