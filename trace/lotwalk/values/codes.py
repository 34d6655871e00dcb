"""Codes of things, and the lists and ranges in which people name many of them at once."""

import re
from unicodedata import normalize

from lotwalk.errors import NotUnderstood

LONGEST_CODE = 64
"""A code has at most this many characters."""

MOST_CODES = 100_000
"""One text names at most this many codes; a slip of the finger in a range must not fill the memory."""

# Single, double and angled quotes of the scripts a keyboard may produce, and the backtick.
_RESERVED = re.compile(r"[,;=\"'`´‘’‚‛“”„‟‹›«»]|\.\.")
_ENTRY = re.compile(r"[Ee]([0-9]{1,18})")
# Any script's digits: a code that merely looks like an entry's name would be read as one by people.
_LIKE_ENTRY = re.compile(r"[Ee]\d+")
_NUMBERS = re.compile(r"([0-9]+)")


def check_code(text: str) -> str:
    """Return the code in Unicode's composed form (NFC).

    A code has 1 to 64 printable characters without spaces, commas, semicolons, `=`, quotes or `..`. It does
    not start with `-`, and is neither `none` nor `E` with digits, which is how entries are named.

    Raises NotUnderstood, saying which of these it breaks.
    """
    code = normalize("NFC", str(text))
    if not code:
        raise NotUnderstood("an empty code", "a code such as M-001")
    if len(code) > LONGEST_CODE:
        raise NotUnderstood(
            f"the code `{code[:20]}...` has {len(code)} characters", f"a code of at most {LONGEST_CODE} characters"
        )
    if not code.isprintable() or any(map(str.isspace, code)):
        raise NotUnderstood(
            f"the code {code!r} holds a space or a character that does not print",
            "a code without spaces such as M-001; several codes are parted by commas",
        )
    found = _RESERVED.search(code)
    if found:
        raise NotUnderstood(f"the code `{code}` holds `{found[0]}`", "a code of letters, digits, - and . such as M-001")
    if code.startswith("-"):
        raise NotUnderstood(f"the code `{code}` starts with `-`", "a code that starts with a letter or a digit")
    if code.casefold() == "none":
        raise NotUnderstood("`none` is kept for saying that nothing was used", "another code")
    if _LIKE_ENTRY.fullmatch(code):
        raise NotUnderstood(f"`{code}` is how an entry is named", "a thing's code, which is not E and digits alone")
    return code


def fold(code: str) -> str:
    """Return the form that codes of the same thing share, however their letters are cased or composed."""
    return normalize("NFC", code).casefold()


def entry_number(text: str) -> int | None:
    """Return 12 for `E12` or `e12`, and None for anything that does not name an entry."""
    found = _ENTRY.fullmatch(text)
    return (int(found[1]) or None) if found else None


def expand(text: str, *, entries: bool = False) -> list[str]:
    """Return the codes that a comma list with ranges names, in the order written.

    `M-001..M-003, M-030` names four codes. A range runs through one number, written with equally many digits
    at both ends. With `entries`, names of entries are let through as well, and `E8..E12` is a range.

    Raises NotUnderstood on a bad code or range, and on more than 100,000 codes.
    """
    codes: list[str] = []
    for part in text.split(","):
        first, dots, last = part.partition("..")
        first, last = first.strip(), last.strip()
        if not dots:
            codes.append(_name(first, entries))
        else:
            codes += _range(_name(first, entries), _name(last, entries), MOST_CODES - len(codes))
        if len(codes) > MOST_CODES:
            raise NotUnderstood(f"`{_cut(text)}` names more than {MOST_CODES} codes", "fewer codes")
    return codes


def _name(text: str, entries: bool) -> str:
    if not text:
        raise NotUnderstood("a code is missing before or after a comma or `..`", "a list such as M-001..M-024, M-030")
    if entries and entry_number(text) is not None:
        return text.upper()
    return check_code(text)


def _range(first: str, last: str, room: int) -> list[str]:
    shown = f"`{first}..{last}`"
    if fold(first) == fold(last):
        return [first]
    low, high = _NUMBERS.split(first), _NUMBERS.split(last)
    runs = [place for place, (a, b) in enumerate(zip(low, high, strict=False)) if fold(a) != fold(b)]
    # Splitting at the numbers leaves them at the odd places.
    if len(low) != len(high) or len(runs) != 1 or runs[0] % 2 == 0:
        raise NotUnderstood(
            f"the ends of {shown} differ in more than one number", "a range through one number, as in M-001..M-024"
        )
    place = runs[0]
    width = len(low[place])
    if len(high[place]) != width and entry_number(first) is None:
        raise NotUnderstood(
            f"the numbers in {shown} are not equally long",
            "equally many digits at both ends, as in M-001..M-024; name the shorter and the longer codes apart",
        )
    start, stop = int(low[place]), int(high[place])
    if stop < start:
        raise NotUnderstood(f"the range {shown} runs backwards", f"`{last}..{first}`")
    if stop - start >= room:
        raise NotUnderstood(f"the range {shown} names more than {MOST_CODES} codes", "a shorter range")
    before, after = "".join(low[:place]), "".join(low[place + 1 :])
    if entry_number(first) is not None:
        width = 1
    return [f"{before}{number:0{width}}{after}" for number in range(start, stop + 1)]


def _cut(text: str) -> str:
    return text if len(text) <= 40 else f"{text[:37]}..."
