"""What may be left of a sanitiser where no verdict says it: no judge judges the entry, or has no label to judge by."""

from collections.abc import Iterator
from dataclasses import replace

from lotwalk.finding import Finding, finding
from lotwalk.judge.case import Case, ends
from lotwalk.judge.dangers.poured import poured
from lotwalk.judge.strength import SANITISER, check_residue, needs
from lotwalk.kinds.roles import depends_on_verdict
from lotwalk.ledger.entry import Entry
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role

_ON = (Role.TOUCHED, Role.CLEARED, Role.TENDED, Role.HANDLED)
_JUDGED = "sanitising"
_BASIS = "the product's label, else the rule set's highest for its active ingredient without a rinse"


def too_strong(case: Case, verdict: str) -> Iterator[Finding]:
    """Yield that what an entry put on something was read as stronger than its label or the rule set allows.

    `verdict` is the `x-verdict` of its kind, or empty. What a judge of sanitisings says of it is left to that; it says
    nothing where no label speaks of the item.
    """
    entry, reading = case.entry, ends(case.entry.values.get("reading"))
    if reading is None or verdict not in ("", _JUDGED):
        return
    holding = {fold(one.item) for one in case.evidence.fillings(entry) if one.lots}
    things = tuple(code for code in _put_on(entry) if fold(code) not in holding)
    asked = Case(entry, things, case.evidence, case.rules)
    for lot, product in poured(case) if things else ():
        if product.receipt.values.get("type") in (None, SANITISER):
            for need, codes in needs(asked, product).items():
                if need.problem or not verdict:
                    check_residue(asked, lot, replace(need, active=product.active), codes, reading)
    told = asked.verdict().residue(entry.name, entry.at)
    if told:
        text, do = told
        yield finding(
            "too-strong",
            (entry.name,),
            about=(entry.name, *things),
            text=text,
            do=do,
            basis=_BASIS,
            span=entry.span,
            closers=(entry.name,),
        )


def _put_on(entry: Entry) -> list[str]:
    """Return what an entry put its mix on; the role of what is judged may still wait for the verdict."""
    judged = [one for one in entry.content.mentions if depends_on_verdict(one.field) and not one.field.follows]
    codes = [use.code for use in entry.uses if use.role in _ON] + [code for one in judged for code in one.codes]
    return list({fold(code): code for code in codes}.values())
