"""What an entry handles because it touches what a lot stands on: what was on the lot gets onto it, and the other way.

So what gives to a standing lot, such as its watering, reaches whatever touches its mat while it stands there, and no
two mats that were watered together are tied by that.
"""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from lotwalk.kinds.library import Kinds
from lotwalk.ledger.bearing.bed import Bed
from lotwalk.ledger.bearing.facts import ON
from lotwalk.ledger.bearing.model import Moment, moment_of
from lotwalk.ledger.model import Pending, ThingRow, UseRow, Version
from lotwalk.ledger.write.lookup import some
from lotwalk.values.roles import Role

_THERE = (Role.TOOK, Role.MADE, Role.HANDLED)
"""The roles in which an entry has to do with a lot by its own words, so that nothing follows."""


class Handled(NamedTuple):
    """A lot that an entry handles, by which of its fields, in which of its parts, and whether that was assumed."""

    lot: ThingRow
    field: str
    part: int
    assumed: bool


def handle(bed: Bed, pendings: Sequence[Pending]) -> None:
    """Let entries, whose verdicts are known, handle what stands on the things they touch, or was where they say."""
    bed.fetch((use.thing, moment_of(pending)) for pending in pendings for use in pending.uses if _touches(use))
    concerning = bed.kinds.concerning()
    for pending in pendings:
        kind = pending.checked.kind.name
        # What passes by now touches nothing any more, and may have handled what stood there.
        if kind in concerning or any(
            use.field.startswith(ON) or (_touches(use) and bed.may_bear(use.thing)) for use in pending.uses
        ):
            own = [use for use in pending.uses if not use.field.startswith(ON)]
            found = handled(bed, kind, pending.checked.fields, moment_of(pending), own)
            more = [UseRow(Role.HANDLED, one.lot, one.field, assumed=one.assumed, part=one.part) for one in found]
            pending.uses = [*own, *more]


def told_there(kinds: Kinds, pending: Pending) -> list[str]:
    """Return what to say of the lots that an entry handles since they were at a rack or a place that it names."""
    kind, said = pending.checked.kind, pending.checked.fields
    found = []
    for field in kind.fields.values() if kind.name in kinds.concerning() else ():
        paths = {f"{ON}{name}" for name in field.there}
        lots = [use.thing.code for use in pending.uses if use.field in paths and use.assumed]
        of = ([use for use in pending.uses if use.field == name] for name in field.there)
        named = next(filter(None, of), [])
        if field.name in said or not any(kinds.things[use.thing.kind].keeps for use in named):
            continue
        if lots:
            what = f"taken to have been there: {some(sorted(lots))}. If it was others"
        else:
            what = "no lot is known to have been there. If some were"
        found.append(f"{what}, amend it with --set {field.name}=; if none was, with {field.name}=none")
    return found


def handled(bed: Bed, kind: str, fields: Mapping[str, object], at: Moment, uses: Sequence[UseRow]) -> list[Handled]:
    """Return the lots that an entry of a kind handles so; `fields` is what it says, `uses` are its others."""
    found: dict[tuple[int, int], Handled] = {}
    named = {use.thing.id for use in uses if use.role in _THERE}
    takes = any(use.role is Role.TOOK and use.thing.cls == "lot" for use in uses)
    for use in uses:
        if not _touches(use) or not bed.may_bear(use.thing):
            continue
        for lot in bed.on(use.thing, at, kind, takes=takes):
            if lot.id not in named:
                found.setdefault((lot.id, use.part), Handled(lot, f"{ON}{use.field}", use.part, use.assumed))
    if kind in bed.kinds.concerning():
        own = [(use.role, use.thing, use.field) for use in uses]
        for one in bed.kept.there(bed.kinds[kind], fields, own, at):
            if one.lot.id not in named:
                found.setdefault((one.lot.id, 0), Handled(one.lot, f"{ON}{one.field}", 0, assumed=True))
    return list(found.values())


def handles_otherwise(bed: Bed, version: Version, at: Moment) -> bool:
    """Return whether a stored entry would by now handle so what it does not, or not what it does."""
    names = bed.ground.names
    uses = [
        UseRow(use.role, thing, use.field, assumed=use.assumed, part=use.part)
        for use in version.uses
        if (thing := names.find(use.code))
    ]
    before = {(use.thing.id, use.part) for use in uses if use.field.startswith(ON)}
    bed.fetch([(use.thing, at) for use in uses if _touches(use)])
    own = [use for use in uses if not use.field.startswith(ON)]
    return before != {(one.lot.id, one.part) for one in handled(bed, version.kind, version.fields, at, own)}


def _touches(use: UseRow) -> bool:
    return use.role is Role.TOUCHED and use.thing.cls == "item"
