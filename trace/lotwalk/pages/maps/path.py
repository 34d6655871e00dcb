"""The map of single paths: from a cause, entry by entry, to each thing that was asked about."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import ThingRow, Version
from lotwalk.ledger.read.things import find_thing
from lotwalk.ledger.read.uses import makers
from lotwalk.pages.maps.build import days
from lotwalk.pages.maps.model import CONTACT, INGREDIENT, Box, Line, Map, Mark
from lotwalk.pages.maps.shapes import shape_of
from lotwalk.recall.asking.asked import COMPLAINT
from lotwalk.recall.one_cause.detail import Step
from lotwalk.values.roles import Role
from lotwalk.walk.model import EVER, MADE

_INGREDIENTS = (Role.TOOK, Role.DREW)


@dataclass(slots=True)
class _Found:
    """The boxes by their codes, in the order in which they were met, and the lines."""

    time: dict[str, int] = field(default_factory=dict)
    last: dict[str, int] = field(default_factory=dict)
    lines: dict[tuple[str, str], tuple[str, tuple[str, ...]]] = field(default_factory=dict)

    def meet(self, code: str, version: Version) -> None:
        self.time[code] = min(self.time.get(code, EVER), version.start)
        self.last[code] = max(self.last.get(code, -EVER), version.end)


def path_map(
    connection: Connection,
    kinds: Kinds,
    zone: ZoneInfo,
    title: str,
    cause: str,
    paths: Mapping[str, Sequence[Step]],
    about: Mapping[str, Iterable[str]],
) -> Map:
    """Return the map of one path from a cause to each code that was asked about.

    `paths` are the steps in the order of time, by the code; `about` are the codes that each stands for.
    """
    found = _Found()
    for steps in paths.values():
        for step in steps:
            _add(found, step, kinds)
    things = {code: thing for code in dict.fromkeys([*found.time, *paths]) if (thing := find_thing(connection, code))}
    _end_in_asked(found, things, about)
    made = makers(connection, [thing.id for thing in things.values() if thing.cls == "lot"])
    place = {code: number for number, code in enumerate(found.time)}
    boxes = [
        _box(things[code], made.get(things[code].id), found, kinds, zone, _mark(code, cause, paths))
        for code in found.time
        if code in things
    ]
    both = {(one, other) for one, other in found.lines if (other, one) in found.lines}
    lines = [
        Line(place[source], place[target], link, words, (source, target) in both)
        for (source, target), (link, words) in found.lines.items()
        if (source, target) not in both or place[source] < place[target]
    ]
    return Map(title, tuple(boxes), tuple(lines), ("One path to each, the closest there is: there may be others.",))


def _add(found: _Found, step: Step, kinds: Kinds) -> None:
    found.meet(step.came, step.version)
    found.meet(step.went, step.version)
    link = INGREDIENT if step.came_role in _INGREDIENTS and step.went_role == MADE else CONTACT
    tried = [f"{one.version.name} no clean break" for one in step.tried or () if not one.cleared]
    words = (step.version.name, kinds[step.version.kind].title.lower(), *tried)
    if step.came != step.went:
        found.lines.setdefault((step.came, step.went), (link, words))


def _end_in_asked(found: _Found, things: Mapping[str, ThingRow], about: Mapping[str, Iterable[str]]) -> None:
    """Let the paths end in the complaints themselves, where they stand for other codes."""
    for code, stands_for in about.items():
        ends = [one for one in stands_for if one in found.time and one != code]
        if code in things and ends:
            found.time[code] = max(found.last[one] for one in ends) + 1
            found.last[code] = found.time[code]
            for one in ends:
                found.lines.setdefault((one, code), (INGREDIENT, ()))


def _box(thing: ThingRow, maker: Version | None, found: _Found, kinds: Kinds, zone: ZoneInfo, mark: Mark) -> Box:
    kind = kinds.things[thing.kind]
    start, end = found.time[thing.code], found.last[thing.code]
    if maker is not None:
        start = end = maker.start
    when = days(zone, start, end)
    # A complaint is told of later than what it is about, whatever the clocks say.
    time = found.time[thing.code] if thing.kind == COMPLAINT else min(start, found.time[thing.code])
    return Box(thing.code, (kind.title.lower(), when), shape_of(kind), (thing.code,), time, len(found.time), mark)


def _mark(code: str, cause: str, asked: Iterable[str]) -> Mark:
    return "asked" if code in asked else "cause" if code == cause else ""
