"""The recall reckoned: candidate causes, what each of them reaches, the widest scope and its rings."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace

from sqlalchemy import Connection

from lotwalk.recall.asked import DELIVERY, NOT_WASHED_OFF, Asked, ask
from lotwalk.recall.causes import Behind, Cause, causes_of, late_breaks
from lotwalk.recall.delivered import delivered_of, further
from lotwalk.recall.model import Candidate, Delivered, Recall
from lotwalk.recall.rings import totals, within
from lotwalk.recall.scope import Scope
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import EVER, FORWARD, RINGS, Doubt, Spell, Start, Thing
from lotwalk.walk.walk import silence

DAY = 86_400


def recall(
    connection: Connection,
    codes: Sequence[str],
    *,
    doubt: Doubt | None = None,
    believe: Collection[int] = (),
    through: Collection[str] = (),
    shelf_life: int = 14 * DAY,
    ring: int = 5,
) -> Recall:
    """Reckon a recall from complaints, deliveries and lots.

    `believe` are entry numbers whose late evidence is believed. `shelf_life` (seconds) widens the time in which other
    deliveries are counted. `ring` restricts the scope to that ring or closer; candidates are always all. Raises
    NotUnderstood for a code that no recall starts from.
    """
    asked = ask(connection, codes)
    late = late_breaks(connection, asked, believe)
    never = tuple(one.code for one in asked if one.type in NOT_WASHED_OFF)
    doubt = doubt or Doubt()
    doubt = Doubt(doubt.entries | late.keys(), doubt.items or bool(never), doubt.all)
    causes = causes_of(connection, asked, doubt, through)
    starts = {cause: Start(cause[0], _window(cause[1]), behind.level) for cause, behind in causes.items()}
    own = [Start(key) for one in asked for key in one.starts]
    frontier = Frontier(connection, FORWARD, doubt)
    frontier.run([*starts.values(), *own])
    scope = Scope(frontier)
    things = frontier.things
    reached = {cause: scope.reached_from(start) for cause, start in starts.items()}
    affected = set().union(*reached.values(), *(scope.reached_from(start) for start in own))
    affected |= {cause[0] for cause in causes if things[cause[0]].cls == "lot"} | {start.thing for start in own}
    delivered = delivered_of(connection, [key for key in affected if things[key].kind == DELIVERY], affected)
    span = _span(asked, delivered, shelf_life)
    complained = {key for one in asked for key in one.starts}
    candidates = [
        _candidate(cause, causes[cause], things, reached[cause], delivered, span, complained) for cause in causes
    ]
    candidates.sort(key=lambda one: (len(one.deliveries), len(one.lots), one.thing.code, _start_of(one.spell)))
    rings = _rings(frontier, affected, causes, complained)
    inside = within(rings, ring)
    shown = sorted((one for key, one in delivered.items() if key in inside), key=lambda one: (one.start, one.code))
    return Recall(
        asked=tuple(asked),
        candidates=tuple(candidates),
        lots=_codes(things, inside, counted=True),
        deliveries=tuple(_only(one, inside, things) for one in shown),
        customers=tuple(sorted({one.customer for one in shown if one.customer})),
        rings={things[key].code: found for key, found in rings.items()},
        totals=totals(things, rings, delivered),
        further=further(connection, {one.kind for one in delivered.values()}, span, complained),
        doubt=doubt,
        late=tuple(sorted(late.values(), key=lambda name: int(name[1:]))),
        not_washed_off=never,
        silent=silence(frontier),
        entries=len({node >> 1 for node in frontier.levels}),
    )


def _rings(frontier: Frontier, affected: set[int], causes: dict[Cause, Behind], asked: set[int]) -> dict[int, int]:
    """Each affected thing's ring: of the path asked, cause, thing; a candidate's own where that is closer."""
    levels = {key: min(touches.values()) for key, touches in frontier.found.items() if key in affected}
    for (key, _), behind in causes.items():
        if key in affected and frontier.things[key].cls == "lot":
            levels[key] = min(behind.level, levels.get(key, behind.level))
    return {key: RINGS[level] for key, level in levels.items()} | dict.fromkeys(asked, 1)


def _only(one: Delivered, inside: set[int], things: dict[int, Thing]) -> Delivered:
    """The delivery with those of its lots that lie in the scope."""
    codes = {things[key].code for key in inside}
    return replace(one, items=tuple(item for item in one.items if item.lot in codes))


def _candidate(
    cause: Cause,
    behind: Behind,
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
        ring=RINGS[behind.level],
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
