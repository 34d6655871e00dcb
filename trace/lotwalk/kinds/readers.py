"""Reads the text of one field into a value. Each form of reading is one small function."""

import difflib
import re
from collections.abc import Callable, Mapping
from decimal import Decimal

from lotwalk.errors import NotUnderstood
from lotwalk.kinds.model import Field, Setting, Value
from lotwalk.values.codes import MOST_CODES, check_code, entry_number, expand, fold
from lotwalk.values.text import Written
from lotwalk.values.times import read_date, read_when
from lotwalk.values.unit_table import plain_decimal

_WHOLE = re.compile(r"[0-9]{1,12}")
_COUNTED = re.compile(r"[0-9]{1,12}(?:\s+[^\W\d_]+)?")
_NUMBER = re.compile(r"[+-]?[0-9]{1,12}(?:\.[0-9]{1,12})?")
_NUMBERS = re.compile(rf"({_NUMBER.pattern})\s*(?:-|–|\.\.|\bto\b)\s*({_NUMBER.pattern})")
_YES_NO = {"yes": True, "true": True, "y": True, "no": False, "false": False, "n": False}


def hint(field: Field) -> str:
    """Return what was expected, in the words of the kind file."""
    words = field.description or field.title
    return words[:1].lower() + words[1:]


def read_scalar(text: str, field: Field, setting: Setting) -> Value:
    """Return what one text was read as. Raises NotUnderstood, saying what was expected."""
    _check_text(text, field)
    return _READERS[field.read](text, field, setting)


def read_codes(written: Written, field: Field) -> list[str]:
    """Return the codes of a text or a list of texts, ranges run out; an empty list for `none` where that is allowed.

    Raises NotUnderstood, also when a code stands there twice.
    """
    texts = _texts(written, field)
    if field.takes_none and len(texts) == 1 and _is_none(texts[0]):
        return []
    entries = "entry" in field.things
    codes: list[str] = []
    for text in texts:
        codes += expand(text, entries=entries)
        if len(codes) > MOST_CODES:
            raise NotUnderstood(f"more than {MOST_CODES} codes", "fewer codes")
    _refuse_doubles(codes)
    return codes


def read_trays(written: Written, field: Field) -> int | list[str]:
    """Return a count for a whole number (`6`, `6 trays`), and codes for anything else."""
    if isinstance(written, str) and _COUNTED.fullmatch(written.strip()):
        return int(written.split()[0])
    return read_codes(written, field)


def read_words(written: Written, field: Field) -> list[str]:
    """Return several words, each one of the field's choices where it has any."""
    texts = _texts(written, field)
    parts = [part.strip() for text in texts for part in text.split(",")]
    if not all(parts):
        raise NotUnderstood("a word is missing before or after a comma", hint(field))
    return [_choose(part, field) for part in parts] if field.choices else parts


def read_files(written: Written, field: Field) -> list[str]:
    """Return names of files. A text is one name, commas and all."""
    return [str(text) for text in _texts(written, field)]


def _texts(written: Written, field: Field) -> list[str]:
    """Return the texts of a field that may be one text or a list, their length and number checked."""
    texts: list[str] = []
    if isinstance(written, list):
        fewest, most = field.many
        if len(written) < fewest or (most is not None and len(written) > most):
            raise NotUnderstood(f"{len(written)} in the list", f"{_bounds(fewest, most)}: {hint(field)}")
        for item in written:
            if not isinstance(item, str):
                raise NotUnderstood(f"{_noun(item)} stands inside the list", hint(field))
            _check_written(item, field)
            texts.append(item)
    elif isinstance(written, str):
        _check_text(written, field)
        texts.append(written)
    else:
        raise NotUnderstood("a mapping stands here", hint(field))
    return texts


def _noun(written: Written) -> str:
    return "a list" if isinstance(written, list) else "a mapping" if isinstance(written, dict) else "text"


def _bounds(fewest: int, most: int | None) -> str:
    return f"at least {fewest}" if most is None else f"{fewest} to {most}"


def _check_text(text: str, field: Field) -> None:
    """Raise NotUnderstood for a text that is too short, too long or not of the pattern asked for."""
    _check_written(text, field)
    shortest, longest = field.length
    if len(text) < shortest or (longest is not None and len(text) > longest):
        raise NotUnderstood(f"{len(text)} characters", f"{_bounds(shortest, longest)} characters: {hint(field)}")


