"""What is done with water, mixes and tanks, and what it does to germs."""

from dataclasses import dataclass

from tests.physics.acts import Act, some
from tests.physics.model import PLENTY, World, need


@dataclass(frozen=True, kw_only=True)
class Mix(Act):
    """A sanitiser is mixed with water, or from another mix, perhaps with a spoon out of a bucket."""

    lot: str
    water: str = ""
    of: str = "BL-1"
    bucket: str = ""
    named: bool = True

    def happen(self, world: World) -> None:
        need(world.alive(self.of) and world.idle(self.bucket))
        world.make(self.lot, "mix", PLENTY)
        world.give(some(self.of, self.water), [self.lot])
        world.touch(self.lot, self.bucket)
        world.settle()


@dataclass(frozen=True, kw_only=True)
class Fill(Act):
    """A tank is filled with water, or with a mix."""

    tank: str
    water: str = ""
    mix: str = ""
    named: bool = True

    def happen(self, world: World) -> None:
        need(world.here(self.tank) and (not self.mix or world.alive(self.mix)))
        world.give(some(self.water, self.mix), [self.tank])
        world.settle()


@dataclass(frozen=True, kw_only=True)
class WaterTest(Act):
    """A sample of water is taken. Where none is found, the water is clean from then on."""

    source: str
    passes: bool

    def happen(self, world: World) -> None:
        if self.passes:
            world.kill(self.source)
