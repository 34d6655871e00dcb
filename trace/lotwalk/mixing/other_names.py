"""Other names of chemicals: what stands on a can, and what a rule set calls it."""

from collections.abc import Mapping, Sequence
from functools import cache

from lotwalk.errors import KindError
from lotwalk.mixing import data


@cache
def load_other_names() -> Mapping[str, Sequence[str]]:
    """Return what rule sets name, each with the other names of schemas/mixing/other_names.yaml.

    Raises KindError for a file that breaks its rules.
    """
    place = data.SHIPPED / "other_names.yaml"
    listed = data.read(place, "other_names")
    if not isinstance(listed, Mapping):
        raise KindError(f"{place.name}: other_names: names with lists of others were expected")
    for name, others in listed.items():
        if not isinstance(others, list) or not all(isinstance(one, str) and one.strip() for one in others):
            raise KindError(f"{place.name}: other_names: {name}: a list of names was expected")
    return {str(name): tuple(others) for name, others in listed.items()}
