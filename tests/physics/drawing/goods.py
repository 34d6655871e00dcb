"""What may be done next with what is cut, packed or sold."""

from tests.physics import goods
from tests.physics.acts import Act
from tests.physics.drawing.draw import Draw


def _taken(draw: Draw, lot: str, whole: float = 0.6) -> goods.Taken:
    if draw.chance(whole) or draw.world.things[lot].left < 2:
        return goods.Taken(lot=lot)
    if draw.world.things[lot].kind == "batch":
        return goods.Taken(lot=lot, all=False, on=(draw.one(draw.on(lot)),))
    return goods.Taken(lot=lot, all=False)


def pack(draw: Draw, minute: int, tipped: bool = False) -> list[Act]:
    """Pack lots; `tipped` as of the act."""
    lots = draw.some(draw.lots("harvest", "harvest", "batch", "packed"), 2)
    mixes = draw.lots("mix")
    mix = draw.one(mixes, 0.15) if mixes else ""
    loose = draw.chance(0.3)
    crates = [code for code in draw.at_work("CR") if draw.world.idle(code)]
    return [
        goods.Pack(
            minute=minute,
            lot=draw.code("P"),
            of=tuple(_taken(draw, lot, 0.2 if tipped else 0.6) for lot in lots),
            bench=draw.one(draw.at_work("BE"), 1.0 if tipped else 0.8),
            crate=draw.one(crates) if crates and loose else "",
            tub=draw.one(draw.at_work("TUB")) if mix and draw.chance(0.5) else "",
            bags="" if loose else "BAGS-1",
            water=draw.water(0.4),
            mix=mix,
            tipped=tipped,
        )
    ]


def deliver(draw: Draw, minute: int) -> list[Act]:
    """Deliver what is cut or packed."""
    lots = draw.some(draw.lots("packed", "packed", "harvest"), 2)
    of = tuple(_taken(draw, lot) for lot in lots)
    emptied = {code for one in of if one.all for code in draw.world.together[one.lot]}
    crates = [code for code in draw.at_work("CR") if code in emptied or draw.world.idle(code)]
    lent = draw.some(crates, 1) if crates and draw.chance(0.3) else ()
    return [goods.Deliver(minute=minute, code=draw.code("D"), of=of, van=draw.one(draw.at_work("VAN"), 0.8), lent=lent)]


def sell_live(draw: Draw, minute: int) -> list[Act]:
    """Deliver a growing batch."""
    taken = _taken(draw, draw.one(draw.lots("batch")))
    lent = (taken.on or tuple(draw.on(taken.lot))) if draw.chance(0.7) else ()
    return [
        goods.Deliver(
            minute=minute, code=draw.code("D"), of=(taken,), van=draw.one(draw.at_work("VAN"), 0.8), lent=lent
        )
    ]


def back(draw: Draw, minute: int, van: str = "") -> list[Act]:
    """Let lent things come back."""
    away = [code for code, thing in draw.world.things.items() if thing.away]
    return [goods.ItemsBack(minute=minute, items=draw.some(away, 3), van=van)]


def dispose(draw: Draw, minute: int) -> list[Act]:
    """Throw a lot away."""
    lot = draw.one(draw.lots("batch", "batch", "harvest", "packed", "soaked"))
    return [goods.Dispose(minute=minute, of=_taken(draw, lot, 0.8))]


def bring_back(draw: Draw, minute: int, then: str = "", van: str = "") -> list[Act]:
    """Let some of a delivery come back."""
    out = [pair for pair, left in draw.world.delivered.items() if left and draw.world.things[pair[1]].kind != "batch"]
    delivery, lot = draw.random.choice(out)
    then = then or draw.one(("disposed", "restocked"))
    new = draw.code("P") if then == "restocked" else ""
    return [goods.Return(minute=minute, delivery=delivery, lot=lot, then=then, new=new, van=van)]


def move(draw: Draw, minute: int) -> list[Act]:
    """Move lots."""
    return [goods.Move(minute=minute, lots=draw.some(draw.lots("harvest", "packed", "batch"), 2), to="COLD")]


def move_into_a_crate(draw: Draw, minute: int) -> list[Act]:
    """Put a lot that has no package around it into an empty crate."""
    crates = [code for code in draw.at_work("CR") if draw.world.idle(code)]
    return [goods.Move(minute=minute, lots=(draw.one(draw.lots("harvest")),), to="COLD", crate=draw.one(crates))]


def try_lots(draw: Draw, minute: int) -> list[Act]:
    """Take a sample of a lot, weigh one, or put a probe into some."""
    how = draw.one(("sample", "count", "probe"))
    kinds = ("harvest", "packed", "batch") if how == "sample" else ("harvest", "packed")
    lots = draw.some(draw.lots(*kinds), 2 if how == "probe" else 1)
    return [goods.Tried(minute=minute, lots=lots, item=draw.one(draw.at_work("KN", "SC")), how=how)]


def back_in_a_van(draw: Draw, minute: int) -> list[Act]:
    """Let lent things, or some of a delivery, come back in a van."""
    van = draw.one(draw.at_work("VAN"))
    return back(draw, minute, van) if draw.chance(0.5) else bring_back(draw, minute, van=van)
