"""What is done with things to clean them, or because they wear out, and what it does to germs."""

from dataclasses import dataclass

from tests.physics.acts import Act, Codes
from tests.physics.model import Thing, World, need

LOWEST, LONGEST = 50, 60
"""What the label asks: parts per million of chlorine at least, and seconds at least."""
SPRAY = "BL-1"
HOT, HEATED = 77, 30
"""What hot water needs: degrees at least, and seconds at least."""


@dataclass(frozen=True, kw_only=True)
class Wash(Act):
    """Idle things are washed in a tub, perhaps with a mix in it. Nothing dies of it.

    `tub_named` and `named`: whether its tub and its water are written.
    """

    items: Codes
    tub: str = ""
    water: str = ""
    tub_named: bool = True
    named: bool = True
    mix: str = ""

    def happen(self, world: World) -> None:
        need(self.items and self.tub not in self.items and world.idle(*self.items, self.tub))
        need(not self.mix or world.alive(self.mix))
        world.give([self.water] if self.water else [], [*self.items, *([self.tub] if self.tub else [])])
        world.touch(*self.items, self.tub, self.mix)
        world.wash(*self.items)
        world.settle()


@dataclass(frozen=True, kw_only=True)
class Dip(Act):
    """Idle things are put through a sanitiser. Those that were washed come out clean if it is strong and long enough.

    Without a mix they are put in hot water (`degrees`), or BL-1 is sprayed on them as it comes, which makes no bath.

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
    degrees: int = 20

    def happen(self, world: World) -> None:
        need(not self.mix or world.alive(self.mix))
        need(self.items and world.idle(*self.items, self.tub) and world.here(self.rack))
        need(self.tub not in self.items)
        strong = self.ppm >= LOWEST and self.seconds >= LONGEST
        hot = self.degrees >= HOT and self.seconds >= HEATED
        proper = strong if self.mix else hot
        washed = {code for code in self.items if self.scraped or world.things[code].washed}
        clean = [code for code in self.items if proper and code in washed and code not in self.soiled]
        rest = [code for code in self.items if code not in clean]
        if rest:
            world.touch(*rest, self.mix if self.mix != SPRAY else "", self.tub)
            world.give([self.mix] if self.mix else [], rest)
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
    """A thing gets a new tag, or is cut into pieces, each with a tag, perhaps with a crop on it or a lot in it."""

    item: str
    codes: Codes

    def happen(self, world: World) -> None:
        need(world.here(self.item) and not any(code in world.things for code in self.codes))
        old = world.things[self.item]
        for code in self.codes:
            world.things[code] = Thing(code, old.kind, work=old.work)
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
