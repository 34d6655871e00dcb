"""The recall reckoned: candidate causes, what each of them reaches, the widest scope and its rings."""

from collections.abc import Collection, Iterable, Sequence

from sqlalchemy import Connection

from lotwalk.collector import uncollected
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.read.breaks import unshown_verdicts
from lotwalk.ledger.read.things import things_of
from lotwalk.recall.asked import DELIVERY, Asked
from lotwalk.recall.bounds import bounding
from lotwalk.recall.box import apart
from lotwalk.recall.candidates import candidates_of, start_of
from lotwalk.recall.causes import Behind, Cause, causes_of, changed_after, late_breaks
from lotwalk.recall.delivered import delivered_of, further
from lotwalk.recall.delivered import shelf_life as product_life
from lotwalk.recall.evidence import with_evidence
from lotwalk.recall.model import Delivered, Recall
from lotwalk.recall.rings import totals
from lotwalk.store.nodes import seq_of
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import EVER, FORWARD, RINGS, Doubt, Start, Thing
from lotwalk.walk.walk import silence

DAY = 86_400


@uncollected()
def recall(
    connection: Connection,
    asked: Sequence[Asked],
    kinds: Kinds,
    *,
    doubt: Doubt | None = None,
    believe: Collection[int] = (),
    through: Collection[str] = (),
    shelf_life: int = 14 * DAY,
    older: Collection[int] = (),
    with_the_box: bool = False,
) -> Recall:
    """Reckon a recall from what is asked about: complaints, deliveries and lots (`ask`), a buyer (`ask_buyer`).

    `believe` are entry numbers whose late evidence is believed. The time in which other deliveries are counted is
    widened by the shelf life of the products asked about; where none is on record, by `shelf_life` (seconds).
    `older` are versions whose verdicts are of an older judge. `with_the_box`: what travelled in one box with the lots
    of a product or a crop that was named lies behind them too, whatever the complaint.
    """
    asked = [apart(connection, kinds, one) for one in asked]
    boxed = {one.code for one in asked if with_the_box or one.type in kinds.things[one.kind].travels_with}
    older = set(older)
    doubtful = late_breaks(connection, asked)
    believed = {f"E{number}" for number in believe}
    late = {seq: name for seq, name in doubtful.items() if name not in believed}
    never = tuple(one.code for one in asked if one.type in kinds.things[one.kind].not_washed_off)
    doubt = doubt or Doubt()
    doubt = Doubt(doubt.entries | late.keys(), doubt.items or bool(never), doubt.all)
    causes = causes_of(connection, asked, doubt, through, boxed)
    left_out, with_box = _travelled(connection, asked, boxed, {key for key, _ in causes})
    complained = {key for one in asked for key in one.starts}
    frontier = Frontier(connection, FORWARD, doubt)
    frontier.run([*(start_of(cause, behind) for cause, behind in causes.items()), *map(Start, complained)])
    things = frontier.things
    affected = frontier.lowest.keys() | complained | {key for key, _ in causes if things[key].cls == "lot"}
    delivered = delivered_of(connection, [key for key in affected if things[key].kind == DELIVERY], affected)
    span = _span(asked, delivered, product_life(connection, complained) or shelf_life)
    candidates = candidates_of(frontier, causes, delivered, complained, span)
    rings = _rings(frontier, affected, causes, complained)
    bounds = bounding(connection, frontier, causes)
    unshown = unshown_verdicts(connection, {one.seq for one in bounds})
    return Recall(
        asked=tuple(asked),
        candidates=tuple(with_evidence(connection, kinds, candidates)),
        lots=_codes(things, affected, counted=True),
        deliveries=tuple(sorted(delivered.values(), key=lambda one: (one.start, one.code))),
        customers=tuple(sorted({one.customer for one in delivered.values() if one.customer})),
        rings={things[key].code: found for key, found in rings.items()},
        totals=totals(things, rings, delivered),
        further=further(connection, {one.kind for one in delivered.values()}, span, complained),
        doubt=doubt,
        span=span,
        changed=tuple((f"E{number}", void) for number, void in changed_after(connection, asked)),
        late=_by_number(late.values()),
        needless=_by_number(believed.difference(doubtful.values())),
        not_washed_off=never,
        silent=silence(frontier),
        older=sum(one.seq in older for one in bounds),
        unshown=sum(one.seq in unshown for one in bounds),
        entries=len(set(map(seq_of, frontier.levels))),
        left_out=left_out,
        with_box=with_box,
    )


def _travelled(
    connection: Connection, asked: Sequence[Asked], boxed: Collection[str], behind: set[int]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The lots that travelled with those from which the recall starts: those left out, and those taken in with it.

    `behind` are the things that are candidates: what came near by another way as well is not left out.
    """
    begun = {key for one in asked for key in one.begins}
    taken = {key for one in asked if one.code in boxed for key in one.beside} - begun
    left = {key for one in asked for key in one.beside} - begun - behind
    out, taken_in = (tuple(thing.code for thing in things_of(connection, keys)) for keys in (left, taken))
    return out, taken_in


def _by_number(names: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted(names, key=lambda name: int(name[1:])))


def _rings(frontier: Frontier, affected: set[int], causes: dict[Cause, Behind], asked: set[int]) -> dict[int, int]:
    """Each affected thing's ring: of the path asked, cause, thing; a candidate's own where that is closer."""
    levels = dict(frontier.lowest)
    for (key, _), behind in causes.items():
        if key in affected and frontier.things[key].cls == "lot":
            levels[key] = min(behind.level, levels.get(key, behind.level))
    return {key: RINGS[level] for key, level in levels.items()} | dict.fromkeys(asked, 1)


def _codes(things: dict[int, Thing], keys: Iterable[int], *, counted: bool) -> tuple[str, ...]:
    return tuple(
        sorted(things[key].code for key in keys if things[key].cls == "lot" and things[key].counted is counted)
    )


def _span(asked: Iterable[Asked], delivered: dict[int, Delivered], shelf_life: int) -> tuple[int, int]:
    """The time that the asked deliveries (or complaints) span, widened by the shelf life on both sides."""
    moments = [delivered[key].start for one in asked for key in one.starts if key in delivered]
    moments = moments or [one.at for one in asked if one.at is not None]
    return (min(moments) - shelf_life, max(moments) + shelf_life) if moments else (-EVER, EVER)
