"""Cold stores that were too warm or not read, and deliveries that left warm."""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from lotwalk.balance.movements import wrapping
from lotwalk.checks.lots import Lots
from lotwalk.checks.records import Records
from lotwalk.checks.storage_history import Kept, kept
from lotwalk.finding import Cause, Due, Finding, finding
from lotwalk.judge.words import listed, many, names_one_of
from lotwalk.ledger.entry import Entry
from lotwalk.ledger.model import ThingRow
from lotwalk.values.roles import Role
from lotwalk.values.times import DAY
from lotwalk.values.units import Amount

WARMEST = "storage.warmest"
EVERY = "storage.checked_every"
COLD = "storage.cold_places"


def findings(records: Records) -> Iterator[Finding]:
    """Yield each spell in which a store was too warm, each in which nobody read it, and each warm delivery."""
    there = kept(records, records.share(Lots))
    read = _read(records)
    for code in sorted(read):
        yield from _warm(records, code, read[code], there.get(code, ()))
    for place in _cold_places(records):
        yield from _unread(records, place.code, read.get(place.code, ()), there.get(place.code, ()))
    yield from _warm_deliveries(records)


def dues(records: Records) -> Iterator[Due]:
    """Yield the day on which each cold store that holds something must be read next."""
    every = records.seconds(EVERY)
    there, read = kept(records, records.share(Lots)), _read(records)
    for place in _cold_places(records):
        lots = [one.lot for one in there.get(place.code, ()) if one.end >= records.now - DAY]
        if every is not None and lots:
            done = read.get(place.code)
            by = _later(records.date(done[-1].end), every) if done else records.today
            text = f"{place.code} was last read on {done[-1].at}" if done else f"{place.code} was never read"
            yield Due(by, (place.code,), text, f"Read {place.code} and write it down.", records.basis(EVERY))


def _read(records: Records) -> dict[str, list[Entry]]:
    found: dict[str, list[Entry]] = {}
    for code, told in records.told_of("chilled").items():
        found[code] = [one.record for one in told]
    return found


def _cold_places(records: Records) -> list[ThingRow]:
    """The places that are cold stores by what they are used for."""
    words = records.rules.words(COLD)
    places = [thing for thing in records.things.values() if thing.cls == "place"]
    made = {thing.code: records.maker(thing.code) for thing in places}
    return [
        thing
        for thing in places
        if (record := made[thing.code]) and names_one_of(str(record.values.get("use") or ""), words)
    ]


def _over(records: Records, record: Entry) -> tuple[Amount, str] | None:
    """The reading that was too warm, or the highest since the check before."""
    limit = records.rules.amount(WARMEST)
    for name, words in (("temperature", ""), ("max", " at its highest since the check before")):
        value = record.values.get(name)
        if limit and isinstance(value, Amount) and value.value > limit.value:
            return value, words
    return None


def _warm(records: Records, place: str, read: Sequence[Entry], there: Sequence[Kept]) -> Iterator[Finding]:
    spell: list[Entry] = []
    before: Entry | None = None
    for record in [*read, None]:
        if record is not None and _over(records, record):
            spell.append(record)
            continue
        if spell:
            yield _warm_spell(records, place, spell, before, record, there)
            spell = []
        before = record


def _warm_spell(
    records: Records,
    place: str,
    spell: Sequence[Entry],
    before: Entry | None,
    after: Entry | None,
    there: Sequence[Kept],
) -> Finding:
    first, last = spell[0], spell[-1]
    told = [
        f"{records.show(over[0])} on {one.at} ({one.name}){over[1]}" for one in spell if (over := _over(records, one))
    ]
    start, end = before.start if before else first.start, after.end if after else records.now
    lots = sorted({one.lot for one in there if one.start <= end and one.end >= start})
    since = f"in its limit on {before.at} ({before.name})" if before else "not read before"
    until = (
        f"and again on {after.at} ({after.name}), so for {_lasted(end - start)} at most" if after else "and not since"
    )
    inside = f" {listed(lots)} {many(lots, 'was', 'were')} there." if lots else ""
    return finding(
        "warm-store",
        (place, first.name),
        about=(place, *(one.name for one in spell), *lots),
        text=f"{place} was too warm: {'; '.join(told)}. It was {since} {until}.{inside}",
        do=f"Find out why, look at what was in {place}, and record what became of it as a corrective action about"
        f" {first.name}.",
        basis=records.basis(WARMEST),
        span=(first.start, max(last.end, end)),
        closers=tuple(one.name for one in spell),
        cause=Cause(
            ("warm-store", place, first.name),
            "A store was too warm.",
            "Find out why, look at what was in it, and record what became of that.",
            detail=f"{place}: {'; '.join(told)}, {until.removeprefix('and ')}.{inside}",
            alone=True,
        ),
    )


