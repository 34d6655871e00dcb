"""What may be done next with things, tanks, mixes and water, and what may go wrong."""

from tests.physics import acts, cleaning, waters
from tests.physics.acts import Act
from tests.physics.drawing.draw import Draw
from tests.physics.drawing.growing import soak

_REUSED = ("medium", "tray", "cover", "tool", "surface", "container", "tank", "rack", "vehicle")


def wash(draw: Draw, minute: int, named: bool = True) -> list[Act]:
    """Wash idle things."""
    tub = draw.one(draw.at_work("TUB"), 0.8)
    items = tuple(code for code in draw.some(draw.idle(*_REUSED), 4) if code != tub)
    water = draw.water() if named else "MAINS"
    unsaid = tub == "TUB-1" and draw.chance(0.4)
    mixes = draw.lots("mix") if named else []
    mix = draw.one(mixes) if mixes and draw.chance(0.15) else ""
    return [cleaning.Wash(minute=minute, items=items, tub=tub, water=water, tub_named=not unsaid, named=named, mix=mix)]


def dip(draw: Draw, minute: int, soiled: bool = False, after_use: bool = False) -> list[Act]:
    """Put idle things through a sanitiser; `after_use`: one that was washed once, and not since its last use."""
    tub = draw.one(draw.at_work("TUB"), 0.6)
    free = [code for code in draw.idle(*_REUSED) if code != tub]
    clean = [code for code in free if draw.world.things[code].washed]
    used = [code for code in free if draw.world.things[code].once_washed and code not in clean]
    scraped = draw.chance(0.4) and not after_use
    other = free if scraped else [code for code in free if code not in used]
    items = (draw.one(used),) if after_use else draw.some(clean if clean and draw.chance(0.6) else other, 3)
    good = draw.chance(0.6) or soiled
    how = draw.random.choices(("mix", "BL-1", ""), (8, 1, 1))[0]
    return [
        cleaning.Dip(
            minute=minute,
            items=items,
            mix=draw.one(draw.lots("mix")) if how == "mix" else how,
            ppm=100 if good or draw.chance(0.5) else 20,
            seconds=120 if good else 30,
            tub=tub,
            scraped=scraped,
            rinse=draw.water(0.2),
            rack=draw.one([code for code in draw.at_work("RK") if code not in items], 0.3),
            soiled=items[:1] if soiled else (),
            tub_named=tub != "TUB-1" or how != "mix" or draw.chance(0.6),
            degrees=20 if how else 80 if good else 60,
        )
    ]


def hot_water(draw: Draw, minute: int) -> list[Act]:
    """Put idle things in hot water, in the usual tub, which nobody names."""
    items = tuple(code for code in draw.some(draw.idle(*_REUSED), 2) if code != "TUB-1")
    degrees = draw.random.choice((60, 80))
    act = cleaning.Dip(
        minute=minute, items=items, mix="", ppm=0, seconds=60, tub="TUB-1", tub_named=False, degrees=degrees
    )
    return [act]


def mix(draw: Draw, minute: int, named: bool = True, bucket: str = "") -> list[Act]:
    """Mix a sanitiser."""
    mixes = draw.lots("mix")
    of = draw.one(mixes) if mixes and draw.chance(0.15) else "BL-1"
    water = draw.one(("WELL", "MAINS")) if named else "MAINS"
    return [waters.Mix(minute=minute, lot=draw.code("SOL"), water=water, of=of, bucket=bucket, named=named)]


def fill(draw: Draw, minute: int, named: bool = True) -> list[Act]:
    """Fill the tank."""
    mixes = draw.lots("mix") if named else []
    mix = draw.one(mixes) if mixes and draw.chance(0.2) else ""
    water = "" if mix else draw.one(("WELL", "MAINS")) if named else "MAINS"
    return [waters.Fill(minute=minute, tank="TANK-1", water=water, mix=mix, named=named)]


def not_named(draw: Draw, minute: int) -> list[Act]:
    """Use water that nobody names."""
    return draw.random.choice((soak, wash, mix, fill))(draw, minute, named=False)


def retag(draw: Draw, minute: int) -> list[Act]:
    """Give a medium a new tag, or cut it up."""
    kinds = ("medium", "medium", "tray", "cover", "container", "tool")
    item = draw.one([code for kind in kinds for code in draw.world.named(kind) if draw.world.here(code)])
    pieces = 2 if draw.world.things[item].kind == "medium" and draw.chance(0.5) else 1
    return [cleaning.Retag(minute=minute, item=item, codes=tuple(draw.code("N") for _ in range(pieces)))]


def lost(draw: Draw, minute: int) -> list[Act]:
    """Lose a thing, or find it."""
    lost = [code for code, thing in draw.world.things.items() if thing.lost]
    if lost and draw.chance(0.7):
        return [cleaning.Lost(minute=minute, item=lost[0], found=True)]
    return [cleaning.Lost(minute=minute, item=draw.one(draw.idle("medium", "tray", "tool")))]


def test(draw: Draw, minute: int) -> list[Act]:
    """Take a sample of water."""
    return [waters.WaterTest(minute=minute, source=draw.one(("WELL", "MAINS")), passes=draw.chance(0.7))]


def incident(draw: Draw, minute: int, whole: bool = True) -> list[Act]:
    """Let something go wrong; `whole` as of the act."""
    items = [code for code in draw.world.named(*_REUSED) if draw.world.here(code)]
    lots = draw.lots("batch", "harvest", "packed", "soaked", "seed", "supplies")
    struck = {*(draw.some(items, 2) if draw.chance(0.7) else ()), *(draw.some(lots, 2) if draw.chance(0.6) else ())}
    struck = draw.world.with_these(struck) if whole else struck
    named = tuple(sorted(code for code in struck if code in items))
    others = tuple(sorted(struck - set(named)))
    return [acts.Incident(minute=minute, items=named, lots=others, water=draw.water(0.2), whole=whole)]


def mix_spilt(draw: Draw, minute: int) -> list[Act]:
    """Spill a mix onto things."""
    items = draw.some(draw.idle(*_REUSED), 2)
    return [acts.Incident(minute=minute, items=items, lots=(draw.one(draw.lots("mix")),))]


def incident_at_a_rack(draw: Draw, minute: int) -> list[Act]:
    """Let something go wrong at a rack."""
    return [acts.Incident(minute=minute, rack=draw.one(draw.at_work("RK")))]


def incident_into_water(draw: Draw, minute: int) -> list[Act]:
    """Let something get into a water source."""
    return [acts.Incident(minute=minute, items=("TANK-1",), water=draw.one(("WELL", "MAINS")), into_water=True)]
