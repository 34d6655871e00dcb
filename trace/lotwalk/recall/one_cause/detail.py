"""One cause looked at closely: a path in words to what it reaches, where its scope stops, what would narrow it."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection

from lotwalk.kinds.library import Kinds
from lotwalk.ledger.bearing.told import Came
from lotwalk.ledger.model import Version
from lotwalk.ledger.read.breaks import breaks_of, judged_among
from lotwalk.ledger.read.things import things_of
from lotwalk.ledger.read.uses import makers
from lotwalk.ledger.read.versions import by_seq, in_force_of
from lotwalk.recall.asking.asked import DELIVERY, Asked
from lotwalk.recall.model import Candidate, Recall
from lotwalk.recall.traceback.candidates import window_of
from lotwalk.recall.traceforward.breaks_between import Attempt, attempts, stood_on
from lotwalk.recall.traceforward.what_if import Narrowing, narrowings
from lotwalk.store.nodes import seq_of
from lotwalk.values.roles import Role
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import BACK, BATH, EVER, FORWARD, Doubt, Start, Thing, Touch
from lotwalk.walk.why import Hop, path

_MOST_EDGES = 12
_MEASURED = "measured"


@dataclass(frozen=True, slots=True)
class Edge:
    """A cleaning or water test at which the scope stops: its entry, the codes it cleared at the edge, and how many
    deliveries would come into the scope if it were not believed. `readings` are other entries whose reading it rests
    on."""

    version: Version
    codes: tuple[str, ...]
    back: int
    readings: tuple[Version, ...] = ()


@dataclass(frozen=True, slots=True)
class Step:
    """One entry on a path, with the code through which the path came into it and the one through which it went on.

    `cls` is the class of what it came through, `assumed` the codes of the two that the entry does not name itself.
    Of an item or a water source that the path came through from an earlier entry, `tried` is what could have cut the
    path there and did not, and `stood` what stood on it.
    """

    version: Version
    came: str
    came_role: Role
    went: str
    went_role: Role
    cls: str
    assumed: tuple[str, ...] = ()
    tried: tuple[Attempt, ...] | None = None
    stood: tuple[Came, ...] = ()


@dataclass(frozen=True, slots=True)
class Hint:
    """What would take `out` deliveries out of the scope if it were documented. `version` is None for `daily`."""

    what: str
    version: Version | None
    codes: tuple[str, ...]
    out: int


class Cause:
    """The walk forward from one candidate, in all its spells that the recall found."""

    def __init__(self, connection: Connection, kinds: Kinds, rows: Sequence[Candidate], doubt: Doubt) -> None:
        self.connection = connection
        self.kinds = kinds
        self.doubt = doubt
        self.thing = rows[0].thing if rows else None
        self.starts = [Start(row.thing.id, window_of(row)) for row in rows]
        self.frontier = self._walk(doubt)

    def _walk(self, doubt: Doubt) -> Frontier:
        frontier = Frontier(self.connection, FORWARD, doubt)
        frontier.run(self.starts)
        return frontier

    def edges(self) -> list[Edge]:
        """Return where the scope stops, at most a dozen clean breaks: those that hold back the most come first."""
        by_entry: dict[int, set[int]] = defaultdict(set)
        for seq, thing in self._breaks_at_edge():
            by_entry[seq].add(thing)
        widest = sorted(by_entry, key=lambda seq: (-len(by_entry[seq]), seq))[:_MOST_EDGES]
        base = _deliveries(self.frontier)
        found = []
        for seq in widest:
            doubt = Doubt(self.doubt.entries | {seq}, self.doubt.items, self.doubt.all)
            back = len(_deliveries(self._walk(doubt)) - base)
            codes = tuple(sorted(self.frontier.things[thing].code for thing in by_entry[seq]))
            version = by_seq(self.connection, [seq])[seq]
            found.append(Edge(version, codes, back, self._readings(version)))
        return sorted(found, key=lambda edge: (-edge.back, edge.version.start))

    def _readings(self, version: Version) -> tuple[Version, ...]:
        """The other entries in force that a verdict rests on and that hold a reading."""
        numbers = version.judged.evidence
        telling = set(self.kinds.telling(_MEASURED))
        found = in_force_of(self.connection, numbers)
        readings = [one for one in found if one.kind in telling and one.number != version.number]
        return tuple(sorted(readings, key=lambda one: (one.start, one.number)))

    def _breaks_at_edge(self) -> Iterable[tuple[int, int]]:
        edges = {(touch.thing, touch.bound) for touch in self.frontier.left if touch.bound < EVER}
        for touch in self._breaks():
            if (touch.thing, touch.end) in edges:
                yield seq_of(touch.node), touch.thing

    def _breaks(self) -> list[Touch]:
        """The believed clean breaks in force of the items and water sources in scope."""
        things = [key for key in self.frontier.lowest if self.frontier.things[key].cls != "lot"]
        touches = (
            Touch(one.node, one.role, one.thing, one.start, one.end, one.group, one.line, one.assumed)
            for one in breaks_of(self.connection, things)
        )
        return [touch for touch in touches if not self.doubt.of(seq_of(touch.node))]

    def hints(self) -> list[Hint]:
        """Return what would narrow the scope most if it were documented, the best first."""
        failed = judged_among(self.connection, set(map(seq_of, self.frontier.ranks)))
        found = narrowings(self.frontier, failed, self._breaks())
        versions = by_seq(self.connection, [one.supposition.entry for one in found if one.supposition.entry])
        return [self._hint(one, versions) for one in found]

    def _hint(self, one: Narrowing, versions: dict[int, Version]) -> Hint:
        codes = tuple(sorted(self.frontier.things[thing].code for thing in one.supposition.things))
        return Hint(one.supposition.what, versions.get(one.supposition.entry), codes, one.out)

    def steps_to_asked(self, one: Asked) -> list[Step]:
        """Return a path between the cause and what was asked about, in order of time: the cause first."""
        if self.thing is None:
            return []
        if self.thing.cls != "person":
            return _steps_back_to(self.connection, self.kinds, one, self.thing.id, self.doubt)
        # Nothing leads back to people: what they did is walked from them.
        found = [steps for key in sorted(one.starts) if (steps := self.steps_to(key))]
        return min(found, key=len, default=[])

    def steps_to(self, thing: int) -> list[Step]:
        """Return a path forward from the cause to a thing it reaches; empty when it does not."""
        return steps(self.connection, self.kinds, self.frontier, path(self.frontier, thing))


def steps_from(connection: Connection, kinds: Kinds, found: Recall, code: str, thing: int) -> list[Step]:
    """Return a path to a thing (database key) from what was itself asked about; empty when there is none."""
    frontier = Frontier(connection, FORWARD, found.doubt)
    frontier.run([Start(key) for one in found.asked for key in one.starts])
    starts = {key for key in frontier.started if frontier.things[key].code == code}
    return steps(connection, kinds, frontier, path(frontier, thing, starts))


def _steps_back_to(connection: Connection, kinds: Kinds, one: Asked, cause: int, doubt: Doubt) -> list[Step]:
    """Return a path from a cause (database key) to what was asked about, in order of time; empty when there is none.

    Where lots of a delivery were meant it comes through one of those, and ends with the delivery that took it.
    """
    found = steps_back(connection, kinds, one.begins, cause, doubt)
    if not found:
        return steps_back(connection, kinds, one.starts, cause, doubt) if one.boxes else []
    for key, version in makers(connection, one.boxes).items():
        came = next((use for use in version.uses if use.role is Role.TOOK and use.code == found[-1].went), None)
        if came:
            (went,) = (thing.code for thing in things_of(connection, [key]))
            return [*found, Step(version, came.code, Role.TOOK, went, Role.MADE, "lot")]
    return found


def steps_back(connection: Connection, kinds: Kinds, asked: Collection[int], cause: int, doubt: Doubt) -> list[Step]:
    """Return a path between the asked things (database keys) and a cause, in order of time: the cause first."""
    frontier = Frontier(connection, BACK, doubt)
    frontier.run([Start(key) for key in asked])
    return steps(connection, kinds, frontier, path(frontier, cause))


def steps(connection: Connection, kinds: Kinds, frontier: Frontier, hops: Sequence[Hop]) -> list[Step]:
    """Return the hops of a path with their entries, as time runs, whichever way the walk went."""
    versions = by_seq(connection, [seq_of(hop.came.node) for hop in hops])
    ordered = [(hop.came, hop.went) if frontier.forward else (hop.went, hop.came) for hop in hops]
    out: list[Step] = []
    for first, last in ordered if frontier.forward else ordered[::-1]:
        version, came, went = versions[seq_of(first.node)], frontier.things[first.thing], frontier.things[last.thing]
        assumed = {use.code for use in version.uses if use.assumed}
        tried = None
        if out and came.cls not in ("lot", BATH):
            since = out[-1].version
            low, high = min(since.start, version.start), max(since.end, version.end)
            tried = attempts(connection, came, low, high, {since.seq, version.seq}, frontier.doubt)
        out.append(
            Step(
                version,
                came.code,
                Role.read(first.role, _class(came)),
                went.code,
                Role.read(last.role, _class(went)),
                came.cls,
                tuple(dict.fromkeys(code for code in (came.code, went.code) if code in assumed)),
                tried,
                stood_on(connection, kinds, came.code, version) if came.cls == "item" else (),
            )
        )
    return out


def _deliveries(frontier: Frontier) -> set[int]:
    return {key for key in frontier.lowest if frontier.things[key].kind == DELIVERY}


def _class(thing: Thing) -> str:
    return "lot" if thing.cls == BATH else thing.cls
