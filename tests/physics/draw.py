"""Random acts on the farm: what might be done next, as things stand."""

from collections.abc import Callable, Collection
from random import Random

from tests.physics import acts, cleaning, goods
from tests.physics.acts import Act
from tests.physics.lists import left_out
from tests.physics.model import Impossible, World

TRIES = 60
"""How often an act is looked for that can be done."""
MATS, KNIVES, CRATES = ("medium", "tray"), ("KN-1", "KN-2"), ("CR-1", "CR-2")
BENCHES, TUBS, RACKS, VANS = ("BE-1", "BE-2"), ("TUB-1", "TUB-2"), ("RK-1", "RK-2"), ("VAN-1", "VAN-2")


class Draw:
    """Draws acts for one farm, and counts the codes of what is new on it."""

    def __init__(self, random: Random, world: World) -> None:
        self.random = random
        self.world = world
        self.number = 0

    def next(self, minute: int, skip: Collection[str] = ()) -> tuple[str, list[Act]]:
        """Do something on the farm; return its name and the acts that it is. None is done where nothing is found."""
        for _ in range(TRIES):
            name = self.random.choices([*_WAYS], [weight for weight, _ in _WAYS.values()])[0]
            if left_out(name) or name in skip:
                continue
            try:
                found = _WAYS[name][1](self, minute)
            except IndexError:
                continue
            if self.do(found):
                return name, found
        return "nothing", []

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


def _soak(draw: Draw, minute: int, named: bool = True) -> list[Act]:
    mix = draw.one(draw.lots("mix"), 0.3) if draw.lots("mix") else ""
    water = draw.one(("WELL", "MAINS")) if named else "MAINS"
    lot, seed = draw.code("K"), draw.one(("S-1", "S-2"))
    return [acts.Soak(minute=minute, lot=lot, seed=seed, bucket="BU-1", water=water, mix=mix, named=named)]


def _sow(draw: Draw, minute: int, beside: bool = False) -> list[Act]:
    free = draw.idle("medium", "tray")
    on = draw.some(draw.idle("medium"), 2) if draw.chance(0.7) else draw.some(free, 3)
    if beside:
        on = (draw.one([code for batch in draw.lots("batch") for code in draw.on(batch)]),)
    covers = draw.idle("cover")
    on += (draw.one(covers),) if covers and draw.chance(0.4) else ()
    seed = draw.one(draw.lots("seed", "soaked"))
    return [
        acts.Sow(
            minute=minute,
            batch=draw.code("T"),
            seed=seed,
            on=on,
            tools=("SC-1",) if draw.chance(0.3) else (),
            rack=draw.one(RACKS, 0.3),
            water=draw.water(),
            beside_another=beside,
        )
    ]


def _tend(draw: Draw, minute: int) -> list[Act]:
    batches = draw.some(draw.lots("batch"), 3)
    mix = draw.one(draw.lots("mix"), 0.15) if draw.lots("mix") else ""
    can = draw.one(("CAN-1", "TANK-1"), 0.5)
    water = "" if can == "TANK-1" else draw.water()
    return [acts.Tend(minute=minute, batches=batches, water=water, can=can, mix=mix)]


def _tend_for_days(draw: Draw, minute: int) -> list[Act]:
    batches = draw.some(draw.lots("batch"), 1)
    return [acts.Tend(minute=minute, batches=batches, water=draw.water(), can=draw.one(("CAN-1",), 0.8), days=3)]


def again(draw: Draw, first: acts.Tend, minute: int) -> list[Act]:
    """Do once more what is done for days, where that can be done still."""
    act = acts.Tend(minute=minute, batches=first.batches, water=first.water, can=first.can, again=first.minute)
    return [act] if draw.do([act]) else []


def _tend_out_of_a_tank(draw: Draw, minute: int) -> list[Act]:
    return [acts.Tend(minute=minute, batches=draw.some(draw.lots("batch"), 2), tank="TANK-1")]


