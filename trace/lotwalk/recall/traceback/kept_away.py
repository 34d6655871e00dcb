"""People who were kept away as candidate causes: what they did around that time, where it lies behind the asked.

Germs that people carry are shed before one feels ill and for a while after. So who was to be kept away is a source from
a little before that time until a little after it, as an item is between two cleanings: forward from all that they did
then, and from nothing else of theirs. People are never reached forward.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from typing import NamedTuple

from sqlalchemy import Connection

from lotwalk.ledger.entry import Entry
from lotwalk.ledger.model import Version
from lotwalk.ledger.read.uses import used_in, uses_within
from lotwalk.ledger.read.versions import by_seq
from lotwalk.recall.model import Done, KeptAway
from lotwalk.recall.traceback.absence import Absence
from lotwalk.store.nodes import seq_of
from lotwalk.values.roles import Role
from lotwalk.values.times import DAY
from lotwalk.walk.model import EVER, INGREDIENT, Spell, Thing, Walk, merged

AROUND = 2 * DAY
"""Seconds before an absence and after it in which what somebody did counts, where no rule set says. Common practice, no
source."""
RANK = 2
"""The rank of what somebody did who was kept away. It is level 3, as near as what one item carried, however far behind
the asked they stand: nothing says that they came near it by that path alone."""

_NAMED = 14 * DAY
"""Who handled what was asked about so near to being kept away is named, candidate or not. Common practice, no
source."""

_HANDLES = frozenset({Role.TOOK, Role.HANDLED, Role.TENDED, Role.MADE})
"""The roles in which an entry handles a lot."""
_SINKS = frozenset({Role.HANDLED, Role.TOUCHED, Role.SHARED, Role.TENDED, Role.MADE, Role.CLEARED, Role.CLEARED_WATER})
"""The roles by which a walk back comes to an entry."""

_Window = tuple[int, int]


class _Deed(NamedTuple):
    """An entry by somebody near to an absence, which is named by its place in the list."""

    start: int
    end: int
    seq: int
    absence: int
    person: int

    def lies_in(self, window: _Window) -> bool:
        return self.start <= window[1] and self.end >= window[0]


class Followed:
    """The people who were kept away, and what they did near that time.

    `before` and `after` are the seconds before an absence and after its end in which what they did counts.
    """

    def __init__(self, connection: Connection, absences: Sequence[Absence], before: int, after: int) -> None:
        self.connection = connection
        self.absences = absences
        self._around = [absence.window(before, after) for absence in absences]
        self._near = [absence.window(_NAMED, _NAMED) for absence in absences]
        windows: dict[int, list[_Window]] = defaultdict(list)
        for absence, window in zip(absences, self._around, strict=True):
            windows[absence.person.id].append(window)
        self._windows = {person: merged(some) for person, some in windows.items()}
        ends = zip(absences, self._around, self._near, strict=True)
        spans = [(one.person.id, min(around[0], near[0]), max(around[1], near[1])) for one, around, near in ends]
        self._deeds = [
            _Deed(use.start, use.end, seq_of(use.node), absence, use.thing)
            for absence, use in uses_within(connection, spans, Role.BY)
        ]
        self._behind: set[int] = set()
        self._handled: set[int] = set()

    def behind(self, found: Walk, starts: Collection[int]) -> list[tuple[int, Spell, bool, int]]:
        """Return who is behind one of the asked: their key, the time, whether by assumed things alone, the contacts.

        `found` is the walk back from it, and `starts` are the things (keys) that it started from.
        """
        near = {deed.seq for deed in self._deeds}
        nodes = [node for node in found.nodes if seq_of(node) in near] if near else []
        if not nodes:
            return []
        walked = set(map(seq_of, nodes))
        uses = used_in(self.connection, nodes, _HANDLES | _SINKS)
        lots = {one.thing.id for one in found.reached if one.link == INGREDIENT and _grown_here(one.thing)} | {*starts}
        named = {one.thing.id for one in found.reached if not one.assumed} | {*starts}
        self._behind |= walked
        self._handled |= {seq_of(use.node) for use in uses if use.role in _HANDLES and use.thing in lots}
        contacts: dict[int, int] = {}
        for node in nodes:
            contacts[seq_of(node)] = min(found.contacts[node], contacts.get(seq_of(node), EVER))
        sure = {seq_of(use.node) for use in uses if use.role in _SINKS and use.thing in named and not use.assumed}
        out = []
        for person, windows in self._windows.items():
            deeds = [deed for deed in self._deeds if deed.person == person and deed.seq in walked]
            for low, high in windows:
                seqs = {deed.seq for deed in deeds if deed.lies_in((low, high))}
                if seqs:
                    nearest = min(contacts[seq] for seq in seqs)
                    out.append((person, Spell(low, None if high >= EVER else high), not seqs & sure, nearest))
        return out

    def told(self) -> tuple[KeptAway, ...]:
        """Return, once all walks back are done, who is a candidate or handled the asked near to being kept away."""
        out = []
        for place, absence in enumerate(self.absences):
            deeds = sorted(deed for deed in self._deeds if deed.absence == place and deed.seq in self._behind)
            behind = [deed for deed in deeds if deed.lies_in(self._around[place])]
            handled = [deed for deed in deeds if deed.lies_in(self._near[place]) and deed.seq in self._handled]
            if behind or handled:
                since, back = _entry(absence.since), _entry(absence.back) if absence.back else None
                out.append(KeptAway(absence.person.code, since, back, self._done(behind), self._done(handled)))
        return tuple(out)

    def _done(self, deeds: Iterable[_Deed]) -> tuple[Done, ...]:
        seqs = list(dict.fromkeys(deed.seq for deed in deeds))
        versions = by_seq(self.connection, seqs)
        return tuple(_entry(versions[seq]) for seq in seqs)


def _entry(one: Entry | Version) -> Done:
    return Done(one.name, one.at, one.kind)


def _grown_here(thing: Thing) -> bool:
    """Whether a thing is a lot of the farm's own, and no mix that reaches the whole farm."""
    return thing.cls == "lot" and not thing.bought and not thing.farm_wide
