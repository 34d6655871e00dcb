"""Judges records: is this cleaning a clean break, does this water test let the source start afresh?

A judge knows facts and names of fields, never a kind of record. It reads the ledger through `Evidence` and
answers with a `Verdict`, always the same one for the same entry, evidence and rule set.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from lotwalk.errors import NotUnderstood
from lotwalk.judge.case import Case
from lotwalk.judge.dangers.allergens import PACKED, allergens, is_pack
from lotwalk.judge.dangers.chemicals import dangers
from lotwalk.judge.dangers.residue import too_strong
from lotwalk.judge.mixes import judge_mix
from lotwalk.judge.produce import judge_produce
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.judge.sanitising import judge_sanitising
from lotwalk.judge.water import judge_water
from lotwalk.ledger.entry import Entry
from lotwalk.ledger.evidence_model import Evidence
from lotwalk.ledger.verdict import Verdict
from lotwalk.values.times import SHELF_LIFE

__all__ = ["Judge", "RuleSet"]

NUMBER = 4
"""The number of these judges. It rises by one whenever they learn to decide anything otherwise.

Since 2 a reading proves a load of its own working day within the life of the mix, a washing has to come first, a
chemical sanitising passes by a label alone, and what passes without its temperature or pH says so. The pH that a label
asks for as a range counts, and a residue is also told where a label allows more than the rule set does without a
rinse, and nothing was rinsed. Since 3 nothing passes that still bears a lot under a code which it got later, or since
the lot was moved onto it. Since 4 nothing passes that was found soiled afterwards with no other use between, that was
lent out or not yet registered then, or that was used over several days of which some may lie after its washing; hot
water that was not hot enough, or in which things went unwashed, touches the usual tub; an incident that names a mix
shares it; what a packing leaves was handled by it, and a cut of fewer trays than stand leaves the rest standing.
"""

MEGABYTE = 1_000_000
"""Bytes."""

_JUDGES: Mapping[str, Callable[[Case], None]] = {
    "sanitising": judge_sanitising,
    "water": judge_water,
    "produce": judge_produce,
}
_NOTICES: Mapping[str, Callable[[Case], None]] = {"mix": judge_mix}
_NAMES = ("mix", "chemicals", PACKED)
"""What a kind of record may name in `x-notice`."""


class Judge:
    """The judges of one rule set."""

    names = tuple(_JUDGES)
    """What a kind of record may name in `x-verdict`."""

    def __init__(self, rules: RuleSet) -> None:
        self.rules = rules

    @property
    def number(self) -> int:
        """Return the number of the judges."""
        return NUMBER

    @property
    def largest_file(self) -> int | None:
        """Return how many bytes an attached file may have, or None where the rule set says nothing."""
        limit = self.rules.limits.get("papers.largest_file")
        return int(limit.value * MEGABYTE) if limit and isinstance(limit.value, Decimal) else None

    @property
    def keeps(self) -> int:
        """Return how many seconds things keep of which nothing else is known."""
        told = self.rules.amount("recall.shelf_life")
        return int(told.value) if told else SHELF_LIFE

    def judge(self, name: str, entry: Entry, codes: Sequence[str], evidence: Evidence) -> Verdict:
        """Return the verdict on each code of an entry.

        `name` is the kind's `x-verdict`. Raises NotUnderstood for a name that no judge has.
        """
        if name not in _JUDGES:
            raise NotUnderstood(f"there is no judge named {name}", " or ".join(self.names))
        case = Case(entry, codes, evidence, self.rules)
        _JUDGES[name](case)
        return replace(case.verdict(), judge=self.number)

    def notices(self, name: str, entry: Entry, evidence: Evidence, *, verdict: str = "") -> list[str]:
        """Return what is to be said at once of an entry, the worst first: findings, then what fails, then the rest.

        `name` is the kind's `x-notice` and `verdict` its `x-verdict`, each empty where it has none. What may hurt is
        told in either case. Raises NotUnderstood for a name that no judge has.
        """
        if name and name not in _NAMES:
            raise NotUnderstood(f"there is no judge named {name}", " or ".join(_NAMES))
        case = Case(entry, (), evidence, self.rules)
        found = [*dangers(case), *(allergens(case) if is_pack(entry, name) else ())]
        found += too_strong(case, verdict)
        if name in _NOTICES:
            _NOTICES[name](case)
        reasons = sorted(case.verdict().reasons, key=lambda reason: reason.kind == "note")
        return [*(one.told for one in found), *map(str, reasons)]
