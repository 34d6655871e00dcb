"""The small farm as it really is: germs on things, things that stay together, and what kills.

Nothing here knows of records. Germs of a named cause sit on a thing. What touches shares them. What stands on or lies
in something stays in touch with it until it is taken away. They die by a proper dip alone, and in water when it is
found clean.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

ITEMS = {
    "medium": ("M-1", "M-2", "M-3", "M-4"),
    "tray": ("TR-1", "TR-2"),
    "cover": ("DM-1", "DM-2"),
    "tool": ("KN-1", "KN-2", "CAN-1", "SC-1"),
    "surface": ("BE-1", "BE-2"),
    "container": ("CR-1", "CR-2", "BU-1", "TUB-1", "TUB-2"),
    "tank": ("TANK-1",),
    "rack": ("RK-1", "RK-2"),
    "vehicle": ("VAN-1", "VAN-2"),
}
WATERS = ("WELL", "MAINS")
BOUGHT = {"S-1": "seed", "S-2": "seed", "BL-1": "supplies", "BAGS-1": "supplies"}
PLENTY = 1000
"""Units of a lot that is never used up here."""


class Impossible(Exception):
    """An act that cannot be done on the farm as it is."""


def need(possible: object) -> None:
    """Raise Impossible unless something holds."""
    if not possible:
        raise Impossible


@dataclass
class Thing:
    """A thing on the farm. `left`: units of a lot. `work`: what an item is used as, by a mark. `gone`: it was cut up.

    `washed`: since it touched anything last; `once_washed`: at any time. `laid_aside`: unused since a lot left it.
    """

    code: str
    kind: str
    left: int = 0
    work: str = ""
    away: bool = False
    gone: bool = False
    lost: bool = False
    washed: bool = False
    once_washed: bool = False
    laid_aside: bool = False


@dataclass
class World:
    """The farm at a moment, and all that each cause has dirtied so far."""

    things: dict[str, Thing] = field(default_factory=dict)
    germs: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))
    together: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))
    dirtied: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))
    on_rack: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))
    delivered: dict[tuple[str, str], int] = field(default_factory=dict)
    done: set[int] = field(default_factory=set)
    made: list[str] = field(default_factory=list)

    @classmethod
    def begin(cls) -> "World":
        """Return the farm on its first morning."""
        world = cls()
        for kind, codes in ITEMS.items():
            world.things |= {code: Thing(code, kind, work=code.split("-")[0]) for code in codes}
        world.things |= {code: Thing(code, "water") for code in WATERS}
        for code, kind in BOUGHT.items():
            world.make(code, kind, PLENTY)
        return world

    def copy(self) -> "World":
        """Return the farm as it is, apart from this one."""
        return World(
            {code: replace(thing) for code, thing in self.things.items()},
            *(_apart(some) for some in (self.germs, self.together, self.dirtied, self.on_rack)),
            dict(self.delivered),
            set(self.done),
            list(self.made),
        )

    def make(self, code: str, kind: str, left: int) -> None:
        """Let a new lot be there."""
        need(code not in self.things)
        self.things[code] = Thing(code, kind, left)
        self.made.append(code)

    def plant(self, cause: str, *codes: str) -> None:
        """Put germs of a cause on things."""
        for code in codes:
            self.germs[code].add(cause)
        self.settle()

    def give(self, givers: Iterable[str], takers: Iterable[str]) -> None:
        """Carry germs one way, as water and seed do."""
        carried = set[str]().union(*(self.germs[code] for code in givers))
        for code in takers:
            self.germs[code] |= carried
            self.things[code].washed = self.things[code].laid_aside = False

    def touch(self, *codes: str) -> None:
        """Let things touch: each then has the germs of all."""
        some = [code for code in codes if code]
        self.give(some, some)

    def rest(self, lot: str, *on: str) -> None:
        """Let a lot stand on things, or lie in them, from now on."""
        for code in on:
            self.together[lot].add(code)
            self.together[code].add(lot)
            self.things[code].washed = self.things[code].laid_aside = False

    def take_off(self, lot: str, *from_: str) -> None:
        """Take a lot off things, with what they had on them by then; off all that it stands on, if none is named."""
        self.settle()
        for code in from_ or tuple(self.together[lot]):
            self.together[lot].discard(code)
            self.together[code].discard(lot)
            self.things[code].laid_aside = True

    def kill(self, *codes: str) -> None:
        """Let all germs on things die."""
        self.settle()
        for code in codes:
            self.germs[code].clear()

    def wash(self, *codes: str) -> None:
        """Let things be washed; nothing dies of that."""
        for code in codes:
            self.things[code].washed = self.things[code].once_washed = True

    def settle(self) -> None:
        """Share germs among all that stays together, and note what is dirty."""
        for group in self.groups():
            shared = set[str]().union(*(self.germs[code] for code in group))
            for code in group:
                self.germs[code] |= shared
        for code, causes in self.germs.items():
            for cause in causes:
                self.dirtied[cause].add(code)

    def groups(self) -> list[set[str]]:
        """Return the things that stay together, group by group."""
        left = {code for code, others in self.together.items() if others}
        found = []
        while left:
            group, fresh = set[str](), {left.pop()}
            while fresh:
                group |= fresh
                fresh = {other for code in fresh for other in self.together[code]} - group
            left -= group
            found.append(group)
        return found

    def with_these(self, codes: Iterable[str]) -> set[str]:
        """Return things with all that they stay together with."""
        wanted = set(codes)
        return wanted.union(*(group for group in self.groups() if group & wanted))

    def idle(self, *codes: str) -> bool:
        """Whether items are here and nothing stands on them or lies in them."""
        return self.here(*codes) and not any(self.together[code] for code in codes if code)

    def here(self, *codes: str) -> bool:
        """Whether items are on the farm."""
        some = [self.things.get(code) for code in codes if code]
        return all(one is not None and not (one.away or one.gone or one.lost) for one in some)

    def alive(self, *lots: str) -> bool:
        """Whether something is left of each of these lots."""
        return all(code in self.things and self.things[code].left > 0 for code in lots)

    def use_up(self, lot: str, units: int) -> bool:
        """Take units of a lot, and return whether that was all of it."""
        thing = self.things[lot]
        need(0 < units <= thing.left)
        thing.left -= units
        return not thing.left

    def named(self, *kinds: str) -> list[str]:
        """Return the codes of all things of some kinds, in the order in which they came."""
        return [code for code, thing in self.things.items() if thing.kind in kinds]


def _apart(sets: dict[str, set[str]]) -> dict[str, set[str]]:
    return defaultdict(set, {code: set(some) for code, some in sets.items()})
