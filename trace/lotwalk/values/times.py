"""Times as people write them: a minute, a span, half a day, a date."""

import difflib
import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, timezone
from functools import lru_cache
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from lotwalk.errors import NotUnderstood

FORMS = "2026-03-02 09:10, 2026-03-02 09:00..10:30, 2026-03-02 am, 2026-03-02 or 2026-03-02..2026-03-05"
"""The forms in which a time can be written, for messages."""

_DATE = re.compile(r"(\d{4})-(\d{2})-(\d{2})", re.ASCII)
_HALF = re.compile(r"(\d{4}-\d{2}-\d{2})\s+(am|pm)", re.ASCII | re.IGNORECASE)
_MINUTE = re.compile(
    r"(?:(?P<date>\d{4}-\d{2}-\d{2})(?:\s+|T))?(?P<hour>\d{2}):(?P<minute>\d{2})\s*(?P<offset>Z|[+-]\d{2}:\d{2})?",
    re.ASCII,
)
_SECONDS = re.compile(r"\d{1,2}:\d{2}:\d{2}", re.ASCII)
_TWELVE_HOURS = re.compile(r"\d\s*[ap]\.?m\.?$", re.ASCII | re.IGNORECASE)
_SHORT_HOUR = re.compile(r"(?:^|[\sT])(\d:\d{2})", re.ASCII)

_MORNING = (time(0, 0, 0), time(11, 59, 59))
_AFTERNOON = (time(12, 0, 0), time(23, 59, 59))
_DAY = (time(0, 0, 0), time(23, 59, 59))

DAY = 86_400
"""Seconds in a day of 24 hours."""
SHELF_LIFE = 14 * DAY
"""Seconds that things keep, where neither product nor rule set says. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class When:
    """A time as written and as read: its first and its last second (since 1970, UTC), both included.

    `precision` is minute, span, half or date. A span means some time within.
    """

    written: str
    start: int
    end: int
    precision: str


@dataclass(frozen=True, slots=True)
class _Minute:
    """A minute read, before a zone is applied: `offset` is what was written, or None."""

    day: date
    clock: time
    offset: timedelta | None


@lru_cache(maxsize=8192)
def read_when(text: str, zone: ZoneInfo) -> When:
    """Return the time that `text` says, in the farm's zone unless it carries an offset of its own.

    Raises NotUnderstood on anything else, on seconds, on a span that ends before it starts, and on a minute
    that the clock change skips or repeats and that has no offset.
    """
    written = str(text).strip()
    first, dots, last = written.partition("..")
    if dots:
        start, end = _span(first.strip(), last.strip(), zone, written)
        return When(written, start, end, "span")
    if found := _HALF.fullmatch(written):
        clocks = _MORNING if found[2].lower() == "am" else _AFTERNOON
        return When(written, *_part_of_day(_day(found[1]), clocks, zone), "half")
    if _DATE.fullmatch(written):
        return When(written, *_part_of_day(_day(written), _DAY, zone), "date")
    start = _instant(_minute(written, None), zone)
    return When(written, start, start + 59, "minute")


def read_date(text: str) -> str:
    """Return an ISO date (`2026-03-02`), checked against the calendar. Raises NotUnderstood."""
    return _day(str(text).strip()).isoformat()


def show_when(start: int, end: int, zone: ZoneInfo) -> str:
    """Return a time in that zone, in the shortest form that `read_when` reads as the same minutes."""
    first, last = datetime.fromtimestamp(start, zone), datetime.fromtimestamp(end, zone)
    day, until = first.date(), last.date()
    if day == until:
        for clocks, shown in ((_DAY, ""), (_MORNING, " am"), (_AFTERNOON, " pm")):
            if (start, end) == _bounds(day, clocks, zone):
                return f"{day}{shown}"
    elif start == _bounds(day, _DAY, zone)[0] and end == _bounds(until, _DAY, zone)[1]:
        return f"{day}..{until}"
    return _show_minutes(first, last, zone)


def zone(name: str) -> ZoneInfo:
    """Return the time zone of that name, such as Europe/London. Raises NotUnderstood."""
    try:
        # The machine's own time is no name that another machine would understand.
        if name.casefold() != "localtime":
            return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        pass
    names = {known.casefold(): known for known in available_timezones()}
    near = difflib.get_close_matches(name.casefold(), names, n=3, cutoff=0.7)
    hint = f"; did you mean {' or '.join(names[match] for match in near)}?" if near else ""
    raise NotUnderstood(f"there is no time zone `{name}`", f"a name such as Europe/London or America/New_York{hint}")


def _span(first: str, last: str, zone: ZoneInfo, written: str) -> tuple[int, int]:
    """Return the first and last second of a span of minutes or of dates."""
    if _DATE.fullmatch(first) and _DATE.fullmatch(last):
        start = _part_of_day(_day(first), _DAY, zone)[0]
        end = _part_of_day(_day(last), _DAY, zone)[1]
    elif _DATE.fullmatch(first) or _DATE.fullmatch(last):
        raise NotUnderstood(
            f"the span `{written}` has a date at one end and a minute at the other",
            "two minutes or two dates, as in 2026-03-02 09:00..10:30 or 2026-03-02..2026-03-05",
        )
    else:
        opening = _minute(first, None)
        closing = _minute(last, opening)
        if (opening.offset is None) != (closing.offset is None):
            raise NotUnderstood(f"the span `{written}` has an offset at one end only", "an offset at both ends or none")
        start, end = _instant(opening, zone), _instant(closing, zone) + 59
    if end < start:
        raise NotUnderstood(
            f"the span `{written}` ends before it starts",
            "the earlier time first; over midnight both dates, as in 2026-03-02 22:00..2026-03-03 01:00",
        )
    return start, end


def _minute(text: str, opening: _Minute | None) -> _Minute:
    """Return a minute. The end of a span may leave out the date, and with it the offset, of its opening."""
    found = _MINUTE.fullmatch(text)
    if not found or (found["date"] is None and opening is None):
        raise _why_not(text)
    hour, minute = int(found["hour"]), int(found["minute"])
    if hour > 23 or minute > 59:
        raise NotUnderstood(f"there is no time {hour:02}:{minute:02}", "a time from 00:00 to 23:59")
    offset = _offset(found["offset"])
    if found["date"] is None and opening is not None:
        return _Minute(opening.day, time(hour, minute), opening.offset if offset is None else offset)
    return _Minute(_day(found["date"]), time(hour, minute), offset)


def _offset(text: str | None) -> timedelta | None:
    if text is None:
        return None
    if text == "Z":
        return timedelta(0)
    hours, minutes = int(text[1:3]), int(text[4:6])
    # The world's clocks lie between -12:00 and +14:00.
    if minutes > 59 or hours * 60 + minutes > 14 * 60:
        raise NotUnderstood(f"there is no offset {text}", "an offset such as +01:00, -05:00 or Z")
    size = timedelta(hours=hours, minutes=minutes)
    return -size if text[0] == "-" else size


def _day(text: str) -> date:
    found = _DATE.fullmatch(text)
    if not found:
        raise NotUnderstood(f"`{text}` is not a date", "year, month and day, as in 2026-03-02")
    if not 1900 <= int(found[1]) <= 2199:
        raise NotUnderstood(f"the year {found[1]} is out of reach", "a year from 1900 to 2199")
    try:
        return date(int(found[1]), int(found[2]), int(found[3]))
    except ValueError:
        raise NotUnderstood(f"there is no day {text}", "a day of the calendar, year, month and day") from None


def _instant(minute: _Minute, zone: ZoneInfo) -> int:
    """Return the first second of a minute, refusing one that the zone's clocks skip or show twice."""
    if minute.offset is not None:
        return int(datetime.combine(minute.day, minute.clock, timezone(minute.offset)).timestamp())
    local = datetime.combine(minute.day, minute.clock, zone)
    again = local.replace(fold=1)
    if local.utcoffset() == again.utcoffset():
        return int(local.timestamp())
    shown = f"{minute.day} {minute.clock:%H:%M}"
    both = f"`{shown}{_show_offset(local)}` (old clock) or `{shown}{_show_offset(again)}` (new clock)"
    if local.astimezone(UTC).astimezone(zone).time() == minute.clock:
        raise NotUnderstood(f"{shown} came twice in {zone.key}: the clocks went back", both)
    raise NotUnderstood(f"{shown} did not come in {zone.key}: the clocks went forward", both)