def _cover(draw: Draw, minute: int) -> list[Act]:
    return [acts.Cover(minute=minute, batch=draw.one(draw.lots("batch")), item=draw.one(draw.idle("cover", "tray")))]


def _cover_moved_on(draw: Draw, minute: int) -> list[Act]:
    off = draw.one(draw.lots("batch"))
    item = draw.one([code for code in sorted(draw.world.together[off]) if draw.world.things[code].kind == "cover"])
    return [acts.Cover(minute=minute, batch=draw.one(draw.lots("batch")), item=item, off=off)]


def _tray_left(draw: Draw, minute: int) -> list[Act]:
    batch = draw.one(draw.lots("batch"))
    item = draw.one(draw.idle("tray"))
    return [acts.Cover(minute=minute, batch=batch, item=item, out_of=draw.one(draw.on(batch)))]


def _cutting(draw: Draw, batch: str, whole: float) -> acts.Cutting:
    on = draw.on(batch)
    if draw.chance(whole):
        return acts.Cutting(batch=batch)
    return acts.Cutting(batch=batch, on=(on[0],) if len(on) > 1 and draw.chance(0.5) else (), all=False)


def _harvest(draw: Draw, minute: int, said: bool = True, on_top: bool = False) -> list[Act]:
    batches = draw.some(draw.lots("batch"), 2)
    of = tuple(_cutting(draw, batch, 0.6) for batch in batches)
    if not said:
        of = (acts.Cutting(batch=draw.one([batch for batch in batches if len(draw.on(batch)) > 1]), all=False),)
    crate = draw.one(draw.idle("container"), 0.8)
    if on_top:
        crate = draw.one([code for code in CRATES if draw.world.together[code]])
    return [
        acts.Harvest(
            minute=minute,
            lot=draw.code("H"),
            of=of,
            knife=draw.one(KNIVES),
            bench=draw.one(BENCHES, 0.3),
            crate=crate if crate in ("", *CRATES) else "",
            rooted=draw.chance(0.2),
            said=said,
            on_top=on_top,
        )
    ]


def _taken(draw: Draw, lot: str, whole: float = 0.6) -> goods.Taken:
    if draw.chance(whole) or draw.world.things[lot].left < 2:
        return goods.Taken(lot=lot)
    if draw.world.things[lot].kind == "batch":
        return goods.Taken(lot=lot, all=False, on=(draw.one(draw.on(lot)),))
    return goods.Taken(lot=lot, all=False)


def _pack(draw: Draw, minute: int, tipped: bool = False) -> list[Act]:
    lots = draw.some(draw.lots("harvest", "harvest", "batch", "packed"), 2)
    mixes = draw.lots("mix")
    mix = draw.one(mixes, 0.15) if mixes else ""
    loose = draw.chance(0.3)
    crates = [code for code in CRATES if draw.world.idle(code)]
    return [
        goods.Pack(
            minute=minute,
            lot=draw.code("P"),
            of=tuple(_taken(draw, lot, 0.2 if tipped else 0.6) for lot in lots),
            bench=draw.one(BENCHES, 1.0 if tipped else 0.8),
            crate=draw.one(crates) if crates and loose else "",
            tub=draw.one(TUBS) if mix and draw.chance(0.5) else "",
            bags="" if loose else "BAGS-1",
            water=draw.water(0.4),
            mix=mix,
            tipped=tipped,
        )
    ]


def _deliver(draw: Draw, minute: int) -> list[Act]:
    lots = draw.some(draw.lots("packed", "packed", "harvest"), 2)
    of = tuple(_taken(draw, lot) for lot in lots)
    idle = [code for code in CRATES if draw.world.idle(code)]
    lent = draw.some(idle, 1) if idle and draw.chance(0.3) else ()
    return [goods.Deliver(minute=minute, code=draw.code("D"), of=of, van=draw.one(VANS, 0.8), lent=lent)]


def _sell_live(draw: Draw, minute: int) -> list[Act]:
    taken = _taken(draw, draw.one(draw.lots("batch")))
    lent = (taken.on or tuple(draw.on(taken.lot))) if draw.chance(0.7) else ()
    return [goods.Deliver(minute=minute, code=draw.code("D"), of=(taken,), van=draw.one(VANS, 0.8), lent=lent)]


