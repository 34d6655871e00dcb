"""The roles in which an entry uses a thing: the whole of what links entries to things."""

from enum import IntEnum


class Role(IntEnum):
    """What an entry has to do with a thing. The number is the one under which a use is stored.

    The numbers are chosen for the walk: what gives to an entry (its sources) stands at 1 to 4, what an entry gives to
    (its sinks) at 3 to 8, and what is only named from 9 on. `CLEARED` is that of an item; a water source that starts
    afresh is stored as `CLEARED_WATER`, since a draw must not give to it.
    """

    TOOK = 1
    DREW = 2
    HANDLED = 3
    TOUCHED = 4
    TENDED = 5
    MADE = 6
    CLEARED = 7
    CLEARED_WATER = 8
    ABOUT = 9
    FROM = 10
    TO = 11
    BY = 12
    PLACE = 13
    NAMES = 14

    @property
    def word(self) -> str:
        """The role as kind files and records write it: `cleared` for items and for water."""
        return _WORDS[self]

    @classmethod
    def named(cls, word: str) -> "Role":
        """Return the role of a word. Raises KeyError for a word that is none."""
        return _NAMED[word]

    def of(self, thing_class: str) -> "Role":
        """Return the role as it is stored for a thing of this class."""
        return Role.CLEARED_WATER if self is Role.CLEARED and thing_class == "water-source" else self


_WORDS = {role: role.name.lower() for role in Role} | {Role.CLEARED_WATER: "cleared"}
_NAMED = {word: role for role, word in _WORDS.items() if role is not Role.CLEARED_WATER}

WORDS: tuple[str, ...] = tuple(_NAMED)
"""The words, in the order of the numbers."""

MAKES = (Role.MADE, Role.NAMES)
"""An entry makes a lot, or registers what is no lot."""
