"""What a laboratory's words say of a germ that must not be there: found, not found, or not clear.

Reports are written in a hundred ways, so nothing is guessed to be clean: only words known to deny count as `not found`,
one word that affirms outweighs any number of denials ("Salmonella: not detected; STEC: detected"), and whatever is left
is `unclear`. The words are those of laboratory reports in English; common practice, no source.
"""

import re
from typing import Literal

Outcome = Literal["found", "not found", "unclear"]

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
    r"|(?:below|under) (?:the )?(?:limit of )?(?:detection|quantification)(?: limit)?|nil|none"
    r"|(?:free|free from) of|0 ?(?:/|of|out of) ?\d+(?: positive| pos)?)(?![\w-])"
    r"|<\s*(?:lod|loq)\b"
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
    r"(?P<sign>[<>≤≥]=?)?\s*(?P<number>\d[\d,]*(?:\.\d+)?)\s*(?:[x*] ?10\^?\d+ ?)?(?:cfu|mpn|colon(?:y|ies)|pfu)\b"
)
_CLAUSE = re.compile(r"[;()\n]|,(?!\d)|\band\b")
_GERM = re.compile(
    r"\b(?:pathogens?|salmonella\w*|listeria|l\. ?mono\w*|s?tec|vtec|ehec|o ?157\S*|shiga\w*|shigella|e\.? ?coli"
    r"|norovirus|hepatitis|campylobacter|yersinia|cyclospora|cryptosporidium|staph\w*|bacillus cereus)\b"
)


def outcome(result: str, test: str = "") -> Outcome:
    """Return what a result says of the germs that `test` names: `found`, `not found`, or `unclear`.

    A bare count speaks only of a germ when the test or the result names one; an amount below a limit of detection
    (`<10 CFU/g`) is `not found`. An empty result is `unclear`.
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
        return "found" if "more" in counted else "not found"
    return "not found" if denied or _ACCEPTS.search(words) else "unclear"


def names_a_germ(test: str) -> bool:
    """Return whether a test, in words, is for a germ that must not be there."""
    return bool(_GERM.search(test.casefold()))


def _counted(words: str, test: str) -> set[str]:
    """What the counts of germs among the words say: `more` than none, or `none`.

    A count belongs to the germ in its own clause; one that stands alone, to the germ that the test is for.
    """
    clauses = [clause for clause in _CLAUSE.split(words) if clause.strip(" .:")]
    said: set[str] = set()
    for clause in clauses:
        if not names_a_germ(clause) and not (len(clauses) == 1 and names_a_germ(test)):
            continue
        for one in _COUNT.finditer(clause):
            sign = (one["sign"] or "")[:1]
            below = sign in ("<", "≤") or (not sign and float(one["number"].replace(",", "")) == 0)
            said.add("none" if below else "more")
    return said
