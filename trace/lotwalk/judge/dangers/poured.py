"""What an entry pours: the lots that it takes, and the products that went into them, through mixes of mixes."""

from collections.abc import Sequence

from lotwalk.judge.case import Case
from lotwalk.judge.label import Product, products_of
from lotwalk.ledger.entry import Entry
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role

Part = tuple[str, Product]
"""A lot that is poured, and a product in it."""

_DRY = ("packaging", "test strips", "growing medium")
"""Types of supplies that are poured into nothing."""

_MIX = "solution"
"""The field in which an entry names the mix that it uses or reads."""


def poured(case: Case) -> list[Part]:
    """Return the lots that an entry pours, each with each of its products."""
    # A mix whose role waits for a verdict is not yet taken, and is in it all the same.
    took = [use.code for use in case.entry.uses if use.role is Role.TOOK or use.field == _MIX]
    return [(lot, product) for lot in dict.fromkeys(took) for product in wet(case, lot)]


def wet(case: Case, lot: str, seen: Sequence[str] = ()) -> list[Product]:
    """Return the products in a lot that can be poured: all that went into a mix, whatever the fields are called."""
    thing = case.evidence.thing(lot)
    made = case.evidence.maker(lot) if thing is None or thing.poured else None
    if made is None or fold(lot) in seen:
        return []
    parts = list(dict.fromkeys(use.code for use in made.uses if use.role is Role.TOOK and _known(case, use.code)))
    if parts:
        return [product for part in parts for product in wet(case, part, [*seen, fold(lot)])]
    return [one for one in products_of(case, lot) if _is_wet(one.receipt, known=thing is not None)]


def _known(case: Case, code: str) -> bool:
    thing = case.evidence.thing(code)
    return thing is None or thing.poured


def _is_wet(receipt: Entry, *, known: bool) -> bool:
    """Return whether what was received can be poured. A kind of the grower's own may say no type."""
    told = receipt.values.get("type")
    return told not in _DRY and (known or told is not None)
