"""Which lots stood on a rack or were kept at a place when something happened there.

A rack or a place passes nothing on by itself: what happens there concerns the lots that were there. A lot is where its
making put it, until it is moved or set on another rack, and as long as there is some of it left.
"""

import json
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from lotwalk.kinds.model import Kind
from lotwalk.ledger.bearing.facts import ON
from lotwalk.ledger.bearing.ground import Ground
from lotwalk.ledger.bearing.left import Left
from lotwalk.ledger.bearing.model import Moment, Said, said, stored_said
from lotwalk.ledger.model import Pending, ThingRow
from lotwalk.ledger.read.bearing import texts_of
from lotwalk.ledger.read.keeping import brought, naming_at_places, registered_with
from lotwalk.values.roles import Role

_WORKED_ON = (Role.TENDED, Role.HANDLED)


class There(NamedTuple):
    """A lot that was there, and the field that says where."""

    lot: ThingRow
    field: str


class _Stay(NamedTuple):
    """Where an entry put a lot: on which racks and at which places (codes). None: it says nothing of that."""

    since: Moment
    racks: frozenset[str] | None
    places: frozenset[str] | None


class Kept:
    """Answers what was kept where, by the ledger's entries in force and by those of the batch."""

    def __init__(self, ground: Ground, left: Left, on: Callable[[ThingRow, Moment], Iterable[ThingRow]]) -> None:
        # `on` answers what stands on an item at some moment.
        self._ground = ground
        self._left = left
        self._on = on
        self._names = ground.names
        self._kinds = ground.kinds
        self._now: list[Said] = []

    def see(self, pendings: Sequence[Pending]) -> None:
        """Take note of what the entries of the batch say."""
        self._now += [said(one) for one in pendings if any(self._keeps(use.thing) for use in one.uses)]
        self._left.see(pendings)

    def there(
        self, kind: Kind, fields: Mapping[str, Any], uses: Sequence[tuple[Role | None, ThingRow, str]], at: Moment
    ) -> list[There]:
        """Return the lots that an entry concerns since they were on a rack or at a place that it names.

        `fields` is what it says, `uses` are those by its own words, as (role, thing, path of the field).
        """
        found: dict[int, There] = {}
        for field in kind.fields.values():
            if not field.there or field.name in fields:
                continue
            # The first field that names something says where it happened; the place is then only where that is.
            of = ([use for use in uses if use[2] == name] for name in field.there)
            named = next(filter(None, of), [])
            racks = {thing.code for _, thing, _ in named if self._is_rack(thing)}
            places = {thing.code for _, thing, _ in named if self._is_place(thing)}
            homes = {thing.code for role, thing, _ in uses if role is Role.PLACE} if racks else set[str]()
            for lot in self._at(racks, places, homes, at):
                found.setdefault(lot.id, There(lot, named[0][2]))
        return list(found.values())

    def _at(self, racks: set[str], places: set[str], homes: set[str], at: Moment) -> Iterator[ThingRow]:
        """The lots on racks or at places; `homes` are where the racks stand by the entry's own word."""
        if not racks and not places:
            return
        homes = self._inside(homes or {home for rack in racks for home in self._homes(rack, at)})
        places = self._inside(places)
        on = racks | self._racks_at(places, at)
        candidates = {thing.id: thing for _, thing in self._brought(on | places | homes, at) if thing.cls == "lot"}
        carried = self._carried(places | homes, at)
        candidates |= {lot.id: lot for lot, _ in carried}
        dealt = self._left.dealings(candidates.keys())
        alive = [lot for key, lot in candidates.items() if self._left.is_left(lot, dealt[key], at)]
        stays = self._stays(alive, {one.seq for lot in alive for one in dealt[lot.id]})
        for lot in alive:
            racked, placed, loose = _where(stays[lot.id], at)
            placed |= {place for other, there in carried if other.id == lot.id for place in there}
            if racked & on or placed & places or (loose and placed & homes):
                yield lot

    def _carried(self, places: Collection[str], at: Moment) -> list[tuple[ThingRow, set[str]]]:
        """The lots on and in items that were moved to places, each with where its item was moved last."""
        moved = {thing for _, thing in self._brought(places, at) if thing.cls == "item" and not self._is_rack(thing)}
        homes = {thing: self._homes(thing.code, at) for thing in moved}
        return [(lot, there) for thing, there in homes.items() for lot in self._on(thing, at)]

    def _brought(self, keepers: Collection[str], at: Moment) -> Iterator[tuple[str, ThingRow]]:
        """What entries up to then brought on or to keepers, each with the keeper's code."""
        known = {thing.id: thing.code for code in keepers if (thing := self._names.find(code))}
        until = [(key, at.end) for key in sorted(known) if key not in self._names.new]
        for keeper, seq, thing in brought(self._ground.connection, until):
            if seq not in self._ground.amended:
                yield known[keeper], thing
        for one in self._now:
            here = {code for _, code, _ in one.uses} & set(keepers)
            for _, code, _ in one.uses if here and not at.surely_before(one.at) else ():
                if thing := self._names.find(code):
                    yield from ((keeper, thing) for keeper in here)

    def _racks_at(self, places: Collection[str], at: Moment) -> set[str]:
        """The racks that stand at places."""
        found = [thing for code in places if (thing := self._names.find(code))]
        lists = [codes for place in found for codes in self._ground.standing.usual(place).values()]
        racks = {code for codes in lists for code in codes if self._is_rack(self._names.find(code))}
        racks |= {thing.code for _, thing in self._brought(places, at) if self._is_rack(thing)}
        return {rack for rack in racks if self._homes(rack, at) & set(places)}

    def _homes(self, rack: str, at: Moment) -> set[str]:
        """The places at which a rack stood: where it was moved last, or else those of which the record names it."""
        thing = self._names.find(rack)
        if thing is None:
            return set()
        stored = [] if thing.id in self._names.new else [thing.id]
        seqs = naming_at_places(self._ground.connection, stored)
        entries = [*self._texts(seqs - set(self._ground.amended)), *self._now]
        moves = [(one.at, own) for one in entries if self._names_only(one, thing) and (own := self._own_places(one))]
        moves = [(since, places) for since, places in moves if not at.surely_before(since)]
        found = {place for places in _last(moves, at) for place in places}
        if not any(since.surely_before(at) for since, _ in moves):
            found |= {place.code for _, place in self._registered_with({thing.id}) if self._is_place(place)}
        return found

    def _inside(self, places: Collection[str]) -> set[str]:
        """Places with all that are part of them."""
        found, left = set(places), set(places)
        while left:
            keys = {thing.id for code in left if (thing := self._names.find(code))}
            left = {place.code for _, place in self._registered_with(keys) if self._is_place(place)} - found
            found |= left
        return found

    def _registered_with(self, things: Collection[int]) -> Iterator[tuple[int, ThingRow]]:
        """What was registered by entries that name one of the things."""
        yield from registered_with(self._ground.connection, [key for key in things if key not in self._names.new])
        for one in self._now:
            codes = [(role, thing) for role, code, _ in one.uses if (thing := self._names.find(code))]
            for _, named in (pair for pair in codes if pair[0] is Role.ABOUT and pair[1].id in things):
                yield from ((named.id, thing) for role, thing in codes if role is Role.NAMES)

    def _stays(self, lots: Sequence[ThingRow], seqs: Collection[int]) -> dict[int, list[_Stay]]:
        """Where entries put lots; `seqs` are the stored ones that had to do with them."""
        keys = {lot.id for lot in lots}
        found: dict[int, list[_Stay]] = defaultdict(list)
        for one in (*self._texts(seqs), *self._now):
            for lot, stay in self._put(one):
                if lot in keys:
                    found[lot].append(stay)
        return found

    def _put(self, entry: Said) -> Iterator[tuple[int, _Stay]]:
        """The lots (database keys) of which an entry says where they were from then on."""
        racks = frozenset(code for code, _ in entry.touched() if self._is_rack(self._names.find(code)))
        own = self._own_places(entry)
        at = own or frozenset(code for role, code, _ in entry.uses if role is Role.PLACE)
        # What makes a lot says where that went, and nothing of what it was made of.
        makes = any(role is Role.MADE for role, _, _ in entry.uses)
        for role, code, path in entry.uses:
            thing = self._names.find(code) if not path.startswith(ON) else None
            if thing is None or thing.cls != "lot":
                continue
            if role is Role.MADE:
                yield thing.id, _Stay(entry.at, racks, at)
            elif own and not makes and (role is Role.ABOUT or role in _WORKED_ON):
                yield thing.id, _Stay(entry.at, racks, own)
            elif role in _WORKED_ON and racks:
                yield thing.id, _Stay(entry.at, racks, None)

    def _texts(self, seqs: Collection[int]) -> list[Said]:
        stored = texts_of(self._ground.connection, seqs) if seqs else ()
        return [stored_said(json.loads(record), group) for record, group in stored]

    def _own_places(self, entry: Said) -> frozenset[str]:
        """The places into which an entry puts things: not the one that every entry may name, where it was done."""
        fields = self._kinds[entry.kind].fields
        places = [(code, fields.get(path)) for role, code, path in entry.uses if role is Role.PLACE]
        return frozenset(code for code, field in places if field and not field.common)

    def _names_only(self, entry: Said, thing: ThingRow) -> bool:
        return any(role is Role.ABOUT and self._names.find(code) == thing for role, code, _ in entry.uses)

    def _keeps(self, thing: ThingRow | None) -> bool:
        return thing is not None and self._kinds.things[thing.kind].keeps

    def _is_rack(self, thing: ThingRow | None) -> bool:
        return thing is not None and self._keeps(thing) and thing.cls == "item"

    def _is_place(self, thing: ThingRow | None) -> bool:
        return thing is not None and self._keeps(thing) and thing.cls == "place"


def _where(stays: Iterable[_Stay], at: Moment) -> tuple[set[str], set[str], bool]:
    """On which racks and at which places a lot may have been, and whether it may have been on no known rack."""
    come = [one for one in stays if not at.surely_before(one.since)]
    racks = _last([(one.since, one.racks) for one in come if one.racks is not None], at)
    places = _last([(one.since, one.places) for one in come if one.places is not None], at)
    loose = any(not some for some in racks)
    return {code for some in racks for code in some}, {code for some in places for code in some}, loose


def _last(said: Sequence[tuple[Moment, frozenset[str]]], at: Moment) -> list[frozenset[str]]:
    """Of what was said one after another, what no later word surely took back before a moment."""
    return [
        some
        for since, some in said
        if not any(since.surely_before(later) and later.surely_before(at) for later, _ in said)
    ]
