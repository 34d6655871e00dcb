"""What is done with crops that are cut or sold, and what it does to germs."""

from dataclasses import dataclass

from tests.physics.acts import Act, Codes
from tests.physics.model import World, need


@dataclass(frozen=True, kw_only=True)
class Taken:
    """Some of a lot: all that is left, or a part; of a growing batch what stands on some media."""

    lot: str
    all: bool = True
    on: Codes = ()

    def off(self, world: World) -> None:
        """Take it off what it stands on; what a part stood on keeps what it had."""
        need(world.alive(self.lot))
        growing = world.things[self.lot].kind == "batch"
        need(self.all or not growing or (self.on and set(self.on) < world.together[self.lot]))
        if self.all:
            world.things[self.lot].left = 0
            world.take_off(self.lot)
        elif growing:
            need(not world.use_up(self.lot, 1))
            world.take_off(self.lot, *self.on)
        else:
            need(not world.use_up(self.lot, 1))


@dataclass(frozen=True, kw_only=True)
class Pack(Act):
    """Lots are packed: with a package around them, or loose into a crate; perhaps washed, in water or in a mix.

    `tipped`: the whole of each was tipped out on the bench, and what is left put back.
    """

    lot: str
    of: tuple[Taken, ...]
    bench: str = ""
    crate: str = ""
    tub: str = ""
    bags: str = ""
    water: str = ""
    mix: str = ""
    tipped: bool = False

    def happen(self, world: World) -> None:
        need(self.of and world.here(self.bench, self.crate, self.tub) and world.idle(self.crate))
        need(not self.mix or world.alive(self.mix))
        whence = [one.lot for one in self.of]
        for one in self.of:
            one.off(world)
        world.make(self.lot, "packed", 3)
        givers = [code for code in (*whence, self.bags, self.water) if code]
        world.give(givers, [code for code in (self.lot, self.bench, self.tub) if code])
        # Nobody reads how strong the wash is, so it shares what comes into it.
        put_back = [one.lot for one in self.of if self.tipped and not one.all]
        world.touch(self.lot, self.bench, self.tub, self.crate, self.mix, *put_back)
        if self.crate and not self.bags:
            world.rest(self.lot, self.crate)
        world.settle()


@dataclass(frozen=True, kw_only=True)
class Deliver(Act):
    """Lots go to a customer in a van, growing ones with what they stand on lent, where it is written so."""

    code: str
    of: tuple[Taken, ...]
    van: str = ""
    lent: Codes = ()

    def happen(self, world: World) -> None:
        need(self.of and world.here(self.van, *self.lent))
        whence = [one.lot for one in self.of]
        for one in self.of:
            need(one.lot in world.things)
            before = world.things[one.lot].left
            one.off(world)
            world.delivered[self.code, one.lot] = max(1, before - world.things[one.lot].left)
        need(all(world.idle(code) for code in self.lent))
        world.make(self.code, "delivery", 1)
        world.give(whence, [code for code in (self.code, self.van) if code])
        world.touch(self.code, self.van, *self.lent)
        for code in self.lent:
            world.things[code].away = True
        world.settle()


@dataclass(frozen=True, kw_only=True)
class ItemsBack(Act):
    """Lent things come back, together."""

    items: Codes
    van: str = ""

    def happen(self, world: World) -> None:
        need(self.items and world.here(self.van))
        for code in self.items:
            need(code in world.things and world.things[code].away)
            world.things[code].away = False
        world.touch(*self.items, self.van)
        world.settle()


@dataclass(frozen=True, kw_only=True)
class Dispose(Act):
    """A lot, or some of it, goes to compost."""

    of: Taken

    def happen(self, world: World) -> None:
        self.of.off(world)
        world.settle()


@dataclass(frozen=True, kw_only=True)
class Return(Act):
    """Some of a delivery comes back. `then`: disposed, restocked as a new lot, or held under its own code."""

    delivery: str
    lot: str
    then: str
    new: str = ""
    van: str = ""

    def happen(self, world: World) -> None:
        out = world.delivered.get((self.delivery, self.lot), 0)
        need(out and world.here(self.van))
        world.delivered[self.delivery, self.lot] = 0
        if self.van:
            world.touch(self.delivery, self.van)
        if self.then == "restocked":
            world.make(self.new, world.things[self.lot].kind, 1)
            world.give([self.delivery, self.lot], [self.new])
        elif self.then == "held":
            world.give([self.delivery], [self.lot])
            world.things[self.lot].left += out
        world.settle()


@dataclass(frozen=True, kw_only=True)
class Move(Act):
    """Lots go to another place, with what they lie in; or out of that into a crate, in which others may lie already."""

    lots: Codes
    to: str
    crate: str = ""

    def happen(self, world: World) -> None:
        need(self.lots and world.alive(*self.lots) and world.here(self.crate))
        if self.crate:
            need(all(world.things[lot].kind != "batch" for lot in self.lots))
            for lot in self.lots:
                world.take_off(lot)
            world.touch(self.crate, *self.lots)
            for lot in self.lots:
                world.rest(lot, self.crate)
        world.settle()


@dataclass(frozen=True, kw_only=True)
class Tried(Act):
    """A thing is put to lots: a knife that takes a sample, a scale, a probe. `how`: sample, count or probe."""

    lots: Codes
    item: str
    how: str

    def happen(self, world: World) -> None:
        need(self.lots and world.alive(*self.lots) and world.here(self.item))
        world.touch(self.item, *self.lots)
        world.settle()
