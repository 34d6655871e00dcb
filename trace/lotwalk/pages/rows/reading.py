"""One state of the ledger, and what every page says of it."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property

from sqlalchemy import Connection

from lotwalk.book import rules_in_force
from lotwalk.checks.by_subject import CHECKS, LOOKS
from lotwalk.checks.findings import Standing, due, find
from lotwalk.checks.records import Records
from lotwalk.errors import NotUnderstood
from lotwalk.finding import Due
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.ledger import Ledger
from lotwalk.ledger.model import Head, Settings, ThingRow
from lotwalk.ledger.read.things import find_thing
from lotwalk.values.times import DAY
from lotwalk.values.units import Units

AHEAD = 28
"""Days: how far the list of what is due looks ahead."""

_LATE_LIMIT = "records.written_within"


class Checked:
    """What the checks find in one state of the ledger, worked out when it is first asked for.

    With `only`, what those checks find.
    """

    def __init__(self, records: Records, only: frozenset[str] | None = None) -> None:
        self.records = records
        self._only = only

    @cached_property
    def standing(self) -> list[Standing]:
        """Every finding, the gravest first, each with what was done about it."""
        found = find(self.records, CHECKS)
        return [one for one in found if self._only is None or one.finding.check in self._only]

    @cached_property
    def ahead(self) -> list[Due]:
        """What is overdue or due within the next weeks, by day."""
        return due(self.records, LOOKS, AHEAD)


@dataclass(frozen=True, slots=True)
class Reading:
    """A ledger as it is at one moment. `printed` is that moment by the ledger's clock, in epoch seconds.

    `checked` is what the checks find in it.
    """

    connection: Connection
    kinds: Kinds
    settings: Settings
    rules: RuleSet
    head: Head
    printed: int
    checked: Checked

    @property
    def late(self) -> int:
        """After how many seconds a record counts as written down late."""
        limit = self.rules.amount(_LATE_LIMIT)
        return int(limit.value) if limit else DAY

    def thing(self, code: str, asked: tuple[str, ...]) -> ThingRow:
        """Return the thing of a code, whose kind or class is one of those asked for. Raises NotUnderstood."""
        found = find_thing(self.connection, code)
        wanted = " or ".join(name.replace("-", " ") for name in asked)
        if found is None:
            raise NotUnderstood(f"the book has no {code}", f"the code of a {wanted} that is in it")
        if not self.kinds.thing_matches(found.kind, asked):
            title = self.kinds.things[found.kind].title.lower()
            raise NotUnderstood(f"{found.code} is a {title}", f"the code of a {wanted}")
        return found


@contextmanager
def reading(ledger: Ledger) -> Iterator[Reading]:
    """Yield one state of the ledger to print from."""
    with ledger.reading() as connection:
        settings = ledger.settings(connection)
        rules, now = rules_in_force(connection, settings), int(ledger.clock())
        units = Units.load(settings.measures)
        yield Reading(
            connection=connection,
            kinds=ledger.kinds,
            settings=settings,
            rules=rules,
            head=ledger.head(connection),
            printed=now,
            checked=Checked(Records(connection, ledger.kinds, rules, units, settings.zone, now)),
        )
