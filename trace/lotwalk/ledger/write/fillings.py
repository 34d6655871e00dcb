"""What entries pour into things that hold liquids, and which of them say that nothing from before was left in it.

Poured into a thing is what an entry takes while the thing stands in the entry as its tank, tub or can. A thing that the
entry washes or sanitises is none: it is emptied by that.
"""

import re
from collections.abc import Callable, Iterable, Iterator

from lotwalk.errors import NotUnderstood
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.roles import depends_on_verdict, facts
from lotwalk.ledger.entry import Entry
from lotwalk.ledger.evidence_model import Filling, Thing
from lotwalk.ledger.model import ThingRow
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role

_HELD = (Role.TOUCHED, Role.CLEARED, Role.ABOUT)
_TREATED = ("washed", "unclean")
_EMPTIED = "emptied"
_NOT = re.compile(r"\s*(?:no|not|never|n)\b", re.IGNORECASE)
"""How what stands in the field `emptied` begins where it was not."""

Find = Callable[[str], Thing | None]
"""Returns what is known of the thing that has a code."""


def thing_of(row: ThingRow, kinds: Kinds) -> Thing:
    """Return what a judge may know of a stored thing."""
    return Thing(row.code, row.kind, row.cls, row.type, bool(kinds.things[row.kind].farm_wide_types))


def fillings_of(entry: Entry, kinds: Kinds, find: Find) -> list[Filling]:
    """Return what an entry did to what each thing that holds liquids holds; none where its kind is no longer there.

    What only the place's record says that it stood in is left out: it says nothing of what was poured where.
    """
    try:
        fields = kinds[entry.kind].fields
    except NotUnderstood:
        return []
    lots = tuple(dict.fromkeys(use.code for use in entry.uses if use.role is Role.TOOK))
    found: dict[str, Filling] = {}
    for use in entry.uses:
        thing = find(use.code) if use.role in _HELD and not use.assumed and use.field in fields else None
        if thing and kinds.things[thing.kind].vessel:
            field = fields[use.field]
            told = facts(field, entry.values, (thing.kind, thing.cls))
            treated = not set(_TREATED).isdisjoint(told) or (depends_on_verdict(field) and not field.follows)
            # What is only named stands in nothing, save the tub of a dip that passed.
            inside = not treated and (use.role is not Role.ABOUT or field.follows)
            fresh = treated or (_EMPTIED in told and not _NOT.match(str(entry.values.get(_EMPTIED))))
            if fresh or (inside and lots):
                found.setdefault(fold(use.code), Filling(entry, thing.code, lots if inside else (), fresh))
    return list(found.values())


def still_in(code: str, users: Iterable[Entry], before: Entry, kinds: Kinds, find: Find) -> Iterator[Filling]:
    """Yield what may still be in a thing when something came, the latest first.

    `users` are the entries in force that name the thing. Those after which it was surely emptied are not read.
    """
    emptied: list[Entry] = []
    for entry in sorted(users, key=_by_time, reverse=True):
        earlier = _by_time(entry) < _by_time(before) and not before.surely_before(entry)
        if entry.number == before.number or not earlier or any(entry.surely_before(one) for one in emptied):
            continue
        for told in fillings_of(entry, kinds, find):
            if fold(told.item) == fold(code):
                if told.fresh and entry.surely_before(before):
                    emptied.append(entry)
                if told.lots:
                    yield told


def _by_time(entry: Entry) -> tuple[int, int, int, int]:
    return entry.start, entry.end, entry.line, entry.seq
