"""What may hurt somebody now: products that must never meet, and a mix so acid that gas comes off.

The same findings are told when an entry is recorded and when the book is looked over.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations

from lotwalk.finding import DANGER, Finding
from lotwalk.judge.case import Case, named, numbers
from lotwalk.judge.dangers.never import never_together, too_acid
from lotwalk.judge.label import Product, products_of
from lotwalk.judge.limits import Limit
from lotwalk.judge.rules import RuleSet
from lotwalk.judge.words import listed
from lotwalk.ledger.entry import Entry
from lotwalk.values.roles import Role

_DRY = ("packaging", "test strips", "growing medium")
"""Types of supplies that are poured into nothing."""

_MIX = "solution"
"""The field in which an entry names the mix that it uses or reads."""

_LEAVE = "Leave, get fresh air, and call for help"


def dangers(case: Case) -> Iterator[Finding]:
    """Yield what an entry tells that may hurt somebody: what it puts together, and how acid a mix of it is."""
    # A mix whose role waits for a verdict is not yet taken, and is in it all the same.
    took = [use.code for use in case.entry.uses if use.role is Role.TOOK or use.field == _MIX]
    yield from _together(case, [(lot, product) for lot in dict.fromkeys(took) for product in _wet(case, lot)])
    yield from _gas(case, dict.fromkeys([*took, *named(case.entry, "lot")]))


def unfit(rules: RuleSet, products: Sequence[Product]) -> str:
    """Return why these products, or one of them by itself, must not be mixed; empty where nothing says so."""
    met, limit = _meeting(rules, products)
    if limit is None:
        return ""
    what = "what {} holds" if len(met) == 1 else "{}"
    return never_mix(what.format(listed([_called(product) for product in met])), limit)


def never_mix(what: str, limit: Limit) -> str:
    """Return that something must never be mixed, why, and what to do where it was."""
    return f"{DANGER}never mix {what}. {_why(limit)}. Where some were mixed: {_LEAVE.casefold()}."


def gas(what: str, limit: Limit) -> tuple[str, str]:
    """Return that something (`pH 3 of SOL-1`) is so acid that gas comes off, and what to do, as sentences."""
    why, _, do = limit.note.partition(". ")
    text = f"{what} is below {limit.written}."
    return f"{text} {why.rstrip('.')}." if why else text, do or f"{_LEAVE}."


def _wet(case: Case, lot: str) -> list[Product]:
    return [one for one in products_of(case, lot) if one.receipt.values.get("type") not in (None, *_DRY)]


def _together(case: Case, taken: Sequence[tuple[str, Product]]) -> Iterator[Finding]:
    products = list({product.code: product for _, product in taken}.values())
    met, limit = _meeting(case.rules, products)
    if limit is None:
        return
    entry, codes = case.entry, {product.code for product in met}
    parts = [(lot, product) for lot, product in taken if product.code in codes]
    told = [f"{_called(product)}{'' if product.code == lot else f' in {lot}'}" for lot, product in parts]
    about = [code for lot, product in parts for code in (lot, product.code)]
    yield Finding(
        ("never-mixed", entry.name),
        "critical",
        (entry.name, *dict.fromkeys(about)),
        f"{DANGER}{entry.name} ({entry.at}) puts together what must never meet: {listed(told)}. {_why(limit)}.",
        f"{_LEAVE}. Nobody goes back before it is aired. Amend {entry.name} if that is not what was done.",
        limit.cited,
        entry.span,
        (entry.name,),
    )


def _meeting(rules: RuleSet, products: Sequence[Product]) -> tuple[list[Product], Limit | None]:
    """Return the products among these that must never meet, one alone or some together, and the limit that says so."""
    alone = [(one, limit) for one in products if (limit := never_together(rules, _words(one)))]
    if alone:
        return [one for one, _ in alone], alone[0][1]
    pairs = [
        (pair, limit) for pair in combinations(products, 2) if (limit := never_together(rules, *map(_words, pair)))
    ]
    met = {one.code for pair, _ in pairs for one in pair}
    return [one for one in products if one.code in met], pairs[0][1] if pairs else None


def _gas(case: Case, lots: Iterable[str]) -> Iterator[Finding]:
    entry, ph = case.entry, numbers(case.entry.values.get("ph"))
    if ph is None:
        return
    for lot in lots:
        for product in _wet(case, lot):
            if limit := too_acid(case.rules.active(product.active), ph[0]):
                text, do = gas(f"{entry.name} ({entry.at}): pH {ph[0]} of {lot}", limit)
                about = (entry.name, *dict.fromkeys((lot, product.code)))
                yield Finding(
                    ("gas", entry.name),
                    "critical",
                    about,
                    f"{DANGER}{text}",
                    do,
                    limit.cited,
                    entry.span,
                    (entry.name,),
                )
                return


def _called(product: Product) -> str:
    return f"{product.code} ({_words(product)})"


def _words(product: Product) -> str:
    """All that is known of what a product is: its active ingredient and its name, by its label and its receipt."""
    sources: list[Entry] = [source for source in (product.label, product.receipt) if source]
    said = [str(source.values.get(field) or "") for field in ("active", "product") for source in sources]
    return ", ".join(dict.fromkeys(filter(None, said)))


def _why(limit: Limit) -> str:
    return limit.note.rstrip(". ") or "The rule set says so"