def _back(draw: Draw, minute: int, van: str = "") -> list[Act]:
    away = [code for code, thing in draw.world.things.items() if thing.away]
    return [goods.ItemsBack(minute=minute, items=draw.some(away, 3), van=van)]


def _dispose(draw: Draw, minute: int) -> list[Act]:
    lot = draw.one(draw.lots("batch", "batch", "harvest", "packed", "soaked"))
    return [goods.Dispose(minute=minute, of=_taken(draw, lot, 0.8))]


def _return(draw: Draw, minute: int, then: str = "", van: str = "") -> list[Act]:
    out = [pair for pair, left in draw.world.delivered.items() if left and draw.world.things[pair[1]].kind != "batch"]
    delivery, lot = draw.random.choice(out)
    then = then or draw.one(("disposed", "restocked"))
    new = draw.code("P") if then == "restocked" else ""
    return [goods.Return(minute=minute, delivery=delivery, lot=lot, then=then, new=new, van=van)]


def _move(draw: Draw, minute: int) -> list[Act]:
    return [goods.Move(minute=minute, lots=draw.some(draw.lots("harvest", "packed", "batch"), 2), to="COLD")]


_REUSED = ("medium", "tray", "cover", "tool", "surface", "container", "tank", "rack", "vehicle")


def _wash(draw: Draw, minute: int, named: bool = True) -> list[Act]:
    tub = draw.one(TUBS, 0.8)
    items = tuple(code for code in draw.some(draw.idle(*_REUSED), 4) if code != tub)
    water = draw.water() if named else "MAINS"
    unsaid = tub == "TUB-1" and draw.chance(0.4)
    return [cleaning.Wash(minute=minute, items=items, tub=tub, water=water, tub_named=not unsaid, named=named)]


def _dip(draw: Draw, minute: int, soiled: bool = False) -> list[Act]:
    tub = draw.one(TUBS, 0.6)
    free = [code for code in draw.idle(*_REUSED) if code != tub]
    clean = [code for code in free if draw.world.things[code].washed]
    items = draw.some(clean if clean and draw.chance(0.6) else free, 3)
    good = draw.chance(0.6) or soiled
    return [
        cleaning.Dip(
            minute=minute,
            items=items,
            mix=draw.one(draw.lots("mix")),
            ppm=100 if good or draw.chance(0.5) else 20,
            seconds=120 if good else 30,
            tub=tub,
            scraped=draw.chance(0.4),
            rinse=draw.water(0.2),
            rack=draw.one([code for code in RACKS if code not in items], 0.3),
            soiled=items[:1] if soiled else (),
        )
    ]


def _mix(draw: Draw, minute: int, named: bool = True, bucket: str = "") -> list[Act]:
    mixes = draw.lots("mix")
    of = draw.one(mixes) if mixes and draw.chance(0.15) else "BL-1"
    water = draw.one(("WELL", "MAINS")) if named else "MAINS"
    return [acts.Mix(minute=minute, lot=draw.code("SOL"), water=water, of=of, bucket=bucket, named=named)]


def _fill(draw: Draw, minute: int, named: bool = True) -> list[Act]:
    mixes = draw.lots("mix") if named else []
    mix = draw.one(mixes) if mixes and draw.chance(0.2) else ""
    water = "" if mix else draw.one(("WELL", "MAINS")) if named else "MAINS"
    return [acts.Fill(minute=minute, tank="TANK-1", water=water, mix=mix, named=named)]


def _not_named(draw: Draw, minute: int) -> list[Act]:
    return draw.random.choice((_soak, _wash, _mix, _fill))(draw, minute, named=False)


def _retag(draw: Draw, minute: int) -> list[Act]:
    here = [code for code in draw.world.named("medium") if draw.world.here(code)]
    codes = tuple(draw.code("N") for _ in range(draw.random.randint(1, 2)))
    return [cleaning.Retag(minute=minute, item=draw.one(here), codes=codes)]


