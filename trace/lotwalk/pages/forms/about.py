"""What a form says around its boxes: whose it is, its limits, the cautions, who signs."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from lotwalk.book import DEFAULT_RULES, rules_in_force
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Kind
from lotwalk.ledger.ledger import Ledger
from lotwalk.pages.definitions import definition
from lotwalk.pages.definitions.model import Definition
from lotwalk.pages.forms.limits import asks_label, labels_on_record, limits_of
from lotwalk.pages.rows.values import Values
from lotwalk.values.units import Units

DECIDES = (
    "The local regulator, the product label and licensed advice decide. What is written here shows what was done and "
    "seen; it does not say that food is safe."
)
"""On every page of every form."""

_REVIEWED = ("Reviewed by",)


@dataclass(frozen=True, slots=True)
class Said:
    """What one kind's form says.

    `short` are limits in short words by field, `limits` the same in full. `labels` are lines on the products' labels;
    None: no label sets a limit here.
    """

    short: Mapping[str, str]
    limits: tuple[str, ...]
    labels: tuple[str, ...] | None
    cautions: tuple[tuple[str, str], ...]
    signatures: tuple[str, ...]
    language: str


@dataclass(frozen=True)
class About:
    """What all forms of one printing share. `farm` and `location` are empty, and `labels` too, without a ledger.

    `own_reports` are folders with reports of the grower's own, which go before those that ship.
    """

    kinds: Kinds
    farm: str
    location: str
    rules_name: str
    rules: RuleSet
    units: Units
    labels: tuple[str, ...]
    own_reports: tuple[Path, ...] = ()

    @classmethod
    def of_ledger(cls, ledger: Ledger, own_reports: tuple[Path, ...] = ()) -> "About":
        """Return what a ledger knows: the farm, its rule set and measures, the labels of its products."""
        with ledger.reading() as connection:
            settings = ledger.settings(connection)
            values = Values(connection, ledger.kinds, settings.zone)
            return cls(
                kinds=ledger.kinds,
                farm=settings.name,
                location=settings.location,
                rules_name=settings.rules,
                rules=rules_in_force(connection, settings),
                units=Units.load(settings.measures),
                labels=tuple(labels_on_record(connection, values, int(ledger.clock()))),
                own_reports=own_reports,
            )

    @classmethod
    def of_nobody(cls, kinds: Kinds, measures: str, own_reports: tuple[Path, ...] = ()) -> "About":
        """Return what can be said without a ledger, in `us` or `metric` measures."""
        return cls(kinds, "", "", DEFAULT_RULES, RuleSet.load(DEFAULT_RULES), Units.load(measures), (), own_reports)

    def said(self, kind: Kind) -> Said:
        """Return what the form of a kind says. Cautions and signatures are those of the log that lists the kind."""
        log = self._logs.get(kind.name)
        short, limits = limits_of(kind, self.rules, self.units)
        return Said(
            short=short,
            limits=tuple(map(str, limits)),
            labels=self.labels if asks_label(kind) else None,
            cautions=log.cautions if log else tuple(("", sentence) for sentence in self.rules.cautions),
            signatures=log.signatures if log else _REVIEWED,
            language=log.language if log else "en",
        )

    @cached_property
    def _logs(self) -> Mapping[str, Definition]:
        """The log of each kind: where several list it, the one about the fewest kinds."""
        found: dict[str, Definition] = {}
        for name in definition.names(self.own_reports):
            log = definition.load(name, self.kinds, self.own_reports)
            for kind in log.kinds:
                if kind not in found or len(log.kinds) < len(found[kind].kinds):
                    found[kind] = log
        return found
