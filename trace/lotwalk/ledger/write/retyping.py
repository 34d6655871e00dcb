"""What is made of a thing has its type: when that is corrected, what was made of it follows, by a further version.

A can first written down as plant food and then corrected to a sanitiser makes its solutions those of a sanitiser too,
so that a walk counts them as reaching the whole farm.
"""

from collections.abc import Sequence
from dataclasses import replace

from lotwalk.errors import NotUnderstood, Refused
from lotwalk.kinds.model import Mention
from lotwalk.ledger.evidence import BookEvidence
from lotwalk.ledger.model import Pending, ThingRow
from lotwalk.ledger.write.filed_again import again, stored_version
from lotwalk.ledger.write.judging import Judging, judge_pending
from lotwalk.store.sql import in_force, in_roles, select_keys, seq_of
from lotwalk.values.roles import MAKES, Role

REASON = "what it was made of is recorded as of another type now"

_MAKERS = (
    "SELECT DISTINCT e.seq FROM {listed}"
    f" JOIN use u ON u.thing = j.value AND {in_roles('u', *Role)}"
    f" JOIN use m ON m.node = u.node AND {in_roles('m', *MAKES)} AND m.thing <> u.thing"
    f" JOIN entry e ON e.seq = {seq_of()} AND {in_force()}"
)


def retyped(pendings: Sequence[Pending], judging: Judging, evidence: BookEvidence, last: int) -> list[Pending]:
    """Return new versions, numbered after `last`, of the stored entries that made something of a thing whose type the
    batch changes."""
    names, out = evidence.names, list[Pending]()
    taken = {one.amendment.seq for one in pendings if one.amendment}
    causes = tuple(sorted({one.number for one in pendings}))[:1]
    fresh = list(names.retyped)
    while fresh:
        before = set(names.retyped)
        rows = select_keys(evidence.connection, _MAKERS, fresh)
        for seq in sorted({row[0] for row in rows} - taken):
            version, sheet = stored_version(seq, evidence)
            try:
                pending = again(version, sheet, last + len(out) + 1, evidence, REASON)
            except (Refused, NotUnderstood):
                # Its kind of record has changed since, and what it says can no longer be read: the type stands.
                continue
            if not _follow(pending, evidence):
                continue
            evidence.add(pending)
            judge_pending(pending, judging, evidence)
            if pending.amendment:
                pending.amendment = replace(pending.amendment, evidence=causes)
            taken.add(seq)
            out.append(pending)
        fresh = sorted(set(names.retyped) - before)
    return out


def _follow(pending: Pending, evidence: BookEvidence) -> bool:
    """Give what an entry makes the type that it has now; return whether any of it had another."""
    changed: dict[int, ThingRow] = {}
    for mention in pending.checked.mentions:
        makes = mention.field.makes
        if makes is None or makes.type_of is None:
            continue
        type_ = _type_now(mention, makes.type_of, evidence)
        for code in mention.codes:
            thing = evidence.names.find(code)
            if thing and thing.type != type_:
                changed[thing.id] = evidence.names.make(thing.code, thing.kind, type_)
    pending.uses = [replace(use, thing=changed.get(use.thing.id, use.thing)) for use in pending.uses]
    return bool(changed)


def _type_now(mention: Mention, field: str, evidence: BookEvidence) -> str | None:
    value = mention.scope.get(field)
    code = value[0] if isinstance(value, list) and value else value
    thing = evidence.names.find(code) if isinstance(code, str) else None
    return thing.type if thing else None
