"""Rows on reusable things and water along the way of a lot, each with the clean break or the tests before its use."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from lotwalk.judge.words import listed
from lotwalk.ledger.bearing.told import came_onto
from lotwalk.ledger.model import Version
from lotwalk.ledger.read.breaks import last_break
from lotwalk.ledger.read.things import find_thing, things_of
from lotwalk.ledger.read.uses import used_at, uses_of
from lotwalk.pages.computed.computed import Asked, Worked
from lotwalk.pages.computed.water import tests_of
from lotwalk.pages.rows.values import words
from lotwalk.recall.asking.asked import DELIVERY
from lotwalk.recall.response.delivered import delivered_of
from lotwalk.values.roles import Role
from lotwalk.values.times import show_when
from lotwalk.walk.model import BACK, FORWARD, INGREDIENT, Start
from lotwalk.walk.walk import walk

_MOST_NAMED = 12


@dataclass(frozen=True, slots=True)
class _Use:
    """One use of a thing by an entry on the way of a lot."""

    thing: int
    code: str
    kind: str
    node: int
    start: int
    end: int
    name: str
    entry_kind: str
    assumed: bool


def items_behind(asked: Asked) -> Iterable[Worked]:
    """Yield the reusable things that touched the lot or what went into it, with the latest clean break before.

    Those of one kind with the same use and the same cleaning stand in one row.
    """
    uses = _uses(asked, (Role.TOUCHED, Role.CLEARED))
    own = {use.node for use in uses}
    alike: dict[tuple[str, str, bool, str], list[str]] = {}
    for use in uses:
        told, missing = cleaned_before(asked, use.thing, use.start, own)
        used = f"{_when(asked, use.start, use.end)}, {use.name}, {asked.state.kinds[use.entry_kind].title}"
        code = f"{use.code} (assumed)" if use.assumed else use.code
        alike.setdefault((used, told, missing, asked.state.kinds.things[use.kind].title), []).append(code)
    for (used, told, missing, kind), codes in alike.items():
        yield Worked(
            {"code": listed(codes), "kind": kind, "used": used, "cleaned": told},
            bold=("cleaned",) if missing else (),
        )


def water_behind(asked: Asked) -> Iterable[Worked]:
    """Yield the water drawn for the lot or what went into it, with the tests before the last draw."""
    uses = _uses(asked, (Role.DREW,))
    by_source: dict[int, list[_Use]] = defaultdict(list)
    for use in uses:
        by_source[use.thing].append(use)
    for some in by_source.values():
        first, last = some[0], some[-1]
        times = _when(asked, first.start, first.end)
        if len(some) > 1:
            times = f"{len(some)} times, {times} to {_when(asked, last.start, last.end)}"
        tests, failed = _tests(asked, first.code, last.end)
        yield Worked(
            {
                "code": first.code,
                "name": words(asked.values.maker(first.code).get("name", "")),
                "used": f"{times}: {listed(list(dict.fromkeys(use.name for use in some)))}",
                "tested": tests or "No test before the last draw is on record",
            },
            bold=("tested",) if failed or not tests else (),
        )


def crops(asked: Asked) -> Iterable[Worked]:
    """Yield the crops that an item carried, under this code or an earlier one, with the cleaning before each, the seed,
    what was cut and who got it."""
    assert asked.thing is not None
    came: dict[int, tuple[Version, list[str]]] = {}
    for one in came_onto(asked.state.connection, asked.state.kinds, asked.thing):
        came.setdefault(one.by.seq, (one.by, []))[1].append(one.lot)
    for version, batches in came.values():
        if version.start > (asked.period.end or version.start):
            continue
        told, missing = cleaned_before(asked, asked.thing.id, version.start, set())
        cut, customers = _onward(asked, batches)
        yield Worked(
            {
                "at": _when(asked, version.start, version.end),
                "what": listed(batches),
                "entry": version.name,
                "seed": _seed(asked, batches),
                "cut": cut or "nothing on record",
                "customers": customers or "nobody on record",
                "cleaned": told,
            },
            bold=("cleaned",) if missing else (),
        )


def cleaned_before(asked: Asked, thing: int, before: int, own: set[int]) -> tuple[str, bool]:
    """Return the latest clean break surely before a time, in words, and whether there is none.

    Other uses since then are counted, but for the nodes in `own`.
    """
    connection = asked.state.connection
    last = last_break(connection, thing, before)
    if last is None:
        return "No cleaning that counts is on record before this", True
    used = uses_of(connection, [thing], [Role.HANDLED, Role.TOUCHED])
    others = {use.node for use in used if use.start > last.end and use.end < before and use.node not in own}
    since = f"; {len(others)} other {'use' if len(others) == 1 else 'uses'} since" if others else ""
    return f"{_when(asked, last.start, last.end)}, E{last.number}{since}", False


def _uses(asked: Asked, roles: Sequence[Role]) -> list[_Use]:
    """Return the uses of things in these roles, by the entries through which lots came into the one asked for."""
    assert asked.thing is not None
    back = walk(asked.state.connection, BACK, [Start(asked.thing.id)], spells=False)
    lots = [one.thing.id for one in back.reached if one.link == INGREDIENT and one.thing.cls == asked.thing.cls]
    keys = [asked.thing.id, *lots]
    on_the_way = [Role.TOOK, Role.HANDLED, Role.TENDED, Role.MADE]
    nodes = {one.node for one in uses_of(asked.state.connection, keys, on_the_way) if one.node in back.nodes}
    things = {thing for _, thing in used_at(asked.state.connection, nodes, roles)}
    of = {thing.id: thing for thing in things_of(asked.state.connection, things)}
    found = [one for one in uses_of(asked.state.connection, things, roles) if one.node in nodes]
    found.sort(key=lambda one: (one.start, one.end, one.number, of[one.thing].code))
    return [
        _Use(
            one.thing,
            of[one.thing].code,
            of[one.thing].kind,
            one.node,
            one.start,
            one.end,
            f"E{one.number}",
            one.kind,
            one.assumed,
        )
        for one in found
    ]


def _tests(asked: Asked, source: str, before: int) -> tuple[str, bool]:
    """Return the last tests of a source up to a time, in words, and whether the newest of them failed."""
    done = [test for test in tests_of(asked, source) if test.start <= before][-3:]
    told = [f"{_when(asked, test.start, test.end)}, {test.name}: {test.words}" for test in done]
    return "; ".join(told), bool(done) and not done[-1].passed


def _seed(asked: Asked, batches: Sequence[str]) -> str:
    """Return the bought lots that went into batches, each with the crop that its record names."""
    back = walk(asked.state.connection, BACK, _starts(asked, batches), spells=False)
    told = []
    for one in back.reached:
        if one.link == INGREDIENT and one.thing.bought and one.thing.counted and not one.thing.farm_wide:
            crop = words(asked.values.maker(one.thing.code).get("crop", ""))
            told.append(f"{one.thing.code} ({crop})" if crop else one.thing.code)
    return _few(told)


def _onward(asked: Asked, batches: Sequence[str]) -> tuple[str, str]:
    """Return the lots and the customers that batches went into, by ingredient."""
    found = walk(asked.state.connection, FORWARD, _starts(asked, batches), spells=False)
    ahead = [one.thing for one in found.reached if one.link == INGREDIENT and one.thing.cls == "lot"]
    lots = [thing.code for thing in ahead if thing.counted]
    keys = [thing.id for thing in ahead if thing.kind == DELIVERY]
    delivered = delivered_of(asked.state.connection, keys, {thing.id for thing in ahead})
    customers = [delivery.customer or "nobody named" for delivery in delivered.values()]
    return _few(lots), _few(sorted(set(customers)))


def _starts(asked: Asked, codes: Sequence[str]) -> list[Start]:
    found = (find_thing(asked.state.connection, code) for code in codes)
    return [Start(thing.id) for thing in found if thing]


def _few(codes: Sequence[str]) -> str:
    more = len(codes) - _MOST_NAMED
    return ", ".join([*codes[:_MOST_NAMED], *([f"and {more} more"] if more > 0 else [])])


def _when(asked: Asked, start: int, end: int) -> str:
    return show_when(start, end, asked.state.settings.zone)
