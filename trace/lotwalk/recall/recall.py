"""The recall's steps 1 to 3: candidate causes, what each of them reaches, and the widest scope."""

import json
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, text

from lotwalk.ledger.names import select_listed
from lotwalk.recall.asked import COMPLAINT, DELIVERY, NOT_WASHED_OFF, Asked, ask
from lotwalk.recall.scope import Scope
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import BACK, CONTACT, EVER, FORWARD, INGREDIENT, Doubt, Spell, Start, Thing
from lotwalk.walk.walk import silence, walk

DAY = 86_400


@dataclass(frozen=True, slots=True)
class Candidate:
    """One candidate cause: a lot, or an item or a water source in one spell; and what it reaches, as codes.

    `explains` is how many of the asked have it behind them; `others` how many further deliveries it reaches in
    the time that the asked ones span, widened by the shelf life.
    """

    thing: Thing
    link: str
    ring: int
    spell: Spell | None
    explains: int
    others: int
    lots: tuple[str, ...]
    deliveries: tuple[str, ...]
    customers: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Item:
    """An affected lot in a delivery, with its amount in the canonical unit where one was given."""

    lot: str
    amount: str | None
    unit: str | None


@dataclass(frozen=True, slots=True)
class Delivered:
    """One affected delivery: when (as written, and its first second), to whom, and its affected lots."""

    code: str
    customer: str | None
    at: str
    start: int
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Recall:
    """The answer. `late` are the entries (`E12`) whose clean breaks were not believed since they were recorded late;
    `silent` counts entries in scope that named no water or tool where they could have."""

    asked: tuple[Asked, ...]
    candidates: tuple[Candidate, ...]
    lots: tuple[str, ...]
    deliveries: tuple[Delivered, ...]
    customers: tuple[str, ...]
    doubt: Doubt
    late: tuple[str, ...]
    not_washed_off: tuple[str, ...]
    silent: dict[str, int]
    entries: int


def recall(
    connection: Connection,
    codes: Sequence[str],
    *,
    doubt: Doubt | None = None,
    believe: Collection[int] = (),
    through: Collection[str] = (),
    shelf_life: int = 14 * DAY,
) -> Recall:
    """Reckon a recall from complaints, deliveries and lots.

    `believe` are entry numbers whose late evidence is believed. `shelf_life` (seconds) widens the time in which other
    deliveries are counted. Raises NotUnderstood for a code that no recall starts from.
    """
    asked = ask(connection, codes)
    late = _late(connection, asked, believe)
    never = tuple(one.code for one in asked if one.type in NOT_WASHED_OFF)
    doubt = doubt or Doubt()
    doubt = Doubt(doubt.entries | late.keys(), doubt.items or bool(never), doubt.all)
    causes = _causes(connection, asked, doubt, through)
    starts = {cause: Start(cause[0], _window(cause[1])) for cause in causes}
    own = [Start(key) for one in asked for key in one.starts]
    frontier = Frontier(connection, FORWARD, doubt)
    frontier.run([*starts.values(), *own])
    scope = Scope(frontier)
    things = frontier.things
    reached = {cause: scope.reached_from(start) for cause, start in starts.items()}
    affected = set().union(*reached.values(), *(scope.reached_from(start) for start in own))
    affected |= {cause[0] for cause in causes if things[cause[0]].cls == "lot"} | {start.thing for start in own}
    delivered = _delivered(connection, [key for key in affected if things[key].kind == DELIVERY], affected)
    span = _span(asked, delivered, shelf_life)
    complained = {key for one in asked for key in one.starts}
    candidates = [
        _candidate(cause, causes[cause], things, reached[cause], delivered, span, complained) for cause in causes
    ]
    candidates.sort(key=lambda one: (len(one.deliveries), len(one.lots), one.thing.code, _start_of(one.spell)))
    return Recall(
        asked=tuple(asked),
        candidates=tuple(candidates),
        lots=_codes(things, affected, counted=True),
        deliveries=tuple(sorted((one for one in delivered.values()), key=lambda one: (one.start, one.code))),
        customers=tuple(sorted({one.customer for one in delivered.values() if one.customer})),
        doubt=doubt,
        late=tuple(sorted(late.values(), key=lambda name: int(name[1:]))),
        not_washed_off=never,
        silent=silence(frontier),
        entries=len({node >> 1 for node in frontier.levels}),
    )


_Cause = tuple[int, Spell | None]


@dataclass(slots=True)
class _Behind:
    """How a cause stands behind the asked: its closest ring, its surest link, and how many of them it explains."""

    ring: int
    link: str
    explains: int


