"""The record that an honest grower writes of an act: what was done, with what, as the kinds of record ask it."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from tests.physics import acts, cleaning, goods
from tests.physics.acts import Act

Entry = dict[str, Any]
FIRST_DAY = datetime(2026, 3, 2)
GRAMS = 300
"""What a unit of a lot weighs."""


def moment(minute: int) -> datetime:
    """Return the time of a minute since midnight before the first day."""
    return FIRST_DAY + timedelta(minutes=minute)


def at(minute: int, how: str = "minute", days: int = 0) -> str:
    """Return a time as it is written: to the minute, as a half day, or as a date; `days` make it a span."""
    time = moment(minute)
    day = f"{time:%Y-%m-%d}"
    if days:
        return f"{day}..{time + timedelta(days=days):%Y-%m-%d}"
    if how == "minute":
        return f"{time:%Y-%m-%d %H:%M}"
    return f"{day} {'am' if time.hour < 12 else 'pm'}" if how == "half" else day


def written(act: Act, how: str = "minute", silent: bool = False) -> list[Entry]:
    """Return the entries of an act. `silent`: what is usual at the place is left out where it was what is usual."""
    if isinstance(act, acts.Tend) and act.again:
        return []
    entry = _WRITE[type(act)](act, silent)
    days = act.days if isinstance(act, acts.Tend) else 0
    entries = [{"at": at(act.minute, how, days), "by": "TO"} | _filled(entry)]
    if isinstance(act, cleaning.Dip) and act.soiled:
        seen = {"kind": "washing", "items": list(act.soiled), "method": "looked at", "seen_clean": "no", "tub": "none"}
        entries.append({"at": at(act.minute + 1), "by": "TO"} | seen)
    return entries


def _soak(act: acts.Soak, silent: bool) -> Entry:
    return {
        "kind": "soaking",
        "lot": act.lot,
        "seed": [{"lot": act.seed, "amount": "200 g"}],
        "amount": "400 g",
        "water": act.water if act.named else "",
        "place": "" if act.named else "ROOM",
        "solution": act.mix,
        "equipment": [act.bucket],
    }


def _sow(act: acts.Sow, silent: bool) -> Entry:
    return {
        "kind": "sowing",
        "batch": act.batch,
        "seed": [{"lot": act.seed, "amount": "200 g"}],
        "trays": str(len(act.on)),
        "equipment": _listed(*act.on, *act.tools, act.rack),
        **_water(act.water, silent),
    }


def _tend(act: acts.Tend, silent: bool) -> Entry:
    quiet = silent and act.can == "CAN-1" and act.water == "MAINS"
    return {
        "kind": "growing-check",
        "batches": list(act.batches),
        **({"place": "ROOM"} if quiet else _water(act.water or act.tank, False)),
        "equipment": "" if quiet else act.can or "none",
        "solution": act.mix,
    }


def _cover(act: acts.Cover, silent: bool) -> Entry:
    words = f"moved into {act.item}" if act.item.startswith("TR") else f"put under {act.item}"
    return {
        "kind": "growing-check",
        "batches": [act.batch],
        "water": "none",
        "equipment": [act.item],
        "action": words + (f", taken off {act.off}" if act.off else "") + (f", {act.out_of} free" * bool(act.out_of)),
    }


def _harvest(act: acts.Harvest, silent: bool) -> Entry:
    rows = []
    for one in act.of:
        row = {"batch": one.batch}
        if not one.all:
            row |= {"trays": ", ".join(one.on)} if one.on else {}
            row |= {"finished": "no"} if act.said else {"trays": "1"}
        rows.append(row)
    return {
        "kind": "harvest",
        "lot": act.lot,
        "from": rows,
        "amount": "900 g",
        "cut": "with roots" if act.rooted else "above the medium",
        "equipment": _listed(act.knife, act.bench, act.crate),
    }


def _mix(act: acts.Mix, silent: bool) -> Entry:
    # A mix has no field for what it was stirred in; this is what one would be called.
    return {
        "kind": "solution",
        "lot": act.lot,
        "product": act.of,
        "water": act.water if act.named else "",
        "place": "" if act.named else "WASH",
        "volume": "10 L",
        "equipment": act.bucket,
    }


def _fill(act: acts.Fill, silent: bool) -> Entry:
    place = "" if act.named else "ROOM"
    return {
        "kind": "tank-fill",
        "tank": act.tank,
        "water": act.water if act.named else "",
        "solution": act.mix,
        "place": place,
    }


def _test(act: acts.WaterTest, silent: bool) -> Entry:
    found = "not detected in 100 mL" if act.passes else "14 MPN/100 mL"
    return {"kind": "water-test", "source": act.source, "e_coli": found}


def _incident(act: acts.Incident, silent: bool) -> Entry:
    return {
        "kind": "contact",
        "what": "something dirty came onto these",
        "items": _listed(*act.items, act.rack),
        "lots": list(act.lots),
        "water": act.water,
    }


def _row(one: goods.Taken, growing: bool) -> Entry:
    if one.all:
        return {"lot": one.lot, "amount": "1 tray", "finished": "yes"} if growing else {"lot": one.lot}
    return {"lot": one.lot, "amount": "1 tray", "trays": list(one.on)} if growing else {"lot": one.lot}


def _taken(of: tuple[goods.Taken, ...]) -> list[Entry]:
    """The rows of a packing or a delivery; of what does not grow, an amount."""
    rows = [_row(one, one.lot.startswith("T-")) for one in of]
    return [{"amount": f"{GRAMS * (3 if one.all else 1)} g"} | row for one, row in zip(of, rows, strict=True)]


def _pack(act: goods.Pack, silent: bool) -> Entry:
    return {
        "kind": "packing",
        "lot": act.lot,
        "from": _taken(act.of),
        "equipment": _listed(act.bench, act.crate, act.tub) or "none",
        "packaging": act.bags,
        "water": act.water or "none",
        "solution": act.mix,
        "amount": "900 g",
    }


def _deliver(act: goods.Deliver, silent: bool) -> Entry:
    return {
        "kind": "delivery",
        "code": act.code,
        "customer": "CAFE",
        "items": _taken(act.of),
        "vehicle": act.van,
        "lent": list(act.lent),
    }


def _back(act: goods.ItemsBack, silent: bool) -> Entry:
    return {"kind": "items-back", "items": list(act.items), "customer": "CAFE", "vehicle": act.van}


def _dispose(act: goods.Dispose, silent: bool) -> Entry:
    one = act.of
    row: Entry = {"lot": one.lot}
    if not one.all:
        row |= {"trays": list(one.on)} if one.on else {"amount": f"{GRAMS} g"}
    return {"kind": "disposal", "items": [row], "to": "compost"}


def _return(act: goods.Return, silent: bool) -> Entry:
    return {
        "kind": "return",
        "delivery": act.delivery,
        "lot": act.lot,
        "amount": f"{GRAMS} g",
        "then": act.then,
        "new_lot": act.new,
        "vehicle": act.van,
    }


def _move(act: goods.Move, silent: bool) -> Entry:
    return {"kind": "move", "codes": list(act.lots), "to": act.to}


def _wash(act: cleaning.Wash, silent: bool) -> Entry:
    usual = not act.tub_named or not act.named
    return {
        "kind": "washing",
        "items": list(act.items),
        "method": "scraped and brushed",
        "tub": (act.tub or "none") if act.tub_named else "",
        "water": act.water if act.named else "",
        "place": "WASH" if usual else "",
    }


def _dip(act: cleaning.Dip, silent: bool) -> Entry:
    return {
        "kind": "sanitising",
        "items": list(act.items),
        "solution": act.mix,
        "tub": act.tub or "none",
        "reading": f"{act.ppm} ppm",
        "contact": f"{act.seconds} s",
        "temperature": "20 C",
        "ph": "7",
        "washed": "yes" if act.scraped else "",
        "rinse_water": act.rinse,
        "dried_on": act.rack,
    }


def _retag(act: cleaning.Retag, silent: bool) -> Entry:
    what = "retagged" if len(act.codes) == 1 else "cut"
    return {"kind": "equipment-change", "items": [act.item], "what": what, "codes": list(act.codes)}


def _lost(act: cleaning.Lost, silent: bool) -> Entry:
    return {"kind": "equipment-change", "items": [act.item], "what": "found" if act.found else "lost"}


def _water(code: str, silent: bool) -> Entry:
    """The water of an act: left out where it is the place's usual one and nobody writes it."""
    return {"place": "ROOM"} if silent and code == "MAINS" else {"water": code or "none"}


def _listed(*codes: str) -> list[str]:
    return [code for code in codes if code]


def _filled(entry: Entry) -> Entry:
    return {name: value for name, value in entry.items() if value not in ("", [])}


_WRITE: dict[type[Act], Callable[[Any, bool], Entry]] = {
    acts.Soak: _soak,
    acts.Sow: _sow,
    acts.Tend: _tend,
    acts.Cover: _cover,
    acts.Harvest: _harvest,
    acts.Mix: _mix,
    acts.Fill: _fill,
    acts.WaterTest: _test,
    acts.Incident: _incident,
    goods.Pack: _pack,
    goods.Deliver: _deliver,
    goods.ItemsBack: _back,
    goods.Dispose: _dispose,
    goods.Return: _return,
    goods.Move: _move,
    cleaning.Wash: _wash,
    cleaning.Dip: _dip,
    cleaning.Retag: _retag,
    cleaning.Lost: _lost,
}
