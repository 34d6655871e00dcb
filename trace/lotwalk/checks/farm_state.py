"""How a farm stands by its book: who answers for it, its water, what is recorded and how, and what matters most.

It is told as a value, so that paper and screen can say the same. What nobody wrote down stays empty in it.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from lotwalk.checks.causes import Joined, join
from lotwalk.checks.findings import Standing, within
from lotwalk.checks.records import Records
from lotwalk.checks.subjects.record_keeping import LATE
from lotwalk.checks.subjects.reviews import Changed, Reviews, Week
from lotwalk.checks.subjects.water.tests import failed, sources
from lotwalk.ledger.entry import Entry
from lotwalk.ledger.model import ThingRow
from lotwalk.ledger.read.versions import all_versions, first_recorded, void_entries
from lotwalk.values.text import Written as Text

_ANSWERS = ("contact", "phone")
_RESULT = "e_coli"


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who works on the farm, as the register has them."""

    code: str
    name: str
    position: str
    phone: str


@dataclass(frozen=True, slots=True)
class Tested:
    """A test of water: its entry, when the sample was taken, whether it passed, and what was found, as written."""

    entry: str
    at: str
    passed: bool
    result: str


@dataclass(frozen=True, slots=True)
class Water:
    """A water source as registered, its latest test so far, and those of the period that did not pass."""

    code: str
    name: str
    type: str
    treatment: str
    used_for: str
    latest: Tested | None
    failed: tuple[Tested, ...]


@dataclass(frozen=True, slots=True)
class Count:
    """How many entries of a kind (its title) there are. Of those judged: how many passed, and not or in part."""

    title: str
    entries: int
    passed: int
    failed: int


@dataclass(frozen=True, slots=True)
class Written:
    """How the entries of a period were written: how many, and of those how many from a sheet of slips or a form.

    `same_day` were recorded on the day itself, `late` after more than `limit` seconds; `limit` is None where the rule
    set has none, and then none is late. `typists` are who typed, with how many; `unnamed` were typed by nobody named.
    """

    entries: int
    from_sheets: int
    same_day: int
    late: int
    limit: int | None
    typists: tuple[tuple[str, int], ...]
    unnamed: int
    amended: int
    void: int


@dataclass(frozen=True, slots=True)
class Reviewed:
    """The weeks of a period with records that ask for a review, and what was changed after its review."""

    weeks: tuple[Week, ...]
    changed: tuple[Changed, ...]
    by: tuple[str, ...]

    @property
    def read(self) -> tuple[Week, ...]:
        """The weeks of which every record was read."""
        return tuple(week for week in self.weeks if not week.unread)

    @property
    def unread(self) -> tuple[Week, ...]:
        """The weeks with records that nobody read."""
        return tuple(week for week in self.weeks if week.unread)


@dataclass(frozen=True, slots=True)
class FarmState:
    """How the farm stands in a period. `first` and `last` are the days of its first and last entry there.

    `settings` are the farm's settings as written, by field; `missing` the titles of those that say whom to ask and are
    not written. `law` is what the settings say of the law that it is under, or the latest look at an exemption.
    `grown` are the crops sown, `registered` how many partners, products and papers the register has, `papers` how many
    files are attached. `causes` are what open and closed findings come of, the gravest first.
    """

    first: str
    last: str
    settings: dict[str, str]
    missing: tuple[str, ...]
    law: str
    people: tuple[Person, ...]
    grown: tuple[str, ...]
    registered: tuple[tuple[str, int], ...]
    water: tuple[Water, ...]
    counts: tuple[Count, ...]
    papers: int
    written: Written
    reviewed: Reviewed
    causes: tuple[Joined, ...]

    @property
    def open(self) -> tuple[Joined, ...]:
        """The causes of which something stands open."""
        return tuple(one for one in self.causes if one.open)

    @property
    def gravest(self) -> tuple[Joined, ...]:
        """What matters most: every open cause that is as grave as the gravest."""
        left = self.open
        return tuple(one for one in left if one.severity == left[0].severity) if left else ()


def farm_state(records: Records, standing: Iterable[Standing], start: int | None, end: int | None) -> FarmState:
    """Return how the farm stands in a period (its first and last second; None: open), from all its findings."""
    inside = [one for one in records.all if (start is None or one.end >= start) and (end is None or one.start <= end)]
    work = [one for one in inside if not records.kind(one).settings]
    settings, missing = _settings(records)
    return FarmState(
        first=records.date(min((one.start for one in work), default=records.now)),
        last=records.date(max((one.end for one in work), default=records.now)),
        settings=settings,
        missing=missing,
        law=settings.get("law", "") or _exemption(records),
        people=tuple(_people(records)),
        grown=_grown(records, inside),
        registered=_registered(records),
        water=tuple(_water(records, source, start, end) for source in sources(records)),
        counts=tuple(_counts(records, work)),
        papers=sum(len(one.version.files) for one in inside),
        written=_written(records, inside, start, end),
        reviewed=reviewed(records, start, end),
        causes=tuple(join(within(standing, start, end, records.now), records)),
    )


