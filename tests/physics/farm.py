"""A random farm: its acts in the order in which they were done, how each is written, and where germs come from."""

from collections import Counter
from dataclasses import dataclass, field, replace
from random import Random

from tests.physics import acts, cleaning, goods, waters
from tests.physics.acts import Act
from tests.physics.drawing.draw import Draw
from tests.physics.drawing.growing import again
from tests.physics.drawing.ways import next_of
from tests.physics.lists import left_out
from tests.physics.model import Impossible, World

DAY = 24 * 60
"""Minutes."""
FEWEST, MOST = 12, 45
"""Acts on a farm."""
_NAMED_BY_NONE = (
    acts.Tend
    | acts.Incident
    | cleaning.Wash
    | cleaning.Dip
    | goods.ItemsBack
    | goods.Move
    | goods.Tried
    | waters.Fill
    | waters.WaterTest
)
"""Acts of which the record names nothing new, so that it may be typed when all others are."""


@dataclass(frozen=True)
class Style:
    """How an act is written: with which time, with what is usual left out, typed only at the end.

    `typo`: at first on a wrong `day`, without some `things` that it touched, or with a `result` that is too good;
    `again`: that is struck out and the entry typed anew.
    """

    how: str = "minute"
    silent: bool = False
    late: bool = False
    typo: str = ""
    again: bool = False


@dataclass(frozen=True)
class Cause:
    """Where germs come from: a lot that is bad, an item or water from some minute on, an incident.

    `until`: the minute in which they died on that thing first, if they did.
    """

    code: str
    minute: int | None = None
    label: str = ""
    until: int | None = None


@dataclass(frozen=True)
class Farm:
    """Acts by time, the way each is written (by its minute), and what gets dirty by itself, and when.

    `in_order`: all stands on one sheet that attests its order.
    """

    acts: tuple[Act, ...]
    styles: dict[int, Style] = field(default_factory=dict)
    soiled: tuple[tuple[int, str], ...] = ()
    in_order: bool = False

    def without(self, places: set[int]) -> "Farm":
        """Return the farm without some of its acts, by their places."""
        return replace(self, acts=tuple(act for place, act in enumerate(self.acts) if place not in places))


@dataclass
class Lived:
    """What came of it: the farm in the end, what was done, and the causes."""

    world: World
    done: list[Act]
    causes: list[Cause]


def live(farm: Farm) -> Lived:
    """Let a farm's acts happen. What cannot be done, since an act before it was left out, is not done."""
    lived = Lived(World.begin(), [], [])
    world = lived.world
    lived.causes += _bad(world)
    soiled = list(farm.soiled)
    for act in farm.acts:
        while soiled and soiled[0][0] < act.minute:
            lived.causes += _soil(world, *soiled.pop(0))
        before = world.copy()
        try:
            act.happen(world)
        except Impossible:
            world = lived.world = before
            continue
        world.done.add(act.minute)
        lived.done.append(act)
        lived.causes = [_over(world, one, act.minute) for one in lived.causes]
        if isinstance(act, acts.Incident):
            lived.causes.append(Cause((*act.items, *act.lots, act.rack)[0], act.minute, act.cause))
        lived.causes += _bad(world)
    return lived


def _bad(world: World) -> list[Cause]:
    """Let each lot that is new be bad in itself, as a cause of its own, once it is made.

    What made it bad is behind it, and dirtied the things that it was made with; that is another cause.
    """
    new = world.made
    world.made = []
    for code in new:
        world.plant(code, code)
    return [Cause(code, None, code) for code in new]


def _over(world: World, cause: Cause, minute: int) -> Cause:
    """The cause, with the minute in which its germs died on the thing that they come from."""
    alive = cause.until is not None or cause.label in world.germs[cause.code]
    return cause if alive else replace(cause, until=minute)


def _soil(world: World, minute: int, code: str) -> list[Cause]:
    """Let an item that bears nothing, or water, get dirty by itself."""
    if code not in world.things or not world.idle(code):
        return []
    label = f"{code} at {minute}"
    world.plant(label, code)
    return [Cause(code, minute, label)]


def random_farm(seed: int) -> tuple[Farm, Counter[str]]:
    """Return the farm of a number, and how often each act was drawn for it."""
    random = Random(seed)
    draw = Draw(random, World.begin())
    drawn: list[Act] = []
    counts: Counter[str] = Counter()
    daily: list[acts.Tend] = []
    in_order = random.random() < 0.25
    minute = 6 * 60
    for _ in range(random.randint(FEWEST, MOST)):
        minute += random.choice((7, 30, 95, 300, DAY))
        for first in [one for one in daily if minute < one.minute // DAY * DAY + one.days * DAY]:
            if random.random() < 0.4:
                drawn += again(draw, first, minute)
                minute += 5
        name, found = next_of(draw, minute, skip={"watering for days"} if in_order and _no_spans() else set())
        counts[name] += 1
        drawn += found
        daily += [act for act in found if isinstance(act, acts.Tend) and act.days]
    styles = {act.minute: _style(random, act, in_order) for act in drawn}
    codes = [code for code, thing in draw.world.things.items() if not thing.left and thing.kind != "batch"]
    soiled = sorted((random.randint(0, minute), random.choice(codes)) for _ in range(8))
    return Farm(tuple(drawn), styles, tuple(soiled), in_order), counts


def _no_spans() -> bool:
    return left_out("span on a sheet in order")


def _style(random: Random, act: Act, in_order: bool) -> Style:
    how = random.choices(("minute", "half", "date"), (8, 1, 1))[0]
    late = not in_order and isinstance(act, _NAMED_BY_NONE) and random.random() < 0.15
    typo = "" if in_order or random.random() < 0.85 else random.choice(("day", "things", "result"))
    if typo == "day" and isinstance(act, cleaning.Wash | cleaning.Dip) and left_out("washing typed on a wrong day"):
        typo = ""
    return Style(how, random.random() < 0.5, late, typo, random.random() < 0.3)
