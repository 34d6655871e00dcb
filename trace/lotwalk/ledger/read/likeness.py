"""Lots that are some of another under a code of their own, such as what came back: what they are stands with that one.

The kind file says so (`like` in `x-makes`): what the entry does not say of the new lot, its product, its pack or its
date, is that of the lot named.
"""

from collections.abc import Collection, Sequence

from sqlalchemy import Connection

from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import Version
from lotwalk.ledger.read.things import find_things
from lotwalk.ledger.read.uses import makers
from lotwalk.values.codes import fold
from lotwalk.values.text import Written

_MOST_STEPS = 20
"""What came back from what came back: so often nothing does, and a circle of codes must end."""


def like(version: Version, kinds: Kinds) -> str | None:
    """Return the code of the thing of which the entry made some under a new code; None where it made a thing anew."""
    if not kinds.says(version.kind, "like"):
        return None
    for name, field in kinds[version.kind].fields.items():
        if field.makes and field.makes.like and name in version.fields and field.makes.like in version.fields:
            return str(version.fields[field.makes.like]).strip()
    return None


def sayers(connection: Connection, kinds: Kinds, things: Collection[int]) -> dict[int, tuple[Version, ...]]:
    """Return the entries in force that say what things (database keys) are: their own, then those of what they are of.

    A thing that no entry in force makes is left out.
    """
    found: dict[int, tuple[Version, ...]] = {key: (version,) for key, version in makers(connection, things).items()}
    ahead = set(found)
    for _ in range(_MOST_STEPS):
        of = {key: code for key in ahead if (code := like(found[key][-1], kinds))}
        rows = {row.id: folded for folded, row in find_things(connection, of.values()).items()} if of else {}
        made = {rows[key]: version for key, version in makers(connection, rows).items()}
        ahead = {key for key, code in of.items() if fold(code) in made}
        if not ahead:
            break
        found |= {key: (*found[key], made[fold(of[key])]) for key in ahead}
    return found


def how_much(version: Version, kinds: Kinds) -> set[str]:
    """Return the fields that say how much of a lot an entry made: of some of it that tells nothing."""
    named = (source for field in kinds[version.kind].fields.values() if field.makes for source in field.amount)
    return {source if isinstance(source, str) else source[0] for source in named}


def first_said(versions: Sequence[Version], name: str) -> Written | None:
    """Return a field as the first of the entries that says it has it; None where none does."""
    return next((version.fields[name] for version in versions if name in version.fields), None)
