"""What a laboratory's words say of a germ that must not be there: found, not found, or not clear.

Reports are written in a hundred ways, so nothing is guessed to be clean: only words known to deny count as `not found`,
one word that affirms outweighs any number of denials ("Salmonella: not detected; STEC: detected"), and whatever is left
is `unclear`. The words are those of laboratory reports in English; common practice, no source.

A count below its limit is no negative for a germ that a test for presence looks for: a plate that counts from 10 CFU/g
on says nothing of the one germ in 25 g. Such a result is `not shown`.
"""

import re
from decimal import Decimal
from typing import Literal

Outcome = Literal["found", "not found", "not shown", "unclear"]

NOT_SHOWN = "is below what the method can count, which does not show that 25 g held none"
"""What is to be said after the words of a result that is `not shown`."""

_PRESENCE = Decimal(25)
"""Grams, or mL, in which a test for presence looks: Regulation (EC) No 2073/2005, not detected in 25 g."""

# Words that speak of the method.
_METHOD = re.compile(
    r"\b(?:positive|negative) controls?\b|(?<!below )(?<!below the )\b(?:detection limit|limit of detection)\b"
)
_OPEN = re.compile(
    r"\b(?:inconclusive|indeterminate|invalid|void|pending|awaited|awaiting|to follow"
    r"|not (?:yet )?(?:tested|analy[sz]ed|reported|examined|known)|no (?:result|sample)s?|not (?:a )?negative"
    r"|non-negative|unknown|see (?:report|attached))\b"
)
_FAILS = re.compile(
    r"\b(?:fail(?:s|ed|ure)?|unsatisfactory|unacceptable|non-?complian(?:t|ce)|non-?conform(?:ing|ant|ity)"
    r"|(?:does|do|did) not (?:comply|conform|meet|pass)|not (?:compliant|acceptable|satisfactory|within)"
    r"|exceed(?:s|ed|ing)?|above (?:the )?(?:limit|specification)|out of (?:spec\w*|limits?))\b"
)
_DENIES = re.compile(
    r"\b(?:(?:not|none|nothing|never|un) ?(?:was |were |been )?(?:detected|detectable|found|present|isolated|recovered"
    r"|observed)|(?:was|were|is|are)(?: not|n't) (?:detected|detectable|found|present|isolated|recovered)"
    r"|(?:has|have) not been (?:detected|found|isolated)|did not (?:detect|find|grow)|non[- ]?detect(?:ed|able)?"
    r"|no (?:[\w.:/]+ ){0,4}?(?:detected|detectable|detection|found|present|isolated|recovered|growth|presence)"
    r"|absent|absence|negative|neg|n\.?d\.?|b\.?d\.?l"
    r"|(?:below|under) (?:the )?(?:limit of )?detection(?: limit)?|nil|none"
    r"|(?:free|free from) of|0 ?(?:/|of|out of) ?\d+(?: positive| pos)?)(?![\w-])"
    r"|<\s*lod\b"
)
_UNCOUNTED = re.compile(
    r"\b(?:below|under) (?:the )?(?:limit of )?quantification(?: limit)?\b|<\s*loq\b|\bb\.?l\.?o\.?q\b"
)
_AFFIRMS = re.compile(
    r"\b(?:(?:presumptive(?:ly)? )?positive|pos|presumptive|suspect(?:ed)?|detected|detection|found|present|presence"
    r"|isolated|recovered|tntc|too numerous to count|confluent|[1-9]\d* ?(?:/|of|out of) ?\d+ ?(?:positive|pos)?)"
    r"(?![\w-])"
)
_ACCEPTS = re.compile(
    r"\b(?:pass(?:es|ed)?|compliance|compliant|complies|conform(?:s|ing|ity)?|meets?|satisfactory|acceptable|clean"
    r"|within (?:the )?(?:limits?|spec\w*))\b"
)
# A number counts germs where it has their unit; "25" in "in 25 g" is how much was looked at.
_COUNT = re.compile(
    r"(?P<sign>[<>≤≥]=?)?\s*(?P<number>\d[\d,]*(?:\.\d+)?)\s*(?:[x*] ?10\^?(?P<power>\d{1,3})\d* ?)?"
    r"(?:cfu|mpn|colon(?:y|ies)|pfu)\b(?:\s*(?:/|\bper\b|\bin\b)\s*(?P<size>\d+(?:\.\d+)?)?\s*(?P<unit>g|ml)\b)?"
)
_CLAUSE = re.compile(r"[;()\n]|,(?!\d)|\band\b")
_GERM = re.compile(
    r"\b(?:pathogens?|salmonella\w*|listeria|l\. ?mono\w*|s?tec|vtec|ehec|o ?157\S*|shiga\w*|shigella|e\.? ?coli"
    r"|norovirus|hepatitis|campylobacter|yersinia|cyclospora|cryptosporidium|staph\w*|bacillus cereus)\b"
)
_BY_PRESENCE = re.compile(
    r"\b(?:pathogens?|salmonella\w*|listeria|l\. ?mono\w*|s?tec|vtec|ehec|o ?157\S*|shiga\w*|shigella|norovirus"
    r"|hepatitis|campylobacter|yersinia|cyclospora|cryptosporidium)\b"
)
"""Those of them that are looked for and not counted. The others have limits, or tell of dirt by their number."""


