"""Earlier verdicts whose evidence a batch changes: found, judged again, and filed as versions of their own.

Suspects are judged entries in force that share evidence with the batch. Through an item in contact, or an item or a
water source of which an entry tells a fact: those not surely before it. Where an item is noted as not clean: those
since its last use before, too, and so of what is typed late before such a note. Through a lot of which it tells one:
those at any time, since a later reading of a solution speaks for earlier loads, and those of the items that the lot
stands on. When an entry is amended, or a corrective action names it: all that rests on what it said, through the
cleaning agents made of that, and those measured with it. When a thing is registered once more: all that rests on it.
"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace

from sqlalchemy import text

from lotwalk.errors import NotUnderstood, Refused
from lotwalk.kinds.facts import JUDGED_FACTS
from lotwalk.kinds.roles import facts
from lotwalk.ledger.bearing.facts import FINISHED
from lotwalk.ledger.bearing.finishing import crops
from lotwalk.ledger.bearing.ground import Ground
from lotwalk.ledger.bearing.model import AT_LAST
from lotwalk.ledger.evidence import BookEvidence
from lotwalk.ledger.model import Pending, ThingRow
from lotwalk.ledger.read.contacts import last_uses, later_than
from lotwalk.ledger.read.things import things_of
from lotwalk.ledger.verdict import Verdict
from lotwalk.ledger.write.filed_again import again, stored_version
from lotwalk.ledger.write.judging import Judging, judge_pending
from lotwalk.store.nodes import parts_of
from lotwalk.store.sql import (
    BREAKS,
    NAMED,
    SOURCES,
    in_force,
    of_role,
    select_keys,
    select_rows,
    seq_of,
    texts,
    within,
)
from lotwalk.values.order import LONG
from lotwalk.values.roles import MAKES, Role

_EVER = 1 << 62
_CONTACT = (Role.TOUCHED, Role.CLEARED)
_UNCLEAN = "unclean"
_REASON = "judged again: what the verdict rests on has changed"


def rejudged(
    pendings: Sequence[Pending], ground: Ground, judging: Judging, evidence: BookEvidence, last: int
) -> list[Pending]:
    """Return new versions, numbered after `last`, of the stored entries whose verdicts the batch changes."""
    amended = {p.amendment.seq for p in pendings if p.amendment}
    numbers = {p.number for p in pendings}
    out: list[Pending] = []
    for seq in sorted(_suspects(pendings, ground, evidence) - amended):
        version, sheet = stored_version(seq, evidence)
        try:
            pending = again(version, sheet, last + len(out) + 1, evidence, _REASON)
        except (Refused, NotUnderstood):
            # Its kind of record has changed since, and what it says can no longer be read: the verdict stands.
            continue
        evidence.add(pending)
        judge_pending(pending, judging, evidence)
        if pending.verdict is None or same(pending.verdict, version.verdict):
            evidence.drop(pending)
            continue
        newest = sorted(set(pending.verdict.evidence) & numbers) or sorted(numbers)[:1]
        if pending.amendment:
            pending.amendment = replace(pending.amendment, evidence=tuple(newest))
        out.append(pending)
    return out


def same(verdict: Verdict, before: Verdict | None) -> bool:
    """Return whether a verdict says what an earlier one said: who passed, why others did not, what was not shown."""

    def telling(one: Verdict) -> list[object]:
        return [one.passed, *(reason for reason in one.reasons if reason.kind != "note")]

    return before is not None and telling(verdict) == telling(before)


def _suspects(pendings: Sequence[Pending], ground: Ground, evidence: BookEvidence) -> set[int]:
    since: dict[int, int] = {}
    roots: set[int] = set()
    told: dict[int, int] = {}
    noted: set[int] = set()
    cut = crops(evidence.kinds)

    def note(thing: int, start: int) -> None:
        since[thing] = min(start, since.get(thing, _EVER))

    for pending in pendings:
        start = pending.checked.at.start
        lots: set[int] = set()
        for use in pending.uses:
            if use.role in _CONTACT and use.thing.cls == "item":
                note(use.thing.id, start)
        roots |= {use.thing.id for use in pending.uses if use.role in MAKES} - evidence.names.new.keys()
        for thing, named in _told_of(pending, evidence):
            noted |= {thing.id} if _UNCLEAN in named else set()
            # What is told of water by other entries than those judged, a corrective action, may look back.
            ever = thing.cls == "lot" or (thing.cls == "water-source" and not pending.judged)
            note(thing.id, -_EVER if ever else start)
            lots |= {thing.id} if thing.cls == "lot" else set()
            if thing.kind in cut:
                # A further cut may show what an earlier one left, and any tray that an earlier one was not the last.
                told[thing.id] = min([_EVER, *(one.start for one in evidence.taking(thing.code))])
        if pending.amendment:
            refs = _refs(evidence, pending.amendment.seq)
            for thing_id, before, cls in _things_of(evidence, [pending.amendment.seq, *_current(evidence, refs)]):
                note(thing_id, before)
                roots.add(thing_id)
                start = min(start, before)
                lots |= {thing_id} if cls == "lot" else set()
            roots |= {use.thing.id for use in pending.uses if use.role in MAKES}
        for thing_id, before, _ in _things_of(evidence, _current(evidence, pending.refs)):
            note(thing_id, before)
            roots.add(thing_id)
        for lot in lots:
            told[lot] = min(start, told.get(lot, _EVER))
    for lot, item in _under(told.keys() - evidence.names.new.keys(), ground):
        note(item, told[lot])
    for item, after in list(ground.successors(list(since))):
        note(after.id, since[item])
    since |= _since_last_use(since, noted, evidence)
    for thing_id in made_of(roots | _measured_with(roots, evidence), evidence):
        since[thing_id] = -_EVER
    return _judged_since(since, evidence)


def _since_last_use(since: dict[int, int], noted: set[int], evidence: BookEvidence) -> dict[int, int]:
    """When the last use began before what a batch says of items, of those that it notes as not clean, or that were so
    noted later: what cleaned them after that use is shown not to have done it, or no longer."""
    noting = evidence.kinds.telling(_UNCLEAN)
    known = {thing: start for thing, start in since.items() if thing not in evidence.names.new and start > -_EVER}
    looked = noted & known.keys()
    looked |= later_than(evidence.connection, [one for one in known.items() if one[0] not in looked], noting)
    spans = [(thing, known[thing]) for thing in sorted(looked)]
    return {thing: -_EVER if start is None else start for thing, start in last_uses(evidence.connection, spans, noting)}


def _told_of(pending: Pending, evidence: BookEvidence) -> Iterable[tuple[ThingRow, Collection[str]]]:
    """The things of which the entry is evidence for a judge, with the facts that it tells of each."""
    cut = crops(evidence.kinds)
    for mention in pending.checked.mentions:
        if any(fact.name in JUDGED_FACTS for fact in mention.field.facts):
            for code in mention.codes:
                thing = evidence.names.find(code)
                if thing is None:
                    continue
                told = facts(mention.field, mention.scope, (thing.kind, thing.cls))
                # What takes the last tray of a crop finishes it, whether or not it says so.
                may_finish = thing.kind in cut and any(fact.name == FINISHED for fact in mention.field.facts)
                if may_finish or not set(JUDGED_FACTS).isdisjoint(told):
                    yield thing, told


def _things_of(evidence: BookEvidence, seqs: Sequence[int]) -> Sequence[tuple[int, int, str]]:
    """The things that these versions name: each one's key, when the version starts, and the class of the thing."""
    sql = (
        "SELECT u.thing, u.at_from, t.cls FROM {listed} JOIN use u ON u.node = j.value JOIN thing t ON t.id = u.thing"
        " WHERE t.cls IN ('item', 'water-source', 'lot', 'paper')"
    )
    return select_keys(evidence.connection, sql, [node for seq in seqs for node in parts_of(seq)])