def _causes(
    connection: Connection, asked: Iterable[Asked], doubt: Doubt, through: Collection[str]
) -> dict[_Cause, _Behind]:
    """Step 1: back from each of the asked. An item or a water source is one cause a spell."""
    causes: dict[_Cause, _Behind] = {}
    for one in asked:
        found = walk(connection, BACK, [Start(key) for key in one.starts], doubt=doubt, through=through)
        for reached in found.reached:
            for spell in reached.spells or (None,):
                behind = causes.setdefault((reached.thing.id, spell), _Behind(reached.ring, reached.link, 0))
                behind.explains += 1
                behind.ring = min(behind.ring, reached.ring)
                behind.link = INGREDIENT if INGREDIENT in (behind.link, reached.link) else CONTACT
    return causes


def _candidate(
    cause: _Cause,
    behind: _Behind,
    things: dict[int, Thing],
    reached: set[int],
    delivered: dict[int, Delivered],
    span: tuple[int, int],
    complained: set[int],
) -> Candidate:
    mine = [key for key in reached if key in delivered]
    customers = {delivered[key].customer for key in mine}
    others = [key for key in mine if key not in complained and span[0] <= delivered[key].start <= span[1]]
    return Candidate(
        thing=things[cause[0]],
        link=behind.link,
        ring=behind.ring,
        spell=cause[1],
        explains=behind.explains,
        others=len(others),
        lots=_codes(things, reached, counted=True),
        deliveries=tuple(sorted(things[key].code for key in mine)),
        customers=tuple(sorted(code for code in customers if code)),
    )


def _codes(things: dict[int, Thing], keys: Iterable[int], *, counted: bool) -> tuple[str, ...]:
    return tuple(
        sorted(things[key].code for key in keys if things[key].cls == "lot" and things[key].counted is counted)
    )


def _window(spell: Spell | None) -> tuple[int, int] | None:
    if spell is None:
        return None
    return (-EVER if spell.start is None else spell.start, EVER if spell.end is None else spell.end)


def _start_of(spell: Spell | None) -> int:
    return -EVER if spell is None or spell.start is None else spell.start


def _span(asked: Iterable[Asked], delivered: dict[int, Delivered], shelf_life: int) -> tuple[int, int]:
    """The time that the asked deliveries (or complaints) span, widened by the shelf life on both sides."""
    moments = [delivered[key].start for one in asked for key in one.starts if key in delivered]
    moments = moments or [one.at for one in asked if one.at is not None]
    return (min(moments) - shelf_life, max(moments) + shelf_life) if moments else (-EVER, EVER)


def _late(connection: Connection, asked: Iterable[Asked], believe: Collection[int]) -> dict[int, str]:
    """Clean breaks of a time before the earliest complaint, but recorded or amended after it, by version and name."""
    complaints = [(one.at, one.seq) for one in asked if one.kind == COMPLAINT and one.at is not None and one.seq]
    if not complaints:
        return {}
    at, seq = min(complaints)
    rows = connection.execute(
        text(
            "SELECT DISTINCT e.seq, e.first FROM entry e JOIN use u ON u.node IN (2 * e.seq, 2 * e.seq + 1)"
            " AND u.role IN (7, 8) WHERE e.seq > :seq AND e.judged = 1 AND e.at_to < :at"
            " AND NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.seq)"
        ),
        {"seq": seq, "at": at},
    )
    return {row[0]: f"E{row[1]}" for row in rows if row[1] not in believe}


def _delivered(connection: Connection, keys: Sequence[int], affected: set[int]) -> dict[int, Delivered]:
    """The affected deliveries in force, with their affected lots."""
    sql = (
        "SELECT m.thing, t.code, e.record, e.at_from, u.role, x.id, x.code, u.amount, u.unit FROM {listed}"
        " JOIN use m ON m.thing = j.value AND m.role = 6 JOIN entry e ON e.seq = (m.node >> 1)"
        " JOIN thing t ON t.id = m.thing JOIN use u ON u.node = m.node AND u.role IN (1, 11)"
        " JOIN thing x ON x.id = u.thing"
        " WHERE NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.seq) ORDER BY m.thing, x.code"
    )
    out: dict[int, Delivered] = {}
    for key, code, record, start, role, thing, name, amount, unit in select_listed(connection, sql, keys, "bigint"):
        one = out.get(key) or Delivered(code, None, json.loads(record)["at"], start, ())
        if role == 11:
            one = Delivered(one.code, name, one.at, one.start, one.items)
        elif thing in affected:
            one = Delivered(one.code, one.customer, one.at, one.start, (*one.items, Item(name, amount, unit)))
        out[key] = one
    return out
