"""What travelled in one box: of a delivery, the lots that a caller speaks of, those beside them, and what lies behind.

A caller who names a product, or a crop, speaks of the lots of it, of whatever holds some of that crop, and of the lots
of which the book does not say what they are. What else was in the box is behind it by contact alone, and only where
the trouble may have come from there, or where it is asked for.
"""

import re
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import replace

from sqlalchemy import Connection

from lotwalk.balance.movements import wrapping
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.read.breaks import breaks_of
from lotwalk.ledger.read.likeness import sayers
from lotwalk.ledger.read.things import find_thing, find_things, things_of
from lotwalk.ledger.read.uses import Beside, beside, makers, uses_of
from lotwalk.recall.asking.asked import DELIVERY, Asked
from lotwalk.recall.asking.called import Called, names_of
from lotwalk.values.roles import Role
from lotwalk.walk.model import BACK, CONTACT, EVER, ITEM_RANK, Doubt, Reached, Start, Walk
from lotwalk.walk.walk import walk

_PAPER = "paper"
_PARTS = re.compile(r"[,;/&+]|\band\b")
"""What parts the crops of a mix in the words of its product."""
_GOES_IN = (Role.DREW, Role.HANDLED, Role.TOUCHED)
_NAMED = {"people": Role.BY, "places": Role.PLACE}
_GIVEN_TO = (Role.HANDLED, Role.TOUCHED, Role.TENDED, Role.MADE, Role.CLEARED, Role.CLEARED_WATER)

_Back = Callable[[Iterable[Start]], Sequence[Reached]]


def apart(connection: Connection, kinds: Kinds, one: Asked) -> Asked:
    """Return what is asked about with the lots in its deliveries from which a recall starts, and those beside them.

    A delivery with none of what was named is taken whole, and that is said. What names no product and no crop is left
    as it is.
    """
    names = _names(connection, kinds, one)
    among = one.among or one.starts
    boxes = _boxes(connection, among) if names else {}
    if not boxes:
        return one
    inside = {lot for lots in boxes.values() for lot in lots}
    called, known = Called(connection, kinds, inside), _known(connection, kinds, inside)
    spoken_of = {lot for lot in inside if lot not in known or any(called.is_called(lot, name) for name in names)}
    # What went around it stays behind it, whatever is spoken of; but it is none of what a box was packed with.
    around = {one.id for one in things_of(connection, inside) if one.kind in wrapping(kinds)}
    opened = {key: [lot for lot in lots if lot in spoken_of or lot in around] for key, lots in boxes.items()}
    opened = {key: lots for key, lots in opened.items() if set(lots) & spoken_of - around}
    # What a complaint does not name itself is what its customer got of the product, where they got some.
    starts = tuple(key for key in among if key in opened) if one.among and opened else among
    begun = {lot for lots in opened.values() for lot in lots}
    begun |= {lot for key in boxes.keys() - opened.keys() if key in starts for lot in boxes[key]}
    lots = sorted({lot for lots in opened.values() for lot in lots})
    left = sorted({lot for key in opened for lot in boxes[key]} - begun - set(starts))
    whole = [thing.code for thing in things_of(connection, boxes.keys() - opened.keys()) if thing.id in starts]
    return replace(one, starts=starts, boxes=tuple(opened), lots=tuple(lots), beside=tuple(left), whole=tuple(whole))


def _names(connection: Connection, kinds: Kinds, one: Asked) -> set[str]:
    """The names by which what was asked for is called: a crop; a product's code, and the crops that are in it."""
    if one.crop:
        return {one.crop}
    product = find_thing(connection, one.product) if one.product else None
    if product is None:
        return set()
    made = makers(connection, [product.id]).get(product.id)
    told = names_of(made, product.code, kinds) if made else []
    parts = {part.strip() for name in told for part in _PARTS.split(name)}
    return {product.code, *filter(None, parts)}


def _boxes(connection: Connection, starts: Collection[int]) -> dict[int, list[int]]:
    """The lots in each delivery among the things (database keys)."""
    deliveries = [thing.id for thing in things_of(connection, starts) if thing.kind == DELIVERY]
    boxes: dict[int, list[int]] = defaultdict(list)
    for one in beside(connection, deliveries, [Role.MADE], [Role.TOOK]):
        boxes[one.thing].append(one.other)
    return boxes


