"""What is asked of a walk, and what it answers."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import NamedTuple

from lotwalk.values.order import surely_before
from lotwalk.values.roles import Role

FORWARD, BACK = "forward", "back"
MADE = int(Role.MADE)
"""The role of a lot that an entry makes: it comes before every use of the lot, whatever the clocks say."""
SHARED = Role.SHARED.stored
"""The role of a mix that what did not come out clean shares with the other loads of it."""
BATH = "bath"
"""The class of a mix as what its loads share."""
INGREDIENT, CONTACT = "ingredient", "contact"
EVER = 1 << 62
"""Seconds. Stands for an open end of time in the walk's arithmetic."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """Which clean breaks are not believed.

    `entries` are sequence numbers of entries; `items`: no item's break counts at all; `all`: no break counts.
    """

    entries: frozenset[int] = frozenset()
    items: bool = False
    all: bool = False

    def of(self, seq: int) -> bool:
        """Return whether this entry, named by its sequence number, is disbelieved."""
        return self.all or self.items or seq in self.entries

    @property
    def any(self) -> bool:
        """Whether any clean break may be disbelieved."""
        return self.all or self.items or bool(self.entries)


@dataclass(frozen=True, slots=True)
class Start:
    """A thing to start from. With a window (first and last second) only uses that overlap it count.

    `rank` is that of the path which leads to the thing and includes it; None when the path begins here. `contacts` are
    the contacts on that path, the step through the thing included; None when the path begins here.
    """

    thing: int
    window: tuple[int, int] | None = None
    rank: int | None = None
    contacts: int | None = None


@dataclass(frozen=True, slots=True)
class Spell:
    """The time between two clean breaks (seconds); None is open."""

    start: int | None
    end: int | None


class Thing(NamedTuple):
    """A thing as the walk needs it; `id` is its key in this database and never shown."""

    id: int
    code: str
    kind: str
    cls: str
    type: str | None
    bought: bool
    farm_wide: bool
    counted: bool
    bath: bool = False

    @property
    def as_bath(self) -> "Thing":
        """The mix as what its loads share. Its key is that of the mix, negated: a walk through it is one of its own."""
        return self._replace(id=-self.id, cls=BATH, farm_wide=False)


class Touch(NamedTuple):
    """One use of a thing by an entry, as a row of the walk; walking back, with its times and lines negated.

    Where the walk leaves a node by it, `bound` is the latest start of a use that follows (N; walking back, -P), and
    `other_bound` the other end of its spell, if that was asked for. Where the walk comes to a node by it and it stands
    on an attested sheet, `bound` is the earliest end of a use that leads to it, and `other_bound` the earliest line of
    that sheet from which one does.
    """

    node: int
    role: int
    thing: int
    start: int
    end: int
    group: int
    line: int
    assumed: int = 0
    bound: int = 0
    other_bound: int = 0

    def surely_before(self, other: "Touch") -> bool:
        """Return whether this use surely comes before the other."""
        return surely_before(self, other)

    def leads_to(self, other: "Touch") -> bool:
        """Return whether the walk, which leaves a node by this use, comes to another by that use of the same thing.

        The lines of an attested sheet are wholly ordered, so on one sheet a clean break lies between exactly when
        its line does, or when it lies between in time.
        """
        if MADE in (self.role, other.role):
            return True
        if self.start > other.end or other.start > self.bound or (other.group and self.end < other.bound):
            return False
        return self.group == 0 or self.group != other.group or other.other_bound <= self.line <= other.line

    @property
    def after_break(self) -> bool:
        """Whether a clean break on its own sheet says more than its time of what can lead to this use."""
        return self.group != 0 and self.other_bound > -EVER


class Reached(NamedTuple):
    """One reached thing: how surely (link), at which rank of path, and for items and water in which spells.

    `contacts`, where the walk counted them: the fewest on a path from it to what was asked about (`walk/contacts.py`);
    one for each spell, or a single one where it has none.
    """

    thing: Thing
    link: str
    rank: int
    spells: tuple[Spell, ...]
    assumed: bool
    contacts: tuple[int, ...] = ()

    @property
    def level(self) -> int:
        """The level of that rank, 1 to 5."""
        return LEVEL_OF[self.rank]


@dataclass(frozen=True, slots=True)
class Walk:
    """The answer: what was reached, the nodes walked through (each with its level) and the entries' numbers.

    `silent` counts, by field, the entries walked through that named nothing where they could have. `contacts` gives
    those of each node, where the walk counted them.
    """

    direction: str
    reached: tuple[Reached, ...]
    nodes: dict[int, int]
    entries: tuple[int, ...]
    silent: dict[str, int]
    contacts: dict[int, int] = field(default_factory=dict)

    def codes(self) -> set[str]:
        """Return the codes of all reached things."""
        return {one.thing.code for one in self.reached}


LEVEL_OF = (1, 2, 3, 3, 4, 5)
"""The level that people read, for each rank. Ranks order paths by what they pass: 0 lots made here, 1 a bought lot, 2
a lot tended or handled in place, 3 one item, 4 more items, 5 a farm-wide source. Ranks 2 and 3 are level 3. A path of a
lower rank keeps a lower or equal one however it goes on, so the walk settles each node once, at its lowest."""

IN_PLACE_RANK = 2
ITEM_RANK = 3
FARM_WIDE_RANK = 5
CLEARS = (int(Role.CLEARED), int(Role.CLEARED_WATER))
"""The roles of an item and of a water source that start afresh."""
IN_PLACE = (int(Role.HANDLED), int(Role.TENDED))
"""The roles in which a lot stays where it is."""


def rank_of(thing: Thing) -> int:
    """Return the lowest rank of a path through a thing that nothing worked on in place."""
    if thing.farm_wide:
        return FARM_WIDE_RANK
    if thing.cls in ("item", BATH):
        return ITEM_RANK
    if thing.cls != "lot":
        return IN_PLACE_RANK
    return 1 if thing.bought else 0


def _stepped(rank: int, ranked: int) -> int:
    second_item = ranked == ITEM_RANK and rank >= ITEM_RANK
    return max(rank, ranked, ITEM_RANK + 1 if second_item else 0)


STEPS = tuple(tuple(_stepped(rank, ranked) for ranked in range(len(LEVEL_OF))) for rank in range(len(LEVEL_OF)))
"""STEPS[rank][thing]: the rank of a path after it passes a thing whose own rank is `thing`."""


def step(rank: int, thing: Thing, role: int) -> int:
    """Return the rank of a path of `rank` that goes on through `thing`, used in `role`."""
    return max(STEPS[rank][rank_of(thing)], IN_PLACE_RANK if role in IN_PLACE else 0)


def merged(windows: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return the union of closed windows as disjoint ones, in order."""
    out: list[tuple[int, int]] = []
    for low, high in sorted(windows):
        if out and low <= out[-1][1] + 1:
            out[-1] = (out[-1][0], max(out[-1][1], high))
        else:
            out.append((low, high))
    return out
