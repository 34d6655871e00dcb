"""What a pack holds of crops that carry an allergen, and whether the product that it is sold as declares it."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from lotwalk.finding import ALLERGEN, Cause, Finding, finding
from lotwalk.judge.case import Case, named
from lotwalk.judge.dangers.allergen_list import allergen_list
from lotwalk.judge.dangers.declared import Declared, declarations, since_when, when_packed
from lotwalk.judge.ruleset.limits import Limit
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.judge.words import listed, names_one_of
from lotwalk.ledger.entry import Entry
from lotwalk.ledger.evidence_model import Evidence
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role

PACKED = "packed"
"""What a kind of record names in `x-notice` where it makes what is sold in a package."""

_FREE = re.compile(r"\b\w+ free\b(?! of| from)")
_DENIES = re.compile(r"\b(?:no|none|non|not|nil|without|free)\b")


@dataclass(frozen=True, slots=True)
class Carried:
    """One allergen, the limit that lists its crops, and the seed lots of such crops: each one's crop and its code."""

    name: str
    limit: Limit
    seeds: tuple[tuple[str, str], ...]

    def __str__(self) -> str:
        return f"{self.name} ({'; '.join(f'{crop}, {code}' for crop, code in self.seeds)})"


class Crops:
    """The seed lots behind lots, by ingredient through any number of steps; each lot is looked at once."""

    def __init__(self, evidence: Evidence) -> None:
        self._evidence = evidence
        self._known: dict[str, dict[str, str]] = {}

    def behind(self, code: str) -> dict[str, str]:
        """Return the crops of the seed lots that a lot is, or was made of, by the codes of those."""
        key = fold(code)
        if key not in self._known:
            # A lot of which nothing is known yet stands for itself while it is looked at.
            self._known[key] = {}
            made = self._evidence.maker(code)
            self._known[key] = self.of(made) | _grown(made, code) if made else {}
        return self._known[key]

    def of(self, entry: Entry) -> dict[str, str]:
        """Return the same of what an entry made: of all that it took."""
        found: dict[str, str] = {}
        for taken in dict.fromkeys(use.code for use in entry.uses if use.role is Role.TOOK):
            found |= self.behind(taken)
        return found


def _grown(made: Entry, code: str) -> dict[str, str]:
    crop = made.values.get("crop")
    return {code: crop} if isinstance(crop, str) else {}


def is_pack(entry: Entry, notice: str | None) -> bool:
    """Return whether an entry makes what is sold in a package: its kind's `x-notice` says so, or it makes a lot and
    names the product that it is."""
    makes = any(use.role is Role.MADE for use in entry.uses)
    return notice == PACKED or (makes and bool(named(entry, "product")))


def undeclared(case: Case, crops: Crops) -> list[Carried]:
    """Return the allergens in what an entry packed that nothing declares on a package which is labelled now."""
    now = declarations(case)[-1]
    return [one for one in _carried(case.rules, crops.of(case.entry)) if not _declares(now, one.limit)]


def allergens(case: Case, crops: Crops | None = None) -> Iterator[Finding]:
    """Yield the allergens that what an entry packed holds, and its product did not declare when it was packed."""
    carried = list(_carried(case.rules, (crops or Crops(case.evidence)).of(case.entry)))
    if not carried:
        return
    known = declarations(case)
    then = when_packed(case, known)
    missing = [one for one in carried if not all(_declares(each, one.limit) for each in then)]
    if not missing:
        return
    entry, products = case.entry, named(case.entry, "product")
    lots = list(dict.fromkeys(use.code for use in entry.uses if use.role is Role.MADE))
    why, do = _why(case, missing, known, then), _MEND
    if since := since_when(known, lambda one: all(_declares(one, each.limit) for each in missing)):
        why += f" It does since {since.day(entry.zone)}: bags from before do not say so."
        do = _MENDED + (f" If it was packed after that, amend {entry.name} with its hour." if len(then) > 1 else "")
    if shipped := allergen_list(case.rules).shipped:
        why += f" That is by the list of `{shipped}` that comes with this program: the rule set in force has none."
    seeds = [code for one in missing for _, code in one.seeds]
    yield finding(
        "allergen",
        (entry.name,),
        about=(entry.name, *dict.fromkeys([*lots, *products, *seeds])),
        text=f"{ALLERGEN}{listed(lots)} ({entry.name}, {entry.at}) holds {' and '.join(map(str, missing))}, and {why}",
        do=do.format(lots=listed(lots), finding=f"allergen:{entry.name}"),
        basis="; ".join(dict.fromkeys(one.limit.cited for one in missing)),
        span=entry.span,
        closers=(entry.name,),
        cause=_label(products, seeds) if products else None,
    )


