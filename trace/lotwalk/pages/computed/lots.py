"""Rows on where a lot came from and where it went: the walk by ingredient, each lot with what its entry says."""

from collections.abc import Iterable, Mapping
from decimal import Decimal

from lotwalk.ledger.model import Version
from lotwalk.ledger.read.things import void_among
from lotwalk.ledger.read.uses import makers
from lotwalk.ledger.read.versions import versions
from lotwalk.pages.computed.computed import Asked, Worked
from lotwalk.pages.rows.values import words
from lotwalk.recall.asking.asked import DELIVERY
from lotwalk.recall.response.delivered import delivered_of
from lotwalk.values.roles import Role
from lotwalk.values.times import show_when
from lotwalk.values.units import Units
from lotwalk.walk.model import BACK, FORWARD, INGREDIENT, Reached, Start
from lotwalk.walk.walk import walk

_APART = ("at", "by", "place", "note", "files")


def lots_behind(asked: Asked) -> Iterable[Worked]:
    """Yield the lots that went into the one asked for, and that one itself, by the time of their making."""
    yield from _lots(asked, _ingredients(asked, BACK), itself=True)


def lots_ahead(asked: Asked) -> Iterable[Worked]:
    """Yield the lots that it went into, but for deliveries."""
    yield from _lots(asked, [one for one in _ingredients(asked, FORWARD) if one.thing.kind != DELIVERY])


def deliveries_ahead(asked: Asked) -> Iterable[Worked]:
    """Yield the deliveries that it went into, with the lots concerned and the customer."""
    assert asked.thing is not None
    ahead = _ingredients(asked, FORWARD)
    keys = [one.thing.id for one in ahead if one.thing.kind == DELIVERY]
    affected = {one.thing.id for one in ahead} | {asked.thing.id}
    if asked.thing.kind == DELIVERY:
        keys.append(asked.thing.id)
        affected |= {one.thing.id for one in _ingredients(asked, BACK)}
    made = makers(asked.state.connection, keys)
    units = Units.load(asked.state.settings.measures)
    found = delivered_of(asked.state.connection, keys, affected)
    for key, delivery in sorted(found.items(), key=lambda one: (one[1].start, one[1].code)):
        maker = made[key]
        items = (
            f"{item.lot} {units.show(Decimal(item.amount), item.unit)}" if item.amount and item.unit else item.lot
            for item in delivery.items
        )
        yield Worked(
            {
                "code": delivery.code,
                "customer": delivery.customer or "",
                "name": words(asked.values.maker(delivery.customer or "").get("name", "")),
                "items": "; ".join(items),
                "link": "by ingredient",
                **_signed(asked, maker),
            }
        )


def what(asked: Asked, maker: Version) -> str:
    """Return what an entry says in the fields of its log, but for the code that it makes."""
    kind = asked.state.kinds[maker.kind]
    told = []
    for name in kind.log:
        field = kind.fields.get(name)
        if field is None or field.makes or name in _APART:
            continue
        text = asked.values.field(maker, name)
        if text:
            told.append(f"{field.title}: {text}")
    return "; ".join(told)


def _ingredients(asked: Asked, direction: str) -> list[Reached]:
    assert asked.thing is not None
    found = walk(asked.state.connection, direction, [Start(asked.thing.id)], spells=False)
    return [one for one in found.reached if one.link == INGREDIENT and one.thing.cls == asked.thing.cls]


def _lots(asked: Asked, reached: Iterable[Reached], itself: bool = False) -> Iterable[Worked]:
    assert asked.thing is not None
    things = {one.thing.id: (one.thing.code, one.thing.kind) for one in reached}
    if itself:
        things[asked.thing.id] = (asked.thing.code, asked.thing.kind)
    made = makers(asked.state.connection, list(things))
    void = void_among(asked.state.connection, list(things))
    for key in sorted(things.keys() - made.keys(), key=lambda one: things[one]):
        # Void lots, and those that are known by what others say of them: a supplier's own lot.
        code, kind = things[key]
        told = "VOID: no entry in force makes it" if key in void else ""
        yield Worked(
            {"code": code, "kind": asked.state.kinds.things[kind].title, "what": told, "link": "by ingredient"},
            bold=("what",) if told else (),
        )
    rows = sorted(made.items(), key=lambda one: (one[1].start, one[1].end, one[1].seq))
    for key, maker in rows:
        code, kind = things[key]
        yield Worked(
            {
                "code": code,
                "kind": asked.state.kinds.things[kind].title,
                "what": what(asked, maker),
                "amount": _amount(asked, maker, code),
                "link": "this lot" if key == asked.thing.id else "by ingredient",
                **_signed(asked, maker),
            }
        )


def _signed(asked: Asked, maker: Version) -> Mapping[str, str]:
    """Return when, by whom and in which entry, with a word where it was amended."""
    amended = any(one.amended_by for one in versions(asked.state.connection, maker.number))
    return {
        "at": show_when(maker.start, maker.end, asked.state.settings.zone),
        "by": words(list(maker.by)),
        "entry": f"{maker.name} (amended)" if amended else maker.name,
    }


def _amount(asked: Asked, maker: Version, code: str) -> str:
    units = Units.load(asked.state.settings.measures)
    for use in maker.uses:
        if use.code == code and use.role is Role.MADE and use.amount is not None:
            return units.show(use.amount, use.unit or "")
    return ""
