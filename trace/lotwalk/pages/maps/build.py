"""From a walk to a map: boxes for things, lines for what passed between them, bars for the cleanings that stop it."""

from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from lotwalk.judge.words import listed
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.read.uses import beside, makers
from lotwalk.pages.maps.breaks import Bar, bars_of
from lotwalk.pages.maps.groups import Grouping, groupings
from lotwalk.pages.maps.model import CONTACT, INGREDIENT, STOPPED, Box, Line, Map, Mark
from lotwalk.pages.maps.shapes import shape_of
from lotwalk.pages.maps.stops import Act, Stop, Walked, stops_of
from lotwalk.recall.asking.asked import COMPLAINT, DELIVERY, Asked
from lotwalk.values.roles import Role
from lotwalk.values.times import show_when
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import BATH, EVER, MADE, Thing

MOST_BOXES, MOST_LINES = 48, 120
"""So many are drawn at most where grouping can bring them down to it."""
_MOST_BARS = 10
_LAST = 1_000_000
"""A depth beyond any walk's."""


@dataclass(frozen=True, slots=True)
class Subject:
    """What a map is about: the codes that stay on their own because they were asked about, or are the cause looked at.

    `along` are codes on the way between them, which stay on their own too. `levels` are those that the answer
    gives, where they differ from the walk's own; `within` are the codes to be drawn, all if None. `complaints` are
    drawn too.
    """

    asked: frozenset[str]
    cause: str | None = None
    along: frozenset[str] = frozenset()
    levels: Mapping[str, int] = field(default_factory=dict)
    within: Collection[str] | None = None
    complaints: Sequence[Asked] = ()