def _check_written(text: str, field: Field) -> None:
    if not text.isascii():
        _check_storable(text)
    if "\x00" in text:
        raise NotUnderstood("the text holds a NUL character", "text without it")
    if field.pattern and not re.search(field.pattern, text):
        raise NotUnderstood(
            f"`{text}` is not of the form asked for" if text.strip() else "nothing is written", hint(field)
        )


def _check_storable(text: str) -> None:
    try:
        text.encode()
    except UnicodeEncodeError:
        raise NotUnderstood("the text holds half a character (a lone surrogate)", "whole characters") from None


def _is_none(text: str) -> bool:
    return text.strip().casefold() == "none"


def _refuse_doubles(codes: list[str]) -> None:
    seen: set[str] = set()
    for code in codes:
        folded = fold(code)
        if folded in seen:
            raise NotUnderstood(f"{code} is named twice", "each code once")
        seen.add(folded)


def _choose(text: str, field: Field) -> str:
    if text in field.choices:
        return str(text)
    wanted = " ".join(text.casefold().split())
    for choice in field.choices:
        if choice.casefold() == wanted:
            return choice
    close = difflib.get_close_matches(wanted, field.choices, 1)
    guess = f"{close[0]}, or another of" if close else "one of"
    raise NotUnderstood(f"`{text}` is not among the choices", f"{guess} {', '.join(field.choices)}")


def _text(text: str, field: Field, setting: Setting) -> Value:
    return _choose(text, field) if field.choices else str(text)


def _yes_no(text: str, field: Field, setting: Setting) -> Value:
    answer = _YES_NO.get(text.strip().casefold())
    if answer is None:
        raise NotUnderstood(f"`{text}` is neither yes nor no", "yes or no")
    return answer


def _date(text: str, field: Field, setting: Setting) -> Value:
    return read_date(text)


def _at(text: str, field: Field, setting: Setting) -> Value:
    return read_when(text, setting.zone)


def _code(text: str, field: Field, setting: Setting) -> Value:
    code = text.strip()
    if field.takes_none and _is_none(code):
        return []
    if "entry" in field.things and entry_number(code) is not None:
        return code.upper()
    if "," in code or ".." in code:
        raise NotUnderstood(f"`{code}` names more than one", f"one code: {hint(field)}")
    return check_code(code)


def _count(text: str, field: Field, setting: Setting) -> Value:
    number = text.strip()
    if _WHOLE.fullmatch(number):
        return int(number)
    amount = setting.units.read(number, ("count",))
    if amount.value != amount.value.to_integral_value():
        raise NotUnderstood(f"`{text}` is not a whole number", hint(field))
    return int(amount.value)


def _number(text: str, field: Field, setting: Setting) -> Value:
    return _decimal(text, field)


def _decimal(text: str, field: Field) -> Decimal:
    number = text.strip()
    if not _NUMBER.fullmatch(number):
        raise NotUnderstood(f"`{text}` is not a plain number", f"{hint(field)} (digits, and a point for fractions)")
    read = plain_decimal(Decimal(number))
    _check_bounds(read, text, field)
    return read


def _check_bounds(number: Decimal, text: str, field: Field) -> None:
    least, most = field.bounds
    if (least is not None and number < least) or (most is not None and number > most):
        bounds = " and ".join(
            f"{word} {bound}" for word, bound in (("at least", least), ("at most", most)) if bound is not None
        )
        raise NotUnderstood(f"`{text}` cannot be: {field.title} is {bounds}", hint(field))


def _numbers(text: str, field: Field, setting: Setting) -> Value:
    found = _NUMBERS.fullmatch(text.strip())
    low, high = (Decimal(found[1]), Decimal(found[2])) if found else (_decimal(text, field),) * 2
    if high < low:
        raise NotUnderstood(f"`{text}` runs backwards", f"the lower number first, as in {high}-{low}")
    for number in (low, high):
        _check_bounds(number, text, field)
    return plain_decimal(low), plain_decimal(high)


def _amount(text: str, field: Field, setting: Setting) -> Value:
    return setting.units.read(text, field.dimensions)


def _range(text: str, field: Field, setting: Setting) -> Value:
    return setting.units.read_range(text, field.dimensions)


_READERS: Mapping[str, Callable[[str, Field, Setting], Value]] = {
    "text": _text,
    "yes-no": _yes_no,
    "date": _date,
    "at": _at,
    "code": _code,
    "count": _count,
    "number": _number,
    "numbers": _numbers,
    "amount": _amount,
    "range": _range,
}