def _part_of_day(day: date, clocks: tuple[time, time], zone: ZoneInfo) -> tuple[int, int]:
    start, end = _bounds(day, clocks, zone)
    if end < start or datetime.fromtimestamp(start, zone).date() != day:
        raise NotUnderstood(f"{day} did not come in {zone.key}: the calendar skipped it", "another day")
    return start, end


def _bounds(day: date, clocks: tuple[time, time], zone: ZoneInfo) -> tuple[int, int]:
    """Return the first and last second between two clock times; a repeated hour counts both times."""
    first = datetime.combine(day, clocks[0], zone)
    last = datetime.combine(day, clocks[1], zone).replace(fold=1)
    return int(first.timestamp()), int(last.timestamp())


def _show_minutes(first: datetime, last: datetime, zone: ZoneInfo) -> str:
    start, end = (f"{moment:%Y-%m-%d %H:%M}" for moment in (first, last))
    if _doubtful(first) or _doubtful(last):
        start, end = start + _show_offset(first), end + _show_offset(last)
    elif first.date() == last.date() and start != end:
        return f"{start}..{last:%H:%M}"
    return start if start == end else f"{start}..{end}"


def _doubtful(moment: datetime) -> bool:
    return moment.replace(fold=0).utcoffset() != moment.replace(fold=1).utcoffset()


def _show_offset(moment: datetime) -> str:
    text = f"{moment:%z}"
    return f"{text[:3]}:{text[3:5]}"


def _why_not(text: str) -> NotUnderstood:
    """Return what to say about a text that is no time, naming the slip where it is a common one."""
    if _SECONDS.search(text):
        return NotUnderstood(f"`{text}` has seconds", "a time to the minute, as in 2026-03-02 09:10")
    if ":" in text and _TWELVE_HOURS.search(text):
        return NotUnderstood(f"`{text}` counts twelve hours", "the clock of 24 hours, as in 2026-03-02 21:10")
    if found := _SHORT_HOUR.search(text):
        return NotUnderstood(f"`{text}` has an hour of one digit", f"two digits, as in 0{found[1]}; 24 hours a day")
    return NotUnderstood(f"`{text}` is not a time", f"one of {FORMS}" if text else "a time after and before `..`")
