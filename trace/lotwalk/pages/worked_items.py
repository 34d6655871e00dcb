"""Rows on reusable things and water along the way of a lot, each with the clean break or the tests before its use."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sqlalchemy import text

from lotwalk.judge.words import listed
from lotwalk.ledger.names import select_listed
from lotwalk.ledger.read import find_thing
from lotwalk.ledger.record import parse
from lotwalk.pages.values import words
from lotwalk.pages.worked import Asked, Worked
from lotwalk.pages.worked_water import tests_of
from lotwalk.recall.asked import DELIVERY
from lotwalk.recall.delivered import delivered_of
from lotwalk.store.tables import in_roles
from lotwalk.values.times import show_when
from lotwalk.walk.model import BACK, FORWARD, INGREDIENT, Start
from lotwalk.walk.walk import walk

TOOK, DREW, HANDLED, TOUCHED, TENDED, MADE, CLEARED_ITEM, CLEARED_WATER = range(1, 9)
_MOST_NAMED = 12
_LIVE = "NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = (u.node >> 1))"
_BREAK = (
    "SELECT e.first, u.at_from, u.at_to FROM use u JOIN entry e ON e.seq = (u.node >> 1) WHERE u.thing = :thing"
    f" AND {in_roles('u', CLEARED_ITEM)} AND u.at_to < :before AND {_LIVE} ORDER BY u.at_to DESC, e.first DESC LIMIT 1"
)
_SINCE = (
    "SELECT u.node FROM use u WHERE u.thing = :thing"
    f" AND {in_roles('u', HANDLED, TOUCHED)} AND u.at_from > :after AND u.at_to < :before AND {_LIVE}"
)


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
    uses = _uses(asked, (TOUCHED, CLEARED_ITEM))
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
    uses = _uses(asked, (DREW,))
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
    """Yield the crops that an item carried, with the cleaning before each, the seed, what was cut and who got it."""
    assert asked.thing is not None
    kinds = asked.state.kinds.telling("bears")
    names = {f"kind{number}": kind for number, kind in enumerate(kinds)}
    sql = (
        f"SELECT e.record FROM use u JOIN entry e ON e.seq = (u.node >> 1) WHERE u.thing = :thing"
        f" AND {in_roles('u', TOUCHED)} AND e.kind IN ({', '.join(f':{name}' for name in names)}) AND {_LIVE}"
        " ORDER BY u.at_from, u.at_to, e.seq"
    )
    for (record,) in asked.state.connection.execute(text(sql), {"thing": asked.thing.id, **names}).all():
        version = parse(record)
        if version.start > (asked.period.end or version.start):
            continue
        batches = [str(use["code"]) for use in version.uses if use["role"] == "made"]
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
    row = connection.execute(text(_BREAK), {"thing": thing, "before": before}).first()
    if row is None:
        return "No cleaning that counts is on record before this", True
    since = connection.execute(text(_SINCE), {"thing": thing, "after": row[2], "before": before})
    others = {node for (node,) in since if node not in own}
    used = f"; {len(others)} other {'use' if len(others) == 1 else 'uses'} since" if others else ""
    return f"{_when(asked, row[1], row[2])}, E{row[0]}{used}", False


def _uses(asked: Asked, roles: Sequence[int]) -> list[_Use]:
    """Return the uses of things in these roles, by the entries through which lots came into the one asked for."""
    assert asked.thing is not None
    back = walk(asked.state.connection, BACK, [Start(asked.thing.id)], spells=False)
    lots = [one.thing.id for one in back.reached if one.link == INGREDIENT and one.thing.cls == asked.thing.cls]
    sql = (
        "SELECT DISTINCT u.thing, t.code, t.kind, u.node, u.at_from, u.at_to, e.first, e.kind, u.assumed"
        f" FROM {{listed}} JOIN use l ON l.thing = j.value AND {in_roles('l', TOOK, HANDLED, TENDED, MADE)}"
        f" JOIN use u ON u.node = l.node AND u.role IN ({', '.join(map(str, roles))})"
        " JOIN thing t ON t.id = u.thing JOIN entry e ON e.seq = (u.node >> 1)"
        " ORDER BY u.at_from, u.at_to, e.first, t.code"
    )
    rows = select_listed(asked.state.connection, sql, [asked.thing.id, *lots], "bigint")
    return [
        _Use(thing, code, kind, node, start, end, f"E{first}", entry_kind, bool(assumed))
        for thing, code, kind, node, start, end, first, entry_kind, assumed in rows
        if node in back.nodes
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
