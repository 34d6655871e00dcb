"""Earlier verdicts whose evidence a batch changes: found, judged again, and filed as versions of their own.

Suspects are judged entries in force that share evidence with the batch. Through an item in contact, or an item or a
water source of which an entry tells a fact: those not surely before it. Through a lot of which it tells one, such as a
reading of a solution: those at any time, since a later reading speaks for earlier loads. When an entry is amended, or a
corrective action names it: all that rests on what it said, through the cleaning agents made of that.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from json import dumps
from typing import Any

from sqlalchemy import text

from lotwalk.kinds.check import Setting, check
from lotwalk.kinds.model import Checked, Mention
from lotwalk.kinds.roles import depends_on_verdict, facts
from lotwalk.ledger import record
from lotwalk.ledger.evidence import BookEvidence
from lotwalk.ledger.evidence_model import Verdict
from lotwalk.ledger.judging import Judging, judge_pending
from lotwalk.ledger.model import Amendment, Pending, SheetRef, ThingRow, UseRow, Version
from lotwalk.ledger.names import select_listed
from lotwalk.store.tables import LONG
from lotwalk.values.times import zone
from lotwalk.values.units import Units

_EVER = 1 << 62
_LIVE = "NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.seq)"
_DEPTH = 4
_CONTACT = ("touched", "cleared")
_REASON = "judged again: what the verdict rests on has changed"


def rejudged(pendings: Sequence[Pending], judging: Judging, evidence: BookEvidence, last: int) -> list[Pending]:
    """Return new versions, numbered after `last`, of the stored entries whose verdicts the batch changes."""
    amended = {p.amendment.seq for p in pendings if p.amendment}
    firsts = {p.first for p in pendings}
    out: list[Pending] = []
    for seq in sorted(_suspects(pendings, evidence) - amended):
        version, sheet = _version(seq, evidence)
        pending = _again(version, sheet, last + len(out) + 1, evidence)
        evidence.add(pending)
        judge_pending(pending, judging, evidence)
        if pending.verdict is None or _same(pending.verdict, version):
            evidence.drop(pending)
            continue
        newest = sorted(set(pending.verdict.evidence) & firsts) or sorted(firsts)[:1]
        if pending.amendment:
            pending.amendment = replace(pending.amendment, evidence=tuple(newest))
        out.append(pending)
    return out


def _same(verdict: Verdict, version: Version) -> bool:
    """Whether a verdict says what the stored one says: who passed, and why the others did not."""
    now, before = record.verdict_json(verdict), dict(version.verdict or {})

    def telling(one: Mapping[str, Any]) -> list[Any]:
        return [one["passed"], *(reason for reason in one["reasons"] if reason["kind"] != "note")]

    return bool(before) and telling(now) == telling(before)


def _suspects(pendings: Sequence[Pending], evidence: BookEvidence) -> set[int]:
    since: dict[int, int] = {}
    roots: set[int] = set()
    for pending in pendings:
        start = pending.checked.at.start
        for use in pending.uses:
            if use.role in _CONTACT and use.thing.cls == "item":
                since[use.thing.id] = min(start, since.get(use.thing.id, _EVER))
        for thing in _told_of(pending, evidence):
            since[thing.id] = -_EVER if thing.cls == "lot" else min(start, since.get(thing.id, _EVER))
        if pending.amendment:
            roots |= _things_of(evidence, [pending.amendment.seq], since)
            roots |= {use.thing.id for use in pending.uses if use.role in ("made", "names")}
        if pending.refs:
            roots |= _things_of(evidence, _current(evidence, pending.refs), since)
    for thing_id in _made_of(roots, evidence):
        since[thing_id] = -_EVER
    return _judged_since(since, evidence)


def _told_of(pending: Pending, evidence: BookEvidence) -> Iterable[ThingRow]:
    """The things of which the entry is evidence."""
    for mention in pending.checked.mentions:
        if mention.field.facts:
            for code in mention.codes:
                thing = evidence.names.find(code)
                if thing and facts(mention.field, mention.scope, (thing.kind, thing.cls)):
                    yield thing


def _things_of(evidence: BookEvidence, seqs: Iterable[int], since: dict[int, int]) -> set[int]:
    """The things that these versions name; for items and water `since` learns from when."""
    nodes = [node for seq in seqs for node in (2 * seq, 2 * seq + 1)]
    sql = (
        "SELECT u.thing, u.at_from, t.cls FROM {listed} JOIN use u ON u.node = j.value JOIN thing t ON t.id = u.thing"
        " WHERE t.cls IN ('item', 'water-source', 'lot', 'paper')"
    )
    found = set()
    for thing, start, _ in select_listed(evidence.connection, sql, nodes, "bigint"):
        since[thing] = min(start, since.get(thing, _EVER))
        found.add(thing)
    return found


def _current(evidence: BookEvidence, firsts: Iterable[int]) -> list[int]:
    sql = f"SELECT e.seq FROM {{listed}} JOIN entry e ON e.first = j.value WHERE {_LIVE}"
    return [row[0] for row in select_listed(evidence.connection, sql, list(firsts), "bigint")]


def _made_of(roots: set[int], evidence: BookEvidence) -> set[int]:
    """The roots and the cleaning agents made of them, by entries in force."""
    sql = (
        "SELECT m.thing FROM {listed} JOIN use u ON u.thing = j.value AND (u.role <= 4 OR u.role >= 9)"
        " JOIN use m ON m.node = u.node AND m.role = 6 JOIN thing t ON t.id = m.thing AND t.farm_wide = 1"
        " JOIN entry e ON e.seq = (u.node >> 1) WHERE " + _LIVE
    )
    all_found, fresh = set(roots), set(roots)
    for _ in range(_DEPTH):
        if not fresh:
            break
        fresh = {row[0] for row in select_listed(evidence.connection, sql, sorted(fresh), "bigint")} - all_found
        all_found |= fresh
    return all_found


def _judged_since(since: dict[int, int], evidence: BookEvidence) -> set[int]:
    if not since:
        return set()
    dialect = evidence.connection.dialect.name
    one, two = ("json_extract(j.value, '$[0]')", "json_extract(j.value, '$[1]')")
    table = "json_each(:listed) j"
    if dialect == "postgresql":
        one, two = "CAST(j.value ->> 0 AS bigint)", "CAST(j.value ->> 1 AS bigint)"
        table = "json_array_elements(CAST(:listed AS json)) AS j(value)"
    # One part for each partial index: sources, clean breaks, and what is only named.
    parts = [
        f"SELECT e.seq FROM {table} JOIN use u ON u.thing = {one} AND {roles} AND u.at_from >= {two}"
        f" JOIN entry e ON e.seq = (u.node >> 1) AND e.judged = 1 WHERE {_LIVE}"
        for roles in ("u.role <= 4", "u.role >= 7 AND u.role <= 8", "u.role >= 9")
    ]
    reach = [[thing, max(start - LONG, -_EVER)] for thing, start in since.items()]
    return {row[0] for row in evidence.connection.execute(text(" UNION ".join(parts)), {"listed": dumps(reach)})}


def _version(seq: int, evidence: BookEvidence) -> tuple[Version, SheetRef | None]:
    sql = text(
        "SELECT e.record, s.id, s.digest, s.name, s.in_order FROM entry e LEFT JOIN sheet s ON s.id = e.sheet"
        " WHERE e.seq = :seq"
    )
    row = evidence.connection.execute(sql, {"seq": seq}).one()
    return record.parse(row[0]), SheetRef(row[1], row[2], row[3], bool(row[4])) if row[1] else None


def _again(version: Version, sheet: SheetRef | None, seq: int, evidence: BookEvidence) -> Pending:
    setting = Setting(Units.load(version.measures), zone(version.zone))
    checked = check(evidence.kinds[version.kind], record.written(version), setting, evidence.kinds)
    uses, judged = stored_uses(version, checked, evidence)
    refs = evidence.connection.execute(text("SELECT first FROM ref WHERE seq = :seq"), {"seq": version.seq})
    return Pending(
        seq,
        checked,
        uses,
        judged,
        version.silent,
        record.alike(checked),
        tuple(row[0] for row in refs),
        version.files,
        sheet,
        version.line,
        Amendment(version.seq, version.first, _REASON),
    )


def stored_uses(
    version: Version, checked: Checked, evidence: BookEvidence
) -> tuple[list[UseRow], list[tuple[UseRow, Mention]]]:
    """Return a stored version's uses as they stood before it was judged."""
    mentions = {mention.path: mention for mention in checked.mentions}
    uses: list[UseRow] = []
    judged: dict[tuple[str, str], tuple[UseRow, Mention]] = {}
    for stored in version.uses:
        thing = evidence.names.find(str(stored["code"]))
        assert thing is not None, "a stored use names a stored thing"
        mention = mentions.get(str(stored["field"]))
        use = UseRow(
            str(stored["role"]),
            thing,
            str(stored["field"]),
            Decimal(str(stored["amount"])) if "amount" in stored else None,
            str(stored["unit"]) if "amount" in stored else None,
            bool(stored.get("assumed")),
            introduces="kind" in stored,
        )
        if mention and depends_on_verdict(mention.field):
            use.role = ""
            judged.setdefault((use.field, thing.code), (use, mention))
        else:
            uses.append(use)
    return [*uses, *(use for use, _ in judged.values())], list(judged.values())
