"""Stored entries filed anew since what they rest on, what a lot stands on, is recorded otherwise by now.

A sowing is amended, voided and written again, or typed late; a mat got a new tag; a crate was washed. What an entry
touches because of it is written into the entry, so a further version of it is filed, in the same transaction.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import islice

from sqlalchemy import Connection

from lotwalk.errors import NotUnderstood, Refused
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.bearing.ground import Ground, became
from lotwalk.ledger.bearing.model import BEARS, BECOMES, CARRIES, CONTAINS, EMPTIED
from lotwalk.ledger.bearing.taking import take_again
from lotwalk.ledger.evidence import BookEvidence
from lotwalk.ledger.filed_again import again, stored_version
from lotwalk.ledger.judging import Judging, judge_pending
from lotwalk.ledger.model import Pending
from lotwalk.ledger.names import Names
from lotwalk.ledger.older_judge import reason
from lotwalk.ledger.read.bearing import EVER, of_kinds_in_force, using_since
from lotwalk.ledger.read.uses import things_named
from lotwalk.ledger.standing import Standing
from lotwalk.values.roles import Role

REASON = "what it stands on is recorded otherwise now"
_AT_ONCE = 500
"""Entries that are looked at together."""


def borne_otherwise(pendings: Sequence[Pending], ground: Ground, evidence: BookEvidence, last: int) -> list[Pending]:
    """Return new versions, numbered after `last` and not yet judged, of the stored entries which a batch changes so."""
    causes = tuple(sorted({one.number for one in pendings}))[:1]
    taking = evidence.kinds.taking()
    since = dict[int, int]()
    for thing, second in _changed(pendings, ground):
        since[thing] = min(second, since.get(thing, EVER))
    seqs = using_since(evidence.connection, sorted(since.items()), taking) if since else set()
    return refiled(sorted(seqs - set(ground.amended)), ground, evidence, last, REASON, causes)


def of_older_judge(connection: Connection, kinds: Kinds, judging: Judging, now: int, last: int) -> list[Pending]:
    """Return new versions, numbered after `last` and judged, of the entries in force that would touch something else
    if they were recorded by today's program. `now` is in epoch seconds."""
    seqs = iter(of_kinds_in_force(connection, kinds.taking()))
    out: list[Pending] = []
    while some := list(islice(seqs, _AT_ONCE)):
        names = Names(connection, kinds)
        evidence = BookEvidence(connection, kinds, names, now)
        ground = Ground(connection, kinds, names, Standing(connection, names, kinds), frozenset())
        found = refiled(some, ground, evidence, last + len(out), reason(judging.number))
        for pending in found:
            evidence.add(pending)
        for pending in found:
            judge_pending(pending, judging, evidence)
        out += found
    return out


def refiled(
    seqs: Iterable[int],
    ground: Ground,
    evidence: BookEvidence,
    last: int,
    because: str,
    causes: tuple[int, ...] = (),
) -> list[Pending]:
    """Return new versions, numbered after `last`, of those stored entries that touch something else by now."""
    out: list[Pending] = []
    for seq in seqs:
        version, sheet = stored_version(seq, evidence)
        try:
            pending = again(version, sheet, last + len(out) + 1, evidence, because)
        except (Refused, NotUnderstood):
            # Its kind of record has changed since, and what it says can no longer be read: what it touched stands.
            continue
        if take_again(ground, pending):
            if pending.amendment:
                pending.amendment = replace(pending.amendment, evidence=causes)
            out.append(pending)
    return out


def _changed(pendings: Sequence[Pending], ground: Ground) -> Iterator[tuple[int, int]]:
    """The things through which a batch changes what stored entries touch, each with the second since when."""
    kinds, new = ground.kinds, ground.names.new
    making, emptying = {*kinds.telling(BEARS), *kinds.telling(CONTAINS)}, set(kinds.telling(EMPTIED))
    carrying, becoming = set(kinds.telling(CARRIES)), set(kinds.telling(BECOMES))
    concerned = making | emptying | carrying | becoming
    for pending in pendings:
        name = pending.checked.kind.name
        if pending.amendment and name in concerned:
            # Whatever the version named that is replaced, it does not any more.
            yield from ((thing, -EVER) for thing in things_named(ground.connection, pending.amendment.seq))
        start = pending.checked.at.start
        for use in pending.uses if name in concerned else ():
            if use.thing.id in new:
                continue
            lot = use.thing.cls == "lot"
            if (name in making and use.role is Role.MADE) or (name in carrying and lot and _may_carry(pending)):
                yield use.thing.id, -EVER
            elif name in emptying and use.thing.cls == "item":
                yield use.thing.id, start
        if name in becoming:
            yield from ((before, -EVER) for before, _, _ in became(pending) if before not in new)


def _may_carry(pending: Pending) -> bool:
    return any(use.role is Role.TOUCHED and use.thing.cls == "item" and not use.assumed for use in pending.uses)
