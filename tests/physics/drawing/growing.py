"""What may be done next with seed and growing crops."""

from tests.physics import acts
from tests.physics.acts import Act
from tests.physics.drawing.draw import Draw
from tests.physics.model import need


def soak(draw: Draw, minute: int, named: bool = True) -> list[Act]:
    """Put seed to soak."""
    mix = draw.one(draw.lots("mix"), 0.3) if draw.lots("mix") else ""
    water = draw.one(("WELL", "MAINS")) if named else "MAINS"
    lot, seed = draw.code("K"), draw.one(("S-1", "S-2"))
    return [
        acts.Soak(
            minute=minute, lot=lot, seed=seed, bucket=draw.one(draw.at_work("BU")), water=water, mix=mix, named=named
        )
    ]


def sow(draw: Draw, minute: int, beside: bool = False) -> list[Act]:
    """Sow a batch; `beside`: on a mat on which another still grows."""
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
            tools=(draw.one(draw.at_work("SC")),) if draw.chance(0.3) else (),
            rack=draw.one(draw.at_work("RK"), 0.3),
            water=draw.water(),
            beside_another=beside,
        )
    ]


def tend(draw: Draw, minute: int) -> list[Act]:
    """Water or feed some batches."""
    batches = draw.some(draw.lots("batch"), 3)
    mix = draw.one(draw.lots("mix"), 0.15) if draw.lots("mix") else ""
    can = draw.one(draw.at_work("CAN", "TANK"), 0.5)
    water = "" if can.startswith("TANK") else draw.water()
    return [acts.Tend(minute=minute, batches=batches, water=water, can=can, mix=mix)]


def tend_for_days(draw: Draw, minute: int) -> list[Act]:
    """Water a batch for days."""
    batches = draw.some(draw.lots("batch"), 1)
    return [
        acts.Tend(minute=minute, batches=batches, water=draw.water(), can=draw.one(draw.at_work("CAN"), 0.8), days=3)
    ]


def again(draw: Draw, first: acts.Tend, minute: int) -> list[Act]:
    """Do once more what is done for days, where that can be done still."""
    act = acts.Tend(minute=minute, batches=first.batches, water=first.water, can=first.can, again=first.minute)
    return [act] if draw.do([act]) else []


def tend_out_of_a_tank(draw: Draw, minute: int) -> list[Act]:
    """Water batches out of a tank, which is written as their water."""
    return [acts.Tend(minute=minute, batches=draw.some(draw.lots("batch"), 2), tank="TANK-1")]


def cover(draw: Draw, minute: int) -> list[Act]:
    """Put a cover or a tray to a growing batch."""
    return [acts.Cover(minute=minute, batch=draw.one(draw.lots("batch")), item=draw.one(draw.idle("cover", "tray")))]


def cover_moved_on(draw: Draw, minute: int) -> list[Act]:
    """Take a cover off one batch and put it on another."""
    off = draw.one(draw.lots("batch"))
    item = draw.one([code for code in sorted(draw.world.together[off]) if draw.world.things[code].kind == "cover"])
    return [acts.Cover(minute=minute, batch=draw.one(draw.lots("batch")), item=item, off=off)]


def tray_left(draw: Draw, minute: int) -> list[Act]:
    """Lift a batch out of a tray into another."""
    batch = draw.one(draw.lots("batch"))
    item = draw.one(draw.idle("tray"))
    return [acts.Cover(minute=minute, batch=batch, item=item, out_of=draw.one(draw.on(batch)))]


def _cutting(draw: Draw, batch: str, whole: float) -> acts.Cutting:
    on = draw.on(batch)
    if draw.chance(whole):
        return acts.Cutting(batch=batch)
    return acts.Cutting(batch=batch, on=(on[0],) if len(on) > 1 and draw.chance(0.5) else (), all=False)


def harvest(draw: Draw, minute: int, said: bool = True, on_top: bool = False) -> list[Act]:
    """Cut batches; `said` and `on_top` as of the act."""
    batches = draw.some(draw.lots("batch"), 2)
    of = tuple(_cutting(draw, batch, 0.6) for batch in batches)
    if not said:
        of = (acts.Cutting(batch=draw.one([batch for batch in batches if len(draw.on(batch)) > 1]), all=False),)
    crates = [code for code in draw.at_work("CR") if draw.world.idle(code)]
    crate = draw.one(crates, 0.8) if crates else ""
    if on_top:
        crate = draw.one([code for code in draw.at_work("CR") if draw.world.together[code]])
    return [
        acts.Harvest(
            minute=minute,
            lot=draw.code("H"),
            of=of,
            knife=draw.one(draw.at_work("KN")),
            bench=draw.one(draw.at_work("BE"), 0.3),
            crate=crate,
            rooted=draw.chance(0.2),
            said=said,
            on_top=on_top,
        )
    ]


def harvest_with_usual_knife(draw: Draw, minute: int) -> list[Act]:
    """Cut with the usual knife, of which only the bench is written."""
    need(draw.world.here("KN-1"))
    of = (_cutting(draw, draw.one(draw.lots("batch")), 0.6),)
    bench, lot = draw.one(draw.at_work("BE")), draw.code("H")
    return [acts.Harvest(minute=minute, lot=lot, of=of, knife="KN-1", bench=bench, knife_named=False)]


def give_up(draw: Draw, minute: int) -> list[Act]:
    """Give up a tray of a batch."""
    batch = draw.one([batch for batch in draw.lots("batch") if len(draw.on(batch)) > 1])
    return [acts.GiveUp(minute=minute, batch=batch, on=draw.on(batch)[0])]
