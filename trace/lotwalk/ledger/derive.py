"""What follows from an entry's text for the walk: under which node and in which role each of its uses is stored.

The same function stores an entry, brings an older book up to date and verifies one, so that they cannot disagree.
"""

from collections.abc import Iterable, Iterator
from typing import Generic, NamedTuple, TypeVar

from lotwalk.values.roles import Role

_Use = TypeVar("_Use")


class Derived(NamedTuple, Generic[_Use]):
    """A use as it is stored: the part of the entry, the role, the use itself, and whether its amount stands here."""

    part: int
    role: Role
    use: _Use
    measured: bool


def derived(uses: Iterable[tuple[Role, str, int, _Use]]) -> Iterator[Derived[_Use]]:
    """Yield the stored uses of one entry. Each of its uses comes as (role, class of the thing, part, use).

    What failed beside what passed walks as a node of its own, with all the entry's other uses but no amounts.
    """
    all_uses = list(uses)
    apart = any(part for _, _, part, _ in all_uses)
    for role, thing_class, part, use in all_uses:
        stored = role.of(thing_class)
        yield Derived(part, stored, use, True)
        if apart and not part and stored is not Role.CLEARED:
            yield Derived(1, stored, use, False)