def _known(connection: Connection, kinds: Kinds, lots: Collection[int]) -> set[int]:
    """The lots of which the book says as what product they were made, they or the lot of which they are some."""
    said = sayers(connection, kinds, lots)
    named = {
        key: {use.code for one in versions for use in one.uses if use.role is Role.ABOUT}
        for key, versions in said.items()
    }
    things = find_things(connection, {code for codes in named.values() for code in codes})
    papers = {thing.code for thing in things.values() if thing.cls == _PAPER}
    return {key for key, codes in named.items() if codes & papers}


def behind(
    connection: Connection, one: Asked, doubt: Doubt, through: Collection[str], *, with_the_box: bool
) -> tuple[list[Reached], list[tuple[Walk, Collection[int]]]]:
    """Return all that lies behind what is asked about, and the walks back from it with the things they started from.

    A thing may stand there more than once, by different ways. Of a delivery that was opened that is what lies behind
    the lots spoken of, and what it was carried in. With the box the lots beside them, and what lies behind those, are
    reached by contact, through the box as one item.
    """

    def back(starts: Iterable[Start]) -> Walk:
        return walk(connection, BACK, starts, doubt=doubt, through=through, sure=True, contacts=True)

    whole = back(Start(key) for key in (one.boxes or one.starts))
    if not one.boxes:
        return list(whole.reached), [(whole, one.starts)]
    inside = {reached.thing.id: reached for reached in whole.reached}
    begun = back(Start(key) for key in one.begins)
    walks: list[tuple[Walk, Collection[int]]] = [(begun, one.begins)]
    found = list(begun.reached)
    found += [inside[key] for key in one.lots if key in inside]
    found += _carried_in(connection, one, inside, doubt, through, lambda starts: back(starts).reached)
    if with_the_box:
        others = back(Start(key, rank=ITEM_RANK, contacts=1) for key in one.beside)
        walks.append((others, one.beside))
        found += [_by_contact(inside[key])._replace(contacts=(1,)) for key in one.beside if key in inside]
        found += map(_by_contact, others.reached)
    return found, walks


def _by_contact(reached: Reached) -> Reached:
    return reached._replace(link=CONTACT, rank=max(ITEM_RANK, reached.rank))


def _carried_in(
    connection: Connection, one: Asked, inside: dict[int, Reached], doubt: Doubt, through: Collection[str], back: _Back
) -> list[Reached]:
    """What touched all that was in a box, such as the van, in the spell of that; and what lies behind it.

    The delivery itself is left out on the way, since what lay beside did not come to the rest through the van by that.
    """
    roles = [*_GOES_IN, *(role for name, role in _NAMED.items() if name in through)]
    found: list[Reached] = []
    starts: list[Start] = []
    for use in beside(connection, one.boxes, [Role.MADE], roles):
        reached = inside.get(use.other)
        if reached is None:
            continue
        near = [
            (spell, contacts)
            for spell, contacts in zip(reached.spells, reached.contacts, strict=False)
            if (spell.start is None or spell.start <= use.end) and (spell.end is None or spell.end >= use.start)
        ]
        spells, contacts = zip(*near, strict=True) if near else (reached.spells, reached.contacts)
        found.append(reached._replace(spells=spells, contacts=contacts))
        step = int(use.role is not Role.DREW)
        if use.role is Role.HANDLED:
            starts.append(Start(use.other, None, reached.rank, step))
        elif use.role in _GOES_IN:
            windows = _before(connection, use, doubt)
            starts += [Start(use.other, window, reached.rank, step) for window in windows]
    return [*found, *back(starts)] if starts else found


def _before(connection: Connection, use: Beside, doubt: Doubt) -> list[tuple[int, int]]:
    """The windows in which other uses of an item or a water source may have given to it before a delivery used it.

    From the latest clean break on that surely came before. A use of the same hour counts; its window holds the delivery
    too, where their times overlap, and that only widens what is found.
    """
    breaks = [one for one in breaks_of(connection, [use.other]) if one.end < use.start and not doubt.of(one.seq)]
    since = max((one.start for one in breaks), default=-EVER)
    windows = [(since, use.start - 1)]
    for other in uses_of(connection, [use.other], _GIVEN_TO):
        if other.node != use.node and use.start <= other.start <= use.end:
            windows.append((other.start, other.end))
    return windows