class Builder:
    """Builds maps of walks at one state of the ledger."""

    def __init__(self, connection: Connection, kinds: Kinds, zone: ZoneInfo) -> None:
        self.connection = connection
        self.kinds = kinds
        self.zone = zone

    def build(self, title: str, frontier: Frontier, subject: Subject, fits: Callable[[Map], bool]) -> Map:
        """Return the map of a walk that has been run, with alike things put together until it fits."""
        walked = self._walked(frontier, subject)
        apart = {
            number
            for number, stop in enumerate(walked.stops)
            if self._mark(stop, subject) or stop.thing.code in subject.along
        }
        starts = {number for number, stop in enumerate(walked.stops) if stop.thing.id in frontier.started}
        self._date(walked, starts)
        depths = [
            _LAST if _named(stop.thing) else depth
            for stop, depth in zip(walked.stops, walked.depths(starts, frontier.forward), strict=True)
        ]
        stopped = list(bars_of(self.connection, frontier, walked.stops))
        drawn = Map(title, (), ())
        for grouping in groupings(walked.stops, apart, self.zone):
            if len(grouping.boxes) <= MOST_BOXES or grouping.last:
                drawn = self._drawn(title, frontier, walked, stopped, grouping, depths, subject)
                if len(drawn.lines) <= MOST_LINES and fits(drawn):
                    break
        return drawn

    def _date(self, walked: Walked, starts: Collection[int]) -> None:
        """Give the lots that the walk started from the time at which they were made, not that of their first use."""
        lots = {walked.stops[one].thing.id: walked.stops[one] for one in starts if walked.stops[one].stretch is None}
        for key, version in makers(self.connection, list(lots)).items():
            lots[key].start = min(lots[key].start, version.start)

    def _drawn(
        self,
        title: str,
        frontier: Frontier,
        walked: Walked,
        stopped: Sequence[tuple[int, Bar]],
        grouping: Grouping,
        depths: Sequence[int],
        subject: Subject,
    ) -> Map:
        boxes = [
            replace(
                self._box(walked.stops, members, subject, grouping.exact), stage=min(depths[one] for one in members)
            )
            for members in grouping.boxes
        ]
        order = sorted(range(len(boxes)), key=lambda one: (boxes[one].time, boxes[one].stage, boxes[one].title))
        place = {box: number for number, box in enumerate(order)}
        of_stop = {stop: place[box] for box, members in enumerate(grouping.boxes) for stop in members}
        drawn = _numbered([boxes[box] for box in order])
        lines = _lines(walked.acts.values(), of_stop)
        notes = [grouping.told] if grouping.told else []
        bars, note = self._bars(frontier.forward, stopped, of_stop, drawn, grouping.exact)
        drawn += [box for box, _ in bars]
        lines += [line for _, line in bars]
        notes += note
        return Map(title, tuple(drawn), tuple(lines), tuple(notes))

    def _walked(self, frontier: Frontier, subject: Subject) -> Walked:
        """The walk's stops with customers and complaints, cut down to what is to be drawn."""
        walked = stops_of(frontier)
        self._add_named(frontier, walked, subject)
        for stop in walked.stops:
            stop.level = subject.levels.get(stop.thing.code, stop.level)
        if subject.within is None:
            return walked
        inside = [number for number, stop in enumerate(walked.stops) if stop.thing.code in subject.within]
        renumbered = {old: new for new, old in enumerate(inside)}
        acts = {
            node: Act(
                {renumbered[one]: role for one, role in act.sources.items() if one in renumbered},
                {renumbered[one]: role for one, role in act.sinks.items() if one in renumbered},
            )
            for node, act in walked.acts.items()
        }
        return Walked([walked.stops[number] for number in inside], acts)

    def _add_named(self, frontier: Frontier, walked: Walked, subject: Subject) -> None:
        """Add the customers of the deliveries, and the complaints, which no walk goes through."""
        of_thing = {stop.thing.id: number for number, stop in enumerate(walked.stops)}
        deliveries = [stop.thing.id for stop in walked.stops if stop.thing.kind == DELIVERY]
        sent = beside(self.connection, deliveries, [Role.MADE], [Role.TO])
        pairs: list[tuple[int, int | str]] = [(one.thing, one.other) for one in sent]
        told_at = {one.code: one.at for one in subject.complaints}
        pairs += [(key, one.code) for one in subject.complaints for key in one.starts if key in of_thing]
        frontier.load_things(other for _, other in pairs if isinstance(other, int))
        numbers: dict[int | str, int] = {}
        for key, other in pairs:
            source = walked.stops[of_thing[key]]
            if other not in numbers:
                numbers[other] = len(walked.stops)
                thing = frontier.things[other] if isinstance(other, int) else _complaint(other)
                walked.stops.append(Stop(thing, source.level, None))
            stop = walked.stops[numbers[other]]
            stop.level = min(stop.level, source.level)
            when = told_at.get(stop.thing.code) or source.start
            stop.start, stop.end = min(stop.start, when), max(stop.end, when)
            stop.uses.add((-key, Role.TO))
            act = walked.acts.setdefault(-key, Act({of_thing[key]: Role.TOOK}, {}))
            act.sinks[numbers[other]] = MADE

    def _mark(self, stop: Stop, subject: Subject) -> Mark:
        if stop.thing.code in subject.asked:
            return "asked"
        return "cause" if stop.thing.code == subject.cause else ""

    def _box(self, stops: Sequence[Stop], members: Sequence[int], subject: Subject, exact: bool) -> Box:
        some = [stops[number] for number in members]
        first = some[0]
        codes = sorted({stop.thing.code for stop in some})
        kind = self.kinds.things[first.thing.kind]
        start, end = min(stop.start for stop in some), max(stop.end for stop in some)
        if len(codes) == 1:
            title, lines = codes[0], ["shared bath" if first.thing.cls == BATH else kind.title.lower()]
        else:
            title, lines = self._together(some)
            if len(told := listed(codes)) <= 2 * _CODES:
                lines.append(told)
        lines.append(self._days(first.thing, start, end, len(codes) == 1))
        if len(codes) > 1 and not exact:
            levels = sorted({stop.level for stop in some})
            lines.append(f"level {levels[0]}" if len(levels) == 1 else f"levels {levels[0]} to {levels[-1]}")
        if all(stop.assumed for stop in some):
            lines.append("assumed")
        return Box(
            title=title,
            lines=tuple(line for line in lines if line),
            shape=shape_of(kind),
            members=tuple(codes),
            # What the farm sends things to, or hears from, stands to the right of all that it got.
            time=end if _named(first.thing) else start,
            stage=0,
            mark=self._mark(first, subject) if len(codes) == 1 else "",
            group=len(codes) if len(codes) > 1 else 0,
        )

    def _together(self, stops: Sequence[Stop]) -> tuple[str, list[str]]:
        """How many things stand in a box; where they are of several kinds, also how many of each."""
        of_kind: dict[str, set[int]] = defaultdict(set)
        for stop in stops:
            of_kind[stop.thing.kind].add(abs(stop.thing.id))
        told = [
            f"{len(found)} {(kind.plural if len(found) > 1 else kind.title).lower()}"
            for name, found in sorted(of_kind.items(), key=lambda one: -len(one[1]))
            if (kind := self.kinds.things[name])
        ]
        if len(told) == 1:
            return told[0], []
        return f"{sum(map(len, of_kind.values()))} items", [", ".join(told)]

    def _days(self, thing: Thing, start: int, end: int, single: bool) -> str:
        if thing.cls == "partner" or start >= EVER:
            return ""
        return days(self.zone, start, start if single and thing.cls == "lot" else end)

    def _bars(
        self,
        forward: bool,
        stopped: Sequence[tuple[int, Bar]],
        of_stop: Mapping[int, int],
        boxes: Sequence[Box],
        exact: bool,
    ) -> tuple[list[tuple[Box, Line]], list[str]]:
        """The clean breaks at the edge as boxes of their own, the widest first, each with its line.

        Where much is put together, so are the clean breaks that bound one box.
        """
        found: dict[tuple[int, int], list[Bar]] = defaultdict(list)
        for number, bar in stopped:
            found[of_stop[number], bar.entry if exact else 0].append(bar)
        widest = sorted(found, key=lambda key: (-len(found[key]), key))[:_MOST_BARS]
        out = []
        for place, key in enumerate(sorted(widest, key=lambda key: (found[key][0].start, key)), len(boxes)):
            ends = (key[0], place) if forward else (place, key[0])
            bound = boxes[key[0]].time
            shown = self._bar(found[key])
            time = max(shown.time, bound + 1) if forward else min(shown.time, bound - 1)
            out.append((replace(shown, time=time), Line(*ends, STOPPED)))
        more = len(found) - len(widest)
        note = [f"{more} more clean breaks bound what is drawn; those that bound the most are shown."] if more else []
        return out, note

    def _bar(self, bars: Sequence[Bar]) -> Box:
        entries = sorted({bar.entry for bar in bars})
        first, last = min(bar.start for bar in bars), max(bar.end for bar in bars)
        kinds = " and ".join(sorted({self.kinds[bar.kind].title.lower() for bar in bars}))
        title = f"E{entries[0]}" if len(entries) == 1 else f"{len(entries)} clean breaks"
        return Box(
            title=title,
            lines=(kinds, days(self.zone, first, last if len(entries) > 1 else first)),
            shape="break",
            members=tuple(f"E{entry}" for entry in entries),
            time=first,
            stage=0,
        )


