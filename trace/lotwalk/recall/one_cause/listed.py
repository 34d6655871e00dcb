"""What `--why` asks about: anything that stands on a list of a recall, and the cause from which it is reached."""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import Connection

from lotwalk.errors import NotUnderstood
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import ThingRow
from lotwalk.recall.asking.buyer import CUSTOMER
from lotwalk.recall.model import Candidate, Delivered, Recall
from lotwalk.recall.traceback.candidates import window_of
from lotwalk.recall.traceback.ranking import rank
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import FORWARD, Start
from lotwalk.walk.why import path

_MOST = 8
"""So many deliveries of a customer are named in a sentence."""


@dataclass(frozen=True, slots=True)
class Listed:
    """What is asked about, and the code to which a path is shown: of a customer, that of the delivery to them which
    is closest to what was asked. `deliveries` are theirs in the scope, the closest first."""

    thing: ThingRow
    code: str
    deliveries: tuple[str, ...] = ()

    def words(self, levels: dict[str, int], asked: frozenset[str]) -> str:
        """Return why a customer is on the list, in a sentence; nothing for what is no customer.

        `asked` are the codes asked about, or for which those stand.
        """
        if not self.deliveries:
            return ""
        told = [
            f"{code} ({'asked about' if code in asked else f'level {levels[code]}'})"
            for code in self.deliveries[:_MOST]
        ]
        more = f" and {len(self.deliveries) - _MOST} more" if len(self.deliveries) > _MOST else ""
        return f"{self.thing.code} is in this recall since it got {', '.join(told)}{more}."


def listed(found: Recall, thing: ThingRow) -> Listed:
    """Return what a thing is in a recall. Raises NotUnderstood for a customer who got nothing of its scope."""
    if thing.kind != CUSTOMER:
        return Listed(thing, thing.code)
    theirs = [one for one in found.deliveries if one.customer == thing.code]
    if not theirs:
        raise NotUnderstood(
            f"{thing.code} got nothing of what is in the scope of this recall",
            f"a customer in it: {', '.join(found.customers) or 'there is none'}",
        )
    ordered = tuple(one.code for one in sorted(theirs, key=lambda one: _closest(found, one)))
    return Listed(thing, ordered[0], ordered)


def _closest(found: Recall, one: Delivered) -> tuple[int, int, str]:
    return found.levels.get(one.code, 5), -one.start, one.code


def likeliest(found: Recall, code: str) -> list[Candidate]:
    """Return the candidate that is ranked first of those that reach a lot or a delivery, or are it; none for others."""
    ranked = [one.candidate for one in rank(found.candidates, len(found.asked), found.further)]
    if code in {one.code for one in found.asked}:
        return ranked[:1]
    reaching = (one for one in ranked if code == one.thing.code or code in one.lots or code in one.deliveries)
    return [*reaching][:1]


def nearest(connection: Connection, kinds: Kinds, found: Recall, thing: ThingRow) -> tuple[str, list[Candidate]]:
    """Return the code from which a path leads to a thing in the closest level, and the candidates of that code.

    They are none where it was itself asked about. Raises NotUnderstood where nothing leads there.
    """
    frontier = Frontier(connection, FORWARD, found.doubt)
    asked = (Start(key) for one in found.asked for key in one.starts)
    frontier.run([*(Start(one.thing.id, window_of(one)) for one in found.candidates), *asked])
    hops = path(frontier, thing.id)
    if not hops:
        title = kinds.things[thing.kind].title.lower()
        raise NotUnderstood(
            f"{thing.code} ({title}) is not in the scope of this recall: nothing in the book leads to it",
            "what stands on one of its lists: a candidate, a lot, a delivery, a customer, an item or a water source",
        )
    start = frontier.things[hops[0].came.thing]
    return start.code, rows_from(found.candidates, start.id)


def rows_from(candidates: Sequence[Candidate], key: int) -> list[Candidate]:
    """Return the candidate rows of a thing (database key), one a spell."""
    return [one for one in candidates if one.thing.id == key]
