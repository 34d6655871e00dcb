"""Stored entries filed anew since what they rest on, what a lot stands on, is recorded otherwise by now.

A sowing is amended, voided and written again, or typed late; a mat got a new tag; a crate was washed. What an entry
touches because of it is written into the entry, so a further version of it is filed, in the same transaction.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from sqlalchemy import Connection

from lotwalk.errors import NotUnderstood, Refused
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.bearing.bed import Bed
from lotwalk.ledger.bearing.facts import BEARS, BECOMES, CARRIES, CONTAINS, FILLED, FINISHED, VACATED
from lotwalk.ledger.bearing.finishing import crops
from lotwalk.ledger.bearing.ground import Ground
from lotwalk.ledger.bearing.leftovers import handled_by_now, leave
from lotwalk.ledger.bearing.model import AT_LAST, Moment
from lotwalk.ledger.bearing.taking import take_again
from lotwalk.ledger.bearing.touching import handle, handles_otherwise
from lotwalk.ledger.evidence import BookEvidence
from lotwalk.ledger.keep.older_judge import reason
from lotwalk.ledger.model import Pending, ThingRow
from lotwalk.ledger.read.bearing import EVER, of_kinds_in_force, touching, unshared, using_since
from lotwalk.ledger.read.keeping import ended_since, last_taken
from lotwalk.ledger.read.uses import uses_of_version
from lotwalk.ledger.write.filed_again import again, stored_version
from lotwalk.ledger.write.judging import Judging, judge_pending
from lotwalk.ledger.write.names import Names
from lotwalk.ledger.write.standing import Standing
from lotwalk.values.roles import Role

_CONTACT = (Role.TOUCHED, Role.CLEARED, None)
_DEALT = (Role.TOOK, Role.HANDLED, Role.TENDED, Role.ABOUT)
REASON = "what it stands on is recorded otherwise now"


def borne_otherwise(pendings: Sequence[Pending], bed: Bed, evidence: BookEvidence, last: int) -> list[Pending]:
    """Return new versions, numbered after `last` and not yet judged, of the stored entries which a batch changes so."""
    causes = tuple(sorted({one.number for one in pendings}))[:1]
    since = dict[int, int]()
    for thing, second in _changed(pendings, bed):
        since[thing] = min(second, since.get(thing, EVER))
    seqs = using_since(evidence.connection, sorted(since.items())) if since else set()
    if concerning := bed.kinds.concerning():
        places = any(use.thing.cls == "place" and use.role is Role.NAMES for one in pendings for use in one.uses)
        seqs |= ended_since(evidence.connection, concerning, -EVER if places else _since(pendings, bed))
    seqs -= {*bed.ground.amended, *(one.amendment.seq for one in pendings if one.amendment)}
    if seqs:
        bed.doubt_breaks()
    return refiled(sorted(seqs), bed, evidence, last, REASON, causes)


def of_older_judge(connection: Connection, kinds: Kinds, judging: Judging, now: int, last: int) -> list[Pending]:
    """Return new versions, numbered after `last` and judged, of the entries in force that would touch something else
    or share another mix, if they were recorded by today's program. `now` is in epoch seconds."""
    names = Names(connection, kinds)
    evidence = BookEvidence(connection, kinds, names, now)
    ground = Ground(connection, kinds, names, Standing(connection, names, kinds), frozenset())
    bed = Bed(ground, evidence, judging.keeps)
    bed.doubt_breaks()
    spilt = unshared(connection)
    seqs = {
        *of_kinds_in_force(connection, {*kinds.taking(), *kinds.concerning()}),
        *touching(connection, bed.bearing_kinds),
        *spilt,
    }
    found = refiled(sorted(seqs), bed, evidence, last, reason(judging.number), anyway=spilt, of_older=True)
    for pending in found:
        evidence.add(pending)
    for pending in found:
        judge_pending(pending, judging, evidence)
    handle(bed, found)
    return found


