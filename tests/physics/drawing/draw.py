"""Draws from the farm as it stands: things that are free, lots of which there is some left, codes that are new."""

from random import Random

from tests.physics.acts import Act
from tests.physics.model import Impossible, World

MATS = ("medium", "tray")


class Draw:
    """Draws acts for one farm, and counts the codes of what is new on it."""

    def __init__(self, random: Random, world: World) -> None:
        self.random = random
        self.world = world
        self.number = 0

    def do(self, found: list[Act]) -> bool:
        """Do some acts, and return whether that could be done."""
        after = self.world.copy()
        try:
            for act in found:
                act.happen(after)
                after.done.add(act.minute)
        except Impossible:
            return False
        self.world = after
        return True

    def code(self, letter: str) -> str:
        """Return a code that is new."""
        self.number += 1
        return f"{letter}-{self.number + 10}"

    def one(self, codes: list[str] | tuple[str, ...], chance: float = 1.0) -> str:
        """Return one of some codes, or none of them but by chance. Raises IndexError where there are none to choose."""
        return self.random.choice(codes) if self.random.random() < chance else ""

    def some(self, codes: list[str], most: int) -> tuple[str, ...]:
        """Return one or more of some codes."""
        return tuple(self.random.sample(codes, min(len(codes), self.random.randint(1, most))))

    def chance(self, chance: float) -> bool:
        """Return yes as often as that."""
        return self.random.random() < chance

    def at_work(self, *works: str) -> list[str]:
        """Return the items here that are used as something, by the first letters of their first codes."""
        return [code for code, thing in self.world.things.items() if thing.work in works and self.world.here(code)]

    def lots(self, *kinds: str) -> list[str]:
        """Return the lots of some kinds of which there is some left."""
        return [code for code in self.world.named(*kinds) if self.world.alive(code)]

    def idle(self, *kinds: str) -> list[str]:
        """Return the items of some kinds that are here and bear nothing."""
        return [code for code in self.world.named(*kinds) if self.world.idle(code)]

    def water(self, chance: float = 0.7) -> str:
        """Return some water, or none."""
        return self.one(("WELL", "MAINS"), chance)

    def on(self, batch: str) -> list[str]:
        """Return the media and trays that a batch stands on."""
        return [code for code in sorted(self.world.together[batch]) if self.world.things[code].kind in MATS]
