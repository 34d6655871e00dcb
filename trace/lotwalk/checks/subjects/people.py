"""Who worked untaught, and who worked while kept away."""

from collections import defaultdict
from collections.abc import Iterator

from lotwalk.checks.records import Records, Told
from lotwalk.checks.subjects.record_keeping import works
from lotwalk.finding import Cause, Due, Finding, finding
from lotwalk.ledger.entry import Entry
from lotwalk.values.roles import Role
from lotwalk.values.times import DAY

TAUGHT = "people.trained_every"

_FITNESS = "the farm's own record that this person was to be kept away from the food"
_STILL_HERE = 90 * DAY
"""Who has worked within this time is reminded of training."""


def findings(records: Records) -> Iterator[Finding]:
    """Yield the spells in which somebody worked untaught, and each entry by somebody who was kept away."""
    worked = _worked(records)
    yield from _untaught(records, worked)
    yield from _kept_away(records, worked)


def dues(records: Records) -> Iterator[Due]:
    """Yield the day by which each person at work must be taught again."""
    every = records.seconds(TAUGHT)
    taught = records.told_of("taught")
    for person, entries in sorted(_worked(records).items()):
        last = taught.get(person, [])
        if every is None or entries[-1].end < records.now - _STILL_HERE:
            continue
        by = records.date(last[-1].record.end + every) if last else records.today
        yield Due(
            by,
            (person,),
            f"{person} {f'was last taught on {records.date(last[-1].record.end)}' if last else 'was never taught'}",
            f"Teach {person} what the work asks, and record it.",
            records.basis(TAUGHT),
        )


def _worked(records: Records) -> dict[str, list[Entry]]:
    """The entries that each person did with their hands, by the person's code."""
    found: dict[str, list[Entry]] = defaultdict(list)
    for record in records.followed:
        if works(record):
            for person in record.by:
                thing = records.thing(person)
                found[thing.code if thing else person].append(record)
    return found


def _untaught(records: Records, worked: dict[str, list[Entry]]) -> Iterator[Finding]:
    every = records.seconds(TAUGHT)
    if every is None:
        return
    taught = records.told_of("taught")
    for person, entries in sorted(worked.items()):
        spell: list[Entry] = []
        for record in entries:
            if _is_taught(record, taught.get(person, []), every):
                if spell:
                    yield _spell(records, person, spell, taught.get(person, []))
                spell = []
            else:
                spell.append(record)
        if spell:
            yield _spell(records, person, spell, taught.get(person, []))


def _is_taught(record: Entry, lessons: list[Told], every: int) -> bool:
    return any(
        not record.surely_before(lesson.record) and lesson.record.end + every >= record.start for lesson in lessons
    )


def _spell(records: Records, person: str, spell: list[Entry], lessons: list[Told]) -> Finding:
    first, last = spell[0], spell[-1]
    before = [lesson.record for lesson in lessons if lesson.record.surely_before(first)]
    after = [lesson.record for lesson in lessons if not lesson.record.surely_before(first)]
    known = f"the last teaching on record was on {before[-1].at}" if before else "no teaching is on record before"
    then = f"; taught on {after[0].at} ({after[0].name})" if after else ""
    return finding(
        "untaught",
        (person, first.name),
        about=(person, *(record.name for record in spell)),
        text=f"{person} did the work of {len(spell)} {'entry' if len(spell) == 1 else 'entries'} from {first.at} to"
        f" {last.at}, and {known}{then}.",
        do=f"Look at what {person} did then" + ("." if after else ", and teach and record it now."),
        basis=records.basis(TAUGHT),
        span=(first.start, last.end),
        closers=(person,) if after else (),
        cause=Cause(
            ("untaught", person),
            f"{person} worked with no teaching on record in the time before.",
            f"Look at what {person} did then; teach, and record it.",
            (person,),
        ),
    )


def _kept_away(records: Records, worked: dict[str, list[Entry]]) -> Iterator[Finding]:
    back = records.told_of("fit")
    for person, exclusions in sorted(records.told_of("excluded").items()):
        for record in worked.get(person, []):
            away = [
                one.record
                for one in exclusions
                if one.record.surely_before(record)
                and not any(
                    one.record.surely_before(fit.record) and not record.surely_before(fit.record)
                    for fit in back.get(person, [])
                )
            ]
            if away:
                yield finding(
                    "kept-away",
                    (person, record.name),
                    about=(person, record.name, *_lots(record)),
                    text=f"{record.name} ({record.at}) is by {person}, who was to be kept away from {away[-1].at} on"
                    f" ({away[-1].name}).",
                    do="Find out who did it: amend the entry if it was somebody else, else hold what was handled and"
                    " ask the local health authority, and record that as a corrective action about"
                    f" kept-away:{person}:{record.name}.",
                    basis=_FITNESS,
                    span=record.span,
                    cause=_absence(person, away[-1]),
                )


def _absence(person: str, exclusion: Entry) -> Cause:
    return Cause(
        ("away", person, exclusion.name),
        f"{person}, kept away from {exclusion.at} on ({exclusion.name}), stands as having worked.",
        "Amend what somebody else did; hold the rest, and ask the local health authority.",
        (person, exclusion.name),
    )


def _lots(record: Entry) -> list[str]:
    return [use.code for use in record.version.uses if use.role is Role.MADE]