def refiled(
    seqs: Iterable[int],
    bed: Bed,
    evidence: BookEvidence,
    last: int,
    because: str,
    causes: tuple[int, ...] = (),
    *,
    anyway: Collection[int] = (),
    of_older: bool = False,
) -> list[Pending]:
    """Return new versions, numbered after `last`, of those stored entries that touch or handle otherwise by now, and of
    those that are to be filed `anyway`.

    `of_older`: they may be of an older program, of which the kinds knew less of what is handled.
    """
    out: list[Pending] = []
    taking = evidence.kinds.taking()
    for seq in seqs:
        version, sheet = stored_version(seq, evidence)
        group = sheet.id if sheet and sheet.in_order else 0
        otherwise = seq in anyway or handles_otherwise(
            bed, version, Moment(version.start, version.end, group, version.line)
        )
        if not otherwise and version.kind not in taking:
            continue
        try:
            pending = again(version, sheet, last + len(out) + 1, evidence, because)
        except (Refused, NotUnderstood):
            # Its kind of record has changed since, and what it says can no longer be read: what it touched stands.
            continue
        if of_older:
            otherwise |= handled_by_now(pending, evidence) | leave(pending, evidence)
        if take_again(bed.ground, pending) or otherwise:
            if pending.amendment:
                pending.amendment = replace(pending.amendment, evidence=causes)
            out.append(pending)
    return out


class _Change(NamedTuple):
    """An entry that is new in the batch, or the version that one replaces: its kind, first second and uses."""

    kind: str
    start: int
    uses: Sequence[tuple[Role | None, ThingRow]]


def _changes(pendings: Sequence[Pending], connection: Connection) -> Iterator[_Change]:
    for pending in pendings:
        kind, start = pending.checked.kind.name, pending.checked.at.start
        if pending.amendment:
            # What the version said that is replaced holds no more, from whenever that was.
            uses = uses_of_version(connection, pending.amendment.seq)
            start = min(start, *(use.start for use in uses)) if uses else start
            yield _Change(kind, start, [(use.role, use.thing) for use in uses])
        yield _Change(kind, start, [(use.role, use.thing) for use in pending.uses])


def _since(pendings: Sequence[Pending], bed: Bed) -> int:
    """The second since when a batch may change what is known to have been where.

    That there was something of a lot is shown by what has to do with it later, from when it was taken last before.
    """
    changes = list(_changes(pendings, bed.ground.connection))
    new = bed.ground.names.new
    dealt = {
        (thing.id, change.start)
        for change in changes
        for role, thing in change.uses
        if role in _DEALT and thing.cls == "lot" and thing.id not in new
    }
    return min([change.start for change in changes] + last_taken(bed.ground.connection, sorted(dealt)))


def _changed(pendings: Sequence[Pending], bed: Bed) -> Iterator[tuple[int, int]]:
    """The things through which a batch changes what stored entries touch or handle, each with the second since when."""
    ground, kinds, new = bed.ground, bed.kinds, bed.ground.names.new
    making = {*kinds.telling(BEARS), *kinds.telling(CONTAINS)}
    facts = (BECOMES, FINISHED, FILLED, VACATED)
    becoming, finishing, filling, vacating = (set(kinds.telling(fact)) for fact in facts)
    carrying = {*kinds.telling(CARRIES), *filling}
    amending = any(one.amendment for one in pendings)
    for kind, start, uses in _changes(pendings, ground.connection):
        bears = bed.may_bear if kind in filling else bed.grows
        items = [thing for role, thing in uses if role is Role.TOUCHED and bears(thing)]
        lots = [
            thing
            for role, thing in uses
            if (kind in making and role is Role.MADE)
            or (kind in finishing and role is Role.TOOK)
            or (kind in carrying and items and role in (Role.TENDED, Role.HANDLED))
        ]
        since = -EVER if kind in making | carrying else start
        yield from ((lot.id, since) for lot in lots if lot.id not in new and ground.under(lot, AT_LAST))
        if kind in making | carrying:
            yield from ((item.id, start) for item in items if item.id not in new)
        if kind in becoming:
            yield from ((item.id, -EVER) for item in items if item.id not in new)
        if kind in vacating and amending:
            held = [thing for role, thing in uses if thing.cls == "item" and role in _CONTACT and bed.may_bear(thing)]
            for item in held:
                yield from ((lot.id, start) for lot in bed.ever_in(item, start) if lot.id not in new)
        if kind in finishing:
            # Any tray that is taken may show of an earlier one that it was not the last.
            for lot in (one for one in lots if one.kind in crops(kinds) and one.id not in new):
                earlier = [one.start for one in bed.evidence.taking(lot.code) if one.start < start]
                if earlier:
                    yield from ((one.item.id, min(earlier)) for one in ground.under(lot, AT_LAST))
        if kind in finishing and amending:
            for lot in lots:
                yield from ((one.item.id, start) for one in ground.under(lot, AT_LAST))