_CODES = 26
"""Characters: codes of a group that are short enough stand in its box."""


def days(zone: ZoneInfo, start: int, end: int) -> str:
    """Return the days from one second to another: `2026-01-05`, `2026-01-05 to 01-16`."""
    first = show_when(start, start, zone)[:10]
    last = show_when(end, end, zone)[:10]
    if first == last:
        return first
    return f"{first} to {last[5:] if last[:4] == first[:4] else last}"


def _numbered(boxes: Sequence[Box]) -> list[Box]:
    """Number the groups in the order in which they stand."""
    number = 0
    out = []
    for box in boxes:
        if box.group:
            number += 1
            box = Box(box.title, box.lines, box.shape, box.members, box.time, box.stage, box.mark, number)
        out.append(box)
    return out


def _lines(acts: Collection[Act], of_stop: Mapping[int, int]) -> list[Line]:
    """One line between two boxes, solid where anything of the one went into the other; both ways as one."""
    found: Counter[tuple[int, int]] = Counter()
    solid: set[tuple[int, int]] = set()
    for act in acts:
        sources = {of_stop[one]: role for one, role in act.sources.items()}
        sinks = {of_stop[one]: role for one, role in act.sinks.items()}
        for source, target, ingredient in Act(sources, sinks).pairs():
            found[source, target] += 1
            if ingredient:
                solid.add((source, target))
    lines = []
    for source, target in sorted(found):
        back = (target, source)
        if back in found and target < source:
            continue
        link = INGREDIENT if (source, target) in solid or (back in solid and back in found) else CONTACT
        lines.append(Line(source, target, link, both=back in found))
    return lines


def _named(thing: Thing) -> bool:
    """Whether a thing is one that no walk goes through: it got what was delivered, or told of it."""
    return thing.cls == "partner" or thing.kind == COMPLAINT


def _complaint(code: str) -> Thing:
    """A complaint as a thing of the map: no walk reads it from the book."""
    return Thing(0, code, COMPLAINT, "lot", None, False, False, False)
