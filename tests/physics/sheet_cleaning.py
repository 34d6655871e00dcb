"""What is written of things, tanks, mixes and water, and of what went wrong."""

from collections.abc import Callable, Mapping
from typing import Any

from tests.physics import acts, cleaning, waters
from tests.physics.acts import Act
from tests.physics.words import Entry, listed


def _wash(act: cleaning.Wash, silent: bool) -> Entry:
    usual = not act.tub_named or not act.named
    return {
        "kind": "washing",
        "items": list(act.items),
        "method": "scraped and brushed",
        "tub": (act.tub or "none") if act.tub_named else "",
        "water": act.water if act.named else "",
        "detergent": act.mix,
        "place": "WASH" if usual else "",
    }


def _dip(act: cleaning.Dip, silent: bool) -> Entry:
    return {
        "kind": "sanitising",
        "items": list(act.items),
        "solution": act.mix,
        "tub": (act.tub or "none") if act.tub_named else "",
        "place": "" if act.tub_named else "WASH",
        "method": "" if act.mix else "heat",
        "reading": f"{act.ppm} ppm" if act.mix else "",
        "contact": f"{act.seconds} s",
        "temperature": f"{act.degrees} C",
        "ph": "7" if act.mix else "",
        "washed": "yes" if act.scraped else "",
        "rinse_water": act.rinse,
        "dried_on": act.rack,
    }


def _retag(act: cleaning.Retag, silent: bool) -> Entry:
    what = "retagged" if len(act.codes) == 1 else "cut"
    return {"kind": "equipment-change", "items": [act.item], "what": what, "codes": list(act.codes)}


def _lost(act: cleaning.Lost, silent: bool) -> Entry:
    return {"kind": "equipment-change", "items": [act.item], "what": "found" if act.found else "lost"}


def _mix(act: waters.Mix, silent: bool) -> Entry:
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


def _fill(act: waters.Fill, silent: bool) -> Entry:
    place = "" if act.named else "ROOM"
    return {
        "kind": "tank-fill",
        "tank": act.tank,
        "water": act.water if act.named else "",
        "solution": act.mix,
        "place": place,
    }


def _test(act: waters.WaterTest, silent: bool) -> Entry:
    found = "not detected in 100 mL" if act.passes else "14 MPN/100 mL"
    return {"kind": "water-test", "source": act.source, "e_coli": found}


def _incident(act: acts.Incident, silent: bool) -> Entry:
    return {
        "kind": "contact",
        "what": "something dirty came onto these",
        "items": listed(*act.items, act.rack),
        "lots": list(act.lots),
        "water": act.water,
    }


WRITE: Mapping[type[Act], Callable[[Any, bool], Entry]] = {
    waters.Mix: _mix,
    waters.Fill: _fill,
    waters.WaterTest: _test,
    acts.Incident: _incident,
    cleaning.Wash: _wash,
    cleaning.Dip: _dip,
    cleaning.Retag: _retag,
    cleaning.Lost: _lost,
}
