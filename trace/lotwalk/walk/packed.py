"""Uses packed as plain numbers: a walk through a hundred thousand entries keeps half a million of them."""

from array import array
from collections.abc import Collection, Iterable, Iterator

from lotwalk.walk.model import Touch

Packed = array
"""The numbers of many uses of one thing, one use after the other, each in the order of Touch's fields."""

_WIDTH = len(Touch._fields)
_NODE, _ROLE = Touch._fields.index("node"), Touch._fields.index("role")


def packed() -> "array[int]":
    """Return room for uses; a row is added with `extend`."""
    return array("q")


def touches(numbers: "array[int]") -> Iterator[Touch]:
    """Yield the uses one by one."""
    return map(Touch._make, zip(*[iter(numbers)] * _WIDTH, strict=True))


def nodes_in(numbers: "array[int]", roles: Collection[int]) -> Iterable[int]:
    """Return the nodes that use the thing in one of the roles."""
    return (node for node, role in zip(numbers[_NODE::_WIDTH], numbers[_ROLE::_WIDTH], strict=True) if role in roles)
