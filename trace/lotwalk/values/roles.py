"""The roles in which an entry uses a thing: the whole of what links entries to things."""

from enum import IntEnum


class Role(IntEnum):
    """What an entry has to do with a thing. The number is the one under which a use is stored.

    The numbers are chosen for the walk: what gives to an entry (its sources) stands at 1 to 4, what an entry gives to
    (its sinks) at 3 to 8, and what is only named from 9 on. `CLEARED` is that of an item; a water source that starts
    afresh is stored as `CLEARED_WATER`, since a draw must not give to it. `SHARED` is that of a mix in which something
    was dipped that did not come out clean: it takes from the mix and gives to it. No lot is ever touched, so a shared
    mix is stored under the number of `TOUCHED`, which is a source and a sink.
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
    SHARED = 15

    stored: int
    """The number under which a use in this role is stored."""

    @property
    def word(self) -> str:
        """The role as kind files and records write it: `cleared` for items and for water."""
        return _WORDS[self]

    @classmethod
    def named(cls, word: str) -> "Role":
        """Return the role of a word. Raises KeyError for a word that is none."""
        return _NAMED[word]

    def of(self, thing_class: str) -> "Role":
        """Return the role for a thing of this class: what clears water is stored apart from what clears an item."""
        return Role.CLEARED_WATER if self is Role.CLEARED and thing_class == "water-source" else self

    @classmethod
    def read(cls, number: int, thing_class: str) -> "Role":
        """Return the role that a stored number says of a thing of some class."""
        return Role.SHARED if number == Role.TOUCHED and thing_class == "lot" else Role(number)


for _role in Role:
    _role.stored = int(Role.TOUCHED if _role is Role.SHARED else _role)

_WORDS = {role: role.name.lower() for role in Role} | {Role.CLEARED_WATER: "cleared"}
_NAMED = {word: role for role, word in _WORDS.items() if role is not Role.CLEARED_WATER}

WORDS: tuple[str, ...] = tuple(word for word, role in _NAMED.items() if role is not Role.SHARED)
"""The words that a kind file may say, in the order of the numbers. That a mix is shared follows from the verdict."""

MAKES = (Role.MADE, Role.NAMES)
"""An entry makes a lot, or registers what is no lot."""