def _refs(evidence: BookEvidence, seq: int) -> list[int]:
    """The entries that a version names, by their numbers."""
    return list(evidence.connection.execute(text("SELECT first FROM ref WHERE seq = :seq"), {"seq": seq}).scalars())


def _current(evidence: BookEvidence, numbers: Collection[int]) -> list[int]:
    sql = f"SELECT e.seq FROM {{listed}} JOIN entry e ON e.first = j.value WHERE {in_force()}"
    return [row[0] for row in select_keys(evidence.connection, sql, numbers)]


def _under(lots: set[int], ground: Ground) -> Iterable[tuple[int, int]]:
    """Each of these lots with the items on which it stands, or stood."""
    found = things_of(ground.connection, lots)
    ground.fetch(found)
    return [(lot.id, bearer.item.id) for lot in found for bearer in ground.under(lot, AT_LAST)]


def _measured_with(roots: set[int], evidence: BookEvidence) -> set[int]:
    """The cleaning agents of which entries in force say something with the help of these: a reading, with strips."""
    sql = (
        f"SELECT DISTINCT m.thing FROM {{listed}} JOIN use u ON u.thing = j.value AND {within(NAMED)}"
        f" JOIN use m ON m.node = u.node AND {of_role('m', Role.TOOK, Role.MADE, Role.ABOUT)}"
        " JOIN thing t ON t.id = m.thing AND t.cls = 'lot' AND t.farm_wide = 1"
        " JOIN thing r ON r.id = u.thing AND r.cls IN ('lot', 'item')"
        f" JOIN entry e ON e.seq = {seq_of()} WHERE {in_force()}"
    )
    return {row[0] for row in select_keys(evidence.connection, sql, roots)}


def made_of(roots: set[int], evidence: BookEvidence) -> set[int]:
    """Return the roots, and what was made of them by entries in force, as far as it is of a kind that can clean."""
    kinds = [name for name, kind in evidence.kinds.things.items() if kind.cls == "lot" and kind.farm_wide_types]
    sql = (
        f"SELECT DISTINCT m.thing FROM {{listed}} JOIN use u ON u.thing = j.value AND ({within(SOURCES)}"
        f" OR {within(NAMED)}) JOIN use m ON m.node = u.node AND {of_role('m', Role.MADE)}"
        f" JOIN thing t ON t.id = m.thing AND t.kind IN {texts(kinds)}"
        f" JOIN entry e ON e.seq = {seq_of()} WHERE {in_force()}"
    )
    all_found, fresh = set(roots), set(roots)
    while fresh:
        fresh = {row[0] for row in select_keys(evidence.connection, sql, fresh)} - all_found
        all_found |= fresh
    return all_found


def _judged_since(since: dict[int, int], evidence: BookEvidence) -> set[int]:
    # One part for each partial index: sources, clean breaks, and what is only named.
    parts = [
        f"SELECT e.seq FROM {{listed}} JOIN use u ON u.thing = {{0}} AND {within(condition)} AND u.at_from >= {{1}}"
        f" JOIN entry e ON e.seq = {seq_of()} AND e.judged > 0 WHERE {in_force()}"
        for condition in (SOURCES, BREAKS, NAMED)
    ]
    reach = [(thing, max(start - LONG, -_EVER)) for thing, start in since.items()]
    return {row[0] for row in select_rows(evidence.connection, " UNION ".join(parts), reach)}
