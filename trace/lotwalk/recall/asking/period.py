"""The time that somebody asks about, from the days or moments that they say."""

from zoneinfo import ZoneInfo

from lotwalk.errors import NotUnderstood
from lotwalk.values.times import read_when
from lotwalk.walk.model import EVER


def period(zone: ZoneInfo, since: str | None, until: str | None, noun: str = "time") -> tuple[int, int]:
    """Return the first and the last second (epoch) of a period; where it is open, before or after all that there is.

    Raises NotUnderstood for what is no time, and where it ends before it begins. `noun` is what is said there.
    """
    start = read_when(since, zone).start if since else -EVER
    end = read_when(until, zone).end if until else EVER
    if end < start:
        raise NotUnderstood("--until is before --from", f"the earlier {noun} in --from")
    return start, end
