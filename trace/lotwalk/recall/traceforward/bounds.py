"""The clean breaks that a scope rests on: those that bound a spell of something in it."""

from collections.abc import Mapping

from sqlalchemy import Connection

from lotwalk.ledger.read.breaks import breaks_at
from lotwalk.recall.traceback.causes import Behind, Cause
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import EVER


def bounding(connection: Connection, frontier: Frontier, causes: Mapping[Cause, Behind]) -> list[int]:
    """Return the believed clean breaks that bound a spell of an item or a water source in scope.

    Each by the version of its entry. A spell that the walk forward goes through ends with one; the spell of a cause
    begins with one.
    """
    left = zip(frontier.left.column("thing"), frontier.left.column("bound"), strict=True)
    ends = {(thing, bound) for thing, bound in left if bound < EVER}
    begins = {(key, spell.start) for key, spell in causes if spell and spell.start is not None}
    found = breaks_at(connection, ends, begins)
    return [seq for seq in found if not frontier.doubt.of(seq)] if frontier.doubt.any else found
