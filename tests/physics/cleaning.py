"""What is done with things to clean them, or because they wear out, and what it does to germs."""

from dataclasses import dataclass

from tests.physics.acts import Act, Codes
from tests.physics.model import Thing, World, need

LOWEST, LONGEST = 50, 60
"""What the label asks: parts per million of chlorine at least, and seconds at least."""


@dataclass(frozen=True, kw_only=True)
class Wash(Act):
    """Idle things are washed in a tub. Nothing dies of it. `named`: whether its water is written."""

    items: Codes
    tub: str = ""
    water: str = ""
    tub_named: bool = True
    named: bool = True

    def happen(self, world: World) -> None:
        need(self.items and self.tub not in self.items and world.idle(*self.items, self.tub))
        world.give([self.water] if self.water else [], [*self.items, *([self.tub] if self.tub else [])])
        world.touch(*self.items, self.tub)
        world.wash(*self.items)
        world.settle()


@dataclass(frozen=True, kw_only=True)
class Dip(Act):
    """Idle things are put through a sanitiser. Those that were washed come out clean if it is strong and long enough.

    `scraped`: they were washed as part of it, and whoever did it writes that. `soiled`: soil was left on them, which
    somebody sees and writes just afterwards. What does not come out clean shares the bath and its tub with all that
    went in before and comes after. `tub_named`: whether its tub is written.
    """

    items: Codes
    mix: str
    ppm: int
    seconds: int
    tub: str = ""
    scraped: bool = False
    rinse: str = ""
    rack: str = ""
    soiled: Codes = ()
    tub_named: bool = True

    def happen(self, world: World) -> None:
        need(self.items and world.alive(self.mix) and world.idle(*self.items, self.tub) and world.here(self.rack))
        need(self.tub not in self.items)
        proper = self.ppm >= LOWEST and self.seconds >= LONGEST
        washed = {code for code in self.items if self.scraped or world.things[code].washed}
        clean = [code for code in self.items if proper and code in washed and code not in self.soiled]
        rest = [code for code in self.items if code not in clean]
        if rest:
            world.touch(*rest, self.mix, self.tub)
        world.kill(*clean)
        world.give([self.rinse] if self.rinse else [], self.items)
        if self.rack:
            world.touch(self.rack, *rest)
            world.give([self.rack], clean)
        # Being dipped soils nothing: what was washed before may be dipped again.
        world.wash(*washed)
        world.settle()


@dataclass(frozen=True, kw_only=True)
class Retag(Act):
    """A medium gets a new tag, or is cut into pieces, each with a tag, perhaps with a crop on it."""

    item: str
    codes: Codes

    def happen(self, world: World) -> None:
        need(world.here(self.item) and not any(code in world.things for code in self.codes))
        kind = world.things[self.item].kind
        for code in self.codes:
            world.things[code] = Thing(code, kind)
        world.touch(self.item, *self.codes)
        lots = tuple(world.together[self.item])
        for lot in lots:
            world.rest(lot, *self.codes)
            world.take_off(lot, self.item)
        world.things[self.item].gone = True
        world.settle()


@dataclass(frozen=True, kw_only=True)
class Lost(Act):
    """An idle thing is lost, or found again."""

    item: str
    found: bool = False

    def happen(self, world: World) -> None:
        thing = world.things[self.item]
        need(thing.lost if self.found else world.idle(self.item))
        thing.lost = not self.found
