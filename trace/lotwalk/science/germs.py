"""Which germs a laboratory's words name, which of them they say were found, and which only indicate.

An indicator tells that dirt came where it should not, and not that what makes people ill came with it: E. coli as such
and coliforms are looked for in its place (US FDA, Bacteriological Analytical Manual, chapter 4, read in a copy; the
strains that make people ill have a chapter of their own, 4A). That counts of all that grows, and of what is left after
a cleaning, only indicate too is common practice, no source. So is that Listeria of any species is taken as a germ.
"""

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from lotwalk.science.results import outcome


@dataclass(frozen=True, slots=True)
class Germ:
    """What a test looks for, by the name that people know; whether it only indicates."""

    name: str
    indicator: bool = False


_E_COLI = r"(?:escherichia|e\.?) ?coli"
_BAD_STRAIN = (
    r"(?:(?<!non)(?<!non-)pathogenic|shiga[- ]?toxi\w+(?:[- ]producing)?|shiga|vero(?:cyto)?tox\w+(?:[- ]producing)?"
    r"|entero(?:ha?emorrhagic|pathogenic|toxigenic|invasive|aggregative)|s?tec|vtec|ehec|epec|etec|stx\d?"
    r"|o ?157\S*)"
)
_BETWEEN = r"[ :,(/-]*"

_KNOWN: tuple[tuple[Germ, str], ...] = (
    (Germ("Salmonella"), r"salmonella\w*"),
    (Germ("Listeria monocytogenes"), r"(?:listeria|l\.?) ?mono\w*"),
    (Germ("Listeria"), r"listeria"),
    (
        Germ("E. coli that makes people ill (STEC and its like)"),
        rf"{_E_COLI}{_BETWEEN}(?:{_BAD_STRAIN}|o ?\d+\S*)|(?:{_BAD_STRAIN}{_BETWEEN})+(?:{_E_COLI})?",
    ),
    (Germ("Shigella"), r"shigella\w*"),
    (Germ("norovirus"), r"noro-?virus\w*"),
    (Germ("hepatitis A virus"), r"hepatitis(?: a)?(?: virus)?|hav"),
    (Germ("Campylobacter"), r"campylobacter\w*"),
    (Germ("Yersinia"), r"yersinia\w*"),
    (Germ("Cyclospora"), r"cyclospora\w*"),
    (Germ("Cryptosporidium"), r"cryptosporidi\w*"),
    (Germ("Staphylococcus aureus"), r"(?:staph\w*|s\.?)(?: aureus)|staph\w*"),
    (Germ("Bacillus cereus"), r"(?:bacillus|b\.?) cereus"),
    (Germ("Clostridium"), r"clostridi\w*"),
    (Germ("generic E. coli", indicator=True), rf"(?:generic |non-?pathogenic )?{_E_COLI}"),
    (
        Germ("coliforms", indicator=True),
        r"(?:(?:total|fa?ecal|thermotolerant) )*coli-?forms?(?: bacteria)?",
    ),
    (Germ("Enterobacteriaceae", indicator=True), r"enterobacteria\w*"),
    (Germ("enterococci", indicator=True), r"enterococc\w*"),
    (
        Germ("a count", indicator=True),
        r"(?:(?:total|aerobic|standard|heterotrophic|mesophilic|viable|colony|plate|bacterial|microbial) )+counts?"
        r"|apc|tpc|tvc|hpc|tbc|yeasts?(?: (?:and|&) mou?lds?)?|mou?lds?|atp|rlu",
    ),
)
"""Looked for in this order: what was found is taken out of the text before the next is looked for."""

_PATTERNS = [(germ, re.compile(rf"(?<![\w.])(?:{words})(?!\w)")) for germ, words in _KNOWN]
_CLAUSE = re.compile(r"[;()\n]|,(?!\d)|\band\b")
_LETTER = re.compile(r"[^\W_]")


def germs_in(text: str) -> tuple[Germ, ...]:
    """Return the germs that a text names, in the order of the list."""
    return _taken(_plain(text))[0]


def germs_found(result: str, test: str = "") -> tuple[Germ, ...]:
    """Return the germs of which a result says that they were found.

    A part of the result that says so and names none speaks of those that `test` names, save what another part denies.
    Where neither names one that is known, there are none.
    """
    found: list[Germ] = []
    denied: set[Germ] = set()
    unnamed = False
    for clause, germs in _clauses(result):
        says = outcome(clause, test)
        if says == "not found":
            denied.update(germs)
        elif says == "found":
            found += germs
            unnamed = unnamed or not germs
    if unnamed or not found:
        named = [germ for germ in germs_in(result) if germ not in denied]
        found += named or [germ for germ in germs_in(test) if germ not in denied]
    return tuple(dict.fromkeys(found))


def only_indicate(germs: Collection[Germ]) -> bool:
    """Return whether these germs, of which there is one at least, are all indicators."""
    return bool(germs) and all(germ.indicator for germ in germs)


def _clauses(result: str) -> Iterable[tuple[str, tuple[Germ, ...]]]:
    """The parts of a result, each with the germs that it speaks of.

    A part that only names germs goes with the next (`Salmonella, STEC: absent`), or with the one before where none
    follows (`detected: Salmonella, STEC`).
    """
    parts: list[tuple[str, tuple[Germ, ...]]] = []
    bare: tuple[Germ, ...] = ()
    for clause in _CLAUSE.split(_plain(result)):
        germs, rest = _taken(clause)
        if _LETTER.search(rest):
            parts.append((clause, (*bare, *germs)))
            bare = ()
        else:
            bare += germs
    if bare and parts:
        clause, germs = parts[-1]
        parts[-1] = clause, (*germs, *bare)
    return parts


def _plain(text: str) -> str:
    return " ".join(text.casefold().split())


def _taken(plain: str) -> tuple[tuple[Germ, ...], str]:
    """The germs that a text names, and the text without their names."""
    found = []
    for germ, pattern in _PATTERNS:
        plain, times = pattern.subn(" ", plain)
        if times:
            found.append(germ)
    return tuple(found), plain
