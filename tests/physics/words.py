"""How times and lists are written."""

from datetime import datetime, timedelta
from typing import Any

Entry = dict[str, Any]
FIRST_DAY = datetime(2026, 3, 2)


def moment(minute: int) -> datetime:
    """Return the time of a minute since midnight before the first day, as the farm's clock shows it."""
    return FIRST_DAY + timedelta(minutes=minute)


def at(minute: int, how: str = "minute", days: int = 0) -> str:
    """Return a time as it is written: to the minute, as a half day, or as a date; `days` make it a span."""
    time = moment(minute)
    day = f"{time:%Y-%m-%d}"
    if days:
        return f"{day}..{time + timedelta(days=days):%Y-%m-%d}"
    if how == "minute":
        return f"{time:%Y-%m-%d %H:%M}"
    return f"{day} {'am' if time.hour < 12 else 'pm'}" if how == "half" else day


def listed(*codes: str) -> list[str]:
    """Return the codes of what there is."""
    return [code for code in codes if code]


def tools(codes: list[str], silent: bool) -> Entry:
    """Return the equipment of an act in the hall; what is usual there is left out, where it is written silently."""
    named = [code for code in codes if code]
    if silent:
        return {"place": "HALL", "equipment": named}
    return {"equipment": named or "none"}
