"""Readings by instruments that were off, or that nobody had checked for too long."""

from collections import defaultdict
from collections.abc import Iterator

from lotwalk.checks.records import Records, Told
from lotwalk.errors import NotUnderstood
from lotwalk.finding import Cause, Due, Finding, finding
from lotwalk.judge.words import listed, many
from lotwalk.ledger.entry import Entry
from lotwalk.values.times import DAY

THERMOMETER = "instruments.thermometer_every"
PH_METER = "instruments.ph_meter_every"

_OFF = "the farm's own check of the instrument"


def findings(records: Records) -> Iterator[Finding]:
    """Yield, for each check that an instrument failed, what was read by it; and what was read unchecked."""
    read = _read_by(records)
    checks = records.told_of("calibrated")
    for code in sorted({*read, *checks}):
        told = checks.get(code, [])
        yield from _off(records, code, read.get(code, []), told)
        yield from _unchecked(records, code, read.get(code, []), told)


def dues(records: Records) -> Iterator[Due]:
    """Yield the day by which each instrument that is relied on must be checked again."""
    checks = records.told_of("calibrated")
    for code in sorted(_read_by(records)):
        told = checks.get(code, [])
        key = _rule(told, records)
        every = records.seconds(key)
        # What must be checked each day that it is used is no date in a calendar.
        if every is not None and every > DAY:
            by = records.date(told[-1].record.end + every) if told else records.today
            yield Due(
                by,
                (code,),
                f"{code} {f'was last checked on {records.date(told[-1].record.end)}' if told else 'was never checked'}",
                f"Check {code} against something known, and record it.",
                records.basis(key),
            )


def _read_by(records: Records) -> dict[str, list[Entry]]:
    found: dict[str, list[Entry]] = defaultdict(list)
    for told in records.telling("measured_with"):
        if told.thing.cls == "item":
            found[told.code].append(told.record)
    return found


def _off(records: Records, code: str, read: list[Entry], checks: list[Told]) -> Iterator[Finding]:
    for place, told in enumerate(checks):
        if told.record.values.get("passed") is not False:
            continue
        good = next((later.record for later in checks[place + 1 :] if later.record.values.get("passed") is True), None)
        before = [earlier.record for earlier in checks[:place] if earlier.record.values.get("passed") is not False]
        after = [one for one in read if told.record.surely_before(one) and not (good and good.surely_before(one))]
        doubtful = [
            one for one in read if one.surely_before(told.record) and not (before and one.surely_before(before[-1]))
        ]
        names = listed([one.name for one in after]) if after else "nothing"
        number = f"{len(doubtful)} {many([one.name for one in doubtful], 'reading', 'readings')}"
        since = f" since {before[-1].at}" if before else ""
        yield finding(
            "instrument-off",
            (code, told.record.name),
            about=(code, told.record.name, *(one.name for one in after)),
            text=f"{code} failed its check of {told.record.at} ({told.record.name}): it read"
            f" {told.record.values.get('reading')} against {told.record.values.get('reference')}, and"
            f" {told.record.values.get('limit') or 'nothing'} is allowed; {names} relied on it"
            f" afterwards{f', and {number} by it{since} may be wrong too' if doubtful else ''}.",
            do=f"Take {code} out of use or mend it, read again what it had read, and record that as a corrective action"
            f" about {told.record.name}.",
            basis=_OFF,
            span=told.record.span,
            closers=(told.record.name, code),
            cause=Cause(
                ("instrument-off", code, told.record.name),
                "An instrument failed its check.",
                "Take it out of use or mend it, and read again what it had read.",
                (code, told.record.name),
                f"{told.record.at}: it read {told.record.values.get('reading')} against"
                f" {told.record.values.get('reference')}.",
                alone=True,
            ),
        )


def _unchecked(records: Records, code: str, read: list[Entry], checks: list[Told]) -> Iterator[Finding]:
    every = records.seconds(_rule(checks, records))
    if every is None:
        return
    late = [
        one
        for one in read
        if not any(
            not one.surely_before(told.record) and told.record.end + every >= one.start
            for told in checks
            if told.record.values.get("passed") is not False
        )
        and not _just_failed(one, checks)
    ]
    if late:
        yield finding(
            "instrument-unchecked",
            (code, late[0].name),
            about=(code, *(one.name for one in late)),
            text=f"{len(late)} {many([one.name for one in late], 'entry relies', 'entries rely')} on {code}"
            f" ({late[0].at} to {late[-1].at}) without a check of it in the time before.",
            do=f"Check {code} against something known now, and as often as the rule set asks.",
            basis=records.basis(_rule(checks, records)),
            span=(late[0].start, late[-1].end),
        )


def _just_failed(one: Entry, checks: list[Told]) -> bool:
    """Whether the last check before an entry failed: that is a finding of its own."""
    before = [told.record for told in checks if told.record.surely_before(one)]
    return bool(before) and before[-1].values.get("passed") is False


def _rule(checks: list[Told], records: Records) -> str:
    """The rule for an instrument: of thermometers when its checks read a temperature; of pH meters, without unit."""
    for told in reversed(checks):
        reading = str(told.record.values.get("reading") or "")
        try:
            records.units.read(reading, ("temperature",))
        except NotUnderstood:
            if reading.strip().replace(".", "", 1).isdigit():
                return PH_METER
        else:
            return THERMOMETER
    return "" if checks else THERMOMETER
