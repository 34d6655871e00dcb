"""What is left of a lot after an entry took some of it, without a word of the rest, was handled by that entry.

Whether some was left follows from the book: from how much was sown and taken, and from what cuts it again. So it may be
known only later, and then the earlier entry is filed anew, in the same transaction.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from lotwalk.errors import NotUnderstood, Refused
from lotwalk.kinds.model import Mention
from lotwalk.kinds.roles import depends_on_verdict, facts, left_by_the_book, roles
from lotwalk.ledger.bearing.facts import GIVEN_UP, ON
from lotwalk.ledger.bearing.finishing import History
from lotwalk.ledger.bearing.ground import Ground
from lotwalk.ledger.bearing.taking import take_again
from lotwalk.ledger.evidence import BookEvidence
from lotwalk.ledger.model import Pending, ThingRow, UseRow
from lotwalk.ledger.read.uses import uses_of_version
from lotwalk.ledger.write.filed_again import again, stored_version
from lotwalk.values.roles import MAKES, Role

REASON = "what it left of a lot is recorded otherwise now"

_MOVES = {Role.TOOK, *MAKES}


def leave(pending: Pending, evidence: BookEvidence) -> bool:
    """Let an entry handle the lots of which the book shows that it left some, and no others of which it says nothing.

    Returns whether that is anything else than before.
    """
    before = pending.uses
    for mention, lot in _unsaid(pending, evidence):
        pending.uses = [use for use in pending.uses if not _handles(use, lot) or use.field != mention.path]
    for mention, lot in _unsaid(pending, evidence):
        if any(_handles(use, lot) for use in pending.uses) or not History(evidence, lot.code).left(pending.number):
            continue
        places = [place for place, use in enumerate(pending.uses) if use.thing.id == lot.id and use.role is Role.TOOK]
        pending.uses.insert(places[0] + 1, UseRow(Role.HANDLED, lot, mention.path))
    return {_key(use) for use in before} != {_key(use) for use in pending.uses}


def left_otherwise(pendings: Sequence[Pending], ground: Ground, evidence: BookEvidence, last: int) -> list[Pending]:
    """Return new versions, numbered after `last` and not yet judged, of the stored entries of which a batch shows that
    they left some of a lot, or no longer shows it."""
    batch = {one.seq for one in pendings}
    causes = tuple(sorted({one.number for one in pendings}))[:1]
    leaving = evidence.kinds.leaving()
    seqs: set[int] = set()
    for lot in _moved(pendings, ground, evidence):
        stored = [one for one in evidence.taking(lot.code) if one.seq not in batch and one.kind in leaving]
        # Where no entry in force makes the lot any more, what was written stays: silence shows nothing.
        history = History(evidence, lot.code) if stored and evidence.maker(lot.code) else None
        for entry in stored:
            if history is None or not history.says_nothing(entry.number):
                continue
            uses = [use for use in entry.uses if use.code == lot.code and not use.field.startswith(ON)]
            if history.left(entry.number) != any(use.role is Role.HANDLED for use in uses):
                seqs.add(entry.seq)
    out: list[Pending] = []
    for seq in sorted(seqs):
        version, sheet = stored_version(seq, evidence)
        try:
            pending = again(version, sheet, last + len(out) + 1, evidence, REASON)
        except (Refused, NotUnderstood):
            # Its kind of record has changed since, and what it says can no longer be read: what it handled stands.
            continue
        leave(pending, evidence)
        take_again(ground, pending)
        if pending.amendment:
            pending.amendment = replace(pending.amendment, evidence=causes)
        out.append(pending)
    return out


def handled_by_now(pending: Pending, evidence: BookEvidence) -> bool:
    """Let an entry of an older program, filed once more, handle the lots that its kind says by now that it handles.

    Returns whether there is any. What was recorded in a role of which the kind knows no more stays as it is.
    """
    changed = False
    for mention in pending.checked.mentions:
        for code in mention.codes if not depends_on_verdict(mention.field) else ():
            lot = evidence.names.find(code)
            if lot is None or lot.cls != "lot" or any(_handles(use, lot) for use in pending.uses):
                continue
            now = roles(mention.field, mention.scope, passes=None, thing=(lot.kind, lot.cls))
            own = [use for use in pending.uses if use.thing.id == lot.id and use.field == mention.path]
            if Role.HANDLED not in now or not own or any(use.role not in (Role.ABOUT, *now) for use in own):
                continue
            place = pending.uses.index(own[0])
            if own[0].role is Role.ABOUT:
                pending.uses[place] = replace(own[0], role=Role.HANDLED)
            else:
                pending.uses.insert(place + 1, UseRow(Role.HANDLED, lot, mention.path))
            changed = True
    return changed


def told_of_leftovers(pending: Pending, evidence: BookEvidence) -> list[str]:
    """Return what to say of an entry that took fewer trays than were sown, and says nothing of the others."""
    told = []
    for _, lot in _unsaid(pending, evidence):
        if missing := History(evidence, lot.code).missing(pending.number):
            taken, sown = missing
            told.append(
                f"{taken} of {sown} trays of {lot.code} are taken by now, and nothing is said of the others, so they"
                " stand on; write `finished: yes` if none does"
            )
    return told


def _unsaid(pending: Pending, evidence: BookEvidence) -> Iterator[tuple[Mention, ThingRow]]:
    """The lots that an entry takes, of which it does not say whether it left some, each with the field."""
    taken = {use.thing.id for use in pending.uses if use.role is Role.TOOK}
    for mention in pending.checked.mentions:
        for code in mention.codes:
            lot = evidence.names.find(code)
            if lot and lot.id in taken and left_by_the_book(mention.field, mention.scope, (lot.kind, lot.cls)):
                yield mention, lot


def _handles(use: UseRow, lot: ThingRow) -> bool:
    return use.thing.id == lot.id and use.role is Role.HANDLED and not use.field.startswith(ON)


def _key(use: UseRow) -> tuple[Role | None, int, str]:
    return use.role, use.thing.id, use.field


def _moved(pendings: Sequence[Pending], ground: Ground, evidence: BookEvidence) -> list[ThingRow]:
    """The stored lots of which the batch changes how much was made or taken."""
    found: dict[int, ThingRow] = {}
    for pending in pendings:
        given_up = set(_given_up(pending, evidence))
        for use in pending.uses:
            if use.role in _MOVES or use.thing.code in given_up:
                found[use.thing.id] = use.thing
        if pending.amendment:
            found |= {use.thing.id: use.thing for use in uses_of_version(ground.connection, pending.amendment.seq)}
    new, kinds = evidence.names.new, evidence.kinds
    may_be_left = frozenset[str]().union(*kinds.leaving().values())
    return [
        thing for key, thing in sorted(found.items()) if key not in new and kinds.thing_matches(thing.kind, may_be_left)
    ]


def _given_up(pending: Pending, evidence: BookEvidence) -> Iterator[str]:
    """The lots of which an entry tells that some trays were given up."""
    for mention in pending.checked.mentions:
        for code in mention.codes if any(fact.name == GIVEN_UP for fact in mention.field.facts) else ():
            thing = evidence.names.find(code)
            if thing and GIVEN_UP in facts(mention.field, mention.scope, (thing.kind, thing.cls)):
                yield thing.code
