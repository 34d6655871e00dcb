"""What a batch makes dangerous in entries that stand in the book already, told with the batch.

A mix that is amended to be another one makes every tank that was filled with it another one; a fill that is typed late
stands below what was poured on it; a seed lot that turns out to be of a crop that carries an allergen is in its packs.
Each entry that may be concerned is looked at as the book was and as it is with the batch, and what is new is told.
"""

from collections.abc import Sequence

from lotwalk.errors import NotUnderstood
from lotwalk.finding import NOT_URGENT, urgency
from lotwalk.ledger.evidence import BookEvidence
from lotwalk.ledger.model import Pending
from lotwalk.ledger.write.judging import Judging
from lotwalk.ledger.write.names import Names
from lotwalk.ledger.write.rejudging import made_of
from lotwalk.store.nodes import parts_of
from lotwalk.store.sql import in_force, in_roles, of_role, select_keys, select_rows, seq_of, texts
from lotwalk.values.roles import MAKES, Role

_MOST = 10
"""So many are told at once; the rest is for `check`."""
_NEXT = 50
"""So many entries that name a tank later are looked at."""

_IN = (Role.TOUCHED, Role.CLEARED, Role.ABOUT)


def consequences(
    pendings: Sequence[Pending], filed: Sequence[Pending], judging: Judging, evidence: BookEvidence
) -> dict[int, list[str]]:
    """Return what is to be said of entries that stood in the book before, by the number (`seq`) of the entry of the
    batch that it is told with. `filed` are the further versions of earlier entries that the batch brings about."""
    amended = {one.amendment.seq for one in pendings if one.amendment}
    suspects = _suspects(pendings, amended, evidence) - amended
    suspects |= {one.amendment.seq for one in filed if one.amendment}
    if not suspects:
        return {}
    before = BookEvidence(evidence.connection, evidence.kinds, Names(evidence.connection, evidence.kinds), evidence.now)
    again = {one.amendment.seq: one for one in filed if one.amendment}
    told: list[str] = []
    for seq in sorted(suspects):
        known = set(_urgent(seq, None, judging, before))
        told += [one for one in _urgent(seq, again.get(seq), judging, evidence) if one not in known]
    told = sorted(dict.fromkeys(told), key=urgency)
    if len(told) > _MOST:
        lead = told[_MOST].partition(" ")[0]
        told = [*told[:_MOST], f"{lead} {len(told) - _MOST} more entries: `lotwalk check --only critical` lists them."]
    cause = next((one for one in pendings if one.amendment), pendings[0])
    return {cause.seq: told} if told else {}


def _urgent(seq: int, again: Pending | None, judging: Judging, evidence: BookEvidence) -> list[str]:
    """What may hurt in an entry as the evidence has it; `again` is its further version."""
    entry = evidence.entry(again.seq if again else seq)
    try:
        kind = evidence.kinds[entry.kind]
    except NotUnderstood:
        return []
    notices = judging.notices(kind.notice or "", entry, evidence, verdict=kind.verdict or "")
    verdict = again.verdict if again else entry.version.verdict
    residue = verdict.residue(entry.name, entry.at) if verdict else None
    return [one for one in [*notices, *([" ".join(residue)] if residue else [])] if urgency(one) < NOT_URGENT]


def _suspects(pendings: Sequence[Pending], amended: set[int], evidence: BookEvidence) -> set[int]:
    """The versions in force that may be concerned, besides those of the batch."""
    connection, kinds = evidence.connection, evidence.kinds
    sql = f"SELECT u.thing FROM {{listed}} JOIN use u ON u.node = j.value AND {of_role('u', *MAKES)}"
    roots = {row[0] for row in select_keys(connection, sql, [node for seq in amended for node in parts_of(seq)])}
    found: set[int] = set()
    if amended:
        roots |= {use.thing.id for one in pendings if one.amendment for use in one.uses if use.role in MAKES}
        mixes = made_of(roots - evidence.names.new.keys(), evidence)
        naming = (
            f"SELECT DISTINCT e.seq FROM {{listed}} JOIN use u ON u.thing = j.value AND {in_roles('u', *Role)}"
            " JOIN thing t ON t.id = u.thing AND t.kind IN "
            + texts([name for name, kind in kinds.things.items() if kind.farm_wide_types])
            + f" JOIN entry e ON e.seq = {seq_of()} WHERE {in_force()}"
        )
        found |= {row[0] for row in select_keys(connection, naming, mixes)}
        found |= _eaten(roots - evidence.names.new.keys(), evidence)
    return found | _later_in(_vessels(pendings, found | amended, evidence), evidence)


def _eaten(roots: set[int], evidence: BookEvidence) -> set[int]:
    """The versions in force that made a lot of these, through any number of lots."""
    sql = (
        f"SELECT DISTINCT m.thing, e.seq FROM {{listed}} JOIN use u ON u.thing = j.value AND {in_roles('u', Role.TOOK)}"
        f" JOIN use m ON m.node = u.node AND {of_role('m', Role.MADE)}"
        f" JOIN entry e ON e.seq = {seq_of()} WHERE {in_force()}"
    )
    found: set[int] = set()
    seen, fresh = set(roots), set(roots)
    while fresh:
        rows = select_keys(evidence.connection, sql, fresh)
        found |= {row[1] for row in rows}
        fresh = {row[0] for row in rows} - seen
        seen |= fresh
    return found


def _vessels(pendings: Sequence[Pending], seqs: set[int], evidence: BookEvidence) -> dict[int, int]:
    """The things that hold liquids which the batch, or these versions, name, each with the first second of that."""
    vessels = {name for name, kind in evidence.kinds.things.items() if kind.vessel}
    since: dict[int, int] = {}
    named = [
        (use.thing.id, one.checked.at.start)
        for one in pendings
        for use in one.uses
        if use.thing.kind in vessels and not use.assumed and use.thing.id not in evidence.names.new
    ]
    sql = (
        "SELECT u.thing, u.at_from FROM {listed} JOIN use u ON u.node = j.value AND u.assumed = 0"
        f" JOIN thing t ON t.id = u.thing AND t.kind IN {texts(vessels)}"
    )
    named += [(row[0], row[1]) for row in select_keys(evidence.connection, sql, [n for s in seqs for n in parts_of(s)])]
    for thing, start in named:
        since[thing] = min(start, since.get(thing, start))
    return since


def _later_in(since: dict[int, int], evidence: BookEvidence) -> set[int]:
    if not since:
        return set()
    sql = (
        "SELECT DISTINCT u.thing, u.at_from, e.seq FROM {listed} JOIN use u ON u.thing = {0}"
        f" AND {in_roles('u', *_IN)} AND u.at_to >= {{1}} AND u.assumed = 0"
        f" JOIN entry e ON e.seq = {seq_of()} WHERE {in_force()}"
    )
    found: dict[int, list[tuple[int, int]]] = {}
    for thing, start, seq in select_rows(evidence.connection, sql, list(since.items())):
        found.setdefault(thing, []).append((start, seq))
    return {seq for uses in found.values() for _, seq in sorted(uses)[:_NEXT]}
