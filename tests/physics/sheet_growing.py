"""What is written of seed and growing crops."""

from collections.abc import Callable, Mapping
from typing import Any

from tests.physics import acts
from tests.physics.acts import Act
from tests.physics.words import Entry, listed, tools


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
        "equipment": listed(*act.on, *act.tools, act.rack),
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


def _give_up(act: acts.GiveUp, silent: bool) -> Entry:
    return {
        "kind": "growing-check",
        "batches": [act.batch],
        "water": "none",
        "equipment": "none",
        "trays_lost": "1",
        "action": f"{act.on} emptied",
    }


def _harvest(act: acts.Harvest, silent: bool) -> Entry:
    rows = []
    for one in act.of:
        row = {"batch": one.batch}
        if not one.all:
            row |= {"trays": ", ".join(one.on)} if one.on else {}
            row |= {"finished": "no"} if act.said else {"trays": "1"}
        rows.append(row)
    quiet = silent and act.knife == "KN-1" and act.bench in ("", "BE-1")
    equipment = tools([act.crate] if quiet else [act.knife, act.bench, act.crate], quiet)
    if not act.knife_named:
        equipment = tools([act.bench, act.crate], True)
    return {
        "kind": "harvest",
        "lot": act.lot,
        "from": rows,
        "amount": "900 g",
        "cut": "with roots" if act.rooted else "above the medium",
        **equipment,
    }


def _water(code: str, silent: bool) -> Entry:
    """The water of an act: left out where it is the place's usual one and nobody writes it."""
    return {"place": "ROOM"} if silent and code == "MAINS" else {"water": code or "none"}


WRITE: Mapping[type[Act], Callable[[Any, bool], Entry]] = {
    acts.Soak: _soak,
    acts.Sow: _sow,
    acts.Tend: _tend,
    acts.Cover: _cover,
    acts.GiveUp: _give_up,
    acts.Harvest: _harvest,
}
