"""Whether the wash water of produce was proved: by a reading of its own, which its label or the rule set allows.

What failed here makes no lot unsafe to sell: it says that what came off one lot in the wash may be on another.
"""

import re
from decimal import Decimal

from lotwalk.judge.case import Case, ends
from lotwalk.judge.label import Product, Row, products_of, rows_of
from lotwalk.judge.life import check_expiry, check_life, check_strips
from lotwalk.judge.readings import Reading
from lotwalk.values.units import Amount

CHLORINE = "produce_wash.chlorine"
PH = "produce_wash.ph"
_PRODUCE = re.compile(r"\b(?:produce|fruits?|vegetables?|greens|salads?)\b", re.IGNORECASE)
"""The words by which a label names a use on produce; common practice, no source."""


def judge_produce(case: Case) -> None:
    """Fail the mix in which a packing washed, unless a reading of that packing shows it as strong as it must be."""
    for code in case.codes:
        made = case.evidence.maker(code)
        products = products_of(case, code)
        if made is None or not products:
            case.fails(f"Nothing in force says what {code} was made of", f"record {code} with its product", [code])
            continue
        check_life(case, code, made, again=False)
        check_strips(case)
        proof = ends(case.entry.values.get("reading"))
        if proof is None:
            text = f"This wash in {code} has no reading of its own"
            case.fails(text, f"read {code} at each wash and write it", [code])
            continue
        for product in products:
            check_expiry(case, product, again=False)
            _check(case, code, product, proof)


def _check(case: Case, code: str, product: Product, reading: Reading) -> None:
    row = next((row for row in rows_of(product.label) if _PRODUCE.search(str(row.get("use", "")))), None)
    if row is not None:
        _check_strength(case, code, reading, "the label's", *_limits(row))
        return
    limit = case.rules.limits.get(CHLORINE)
    active = case.rules.active(product.active)
    if limit is None or active is None or active.name != "chlorine" or not isinstance(limit.value, tuple):
        text = f"No use on produce is on record from the label of {product.code}"
        case.fails(text, "record that use of the label with its strength, if the label has it", [code])
        return
    least, most = (one if isinstance(one, Amount) else None for one in limit.value)
    _check_strength(case, code, reading, "the rule set's", least, most)
    _check_ph(case, code)


def _limits(row: Row) -> tuple[Amount | None, Amount | None]:
    least, most = row.get("min"), row.get("max")
    return least if isinstance(least, Amount) else None, most if isinstance(most, Amount) else None


def _check_strength(
    case: Case, code: str, reading: Reading, whose: str, least: Amount | None, most: Amount | None
) -> None:
    low, high = reading
    if least is None:
        case.fails(
            f"No lowest strength for produce is on record for {code}", "write min in that use of the label", [code]
        )
    elif low.value < least.value:
        text = f"Reading {low.written} is below {whose} {least.written} for produce"
        case.fails(text, f"strengthen {code} as its label says, read it, and wash what comes next in that", [code])
    if most is not None and high.value > most.value:
        text = f"Reading {high.written} is above {whose} {most.written} for produce"
        case.residue(text, "rinse the produce, or do as the label says", [code])


def _check_ph(case: Case, code: str) -> None:
    limit, ph = case.rules.limits.get(PH), case.entry.values.get("ph")
    if limit is None or not isinstance(limit.value, tuple):
        return
    low, high = (one if isinstance(one, Decimal) else None for one in limit.value)
    if not isinstance(ph, Decimal):
        case.fails(f"No pH of this wash in {code} is on record", "measure the pH and write it", [code])
    elif (low is not None and ph < low) or (high is not None and ph > high):
        text = f"pH {ph} is outside the rule set's {limit.written} for produce"
        case.fails(text, "correct the pH, and read again", [code])
