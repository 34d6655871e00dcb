"""What physics reaches and the book does not: traces forward from each cause, and recalls of what became ill."""

from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC
from random import Random

from tests.physics.farm import Cause, Lived
from tests.physics.words import moment

from lotwalk.book import Book
from lotwalk.ledger.read.things import find_thing
from lotwalk.recall.asking.asked import ask
from lotwalk.recall.recall import recall
from lotwalk.walk.model import EVER, Reached, Start
from lotwalk.walk.walk import walk

ILL = ("batch", "harvest", "packed", "delivery", "soaked")
"""Kinds of lot of which a recall is asked."""


@dataclass(frozen=True)
class Miss:
    """Things that a cause dirtied, and that one question does not reach."""

    question: str
    cause: Cause
    things: frozenset[str]


@dataclass
class Compared:
    """All misses of a farm; and how many lots were reached at each level, and how many of those were dirty."""

    misses: list[Miss] = field(default_factory=list)
    causes: int = 0
    recalls: int = 0
    reached: Counter[int] = field(default_factory=Counter)
    dirty: Counter[int] = field(default_factory=Counter)


def compare(book: Book, lived: Lived, recalls: int = 3) -> Compared:
    """Trace every cause forward, and ask for some recalls."""
    found = Compared()
    for cause in lived.causes:
        found.causes += 1
        dirtied = lived.world.dirtied[cause.label] - {cause.code}
        reached = {one.thing.code: one for one in traced(book, cause)}
        missing = dirtied - reached.keys() - _in_place(lived, reached.keys() | {cause.code})
        if missing:
            found.misses.append(Miss("trace", cause, frozenset(missing)))
        for code, one in reached.items():
            if one.thing.cls == "lot" and code != cause.code:
                found.reached[one.level] += 1
                found.dirty[one.level] += code in dirtied
    ill = [(cause, lot) for cause in lived.causes for lot in sorted(_ill(lived, cause))]
    for cause, lot in Random(len(ill)).sample(ill, min(recalls, len(ill))):
        found.recalls += 1
        missing = _ill(lived, cause) - {lot} - recalled(book, lot, cause)
        if missing:
            found.misses.append(Miss(f"recall {lot}", cause, frozenset(missing)))
    return found


def traced(book: Book, cause: Cause) -> tuple[Reached, ...]:
    """Return what `trace CAUSE --forward` reaches; of an item or of water while the cause is on it."""
    with book.ledger.reading() as connection:
        thing = find_thing(connection, cause.code)
        assert thing is not None, cause.code
        window = None
        if cause.minute is not None and thing.cls in ("item", "water-source"):
            window = (_second(cause.minute), EVER if cause.until is None else _second(cause.until))
        return walk(connection, "forward", [Start(thing.id, window)]).reached


def _second(minute: int) -> int:
    return int(moment(minute).replace(tzinfo=UTC).timestamp())


def recalled(book: Book, lot: str, cause: Cause) -> set[str]:
    """Return what a recall of a lot reaches from all of its candidates; nothing, where the cause is not among them.

    Candidates that reach the whole farm, such as the water that all draw, are left out, save the cause itself: by them
    everything would be reached.
    """
    with book.ledger.reading() as connection:
        found = recall(connection, ask(connection, [lot]), book.ledger.kinds)
    if lot != cause.code and all(one.thing.code != cause.code for one in found.candidates):
        return set()
    near = [one for one in found.candidates if not one.thing.farm_wide or one.thing.code == cause.code]
    return {code for one in near for code in (*one.lots, *one.deliveries)} | {one.thing.code for one in near}


def _ill(lived: Lived, cause: Cause) -> set[str]:
    dirtied = lived.world.dirtied[cause.label]
    return {code for code in dirtied if lived.world.things[code].kind in ILL}


def _in_place(lived: Lived, reached: set[str]) -> set[str]:
    """The items that need not be reached themselves.

    On some a lot that is reached, or the cause itself, stands in the end: whoever goes there finds them. Some were laid
    aside when a lot was taken off them: their next use is to be reached. Others have another tag by now, and are looked
    for under that.
    """
    world = lived.world
    found = {other for code in reached for other in world.together.get(code, ()) if not world.things[other].left}
    return found | {code for code, thing in world.things.items() if thing.gone or thing.laid_aside}
