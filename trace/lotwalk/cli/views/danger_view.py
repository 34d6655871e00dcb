"""The calculator's answer where nothing must be mixed: what is dangerous and what to do, and no amount of anything."""

from collections.abc import Sequence
from typing import Any

from lotwalk.cli.output import print_pairs, say
from lotwalk.judge.calculator.on_record import OnRecord
from lotwalk.pages.cautions import caution

CAUTIONS = ("sanitiser-label", "sanitiser-handling", "never-mix")
DECIDES = "The local regulator, the product label and licensed advice decide."


class DangerView:
    """A danger, told first. `never_with` says what the product is never mixed with."""

    def __init__(self, danger: str, product: OnRecord, never_with: str, rules: str) -> None:
        self.bad = (danger,)
        self._product = product
        self._never_with = never_with
        self._rules = rules

    def table(self) -> None:
        """Print the danger, and the cautions that stand under every answer."""
        say(self.bad[0])
        say("No amount is given.")
        say()
        pairs = [(one.subject, one.says) for one in map(caution, CAUTIONS)]
        print_pairs([*pairs, ("", self._never_with)] if self._never_with else pairs)
        say(f"Rule set: {self._rules}. {DECIDES}")

    def json(self) -> dict[str, Any]:
        """Return the danger as JSON, under the keys of an answer, with nothing that could be poured."""
        product = self._product
        return {
            "mode": "danger",
            "product": {"code": product.code or None, "name": product.name or None, "active": product.active or None},
            "ppm": None,
            "amount": None,
            "water_mL": None,
            "take_out_mL": None,
            "measure": [],
            "dangers": list(self.bad),
            "bad": list(self.bad),
            "notes": [],
            "cautions": [
                *(caution(name).says for name in CAUTIONS),
                *filter(None, [self._never_with]),
                DECIDES,
            ],
        }

    def csv(self) -> tuple[Sequence[str], Sequence[Sequence[object]]]:
        """Return one row that names the danger where an answer has its amounts."""
        return ("measure_with", "amount", "value", "unit", "ppm"), [("DANGER", self.bad[0], None, None, None)]