def _lasted(seconds: int) -> str:
    hours, minutes = divmod(seconds // 60, 60)
    if hours >= 48:
        return f"{hours // 24} days"
    return f"{hours} h {minutes} min" if hours else f"{minutes} min"


def _unread(records: Records, place: str, read: Sequence[Entry], there: Sequence[Kept]) -> Iterator[Finding]:
    """Whole days count: a store read each morning is read daily, though now and then some minutes later."""
    every = records.seconds(EVERY)
    if every is None:
        return
    full = sorted({day for one in there for day in _days(records, one)})
    run: list[str] = []
    for day in [*full, ""]:
        latest = _latest(records, read, day) if day else None
        waited = latest is None or day >= _later(records.date(latest.end), every)
        late = "" < day < records.today and waited and not _read_on(records, read, day)
        if run and (not late or day != _later(run[-1], DAY)):
            yield _unread_days(records, place, run, _latest(records, read, run[0]), there)
            run = []
        if late:
            run.append(day)


def _latest(records: Records, read: Sequence[Entry], day: str) -> Entry | None:
    """The last reading that was done before a day began."""
    return next((one for one in reversed(read) if records.date(one.start) < day), None)


def _read_on(records: Records, read: Sequence[Entry], day: str) -> bool:
    return any(records.date(one.start) <= day <= records.date(one.end) for one in read)


def _unread_days(
    records: Records, place: str, run: Sequence[str], before: Entry | None, there: Sequence[Kept]
) -> Finding:
    span = records.begins(run[0]), records.ends(run[-1])
    lots = sorted({one.lot for one in there if one.start <= span[1] and one.end >= span[0]})
    days = f"{run[0]}, a {_weekday(run[0])}"
    if len(run) > 1:
        days += f", to {run[-1]}, a {_weekday(run[-1])}"
    since = f"the last reading was that of {before.at} ({before.name})" if before else "it was never read before"
    return finding(
        "unread-store",
        (place, before.name if before else run[0]),
        about=(place, *([before.name] if before else [])),
        text=f"Nobody read {place} on {days}, while {len(lots)} {many(lots, 'lot', 'lots')} stood there; {since}.",
        do="Read it every day that something is in it, or let a thermometer that keeps its highest do so, and write"
        " that down at the next check.",
        basis=records.basis(EVERY),
        span=span,
        cause=Cause(
            ("unread", place),
            "A store was not read while something stood there.",
            "Read it every day that something is in it, or let a thermometer that keeps its highest do so.",
            each="spell",
            alone=True,
        ),
    )


def _weekday(day: str) -> str:
    return date.fromisoformat(day).strftime("%A")


def _days(records: Records, one: Kept) -> Iterator[str]:
    """The whole days on which a lot was there: not that on which it came, nor that on which it went."""
    day, last = _later(records.date(one.start), DAY), records.date(one.end)
    while day < last:
        yield day
        day = _later(day, DAY)


def _later(day: str, seconds: int) -> str:
    return (date.fromisoformat(day) + timedelta(days=max(1, seconds // DAY))).isoformat()


def _warm_deliveries(records: Records) -> Iterator[Finding]:
    limit = records.rules.amount(WARMEST)
    seen: set[str] = set()
    for told in records.telling("delivered"):
        record, warm = told.record, told.record.values.get("temperature")
        if limit is None or record.name in seen or not isinstance(warm, Amount) or warm.value <= limit.value:
            continue
        seen.add(record.name)
        uses = record.version.uses
        code = next((use.code for use in uses if use.role is Role.MADE), record.name)
        took = [records.thing(use.code) for use in uses if use.role is Role.TOOK]
        lots = list(dict.fromkeys(one.code for one in took if one and one.kind not in wrapping(records.kinds)))
        customers = [use.code for use in uses if use.role is Role.TO]
        yield finding(
            "warm-delivery",
            (code,),
            about=(code, *customers, *lots),
            text=f"{code} of {record.at} to {listed(customers) if customers else 'a customer'} was at"
            f" {records.show(warm)} ({listed(lots)}).",
            do="Ask the customer what became of it, find out why it was warm, and record that as a corrective action"
            f" about {code}.",
            basis=records.basis(WARMEST),
            span=record.span,
            closers=(code, record.name),
            cause=Cause(
                ("warm-delivery", code),
                "A delivery was too warm.",
                "Ask the customer what became of it, and find out why it was.",
                detail=f"{records.show(warm)}, {record.at}{f', to {listed(customers)}' if customers else ''}.",
                alone=True,
            ),
        )
