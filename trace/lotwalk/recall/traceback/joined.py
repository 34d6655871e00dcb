"""Candidates that are one row in a list: the book cannot tell them apart, and says why.

They explain as many of the asked and reach the same deliveries, since one was made of the other (a lot that was bought
is made of what its supplier calls it), or since one cleaning began or ended their time.
"""

from collections import defaultdict
from collections.abc import Hashable, Sequence

from lotwalk.recall.traceback.causes import Cause
from lotwalk.values.roles import Role
from lotwalk.walk.frontier import Frontier
from lotwalk.walk.model import MADE

_TOOK = int(Role.TOOK)


def joined(frontier: Frontier, causes: Sequence[Cause], reached: Sequence[Hashable]) -> list[int]:
    """Return a number for each cause: those of one row have the same.

    The walk forward from them has run; `reached` tells of each how many of the asked it explains, and all that it
    reaches.
    """
    made_of = _made_of(frontier, {key for key, _ in causes})
    row = list(range(len(causes)))
    alike: dict[Hashable, list[int]] = defaultdict(list)
    for place, one in enumerate(reached):
        alike[one].append(place)
    for places in alike.values():
        if len(places) < 2:
            continue
        of_thing = {causes[place][0]: place for place in places}
        cleaned: dict[tuple[str, int], int] = {}
        for place in places:
            key, spell = causes[place]
            for name in made_of.get(key, ()):
                if name in of_thing:
                    _put_together(row, place, of_thing[name])
            if spell is not None and frontier.things[key].cls == "item":
                for end, when in (("from", spell.start), ("until", spell.end)):
                    if when is not None:
                        _put_together(row, place, cleaned.setdefault((end, when), place))
    return [_first(row, place) for place in range(len(row))]


def _made_of(frontier: Frontier, among: set[int]) -> dict[int, set[int]]:
    """What each of the things was made of, of these things."""
    taken: dict[int, list[int]] = defaultdict(list)
    came, left = frontier.came, frontier.left
    for node, role, thing in zip(came.column("node"), came.column("role"), came.column("thing"), strict=True):
        if role == _TOOK and thing in among:
            taken[node].append(thing)
    found: dict[int, set[int]] = defaultdict(set)
    for node, role, thing in zip(left.column("node"), left.column("role"), left.column("thing"), strict=True):
        if role == MADE and node in taken and thing in among:
            found[thing].update(taken[node])
    return found


def _first(row: list[int], place: int) -> int:
    while row[place] != place:
        row[place] = row[row[place]]
        place = row[place]
    return place


def _put_together(row: list[int], one: int, other: int) -> None:
    row[_first(row, one)] = _first(row, other)
