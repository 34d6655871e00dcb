"""The ways that germs can go and that a book does not follow, as schemas/walk/not_followed.yaml lists them."""

from dataclasses import dataclass
from functools import cache

from lotwalk.data import folder
from lotwalk.errors import KindError
from lotwalk.kinds.files import read_yaml

_TOP = "not_followed"


@dataclass(frozen=True, slots=True)
class NotFollowed:
    """A way that is not followed: in a few words, and as a line."""

    short: str
    line: str


@cache
def not_followed() -> tuple[NotFollowed, ...]:
    """Return the ways that are not followed, in the order of the file.

    Raises KindError for a file that breaks its rules.
    """
    path = folder("schemas") / "walk" / "not_followed.yaml"
    content, _ = read_yaml(path)
    listed = content.get(_TOP)
    fits = isinstance(listed, list) and all(
        isinstance(one, dict) and set(one) == {"short", "line"} and all(isinstance(text, str) for text in one.values())
        for one in listed
    )
    if set(content) != {_TOP} or not listed or not fits:
        raise KindError(f"{path.name}: a list of short and line under `{_TOP}` was expected")
    return tuple(NotFollowed(one["short"], one["line"]) for one in listed)
