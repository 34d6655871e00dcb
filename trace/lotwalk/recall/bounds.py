"""The clean breaks that a scope rests on: those that bound a spell of something in it."""

from collections.abc import Mapping

from sqlalchemy import Connection

from lotwalk.ledger.read.breaks import Break, breaks_at
from lotwalk.recall.causes import Behind, Cause
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import EVER


def bounding(connection: Connection, frontier: Frontier, causes: Mapping[Cause, Behind]) -> list[Break]:
    """Return the believed clean breaks that bound a spell of an item or a water source in scope, by time.

    A spell that the walk forward goes through ends with one; the spell of a cause begins with one.
    """
    left = zip(frontier.left.column("thing"), frontier.left.column("bound"), strict=True)
    ends = {(thing, bound) for thing, bound in left if bound < EVER}
    begins = {(key, spell.start) for key, spell in causes if spell and spell.start is not None}
    found = [one for one in breaks_at(connection, ends, begins) if not frontier.doubt.of(one.seq)]
    return sorted(found, key=lambda one: (one.start, one.end, one.number, one.thing))
