"""Which readings of a mix prove a load that has none of its own.

One before it and one after it, of the same working day and within the mix's life: a tub of the next morning, or a fresh
one under the old code, says nothing of what yesterday's items lay in.
"""

from collections.abc import Callable

from lotwalk.judge.acts import Act, Step
from lotwalk.judge.case import Case, ends
from lotwalk.judge.life import FRESH, life_of, old_strips, past_life
from lotwalk.judge.working_day import last_second, working_day
from lotwalk.ledger.entry import Entry
from lotwalk.mixing.limits import ppm
from lotwalk.values.times import show_when
from lotwalk.values.units import Amount

Reading = tuple[Amount, Amount]
_Side = tuple[str, list[Entry]]


def between(case: Case, solution: str, made: Entry, least: Amount, codes: list[str]) -> Reading | None:
    """Judge a load without a reading of its own by the readings of its mix before and after it.

    `made` is the entry that made the mix. Returns the weaker of the two that prove it; None where they do not.
    """
    readings = {
        entry.number: (entry, reading)
        for entry in case.evidence.telling("measured", solution)
        if entry.number != case.entry.number and (reading := ends(entry.values.get("reading")))
    }
    measured = [entry for entry, _ in readings.values()]
    earlier = [entry for entry in measured if _precedes(case, entry, made)]
    later = [entry for entry in measured if case.entry.surely_before(entry)]
    before, after = _nearest(earlier, forward=False), _nearest(later, forward=True)
    around = [entry for entry in measured if entry not in earlier and entry not in later]
    weak = [entry for entry in [*before, *around, *after] if not _good(case, *readings[entry.number], least)]
    if weak:
        case.rests_on(*weak)
        text = f"No reading of this load, and {_weakness(*readings[weak[0].number], least)}"
        case.fails(text, Act(Step.FRESH, f"{FRESH}, read it", True), codes)
        return None
    if past_life(case, made):
        # That has failed the load, and no reading could mend it.
        return None
    useless = _useless(case, solution, made)
    proofs = [[entry for entry in side if not useless(entry)] for side in (before, after)]
    if not all(proofs):
        case.rests_on(*before[:1], *after[:1])
        lacking = ("before", before) if not proofs[0] else ("after", after)
        text = f"No reading of this load, and {_lack(lacking, solution, useless)}"
        case.fails(text, _mend(case, solution, made, lacking), codes)
        return None
    case.rests_on(*(side[0] for side in proofs))
    return min((readings[side[0].number][1] for side in proofs), key=lambda reading: reading[0].value)


def _useless(case: Case, solution: str, made: Entry) -> Callable[[Entry], str]:
    """Return what says why a reading proves nothing of the load; it says nothing where the reading does."""
    day = working_day(case, case.entry)

    def why(reading: Entry) -> str:
        if limit := past_life(case, made, reading):
            return f"was taken when {solution} was, or may have been, past {limit}"
        other = working_day(case, reading)
        if day is None or other is None:
            return "is not surely of the same working day"
        return "" if day == other else "is of another working day"

    return why


def _lack(lacking: _Side, solution: str, useless: Callable[[Entry], str]) -> str:
    side, entries = lacking
    if not entries:
        return f"none of {solution} {side} it"
    return f"the one {side} it, of {entries[0].at} ({entries[0].name}), {useless(entries[0])}"


def _mend(case: Case, solution: str, made: Entry, lacking: _Side) -> Act:
    """Return what mends it. A reading helps to the end of the working day and of the mix's life, and no longer."""
    side, entries = lacking
    day, life = working_day(case, case.entry), life_of(case, made)
    fresh = f"{FRESH}, read it, then dip again"
    if day is None:
        return Act(Step.WRITE, "write the reading of this load itself, or the hour at which it was dipped", hint=fresh)
    if side == "after" and entries:
        # Had there been one in time it would be nearer than the one that there is.
        return Act(Step.FRESH, f"{FRESH}, read it", True)
    until = last_second(case, case.entry, day)
    until = min(until, life[0]) if life else until
    minute = show_when(until // 60 * 60, until // 60 * 60 + 59, case.entry.zone)
    if side == "before":
        return Act(Step.READ, f"read {solution} by {minute}", True, until=until, later=fresh)
    paper = f"or record the reading of {solution}, if one was taken by {minute}"
    return Act(
        Step.READ,
        f"read {solution} by {minute} and record it",
        hint="dip again in a fresh mix",
        until=until,
        later=f"dip again in a fresh mix; {paper}",
    )


def _weakness(entry: Entry, reading: Reading, least: Amount) -> str:
    """Return what is wrong with a reading by which a load was to be judged."""
    told = f"the reading of {entry.at}, {reading[0].written} ({entry.name}),"
    if enough(reading, least):
        return f"{told} was made with strips out of date"
    return f"{told} is below {least.written}"


def _precedes(case: Case, reading: Entry, made: Entry) -> bool:
    """Return whether a reading was taken before the load. The one taken at mixing was, if their times allow it."""
    if reading.surely_before(case.entry):
        return True
    return made.number == reading.number and not case.entry.surely_before(reading)


def _nearest(entries: list[Entry], *, forward: bool) -> list[Entry]:
    """Return the entries next to the load: those with no other of them surely between."""
    if forward:
        return [entry for entry in entries if not any(other.surely_before(entry) for other in entries)]
    return [entry for entry in entries if not any(entry.surely_before(other) for other in entries)]


def _good(case: Case, entry: Entry, reading: Reading, least: Amount) -> bool:
    return enough(reading, least) and not old_strips(case, entry)


def enough(reading: Reading, least: Amount) -> bool:
    """Return whether the worst end of a reading reaches the least allowed."""
    return ppm(reading[0]) >= ppm(least)