def _settings(records: Records) -> tuple[dict[str, str], tuple[str, ...]]:
    """The settings in force as written, and the titles of those that say whom to ask and are not written."""
    kinds = [name for name in records.kinds.names if records.kinds[name].settings]
    newest = max(records.of_kinds(kinds), key=lambda one: one.seq, default=None)
    if newest is None:
        return {}, ()
    said = {name: _words(value) for name, value in newest.version.fields.items()}
    fields = records.kind(newest).fields
    return said, tuple(fields[name].title for name in _ANSWERS if name in fields and name not in said)


def _exemption(records: Records) -> str:
    looked = records.entries_telling("exemption")
    return f"Exempt, by the farm's own look of {looked[-1].at} ({looked[-1].name})" if looked else ""


def _people(records: Records) -> Iterable[Person]:
    """The people of the register, supervisors first."""
    found = []
    for thing in records.things.values():
        made = records.maker(thing.code) if thing.cls == "person" else None
        if made:
            said = [_words(made.version.fields.get(name, "")) for name in ("name", "position", "phone")]
            found.append(Person(thing.code, *said))
    return sorted(found, key=lambda one: (one.position != "supervisor", one.name))


def _grown(records: Records, inside: Sequence[Entry]) -> tuple[str, ...]:
    """The crops of the seed that was sown, by name."""
    numbers = {one.number for one in inside}
    seed = {one.code for one in records.telling("sown") if one.record.number in numbers}
    made = [records.maker(code) for code in seed]
    crops = {_words(one.version.fields["crop"]) for one in made if one and "crop" in one.version.fields}
    return tuple(sorted(crops, key=str.casefold))


def _registered(records: Records) -> tuple[tuple[str, int], ...]:
    """How many partners, products and other papers there are, by the plural title of their kind."""
    counted = Counter(thing.kind for thing in records.things.values() if thing.cls in ("partner", "paper"))
    return tuple((records.kinds.things[kind].plural, counted[kind]) for kind in records.kinds.things if counted[kind])


def _water(records: Records, source: ThingRow, start: int | None, end: int | None) -> Water:
    made = records.maker(source.code)
    said = {name: _words(value) for name, value in made.version.fields.items()} if made else {}
    tests = [one.record for one in records.told_of("tested").get(source.code, [])]
    tests = [one for one in tests if end is None or one.start <= end]
    bad = [one for one in tests if failed(one, source.code) and (start is None or one.end >= start)]
    return Water(
        code=source.code,
        name=said.get("name", ""),
        type=said.get("type", ""),
        treatment=said.get("treatment", ""),
        used_for=said.get("used_for", ""),
        latest=_tested(tests[-1], source.code) if tests else None,
        failed=tuple(_tested(one, source.code) for one in bad),
    )


def _tested(test: Entry, source: str) -> Tested:
    return Tested(test.name, test.at, not failed(test, source), _words(test.version.fields.get(_RESULT, "")))


def _counts(records: Records, inside: Sequence[Entry]) -> Iterable[Count]:
    by_kind: dict[str, list[Entry]] = {}
    for one in inside:
        by_kind.setdefault(one.kind, []).append(one)
    for kind, entries in sorted(by_kind.items(), key=lambda item: (-len(item[1]), item[0])):
        judged = [one.version.judged for one in entries if one.version.verdict]
        good = sum(1 for one in judged if one.passed and not one.failed)
        bad = sum(1 for one in judged if one.failed)
        yield Count(records.kinds[kind].title, len(entries), good, bad)


def _written(records: Records, inside: Sequence[Entry], start: int | None, end: int | None) -> Written:
    first = first_recorded(records.connection)
    limit = records.seconds(LATE)
    histories = all_versions(records.connection, [one.number for one in inside if one.version.amends])
    typists = Counter(one.version.typed_by for one in inside)
    unnamed = typists.pop("", 0)
    return Written(
        entries=len(inside),
        from_sheets=sum(1 for one in inside if one.version.sheet is not None),
        same_day=sum(1 for one in inside if records.date(first[one.number]) == records.date(one.end)),
        late=sum(1 for one in inside if limit is not None and first[one.number] - one.end > limit),
        limit=limit,
        typists=tuple(sorted(typists.items(), key=lambda item: (-item[1], item[0]))),
        unnamed=unnamed,
        amended=sum(1 for versions in histories.values() if any(one.amended_by for one in versions)),
        void=void_entries(records.connection, start, end),
    )


def reviewed(records: Records, start: int | None, end: int | None) -> Reviewed:
    """Return what was reviewed of a period (its first and last second; None: open), week by week."""
    reviews = records.share(Reviews)
    weeks = [
        week
        for week in reviews.weeks
        if (start is None or records.ends(week.sunday) >= start) and (end is None or records.begins(week.monday) <= end)
    ]
    inside = {one.number for week in weeks for one in week.entries}
    by = dict.fromkeys(person for review in reviews.all for person in review.by)
    return Reviewed(tuple(weeks), tuple(one for one in reviews.changed if one.record.number in inside), tuple(by))


def _words(value: Text) -> str:
    """What was written in one line of words."""
    if isinstance(value, list):
        return ", ".join(map(_words, value))
    return "; ".join(map(_words, value.values())) if isinstance(value, dict) else str(value)
