"""A laboratory's result for bacteria in water, read as it was written on the report."""

import re
from dataclasses import dataclass
from decimal import Decimal

from lotwalk.errors import NotUnderstood

_EXPECTED = "the laboratory's words with the volume, such as `<1 MPN/100 mL` or `not detected in 100 mL`"
_ABSENT = r"(?:not|none)\s+detected|non[- ]?detect(?:ed)?|n\.?\s?d\.?|absent|absence|negative|neg|no\s+growth|none"
_PRESENT = r"detected|present|presence|positive|pos|tntc|too\s+numerous\s+to\s+count|confluent(?:\s+growth)?"
_NUMBER = r"\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+(?:\.\d+)?|\.\d+"
_UNIT = r"mpn|cfu|colon(?:y|ies)|organisms?|bacteria"
_VOLUME = rf"(?P<size>{_NUMBER})?\s*(?P<measure>ml|millilit(?:re|er)s?|l|lit(?:re|er)s?)\b\.?"
_PER = rf"(?:\s*[,:]?\s*(?:/|per|in|\()\s*{_VOLUME}\s*\)?)?"

_NAME = r"(?:e\.?\s*coli\s*:?\s*)?"
_WORDS = re.compile(rf"{_NAME}(?:(?P<absent>{_ABSENT})|(?P<present>{_PRESENT})){_PER}")
_POWER = r"(?:\s*[x×*]\s*10\s*(?:\^|\*\*)\s*(?P<power>\d)|e\+?0?(?P<exponent>\d))?"
_ABOUT = r"(?:(?:~|about|approx\.?|est\.?|estimated)\s*)?"
_ESTIMATED = r"(?:\s*\(?(?:est\.?|estimated|e\.?\s*coli)\)?)?"
_COUNT = re.compile(
    rf"{_NAME}{_ABOUT}(?P<sign><|>=|>|≥)?\s*(?P<count>{_NUMBER}){_POWER}\s*\(?(?:{_UNIT})?{_PER}\)?{_ESTIMATED}"
)


@dataclass(frozen=True, slots=True)
class LabResult:
    """What a laboratory found.

    `below` is the count that a result such as `<1` stays under, else None. `volume` is the volume that the
    result is stated for in mL, or None where the report names none. `count` is what was counted in it (of a result
    such as `>200`, at least that), None where nothing was, or only a word stands.
    """

    written: str
    detected: bool
    below: Decimal | None
    volume: Decimal | None
    count: Decimal | None = None

    def examined(self, one_is: Decimal = Decimal(1)) -> Decimal | None:
        """Return the volume in mL in which none was found, or None when that cannot be told.

        `<1 per 100 mL` and `<0.01 per mL` both say that 100 mL held none; `<10 per 100 mL` says it of 10 mL
        only. `one_is` is the highest limit that a laboratory writes when it means that not one was found in
        the volume stated.
        """
        if self.detected or self.volume is None:
            return None
        if self.below is None or 1 <= self.below <= one_is:
            return self.volume
        return self.volume / self.below


def read_result(text: str) -> LabResult:
    """Return what the laboratory's words say about one kind of bacteria.

    Raises NotUnderstood for words it does not know, so that nothing is ever guessed to be clean.
    """
    plain = " ".join(text.casefold().split())
    words = _WORDS.fullmatch(plain)
    if words:
        return LabResult(text, words["absent"] is None, None, _millilitres(words))
    count = _COUNT.fullmatch(plain)
    if not count:
        raise NotUnderstood(f"the result {text!r} cannot be read", _EXPECTED)
    number = Decimal(count["count"].replace(",", "")) * 10 ** int(count["power"] or count["exponent"] or 0)
    volume = _millilitres(count)
    if count["sign"] == "<":
        if number == 0:
            raise NotUnderstood(f"the result {text!r} is below nothing", _EXPECTED)
        return LabResult(text, False, number, volume)
    detected = bool(number) or count["sign"] is not None
    return LabResult(text, detected, None, volume, number if detected else None)


def _millilitres(found: re.Match[str]) -> Decimal | None:
    if found["measure"] is None:
        return None
    size = Decimal((found["size"] or "1").replace(",", ""))
    litres = not found["measure"].startswith("m")
    return size * 1000 if litres else size
