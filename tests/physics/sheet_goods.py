"""What is written of what is cut, packed or sold."""

from collections.abc import Callable, Mapping
from typing import Any

from tests.physics import goods
from tests.physics.acts import Act
from tests.physics.words import Entry, listed, tools

GRAMS = 300
"""What a unit of a lot weighs."""


def _row(one: goods.Taken, growing: bool) -> Entry:
    if one.all:
        return {"lot": one.lot, "amount": "1 tray", "finished": "yes"} if growing else {"lot": one.lot}
    return {"lot": one.lot, "amount": "1 tray", "trays": list(one.on)} if growing else {"lot": one.lot}


def _taken(of: tuple[goods.Taken, ...]) -> list[Entry]:
    """The rows of a packing or a delivery; of what does not grow, an amount."""
    rows = [_row(one, one.lot.startswith("T-")) for one in of]
    return [{"amount": f"{GRAMS * (3 if one.all else 1)} g"} | row for one, row in zip(of, rows, strict=True)]


def _pack(act: goods.Pack, silent: bool) -> Entry:
    quiet = silent and act.bench == "BE-1"
    return {
        "kind": "packing",
        "lot": act.lot,
        "from": _taken(act.of),
        **tools(["" if quiet else act.bench, act.crate, act.tub], quiet),
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
    return {"kind": "move", "codes": list(act.lots), "to": act.to, "equipment": listed(act.crate)}


def _tried(act: goods.Tried, silent: bool) -> Entry:
    item = {"equipment": [act.item]}
    if act.how == "probe":
        return {"kind": "storage-check", "where": "COLD", "temperature": "4 C", "lots": list(act.lots), **item}
    (lot,) = act.lots
    if act.how == "count":
        return {"kind": "stock-count", "lot": lot, "amount": f"{GRAMS} g", **item}
    return {"kind": "sample", "of": lot, "amount": "1 tray" if lot.startswith("T-") else "20 g", "test": "x", **item}


WRITE: Mapping[type[Act], Callable[[Any, bool], Entry]] = {
    goods.Pack: _pack,
    goods.Deliver: _deliver,
    goods.ItemsBack: _back,
    goods.Dispose: _dispose,
    goods.Return: _return,
    goods.Move: _move,
    goods.Tried: _tried,
}
