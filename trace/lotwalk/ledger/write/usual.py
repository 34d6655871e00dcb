"""What is usual at a place: what it fills silence with, and which entries were recorded before it was written down."""

from collections.abc import Collection, Iterator, Mapping, Sequence

from sqlalchemy import Connection

from lotwalk.errors import NotUnderstood
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Checked, Field, Value
from lotwalk.ledger.entry import content_of
from lotwalk.ledger.model import ThingRow, Version
from lotwalk.ledger.read.things import find_things
from lotwalk.ledger.read.uses import versions_using
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role

_FEW = 6


def fills(field: Field, named: Sequence[ThingRow], usual: Sequence[ThingRow], kinds: Kinds) -> list[ThingRow]:
    """Return the usual things that fill a field beside those that it names itself.

    Of each sort of thing the usual ones are used where none of that sort is named; where the field takes things of some
    kinds only, as water does, where it names nothing at all.
    """
    if field.usual_things:
        return [one for one in usual if not named and kinds.thing_matches(one.kind, field.usual_things)]
    sorts = {one.kind for one in named}
    return [one for one in usual if one.kind not in sorts]


def recorded_before(connection: Connection, kinds: Kinds, before: Version, now: Checked) -> list[str]:
    """Return what to say of entries in force, recorded before a place's record was amended, that name nothing of a sort
    that is usual there by now. `before` is the version that was replaced."""
    places = [use.code for use in before.uses if use.role is Role.NAMES]
    found = []
    for name, codes in _more(before, now).items():
        things = find_things(connection, [*codes, *places])
        usual = [things[fold(code)] for code in codes if fold(code) in things]
        here = [things[fold(code)] for code in places if fold(code) in things and things[fold(code)].cls == "place"]
        for place in here:
            entries = list(_without(connection, kinds, place, name, usual, now.at.start))
            if entries:
                found.append(_told(place.code, [one.code for one in usual], entries, now.at.written))
    return found


def _more(before: Version, now: Checked) -> Mapping[str, list[str]]:
    """The codes that a record names by now and did not before, by field."""
    had = {(use.field, fold(use.code)) for use in before.uses}
    more = {
        name: [code for code in _listed(value) if (name, fold(code)) not in had]
        for name, value in now.values.items()
        if now.kind.fields[name].things and not now.kind.fields[name].makes
    }
    return {name: codes for name, codes in more.items() if codes}


def _without(
    connection: Connection, kinds: Kinds, place: ThingRow, usual_field: str, usual: Sequence[ThingRow], since: int
) -> Iterator[str]:
    """The entries at a place since some second that would use one of the usual things if they were recorded now."""
    for _, _, version in versions_using(connection, [place.id], [Role.PLACE], _filled_by(kinds, usual_field)):
        if version.place is None or fold(version.place) != fold(place.code) or version.end < since:
            continue
        if _would_use(connection, kinds, version, usual_field, usual):
            yield version.name


def _would_use(
    connection: Connection, kinds: Kinds, version: Version, usual_field: str, usual: Sequence[ThingRow]
) -> bool:
    values = content_of(version, kinds).values
    for name, field in kinds[version.kind].fields.items():
        if field.usual != usual_field or values.get(name) == []:
            continue
        if field.follows and not _took_bath(connection, kinds, version):
            continue
        named = find_things(connection, _listed(values.get(name))).values()
        if fills(field, list(named), usual, kinds):
            return True
    return False


def _took_bath(connection: Connection, kinds: Kinds, version: Version) -> bool:
    taken = find_things(connection, version.codes(Role.TOOK)).values()
    return any(kinds.things[thing.kind].bath for thing in taken)


def _filled_by(kinds: Kinds, usual_field: str) -> Sequence[str]:
    """The kinds of record of which a field is filled with what a place has in a field of its own."""
    found = []
    for name in kinds.names:
        if not kinds.says(name, usual_field):
            continue
        try:
            fields = kinds[name].fields.values()
        except NotUnderstood:
            continue
        if any(field.usual == usual_field for field in fields):
            found.append(name)
    return found


def _listed(value: Value | None) -> Collection[str]:
    if isinstance(value, str):
        return [value]
    return [code for code in value if isinstance(code, str)] if isinstance(value, list) else []


def _told(place: str, usual: Sequence[str], entries: Sequence[str], since: str) -> str:
    several = len(entries) > 1
    more = f" and {len(entries) - _FEW} more" if len(entries) > _FEW else ""
    return (
        f"{', '.join(usual)} {'count' if len(usual) > 1 else 'counts'} as usual at {place} in what is recorded from now"
        f" on; {len(entries)} {'entries' if several else 'entry'} there since {since} {'name' if several else 'names'}"
        f" none and {'stay' if several else 'stays'} as {'they are' if several else 'it is'}"
        f" ({', '.join(entries[:_FEW])}{more}): amend {'those' if several else 'it'} if it was used"
    )
