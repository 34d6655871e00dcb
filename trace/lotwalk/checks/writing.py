"""How the book was written: late, without an hour, of things that were not there yet, or twice."""

from collections.abc import Iterator

from sqlalchemy import text

from lotwalk.checks.records import DAY, Record, Records
from lotwalk.finding import Finding
from lotwalk.judge.words import listed, many

LATE = "records.written_within"
TIMED = "records.timed"
KEPT = "records.kept"

_CONTACT = ("took", "made", "tended", "handled", "touched", "drew", "cleared")
_ORDER = "the order of things: a lot must be made before it can be used"
_DOUBLE = "the book itself: two entries say the same"
_NAMED = "a recall can only follow what is named"


def findings(records: Records) -> Iterator[Finding]:
    """Yield the entries that were written late, without an hour, too early, twice, or without the medium."""
    yield from _late(records)
    yield from _without_an_hour(records)
    yield from _too_early(records)
    yield from _twice(records)
    yield from _without_a_medium(records)


def kept_longer(records: Records) -> int:
    """Return how many entries are older than records must be kept. They stay: nothing is ever deleted."""
    kept = records.seconds(KEPT)
    return sum(1 for record in records.all if kept is not None and record.end < records.now - kept)


def first_written(records: Records) -> dict[int, int]:
    """Return when each entry was first recorded, by its number: an amendment does not make it late."""
    rows = records.connection.execute(text("SELECT first, min(recorded_at) FROM entry GROUP BY first"))
    return dict(map(tuple, rows))


def works(record: Record) -> bool:
    """Return whether an entry was in contact with lots, items or water."""
    return any(use["role"] in _CONTACT for use in record.version.uses)


def _late(records: Records) -> Iterator[Finding]:
    within = records.seconds(LATE)
    if within is None:
        return
    written = first_written(records)
    for record in records.all:
        late = written[record.name] - record.end
        if late > within:
            yield Finding(
                ("late", record.code),
                "minor",
                (record.code,),
                f"{record.code} ({record.at}) was written down on {records.date(written[record.name])},"
                f" {_span(late)} after it happened.",
                "Write things down when they are done; keep the slip or the paper that this was typed from.",
                records.basis(LATE),
                record.span,
            )


def _span(seconds: int) -> str:
    days, hours = seconds // DAY, seconds // 3600
    return f"{days} days" if days > 1 else f"{hours} hours"


def _without_an_hour(records: Records) -> Iterator[Finding]:
    if not records.rules.flag(TIMED):
        return
    for record in records.all:
        if record.end - record.start >= DAY - 3601 and works(record):
            yield Finding(
                ("no-hour", record.code),
                "minor",
                (record.code,),
                f"{record.code} has a date ({record.at}) and no hour, so what came before it that day and what came"
                " after is not known.",
                f"If the hour is on a slip, amend {record.code}; write the hour from now on.",
                records.basis(TIMED),
                record.span,
            )


def _too_early(records: Records) -> Iterator[Finding]:
    """Entries that use a lot before it was made: a slip of the clock, or a wrong code."""
    made: dict[str, Record] = {}
    for record in records.all:
        for use in record.version.uses:
            if use["role"] == "made":
                made[str(use["code"])] = record
    for record in records.all:
        used = {str(use["code"]) for use in record.version.uses if use["role"] != "made"}
        early = [code for code in sorted(used) if code in made and record.surely_before(made[code])]
        if early:
            first = made[early[0]]
            yield Finding(
                ("too-early", record.code),
                "major",
                (record.code, *early),
                f"{record.code} ({record.at}) names {listed(early)}, which {many(early, 'was', 'were')} made only later"
                f" ({first.code}, {first.at}).",
                f"Find which of the two times is wrong, {record.code} or {first.code}, and amend it.",
                _ORDER,
                record.span,
            )


def _twice(records: Records) -> Iterator[Finding]:
    sql = (
        "SELECT e.alike, e.first FROM entry e WHERE e.void = 0 AND NOT EXISTS (SELECT 1 FROM entry a WHERE"
        " a.amends = e.seq) AND e.alike IN (SELECT alike FROM entry GROUP BY alike HAVING count(*) > 1) ORDER BY e.seq"
    )
    alike: dict[str, list[int]] = {}
    for same, first in records.connection.execute(text(sql)):
        alike.setdefault(same, []).append(first)
    by_name = {record.name: record for record in records.all} if alike else {}
    for firsts in alike.values():
        if len(firsts) > 1:
            names = [f"E{first}" for first in firsts]
            record = by_name[firsts[-1]]
            yield Finding(
                ("twice", *names[:2]),
                "minor",
                tuple(names),
                f"{listed(names)} say the same: {records.kind(record).title.lower()}, {record.at}.",
                f"If it happened once, void {names[-1]} and say why.",
                _DOUBLE,
                record.span,
            )


def _without_a_medium(records: Records) -> Iterator[Finding]:
    """Entries that could say what a lot stands on, and name nothing."""
    for name in records.kinds.telling("bears"):
        bearing = [
            field.name for field in records.kinds[name].fields.values() if any(f.name == "bears" for f in field.facts)
        ]
        for record in records.of_kinds([name]):
            if set(bearing) & set(record.version.silent):
                lots = [str(use["code"]) for use in record.version.uses if use["role"] == "made"]
                yield Finding(
                    ("nothing-named", record.code),
                    "major",
                    (record.code, *lots),
                    f"{record.code} ({record.at}) does not say what {listed(lots) if lots else 'it'} was put on.",
                    f"Amend {record.code} with the media and trays, if a slip or the racks still tell.",
                    _NAMED,
                    record.span,
                )