def _label(products: Sequence[str], seeds: Sequence[str]) -> Cause:
    return Cause(
        ("undeclared", *products),
        f"{ALLERGEN}Packs of {listed(products)} hold what the product did not declare when they were packed.",
        "Put them on hold before any leaves, amend the product's record (its `allergens`), print the labels anew, and"
        " call back what has left.",
        (*products, *seeds),
    )


_MEND = (
    "Put {lots} on hold before any of it leaves, amend the product's record (its `allergens`), print the labels anew,"
    " and call back what has left."
)
_MENDED = (
    "Put {lots} on hold until each bag has a new label, and call back what has left. Then say in a closed corrective"
    " action about {finding} what became of the bags; if they did say it, who looked at one."
)


def _why(case: Case, missing: Sequence[Carried], known: Sequence[Declared], then: Sequence[Declared]) -> str:
    """Say, as a part of a sentence to its end, why these allergens are not declared."""
    products = named(case.entry, "product")
    it = "it" if len(missing) == 1 else "them"
    if not products:
        return f"no product of it is named that would declare {it}."
    past = any(_declares(known[-1], one.limit) for one in missing)
    shown = next(one for one in then if not all(_declares(one, each.limit) for each in missing)) if past else known[-1]
    if declares_nothing(shown.said):
        what = f"{'declared' if past else 'declares'} no allergen"
    else:
        what = f"{'did' if past else 'does'} not declare {it} ({shown.said})"
    return f"its product {listed(products)} {what}{' when it was packed' if past else ''}."


def _declares(one: Declared, limit: Limit) -> bool:
    return names_one_of(_words(one.said), _listed(limit)) or _named(one.name, one.said, limit)


def declares_nothing(said: str) -> bool:
    """Return whether what stands as a product's allergens declares none: it is empty, or begins with a denial."""
    return not _words(said)


def _carried(rules: RuleSet, seeds: dict[str, str]) -> Iterator[Carried]:
    for name, limit in allergen_list(rules).limits.items():
        those = tuple((crop, code) for code, crop in seeds.items() if names_one_of(_plain(crop), _listed(limit)))
        if those:
            yield Carried(name, limit, those)


def _named(name: str, said: str, limit: Limit) -> bool:
    """Return whether the product's own name tells of an allergen plainly, and nothing beside it denies that.

    Regulation (EU) No 1169/2011, article 21(1), asks for no more then (from memory). `edamame` does not plainly tell of
    soy: only words that hold the first of the list do.
    """
    plainest, *_ = words = _listed(limit)
    return not said.strip() and names_one_of(_plain(name), [word for word in words if plainest in word])


def _listed(limit: Limit) -> Sequence[str]:
    return [_plain(str(word)) for word in limit.value] if isinstance(limit.value, tuple) else []


def _words(said: str) -> str:
    """Return the words that declare something, plain: those before the first that denies."""
    words = _FREE.sub("", _plain(said))
    denied = _DENIES.search(words)
    return (words[: denied.start()] if denied else words).strip()


@lru_cache(1024)
def _plain(text: str) -> str:
    """Return words in small letters and in the singular, with single spaces between."""
    words = "".join(letter if letter.isalnum() else " " for letter in text.casefold()).split()
    return " ".join(word.removesuffix("s") if len(word) > 3 else word for word in words)
