"""When the calculator says more than a recipe, as schemas/mixing/notes.yaml has it."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from lotwalk.errors import KindError
from lotwalk.mixing import data
from lotwalk.values.units import Units


@dataclass(frozen=True, slots=True)
class Notes:
    """`hot` is the temperature (degC) from which chlorine is not to be mixed, `solids` what is sold as a solid."""

    hot: Decimal
    solids: tuple[str, ...]


@cache
def load_notes() -> Notes:
    """Return what the file says. Raises KindError for one that breaks its rules."""
    place = data.SHIPPED / "notes.yaml"
    listed = data.read(place, "notes")
    if not isinstance(listed, Mapping) or set(listed) != {"hot_chlorine", "solids"}:
        raise KindError(f"{place.name}: notes: hot_chlorine and solids were expected")
    hot = Units.load("metric").read(listed["hot_chlorine"], ["temperature"])
    return Notes(hot.value, tuple(str(one).casefold() for one in listed["solids"]))
