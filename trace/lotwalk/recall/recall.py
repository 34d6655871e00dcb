"""The recall reckoned: candidate causes, what each of them reaches, the widest scope and its levels."""

from collections.abc import Collection, Iterable, Sequence

from sqlalchemy import Connection

from lotwalk.collector import uncollected
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.read.breaks import unshown_verdicts
from lotwalk.ledger.read.spellings import spelled_too
from lotwalk.ledger.read.things import things_of
from lotwalk.ledger.verify.sound import check_walked
from lotwalk.recall.asking.asked import COMPLAINT, DELIVERY, Asked
from lotwalk.recall.asking.box import apart
from lotwalk.recall.model import Delivered, Recall
from lotwalk.recall.response.delivered import delivered_of, further
from lotwalk.recall.response.delivered import shelf_life as product_life
from lotwalk.recall.traceback.absence import Fitness
from lotwalk.recall.traceback.candidates import candidates_of, start_of
from lotwalk.recall.traceback.causes import Behind, Cause, causes_of, changed_after, earliest_complaint, late_breaks
from lotwalk.recall.traceback.evidence import with_evidence
from lotwalk.recall.traceback.kept_away import AROUND, Followed
from lotwalk.recall.traceforward.bounds import bounding
from lotwalk.recall.traceforward.levels import totals
from lotwalk.store.nodes import seq_of
from lotwalk.values.times import SHELF_LIFE
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import EVER, FORWARD, LEVEL_OF, Doubt, Start, Thing
from lotwalk.walk.walk import silence

PEOPLE = "people"
"""The word for people in `through`."""


