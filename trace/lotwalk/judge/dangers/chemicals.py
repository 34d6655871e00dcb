"""What may hurt somebody now: products that must never meet, and a mix so acid that gas comes off.

The same findings are told when an entry is recorded and when the book is looked over.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations

from lotwalk.finding import DANGER, Finding, finding
from lotwalk.judge.case import Case, numbers
from lotwalk.judge.dangers.never import never_together, too_acid, useless_together
from lotwalk.judge.dangers.poured import Part, poured, wet
from lotwalk.judge.label import Product
from lotwalk.judge.ruleset.limits import Limit
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.judge.words import listed
from lotwalk.ledger.entry import Entry
from lotwalk.ledger.evidence_model import Filling
from lotwalk.values.times import When

_LEAVE = "Leave, get fresh air, and call for help"


def dangers(case: Case) -> Iterator[Finding]:
    """Yield what an entry tells that may hurt somebody: what it puts together, and how acid a mix of it is."""
    parts = poured(case)
    yield from list(_together(case, parts)) or _poured_on(case, parts)
    yield from _useless(case, parts)
    yield from _gas(case, dict.fromkeys([*(lot for lot, _ in parts), *(use.code for use in case.entry.uses)]))


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


def _together(case: Case, taken: Sequence[Part]) -> Iterator[Finding]:
    products = list({product.code: product for _, product in taken}.values())
    met, limit = _meeting(case.rules, products)
    if limit is None:
        return
    codes = {product.code for product in met}
    parts = [(lot, product) for lot, product in taken if product.code in codes]
    unless = f"Amend {case.entry.name} if that is not what was done."
    yield _never_mixed(case, _codes(parts), _told(parts), limit, unless)


def _useless(case: Case, taken: Sequence[Part]) -> Iterator[Finding]:
    """Yield that an entry puts together what hurts nobody, and works no longer."""
    entry = case.entry
    for one, other in combinations({product.code: (lot, product) for lot, product in taken}.values(), 2):
        if limit := useless_together(case.rules, _words(one[1]), _words(other[1])):
            yield finding(
                "inactivated",
                (entry.name,),
                about=(entry.name, *dict.fromkeys(_codes([one, other]))),
                text=f"{entry.name} ({entry.at}) puts together what makes a sanitiser work no longer:"
                f" {_told([one, other])}. {_why(limit)}.",
                do="Mix it anew without the other, and clean again what was cleaned with this.",
                basis=limit.cited,
                span=entry.span,
                closers=(entry.name,),
            )
            return


def _poured_on(case: Case, uppers: Sequence[Part]) -> Iterator[Finding]:
    """Yield what an entry pours on what is still in its tank, and must never meet it. One tank is enough to leave."""
    if not uppers:
        return
    entry = case.entry
    for own in case.evidence.fillings(entry):
        for filling, parts in [] if own.fresh or not own.lots else _below(case, own.item):
            pairs = [
                ((upper, lower), limit)
                for upper in uppers
                for lower in parts
                if upper[1].code != lower[1].code
                and (limit := never_together(case.rules, _words(upper[1]), _words(lower[1])))
            ]
            if pairs:
                above, below = ([pair[side] for pair, _ in pairs] for side in (0, 1))
                old, limit = filling.entry, pairs[0][1]
                yield _never_mixed(
                    case,
                    (own.item, old.name, *_codes(below), *_codes(above)),
                    f"{_told(above)} on {_told(below)}, which {old.name} ({old.at}) put into {own.item}. Nothing says"
                    f" that {own.item} was emptied or washed between",
                    limit,
                    f"If {own.item} was emptied before, record that with its hour.",
                )
                return


def _below(case: Case, item: str) -> Iterator[tuple[Filling, list[Part]]]:
    """Yield what may still be in a thing, with its products, as far back as it can matter."""
    seen: set[str] = set()
    for filling in case.evidence.still_in(item, case.entry):
        fresh = [lot for lot in filling.lots if lot not in seen and not _discarded(case, lot)]
        seen.update(fresh)
        if len(seen) > _LAYERS:
            return
        yield filling, [(lot, product) for lot in fresh for product in wet(case, lot)]


_LAYERS = 20
"""So many lots that were poured in one on another are looked at: what lies below is long gone. Common practice, no
source."""


def _discarded(case: Case, lot: str) -> bool:
    """Return whether a mix was to be discarded, by what was written when it was mixed, before the entry began."""
    made = case.evidence.maker(lot)
    discard = made.values.get("discard_at") if made else None
    return isinstance(discard, When) and discard.end < case.entry.start


def _codes(parts: Sequence[Part]) -> list[str]:
    return [code for lot, product in parts for code in (lot, product.code)]


def _told(parts: Sequence[Part]) -> str:
    told = [f"{_called(product)}{'' if product.code == lot else f' in {lot}'}" for lot, product in parts]
    return listed(list(dict.fromkeys(told)))


def _never_mixed(case: Case, about: Sequence[str], what: str, limit: Limit, unless: str) -> Finding:
    entry = case.entry
    return finding(
        "never-mixed",
        (entry.name,),
        about=(entry.name, *dict.fromkeys(about)),
        text=f"{DANGER}{entry.name} ({entry.at}) puts together what must never meet: {what}. {_why(limit)}.",
        do=f"{_LEAVE}. Nobody goes back before it is aired. {unless}",
        basis=limit.cited,
        span=entry.span,
        closers=(entry.name,),
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
        for product in wet(case, lot):
            if limit := too_acid(case.rules.active(product.active), ph[0]):
                text, do = gas(f"{entry.name} ({entry.at}): pH {ph[0]} of {lot}", limit)
                about = (entry.name, *dict.fromkeys((lot, product.code)))
                yield finding(
                    "gas",
                    (entry.name,),
                    about=about,
                    text=f"{DANGER}{text}",
                    do=do,
                    basis=limit.cited,
                    span=entry.span,
                    closers=(entry.name,),
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
