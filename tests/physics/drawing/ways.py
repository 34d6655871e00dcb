"""What can be done on the farm, how often it is thought of, and which of it is drawn."""

from collections.abc import Callable, Collection

from tests.physics.acts import Act
from tests.physics.drawing import cleaning, goods, growing
from tests.physics.drawing.draw import Draw
from tests.physics.lists import left_out
from tests.physics.model import Impossible

TRIES = 60
"""How often an act is looked for that can be done."""
WAYS: dict[str, tuple[int, Callable[[Draw, int], list[Act]]]] = {
    "soaking": (4, growing.soak),
    "sowing": (14, growing.sow),
    "two crops on one mat": (3, lambda draw, at: growing.sow(draw, at, beside=True)),
    "watering or feeding": (12, growing.tend),
    "watering for days": (3, growing.tend_for_days),
    "water out of a tank": (3, growing.tend_out_of_a_tank),
    "cover put on, or tray under": (3, growing.cover),
    "cover moved on": (3, growing.cover_moved_on),
    "tray left": (3, growing.tray_left),
    "tray given up": (3, growing.give_up),
    "harvest": (10, growing.harvest),
    "part not said": (3, lambda draw, at: growing.harvest(draw, at, said=False)),
    "filled on top": (3, lambda draw, at: growing.harvest(draw, at, on_top=True)),
    "knife not named beside a bench": (3, growing.harvest_with_usual_knife),
    "packing": (9, goods.pack),
    "tipped out": (3, lambda draw, at: goods.pack(draw, at, tipped=True)),
    "delivery": (7, goods.deliver),
    "live delivery": (4, goods.sell_live),
    "items back": (6, goods.back),
    "van of what came back": (3, goods.back_in_a_van),
    "disposal": (4, goods.dispose),
    "return": (3, goods.bring_back),
    "sold again": (3, lambda draw, at: goods.bring_back(draw, at, "held")),
    "move": (1, goods.move),
    "put into a crate": (3, goods.move_into_a_crate),
    "sampled, weighed or probed": (3, goods.try_lots),
    "washing": (9, cleaning.wash),
    "sanitising": (12, cleaning.dip),
    "dip after a use of several days": (3, lambda draw, at: cleaning.dip(draw, at, after_use=True)),
    "hot water in a tub not named": (3, cleaning.hot_water),
    "found soiled": (3, lambda draw, at: cleaning.dip(draw, at, soiled=True)),
    "mixing": (4, cleaning.mix),
    "bucket of a mix": (3, lambda draw, at: cleaning.mix(draw, at, bucket=draw.one(draw.at_work("BU")))),
    "tank fill": (3, cleaning.fill),
    "water not named": (3, cleaning.not_named),
    "new tag, or cut up": (3, cleaning.retag),
    "lost or found": (2, cleaning.lost),
    "water test": (4, cleaning.test),
    "incident": (4, cleaning.incident),
    "incident half named": (3, lambda draw, at: cleaning.incident(draw, at, whole=False)),
    "mix spilt": (3, cleaning.mix_spilt),
    "incident at a rack": (3, cleaning.incident_at_a_rack),
    "incident into water": (2, cleaning.incident_into_water),
}
"""What can be drawn, by the names that lists.py knows, each with how often it is thought of."""


def next_of(draw: Draw, minute: int, skip: Collection[str] = ()) -> tuple[str, list[Act]]:
    """Do something on the farm; return its name and the acts that it is. None is done where nothing is found."""
    for _ in range(TRIES):
        name = draw.random.choices([*WAYS], [weight for weight, _ in WAYS.values()])[0]
        if left_out(name) or name in skip:
            continue
        try:
            found = WAYS[name][1](draw, minute)
        except (IndexError, Impossible):
            continue
        if draw.do(found):
            return name, found
    return "nothing", []
