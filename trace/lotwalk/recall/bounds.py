"""The clean breaks that a scope rests on: those that bound a spell of something in it."""

from collections.abc import Collection, Mapping

from sqlalchemy import Connection

from lotwalk.ledger.read.breaks import Break, breaks_of
from lotwalk.recall.causes import Behind, Cause
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import EVER


def bounding(
    connection: Connection, frontier: Frontier, causes: Mapping[Cause, Behind], among: Collection[int]
) -> list[Break]:
    """Return the believed clean breaks that bound a spell of an item or a water source in scope, by time.

    A spell that the walk forward goes through ends with one; the spell of a cause begins with one. `among` are the
    versions that are looked for.
    """
    if not among:
        return []
    ends = {(touch.thing, touch.bound) for touch in frontier.left if touch.bound < EVER}
    begins = {(key, spell.start) for key, spell in causes if spell and spell.start is not None}
    things = {key for key, _ in ends} | {key for key, _ in begins}
    found = [
        one
        for one in breaks_of(connection, things)
        if one.seq in among and not frontier.doubt.of(one.seq)
        if (one.thing, one.end) in ends or (one.thing, one.start) in begins
    ]
    return sorted(found, key=lambda one: (one.start, one.end, one.number, one.thing))
