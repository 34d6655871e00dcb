"""How the book was written: late, without an hour, of things that were not there yet, or twice."""

from collections.abc import Iterator

from lotwalk.checks.records import Records
from lotwalk.finding import Cause, Finding, finding
from lotwalk.judge.words import listed, many
from lotwalk.ledger.entry import Entry
from lotwalk.ledger.read.versions import alike, first_recorded
from lotwalk.values.roles import Role
from lotwalk.values.times import DAY

LATE = "records.written_within"
TIMED = "records.timed"
KEPT = "records.kept"

_CONTACT = (Role.TOOK, Role.MADE, Role.TENDED, Role.HANDLED, Role.TOUCHED, Role.DREW, Role.CLEARED)
_ORDER = "the order of things: a lot must be made before it can be used"
_DOUBLE = "the book itself: two entries say the same"
_LEARNED = "the judges of this program: they decide some cases otherwise than those that judged these entries"
_NAMED = "a recall can only follow what is named"


def findings(records: Records) -> Iterator[Finding]:
    """Yield the entries that were written late, without an hour, too early, twice, or without the medium.

    And what an older judge has judged.
    """
    yield from _late(records)
    yield from _without_an_hour(records)
    yield from _too_early(records)
    yield from _twice(records)
    yield from without_a_medium(records)
    yield from _older_judge(records)


def _older_judge(records: Records) -> Iterator[Finding]:
    """Verdicts that this program might give otherwise."""
    if records.older:
        yield finding(
            "older-judge",
            (),
            about=(),
            text=f"{records.older:,} {'verdict rests' if records.older == 1 else 'verdicts rest'} on an older judge,"
            " and may come out otherwise by now.",
            do="Run `lotwalk migrate`: it keeps a copy and judges them again. Until then, ask a recall with"
            " --distrust older-judge too.",
            basis=_LEARNED,
        )


def kept_longer(records: Records) -> int:
    """Return how many entries are older than records must be kept. They stay: nothing is ever deleted."""
    kept = records.seconds(KEPT)
    return sum(1 for record in records.all if kept is not None and record.end < records.now - kept)


def works(record: Entry) -> bool:
    """Return whether an entry was in contact with lots, items or water."""
    return any(use.role in _CONTACT for use in record.version.uses)


def _late(records: Records) -> Iterator[Finding]:
    within = records.seconds(LATE)
    if within is None:
        return
    written = first_recorded(records.connection)
    for record in records.all:
        late = written[record.number] - record.end
        if late > within:
            day = records.date(written[record.number])
            yield finding(
                "late",
                (record.name,),
                about=(record.name,),
                text=f"{record.name} ({record.at}) was written down on {day}, {_span(late)} after it happened.",
                do="Write things down when they are done; keep the slip or the paper that this was typed from.",
                basis=records.basis(LATE),
                span=record.span,
                cause=Cause(
                    ("late", day),
                    "Written down too late.",
                    "Write things down when they are done; keep the slips that this was typed from.",
                    alone=True,
                ),
            )


def _span(seconds: int) -> str:
    days, hours = seconds // DAY, seconds // 3600
    return f"{days} days" if days > 1 else f"{hours} hours"


def _without_an_hour(records: Records) -> Iterator[Finding]:
    if not records.rules.flag(TIMED):
        return
    for record in records.all:
        if record.end - record.start >= DAY - 3601 and works(record):
            yield finding(
                "no-hour",
                (record.name,),
                about=(record.name,),
                text=f"{record.name} has a date ({record.at}) and no hour, so what came before it that day and what"
                " came after is not known.",
                do=f"If the hour is on a slip, amend {record.name}; write the hour from now on.",
                basis=records.basis(TIMED),
                span=record.span,
                cause=Cause(
                    ("no-hour", records.date(record.start)),
                    "No hour is written.",
                    "If the hours are on slips, amend the entries; write the hour from now on.",
                    alone=True,
                ),
            )


def _too_early(records: Records) -> Iterator[Finding]:
    """Entries that use a lot before it was made: a slip of the clock, or a wrong code."""
    made: dict[str, Entry] = {}
    for record in records.all:
        for use in record.version.uses:
            if use.role is Role.MADE:
                made[use.code] = record
    for record in records.all:
        used = {use.code for use in record.version.uses if use.role is not Role.MADE}
        early = [code for code in sorted(used) if code in made and record.surely_before(made[code])]
        if early:
            first = made[early[0]]
            yield finding(
                "too-early",
                (record.name,),
                about=(record.name, *early),
                text=f"{record.name} ({record.at}) names {listed(early)}, which {many(early, 'was', 'were')} made"
                f" only later ({first.name}, {first.at}).",
                do=f"Find which of the two times is wrong, {record.name} or {first.name}, and amend it.",
                basis=_ORDER,
                span=record.span,
                cause=Cause(
                    ("made-later", first.name),
                    f"By its time, {first.name} ({first.at}) came after entries that use what it made.",
                    f"Find which of the times is wrong, and amend {first.name} or the others.",
                    (first.name, *early),
                ),
            )


def _twice(records: Records) -> Iterator[Finding]:
    groups = alike(records.connection)
    by_number = {record.number: record for record in records.all} if groups else {}
    for numbers in groups:
        names = [f"E{number}" for number in numbers]
        record = by_number[numbers[-1]]
        yield finding(
            "twice",
            (*names[:2],),
            about=tuple(names),
            text=f"{listed(names)} say the same: {records.kind(record).title.lower()}, {record.at}.",
            do=f"If it happened once, void {names[-1]} and say why.",
            basis=_DOUBLE,
            span=record.span,
        )


def without_a_medium(records: Records) -> Iterator[Finding]:
    """Yield the entries that could say what a lot stands on, and name nothing."""
    for name in records.kinds.telling("bears"):
        bearing = [
            field.name for field in records.kinds[name].fields.values() if any(f.name == "bears" for f in field.facts)
        ]
        for record in records.of_kinds([name]):
            if set(bearing) & set(record.version.silent):
                lots = [use.code for use in record.version.uses if use.role is Role.MADE]
                yield finding(
                    "nothing-named",
                    (record.name,),
                    about=(record.name, *lots),
                    text=f"{record.name} ({record.at}) does not say what {listed(lots) if lots else 'it'} was put on.",
                    do=f"Amend {record.name} with the media and trays, if a slip or the racks still tell.",
                    basis=_NAMED,
                    span=record.span,
                )
