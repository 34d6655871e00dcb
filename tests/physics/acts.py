"""What is done on the farm while crops grow, and what it does to germs. Each act says all that whoever did it knows."""

from abc import ABC, abstractmethod
from dataclasses import dataclass

from tests.physics.model import World, need

Codes = tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Act(ABC):
    """Something that is done. `minute`: since midnight before the first day."""

    minute: int

    @abstractmethod
    def happen(self, world: World) -> None:
        """Do it, or raise Impossible."""


@dataclass(frozen=True, kw_only=True)
class Soak(Act):
    """Seed is put to soak in a bucket, perhaps in a mix."""

    lot: str
    seed: str
    bucket: str
    water: str = ""
    mix: str = ""
    named: bool = True

    def happen(self, world: World) -> None:
        need(world.idle(self.bucket) and world.alive(self.seed) and (not self.mix or world.alive(self.mix)))
        world.make(self.lot, "soaked", 2)
        world.give(some(self.seed, self.water), [self.lot])
        world.give(some(self.water), [self.bucket])
        # Nothing is written of its strength: what is in the mix gets onto the seed, and what is on the seed into it.
        world.touch(self.lot, self.bucket, self.mix)
        world.rest(self.lot, self.bucket)
        world.settle()


@dataclass(frozen=True, kw_only=True)
class Sow(Act):
    """Seed is sown on media and trays, under covers; the batch stands on them from then on."""

    batch: str
    seed: str
    on: Codes
    tools: Codes = ()
    rack: str = ""
    water: str = ""
    beside_another: bool = False

    def happen(self, world: World) -> None:
        need(self.on and world.alive(self.seed) and world.here(*self.on, *self.tools, self.rack))
        need(self.beside_another or world.idle(*self.on))
        world.make(self.batch, "batch", len(self.on))
        world.give(some(self.seed, self.water), [self.batch])
        if world.things[self.seed].kind == "soaked" and world.use_up(self.seed, 1):
            world.take_off(self.seed)
        world.touch(self.batch, *self.on, *self.tools, self.rack)
        world.rest(self.batch, *self.on)
        if self.rack:
            world.on_rack[self.rack].add(self.batch)
        world.settle()


@dataclass(frozen=True, kw_only=True)
class Tend(Act):
    """Batches are watered or fed, with a can that goes from one to the next, or with none.

    `days`: it is done again and again in so many days, and written once. `again`: it is one of those further times, and
    the minute of the first.
    """

    batches: Codes
    water: str = ""
    can: str = ""
    mix: str = ""
    tank: str = ""
    days: int = 0
    again: int = 0

    def happen(self, world: World) -> None:
        need(not self.again or self.again in world.done)
        need(self.batches and world.alive(*self.batches) and world.here(self.can, self.tank))
        need(not self.mix or world.alive(self.mix))
        world.give(some(self.water, self.mix, self.tank), [*self.batches, *some(self.can)])
        if self.can:
            world.touch(self.can, *self.batches)
        world.settle()


@dataclass(frozen=True, kw_only=True)
class Cover(Act):
    """A cover is put over a growing batch, or the batch is lifted into a tray.

    `off`: the batch that had the cover until then; `out_of`: what this batch is lifted out of.
    """

    batch: str
    item: str
    off: str = ""
    out_of: str = ""

    def happen(self, world: World) -> None:
        need(world.alive(self.batch) and world.here(self.item))
        if self.off:
            need(world.together[self.item] == {self.off} and self.off != self.batch)
            world.take_off(self.off, self.item)
        need(world.idle(self.item))
        if self.out_of:
            need(self.out_of in world.together[self.batch])
            world.take_off(self.batch, self.out_of)
        world.touch(self.batch, self.item)
        world.rest(self.batch, self.item)
        world.settle()


@dataclass(frozen=True, kw_only=True)
class GiveUp(Act):
    """A tray of a growing batch is given up, and what it stood on is free; the rest grows on."""

    batch: str
    on: str

    def happen(self, world: World) -> None:
        need(world.alive(self.batch) and {self.on} < world.together[self.batch])
        need(not world.use_up(self.batch, 1))
        world.take_off(self.batch, self.on)


@dataclass(frozen=True, kw_only=True)
class Cutting:
    """What is cut of one batch: all that is left, a tray of it, or some of each where nobody counts."""

    batch: str
    on: Codes = ()
    all: bool = True


@dataclass(frozen=True, kw_only=True)
class Harvest(Act):
    """Batches are cut into a crate. `said`: whether it is written that some of it still grows.

    `on_top`: another lot lies in the crate. `knife_named`: whether the usual knife is written where a bench is.
    """

    lot: str
    of: tuple[Cutting, ...]
    knife: str
    bench: str = ""
    crate: str = ""
    rooted: bool = False
    said: bool = True
    on_top: bool = False
    knife_named: bool = True

    def happen(self, world: World) -> None:
        batches = [one.batch for one in self.of]
        need(batches and world.alive(*batches) and world.here(self.knife, self.bench, self.crate))
        need(self.on_top or world.idle(self.crate))
        world.make(self.lot, "harvest", 3)
        tools = some(self.knife, self.bench, self.crate)
        world.give(batches, [self.lot, *tools])
        growing = [one.batch for one in self.of if not one.all]
        # Of a batch that is cut whole nothing is left but what it stood on.
        bare = [code for one in self.of if one.all for code in world.together[one.batch]]
        for one in self.of:
            need(one.all or set(one.on) < world.together[one.batch])
            if one.all:
                world.things[one.batch].left = 0
                world.take_off(one.batch)
            elif one.on or not self.said:
                # How many trays that was is written, so that they are counted.
                need(not world.use_up(one.batch, 1))
        world.touch(self.lot, *tools, *growing, *bare)
        for one in self.of:
            if one.on:
                world.take_off(one.batch, *one.on)
        if self.crate:
            world.rest(self.lot, self.crate)
        world.settle()


@dataclass(frozen=True, kw_only=True)
class Incident(Act):
    """A leak, a spill or a pest. It brings germs of its own to all that it names, and is itself a cause.

    `whole`: what stands together is named together. `rack`: it reached the batches that stand there, and names none.
    """

    items: Codes = ()
    lots: Codes = ()
    water: str = ""
    whole: bool = True
    rack: str = ""
    into_water: bool = False

    @property
    def cause(self) -> str:
        """The cause that it is."""
        return f"incident at {self.minute}"

    def happen(self, world: World) -> None:
        named = {*self.items, *self.lots}
        need(all(code in world.things for code in named) and world.here(*self.items, self.rack))
        need(not self.whole or world.with_these(named) == named)
        struck = [*named, *some(self.rack)]
        struck += [lot for lot in world.on_rack[self.rack] if world.alive(lot)] if self.rack else []
        need(struck)
        struck += some(self.water) if self.into_water else []
        world.give(some(self.water), struck)
        world.touch(*struck)
        world.plant(self.cause, *struck)


def some(*codes: str) -> Codes:
    """Return the codes of what there is."""
    return tuple(code for code in codes if code)
