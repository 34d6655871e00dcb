"""The smallest farm that still shows a miss: acts are left out as long as it stays."""

from collections.abc import Callable
from dataclasses import replace

from tests.physics.farm import Farm, Style


def smallest(farm: Farm, wrong: Callable[[Farm], bool]) -> Farm:
    """Return a farm on which something is still wrong, and which no act can be left out of."""
    for simpler in (replace(farm, styles={}), replace(farm, in_order=False)):
        farm = simpler if wrong(simpler) else farm
    size = len(farm.acts)
    while size:
        size = min(size, len(farm.acts))
        start = 0
        while start < len(farm.acts):
            fewer = farm.without(set(range(start, start + size)))
            if wrong(fewer):
                farm = fewer
            else:
                start += size
        size //= 2
    return _plain(farm, wrong)


def _plain(farm: Farm, wrong: Callable[[Farm], bool]) -> Farm:
    """Write what can be written plainly so, and let nothing get dirty by itself that need not."""
    for minute in list(farm.styles):
        plain = replace(farm, styles=farm.styles | {minute: Style()})
        farm = plain if wrong(plain) else farm
    for one in farm.soiled:
        fewer = replace(farm, soiled=tuple(other for other in farm.soiled if other != one))
        farm = fewer if wrong(fewer) else farm
    return farm