@uncollected()
def recall(
    connection: Connection,
    asked: Sequence[Asked],
    kinds: Kinds,
    *,
    doubt: Doubt | None = None,
    believe: Collection[int] = (),
    through: Collection[str] = (),
    shelf_life: int = SHELF_LIFE,
    before_exclusion: int = AROUND,
    after_return: int = AROUND,
    older: Collection[int] = (),
    with_the_box: bool = False,
    check: bool = True,
) -> Recall:
    """Reckon a recall from what is asked about: complaints, deliveries and lots (`ask`), a buyer (`ask_buyer`).

    `believe` are entry numbers whose late evidence is believed. The time in which other deliveries are counted is
    widened by the shelf life of the products asked about; where none is on record, by `shelf_life` (seconds).
    `older` are versions whose verdicts are of an older judge. `with_the_box`: what travelled in one box with the lots
    of a product or a crop that was named lies behind them too, whatever the complaint. Who was kept away is a candidate
    from `before_exclusion` before that until `after_return` after their return, both in seconds.

    Raises Damaged where what it read is not what was recorded. Without `check` nothing is compared: for a second recall
    of one moment, and for a damaged book where no other is at hand.
    """
    asked = [apart(connection, kinds, one) for one in asked]
    boxed = {one.code for one in asked if with_the_box or one.type in kinds.things[one.kind].travels_with}
    older = set(older)
    fitness = Fitness.read(connection, kinds)
    earliest = earliest_complaint(asked)
    returns = fitness.returned_between(*earliest) if earliest else []
    breaks = late_breaks(connection, asked)
    doubtful = breaks | {one.seq: one.name for one in returns}
    believed = {f"E{number}" for number in believe}
    late = {seq: name for seq, name in doubtful.items() if name not in believed}
    never = tuple(one.code for one in asked if one.type in kinds.things[one.kind].not_washed_off)
    doubt = doubt or Doubt()
    doubt = Doubt(doubt.entries | late.keys(), doubt.items or bool(never), doubt.all)
    absences = fitness.absences(doubt.entries) if _may_be_carried(asked, kinds) else []
    people = Followed(connection, absences, before_exclusion, after_return)
    causes = causes_of(connection, asked, doubt, through, people, boxed)
    left_out, with_box = _travelled(connection, asked, boxed, {key for key, _ in causes})
    complained = {key for one in asked for key in one.starts}
    frontier = Frontier(connection, FORWARD, doubt)
    frontier.run([*(start_of(cause, behind) for cause, behind in causes.items()), *map(Start, complained)])
    things = frontier.things
    affected = frontier.lowest.keys() | complained | {key for key, _ in causes if things[key].cls == "lot"}
    delivered = delivered_of(connection, [key for key in affected if things[key].kind == DELIVERY], affected)
    span = _span(asked, delivered, product_life(connection, kinds, complained) or shelf_life)
    candidates, tested = with_evidence(
        connection,
        kinds,
        candidates_of(frontier, causes, delivered, complained, span),
        [things[key] for key in sorted(complained)],
    )
    kept_away = people.told()
    concerned = {one.person for one in kept_away}
    # A late return of somebody who has nothing to do with it narrows nothing, and is not told of.
    returned = _by_number(one.name for one in returns if one.seq in late and one.person in concerned)
    levels = _levels(frontier, affected, causes, complained)
    entries = set(map(seq_of, frontier.ranks))
    if check:
        check_walked(connection, kinds, set(map(abs, frontier.things)), entries)
    bounds = bounding(connection, frontier, causes)
    unshown = unshown_verdicts(connection, set(bounds))
    return Recall(
        asked=tuple(asked),
        candidates=tuple(candidates),
        lots=_codes(things, affected, counted=True),
        deliveries=tuple(sorted(delivered.values(), key=lambda one: (one.start, one.code))),
        customers=tuple(sorted({one.customer for one in delivered.values() if one.customer})),
        levels={things[key].code: found for key, found in levels.items()},
        totals=totals(things, levels, delivered),
        further=further(connection, {one.kind for one in delivered.values()}, span, complained),
        doubt=doubt,
        span=span,
        changed=tuple((f"E{number}", void) for number, void in changed_after(connection, asked)),
        late=_by_number([*(name for seq, name in late.items() if seq in breaks), *returned]),
        needless=_by_number(believed.difference(doubtful.values())),
        not_washed_off=never,
        silent=silence(frontier),
        older=sum(seq in older for seq in bounds),
        unshown=sum(seq in unshown for seq in bounds),
        entries=len(entries),
        left_out=left_out,
        with_box=with_box,
        found=tested,
        kept_away=kept_away,
        late_returns=returned,
        people_followed=PEOPLE in through,
        spelled=spelled_too(connection, kinds, complained, {key for key, _ in causes}),
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


def _may_be_carried(asked: Iterable[Asked], kinds: Kinds) -> bool:
    """Whether people may have brought some of it: all, save complaints of the types that they do not carry."""
    return any(one.kind != COMPLAINT or one.type not in kinds.things[one.kind].not_carried_by_people for one in asked)


def _by_number(names: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted(names, key=lambda name: int(name[1:])))


def _levels(frontier: Frontier, affected: set[int], causes: dict[Cause, Behind], asked: set[int]) -> dict[int, int]:
    """Each affected thing's level: of the path asked, cause, thing; a candidate's own where that is closer."""
    ranks = dict(frontier.lowest)
    for (key, _), behind in causes.items():
        if key in affected and frontier.things[key].cls == "lot":
            ranks[key] = min(behind.rank, ranks.get(key, behind.rank))
    return {key: LEVEL_OF[rank] for key, rank in ranks.items()} | dict.fromkeys(asked, 1)


def _codes(things: dict[int, Thing], keys: Iterable[int], *, counted: bool) -> tuple[str, ...]:
    return tuple(
        sorted(things[key].code for key in keys if things[key].cls == "lot" and things[key].counted is counted)
    )


def _span(asked: Iterable[Asked], delivered: dict[int, Delivered], shelf_life: int) -> tuple[int, int]:
    """The time that the asked deliveries (or complaints) span, widened by the shelf life on both sides."""
    moments = [delivered[key].start for one in asked for key in one.starts if key in delivered]
    moments = moments or [one.at for one in asked if one.at is not None]
    return (min(moments) - shelf_life, max(moments) + shelf_life) if moments else (-EVER, EVER)
