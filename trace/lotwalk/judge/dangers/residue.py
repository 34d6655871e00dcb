"""What may be left of a sanitiser on what it was put on by an entry that no judge judges: no verdict says it then."""

from collections.abc import Iterator

from lotwalk.finding import Finding
from lotwalk.judge.case import Case, ends
from lotwalk.judge.dangers.poured import poured
from lotwalk.judge.strength import SANITISER, check_residue, needs
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role

_ON = (Role.TOUCHED, Role.CLEARED, Role.TENDED, Role.HANDLED)
_BASIS = "the product's label, else the rule set's highest for its active ingredient without a rinse"


def too_strong(case: Case) -> Iterator[Finding]:
    """Yield that what an entry put on something was read as stronger than its label or the rule set allows."""
    entry, reading = case.entry, ends(case.entry.values.get("reading"))
    if reading is None:
        return
    holding = {fold(one.item) for one in case.evidence.fillings(entry) if one.lots}
    things = dict.fromkeys(use.code for use in entry.uses if use.role in _ON and fold(use.code) not in holding)
    asked = Case(entry, tuple(things), case.evidence, case.rules)
    for lot, product in poured(case) if things else ():
        if product.receipt.values.get("type") in (None, SANITISER):
            for need, codes in needs(asked, product).items():
                check_residue(asked, lot, need, codes, reading)
    told = asked.verdict().residue(entry.name, entry.at)
    if told:
        yield Finding(
            ("too-strong", entry.name), "critical", (entry.name, *things), *told, _BASIS, entry.span, (entry.name,)
        )