def outcome(result: str, test: str = "") -> Outcome:
    """Return what a result says of the germs that `test` names: `found`, `not found`, `not shown` or `unclear`.

    A bare count speaks only of a germ when the test or the result names one. A count below its limit (`<10 CFU/g`) is
    `not found` for a germ that is counted, and `not shown` for one that is looked for, unless it says that 25 g held
    none. An empty result is `unclear`.
    """
    words = _METHOD.sub("method", " ".join(result.casefold().replace("’", "'").split()))
    if not words:
        return "unclear"
    rest, denied = _DENIES.subn(" ; denied ; ", words)
    if _FAILS.search(words) or _AFFIRMS.search(rest):
        return "unclear" if _OPEN.search(words) and not _AFFIRMS.search(_OPEN.sub(" ", rest)) else "found"
    if _OPEN.search(words):
        return "unclear"
    counted = _counted(rest, test)
    if counted:
        return "found" if "more" in counted else "not shown" if "below" in counted else "not found"
    return "not found" if denied or _UNCOUNTED.search(words) or _ACCEPTS.search(words) else "unclear"


def names_a_germ(test: str) -> bool:
    """Return whether a test, in words, is for a germ that must not be there."""
    return bool(_GERM.search(test.casefold()))


def _counted(words: str, test: str) -> set[str]:
    """What the counts of germs among the words say: `more` than none, `none`, or `below` what can be counted.

    A count belongs to the germ in its own clause; one that stands alone, to the germ that the test is for.
    """
    clauses = [clause for clause in _CLAUSE.split(words) if clause.strip(" .:")]
    said: set[str] = set()
    for clause in clauses:
        of = clause if names_a_germ(clause) else test if len(clauses) == 1 else ""
        if not names_a_germ(of):
            continue
        looked_for = _BY_PRESENCE.search(of.casefold()) is not None
        if _UNCOUNTED.search(clause):
            said.add("below" if looked_for else "none")
        for one in _COUNT.finditer(clause):
            number = Decimal(one["number"].replace(",", "")) * 10 ** int(one["power"] or 0)
            sign = (one["sign"] or "")[:1]
            if sign not in ("<", "≤") and (sign or number):
                said.add("more")
            else:
                said.add("below" if looked_for and not _none_in_enough(one, number) else "none")
    return said


def _none_in_enough(count: re.Match[str], number: Decimal) -> bool:
    """Return whether a count below `number` says that as much as a test for presence looks at held none."""
    return bool(count["unit"]) and Decimal(count["size"] or 1) / (number or 1) >= _PRESENCE
