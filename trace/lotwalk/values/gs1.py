"""Article numbers and lots as the world's barcodes say them: GTINs, GS1 element strings and GS1 Digital Links.

GS1 General Specifications (check digits, application identifiers 01, 10 and 15, character set 82) and GS1 Digital Link:
URI Syntax. A number is never made up here: a farm has a company prefix from GS1, or it prints plain codes.
"""

import re
from dataclasses import dataclass
from urllib.parse import quote, unquote, urlsplit

from lotwalk.errors import NotUnderstood

RESOLVER = "https://id.gs1.org"
"""GS1's own address for Digital Links, for whoever has none of their own."""

LONGEST_LOT = 20
_LOT = re.compile(r"""[!"%&'()*+,\-./0-9:;<=>?A-Z_a-z]{1,20}""")
_ESCAPED = frozenset('"%&/<>?')
_GROUP = "\x1d"
_FIXED = {"01": 14, "02": 14, "11": 6, "12": 6, "13": 6, "15": 6, "16": 6, "17": 6}
"""Application identifiers whose values have a fixed length; any other runs to the next separator."""

_SYMBOLOGY = re.compile(r"\][A-Za-z][0-9]")
_BRACKETS = re.compile(r"\((\d{2,4})\)([^(]*)")


def check_digit(digits: str) -> str:
    """Return the check digit that completes a number: weights 3 and 1 by turns from the right, modulo 10."""
    total = sum(int(digit) * (1 if place % 2 else 3) for place, digit in enumerate(reversed(digits)))
    return str(-total % 10)


def gtin14(text: str) -> str:
    """Return an article number of 8, 12, 13 or 14 digits as one of 14. Raises NotUnderstood for a wrong one."""
    if not (text.isascii() and text.isdigit() and len(text) in (8, 12, 13, 14)):
        raise NotUnderstood(f"`{text}` is no GTIN", "8, 12, 13 or 14 digits")
    right = check_digit(text[:-1])
    if text[-1] != right:
        raise NotUnderstood(f"the last digit of the GTIN {text} is wrong", f"{right}, if the others are right")
    return text.rjust(14, "0")


def has_prefix(gtin: str, prefix: str) -> bool:
    """Return whether an article number of 14 digits was given out under a company prefix.

    It starts after the indicator; a number of 8 digits has no company prefix in it.
    """
    return not gtin.startswith("000000") and gtin[1:].startswith(prefix)


@dataclass(frozen=True, slots=True)
class Article:
    """A lot of an article. `best_before` is a date such as 2026-03-17, or empty."""

    gtin: str
    lot: str
    best_before: str = ""

    def __post_init__(self) -> None:
        if not _LOT.fullmatch(self.lot):
            raise NotUnderstood(
                f"the lot code {self.lot} does not fit a GS1 code",
                f"at most {LONGEST_LOT} letters, digits and marks of ASCII",
            )

    def elements(self) -> str:
        """Return the element string with its identifiers in brackets, the lot last, since its length varies."""
        best = f"(15){self._day}" if self.best_before else ""
        return f"(01){self.gtin}{best}(10){self.lot}"

    def link(self, address: str = RESOLVER) -> str:
        """Return the Digital Link."""
        best = f"?15={self._day}" if self.best_before else ""
        return f"{address.rstrip('/')}/01/{self.gtin}/10/{quote(self.lot, safe='')}{best}"

    def urn(self, prefix: str) -> str:
        """Return the lot as a class of EPC, `urn:epc:class:lgtin:...` (EPC Tag Data Standard), for a company prefix.

        The indicator stands before the item reference, and the check digit is left out.
        """
        item = self.gtin[0] + self.gtin[1 + len(prefix) : -1]
        lot = "".join(f"%{ord(sign):02X}" if sign in _ESCAPED else sign for sign in self.lot)
        return f"urn:epc:class:lgtin:{prefix}.{item}.{lot}"

    @property
    def _day(self) -> str:
        return self.best_before.replace("-", "")[2:8]


def scanned_lot(text: str) -> str | None:
    """Return the lot code in what a scanner read off a label, or None where it is no GS1 code with a lot.

    It reads Digital Links at any address, element strings with brackets, and plain ones as scanners hand them over.
    """
    text = _SYMBOLOGY.sub("", text.strip(), count=1) if text.startswith("]") else text.strip()
    if text.casefold().startswith(("https://", "http://")):
        return _linked(text)
    if text.startswith("("):
        found = _BRACKETS.findall(text)
        whole = "".join(f"({key}){value}" for key, value in found) == text
        return dict(found).get("10") if whole else None
    return _plain(text.lstrip(_GROUP))


def _linked(text: str) -> str | None:
    try:
        parts = urlsplit(text).path.split("/")
    except ValueError:
        return None
    for place in range(len(parts) - 3):
        if parts[place] == "01" and parts[place + 2] == "10" and _is_gtin(parts[place + 1]):
            return unquote(parts[place + 3]) or None
    return None


def _plain(text: str) -> str | None:
    if not (text.startswith("01") and _is_gtin(text[2:16])):
        return None
    lot = None
    while text:
        key, text = text[:2], text[2:]
        if key in _FIXED:
            text = text[_FIXED[key] :].removeprefix(_GROUP)
        else:
            value, _, text = text.partition(_GROUP)
            lot = value if key == "10" and lot is None else lot
    return lot or None


def _is_gtin(text: str) -> bool:
    try:
        return bool(gtin14(text))
    except NotUnderstood:
        return False