def _lost(draw: Draw, minute: int) -> list[Act]:
    lost = [code for code, thing in draw.world.things.items() if thing.lost]
    if lost and draw.chance(0.7):
        return [cleaning.Lost(minute=minute, item=lost[0], found=True)]
    return [cleaning.Lost(minute=minute, item=draw.one(draw.idle("medium", "tray", "tool")))]


def _test(draw: Draw, minute: int) -> list[Act]:
    return [acts.WaterTest(minute=minute, source=draw.one(("WELL", "MAINS")), passes=draw.chance(0.7))]


def _incident(draw: Draw, minute: int, whole: bool = True) -> list[Act]:
    items = [code for code in draw.world.named(*_REUSED) if draw.world.here(code)]
    lots = draw.lots("batch", "harvest", "packed", "soaked", "seed")
    struck = {*(draw.some(items, 2) if draw.chance(0.7) else ()), *(draw.some(lots, 2) if draw.chance(0.6) else ())}
    struck = draw.world.with_these(struck) if whole else struck
    named = tuple(sorted(code for code in struck if code in items))
    others = tuple(sorted(struck - set(named)))
    return [acts.Incident(minute=minute, items=named, lots=others, water=draw.water(0.2), whole=whole)]


def _mix_spilt(draw: Draw, minute: int) -> list[Act]:
    items = draw.some(draw.idle(*_REUSED), 2)
    return [acts.Incident(minute=minute, items=items, lots=(draw.one(draw.lots("mix")),))]


def _incident_at_a_rack(draw: Draw, minute: int) -> list[Act]:
    return [acts.Incident(minute=minute, rack=draw.one(RACKS))]


def _incident_into_water(draw: Draw, minute: int) -> list[Act]:
    return [acts.Incident(minute=minute, items=("TANK-1",), water=draw.one(("WELL", "MAINS")), into_water=True)]


_WAYS: dict[str, tuple[int, Callable[[Draw, int], list[Act]]]] = {
    "soaking": (4, _soak),
    "sowing": (14, _sow),
    "two crops on one mat": (3, lambda draw, at: _sow(draw, at, beside=True)),
    "watering or feeding": (12, _tend),
    "watering for days": (3, _tend_for_days),
    "water out of a tank": (3, _tend_out_of_a_tank),
    "cover put on, or tray under": (3, _cover),
    "cover moved on": (3, _cover_moved_on),
    "tray left": (3, _tray_left),
    "harvest": (10, _harvest),
    "part not said": (3, lambda draw, at: _harvest(draw, at, said=False)),
    "filled on top": (3, lambda draw, at: _harvest(draw, at, on_top=True)),
    "packing": (9, _pack),
    "tipped out": (3, lambda draw, at: _pack(draw, at, tipped=True)),
    "delivery": (7, _deliver),
    "live delivery": (4, _sell_live),
    "items back": (6, _back),
    "van of what came back": (3, lambda draw, at: _back(draw, at, draw.one(VANS))),
    "disposal": (4, _dispose),
    "return": (3, _return),
    "sold again": (3, lambda draw, at: _return(draw, at, "held")),
    "move": (1, _move),
    "washing": (9, _wash),
    "sanitising": (12, _dip),
    "found soiled": (3, lambda draw, at: _dip(draw, at, soiled=True)),
    "mixing": (4, _mix),
    "bucket of a mix": (3, lambda draw, at: _mix(draw, at, bucket="BU-1")),
    "tank fill": (3, _fill),
    "water not named": (3, _not_named),
    "new tag, or cut up": (3, _retag),
    "lost or found": (2, _lost),
    "water test": (4, _test),
    "incident": (4, _incident),
    "incident half named": (3, lambda draw, at: _incident(draw, at, whole=False)),
    "mix spilt": (3, _mix_spilt),
    "incident at a rack": (3, _incident_at_a_rack),
    "incident into water": (2, _incident_into_water),
}
"""What can be drawn, by the names that lists.py knows, each with how often it is thought of."""
