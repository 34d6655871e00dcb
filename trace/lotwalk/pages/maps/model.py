"""The immutable types of a drawn map, before it has a layout."""

from dataclasses import dataclass
from typing import Literal

Shape = Literal["lot", "bought", "item", "water", "delivery", "customer", "complaint", "named", "break"]
"""The outline of a box. `bought`: a lot from outside; `named`: a person or a place; `break`: a cleaning stops it."""

Mark = Literal["", "asked", "cause"]
"""What stands out: what was asked about, and the cause that is looked at."""

INGREDIENT, CONTACT, STOPPED = "ingredient", "contact", "stopped"
"""How a line is drawn. `stopped`: it ends at a clean break."""


@dataclass(frozen=True, slots=True)
class Box:
    """One thing, or several together: `title` stands in bold above `lines`, and `members` are the codes of them all.

    `time` is the first second that matters for its place from left to right, and `stage` decides between boxes of the
    same time. A `group` has a number by which the list beside the map says what is in it, 0 for a single thing.
    """

    title: str
    lines: tuple[str, ...]
    shape: Shape
    members: tuple[str, ...]
    time: int
    stage: int
    mark: Mark = ""
    group: int = 0


@dataclass(frozen=True, slots=True)
class Line:
    """A line from one box to another (their places in the map's list), with words that stand on it.

    `both`: it runs the other way as well.
    """

    source: int
    target: int
    link: str
    words: tuple[str, ...] = ()
    both: bool = False


@dataclass(frozen=True, slots=True)
class Map:
    """Boxes and lines under a title; `notes` are sentences that say what was left out or put together."""

    title: str
    boxes: tuple[Box, ...]
    lines: tuple[Line, ...]
    notes: tuple[str, ...] = ()
