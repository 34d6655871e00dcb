"""Whether a mix that somebody only reckons would work at a pH and a temperature, asked of the judge of real mixes."""

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from lotwalk.judge.calculator.on_record import OnRecord
from lotwalk.judge.case import Case, asking
from lotwalk.judge.conditions import check_conditions
from lotwalk.judge.label import Need
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.kinds.model import Value
from lotwalk.ledger.entry import Entry, NewText
from lotwalk.ledger.evidence_model import Filling, Registration, Thing
from lotwalk.values.units import Amount

_MISSING = ("No pH ", "No temperature ")
"""How the judge begins where something is not on record. Somebody who reckons has no record yet."""


class _Nothing:
    """The evidence of a book that holds nothing."""

    def maker(self, code: str) -> Entry | None:
        return None

    def thing(self, code: str) -> Thing | None:
        return None

    def telling(self, fact: str, code: str) -> list[Entry]:
        return []

    def taking(self, code: str) -> list[Entry]:
        return []

    def uses_of(self, code: str) -> list[Entry]:
        return []

    def fillings(self, entry: Entry) -> list[Filling]:
        return []

    def still_in(self, code: str, before: Entry) -> Iterator[Filling]:
        return iter(())

    def registrations(self, code: str) -> list[Registration]:
        return []

    def by_number(self, number: int) -> Entry | None:
        return None


def misses(
    product: OnRecord, ppm: Decimal, ph: Decimal | None, temperature: Amount | None, rules: RuleSet
) -> list[str]:
    """Return why a mix of so many ppm would not count, by what is given of its pH and temperature; none where it would.

    Of what is not given nothing is said.
    """
    given: dict[str, Value] = {}
    if ph is not None:
        given["ph"] = ph
    if temperature is not None:
        given["temperature"] = temperature
    entry = asking(_Nothing(), rules, 0).entry
    entry = replace(entry, text=NewText(replace(entry.content, values=given)))
    case = Case(entry, (), _Nothing(), rules)
    need = Need(
        "the label's", most=product.limits.top, temperature=product.temperature, ph=product.ph, active=product.active
    )
    check_conditions(case, need, [], Amount(ppm, "mg/L", ""))
    broken = [reason.text for reason in case.verdict().reasons if reason.kind == "break"]
    return [text for text in broken if not text.startswith(_MISSING)]
