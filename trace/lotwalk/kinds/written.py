"""What Python programs hand over, turned into what a person would have written on a sheet."""

from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal
from pathlib import PurePath

from lotwalk.errors import NotUnderstood
from lotwalk.values.text import Fields, Listing, Written

_WRITTEN = (str, Fields, Listing)


def as_written(value: object) -> Written:
    """Return `True` as `yes`, numbers and dates as text, tuples as lists, and what is written already as it is.

    Raises NotUnderstood for a value of a type that has no written form.
    """
    if isinstance(value, _WRITTEN):
        return value
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | PurePath):
        return str(value)
    if isinstance(value, Decimal | float):
        return _number(value)
    if isinstance(value, datetime):
        return _moment(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, list | tuple):
        return [as_written(item) for item in value]
    if isinstance(value, Mapping):
        return {str(name): as_written(item) for name, item in value.items() if item is not None}
    raise NotUnderstood(
        f"a {type(value).__name__} cannot be written down", "text, a number, True or False, a date, a list or a mapping"
    )


def _number(value: Decimal | float) -> str:
    number = Decimal(repr(value)) if isinstance(value, float) else value
    # Infinity and "not a number" have no written form; their names are refused where a number is read.
    return format(number, "f") if number.is_finite() else str(number)


def _moment(value: datetime) -> str:
    # Seconds are kept if there are any, so that they are refused and not lost.
    exact = value.second or value.microsecond
    return value.isoformat(sep=" ", timespec="auto" if exact else "minutes")
