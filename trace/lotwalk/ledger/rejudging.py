"""Earlier verdicts whose evidence a batch changes: found, judged again, and filed as versions of their own.

Suspects are judged entries in force that share evidence with the batch. Through an item in contact, or an item or a
water source of which an entry tells a fact: those not surely before it. Through a lot of which it tells one: those at
any time, since a later reading of a solution speaks for earlier loads, and those of the items that the lot stands on.
When an entry is amended, or a corrective action names it: all that rests on what it said, through the cleaning agents
made of that, and those measured with it.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from json import dumps
from typing import Any

from sqlalchemy import text

from lotwalk.errors import NotUnderstood, Refused
from lotwalk.kinds.annotations import JUDGED_FACTS
from lotwalk.kinds.check import Setting, check
from lotwalk.kinds.model import Checked, Mention
from lotwalk.kinds.roles import depends_on_verdict, facts
from lotwalk.ledger import record
from lotwalk.ledger.evidence import BookEvidence
from lotwalk.ledger.evidence_model import Verdict
from lotwalk.ledger.judging import Judging, judge_pending
from lotwalk.ledger.model import Amendment, Pending, SheetRef, ThingRow, UseRow, Version
from lotwalk.ledger.names import select_listed
from lotwalk.store.tables import LONG, ROLES, in_roles
from lotwalk.values.codes import fold
from lotwalk.values.times import zone
from lotwalk.values.units import Units

_EVER = 1 << 62
_LIVE = "NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.seq)"
_CONTACT = ("touched", "cleared")
_REASON = "judged again: what the verdict rests on has changed"


def rejudged(pendings: Sequence[Pending], judging: Judging, evidence: BookEvidence, last: int) -> list[Pending]:
    """Return new versions, numbered after `last`, of the stored entries whose verdicts the batch changes."""
    amended = {p.amendment.seq for p in pendings if p.amendment}
    firsts = {p.first for p in pendings}
    out: list[Pending] = []
    for seq in sorted(_suspects(pendings, evidence) - amended):
        version, sheet = stored_version(seq, evidence)
        try:
            pending = again(version, sheet, last + len(out) + 1, evidence, _REASON)
        except (Refused, NotUnderstood):
            # Its kind of record has changed since, and what it says can no longer be read: the verdict stands.
            continue
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
    told: dict[int, int] = {}

    def note(thing: int, start: int) -> None:
        since[thing] = min(start, since.get(thing, _EVER))

    for pending in pendings:
        start = pending.checked.at.start
        lots: set[int] = set()
        for use in pending.uses:
            if use.role in _CONTACT and use.thing.cls == "item":
                note(use.thing.id, start)
        for thing in _told_of(pending, evidence):
            # What is told of water by other entries than those judged, a corrective action, may look back.
            ever = thing.cls == "lot" or (thing.cls == "water-source" and not pending.judged)
            note(thing.id, -_EVER if ever else start)
            lots |= {thing.id} if thing.cls == "lot" else set()
        if pending.amendment:
            refs = _refs(evidence, pending.amendment.seq)
            for thing_id, before, cls in _things_of(evidence, [pending.amendment.seq, *_current(evidence, refs)]):
                note(thing_id, before)
                roots.add(thing_id)
                start = min(start, before)
                lots |= {thing_id} if cls == "lot" else set()
            roots |= {use.thing.id for use in pending.uses if use.role in ("made", "names")}
        for thing_id, before, _ in _things_of(evidence, _current(evidence, pending.refs)):
            note(thing_id, before)
            roots.add(thing_id)
        for lot in lots:
            told[lot] = min(start, told.get(lot, _EVER))
    for lot, item in _under(told.keys() - evidence.names.new.keys(), evidence):
        note(item, told[lot])
    for thing_id in _made_of(roots | _measured_with(roots, evidence), evidence):
        since[thing_id] = -_EVER
    return _judged_since(since, evidence)


def _told_of(pending: Pending, evidence: BookEvidence) -> Iterable[ThingRow]:
    """The things of which the entry is evidence for a judge."""
    for mention in pending.checked.mentions:
        if any(fact.name in JUDGED_FACTS for fact in mention.field.facts):
            for code in mention.codes:
                thing = evidence.names.find(code)
                told = facts(mention.field, mention.scope, (thing.kind, thing.cls)) if thing else ()
                if thing and not set(JUDGED_FACTS).isdisjoint(told):
                    yield thing


def _things_of(evidence: BookEvidence, seqs: Sequence[int]) -> Sequence[tuple[int, int, str]]:
    """The things that these versions name: each one's key, when the version starts, and the class of the thing."""
    if not seqs:
        return []
    sql = (
        "SELECT u.thing, u.at_from, t.cls FROM {listed} JOIN use u ON u.node = j.value JOIN thing t ON t.id = u.thing"
        " WHERE t.cls IN ('item', 'water-source', 'lot', 'paper')"
    )
    nodes = [node for seq in seqs for node in (2 * seq, 2 * seq + 1)]
    return select_listed(evidence.connection, sql, nodes, "bigint")


def _refs(evidence: BookEvidence, seq: int) -> list[int]:
    """The entries that a version names, by the numbers of their first versions."""
    return list(evidence.connection.execute(text("SELECT first FROM ref WHERE seq = :seq"), {"seq": seq}).scalars())


def _current(evidence: BookEvidence, firsts: Sequence[int]) -> list[int]:
    if not firsts:
        return []
    sql = f"SELECT e.seq FROM {{listed}} JOIN entry e ON e.first = j.value WHERE {_LIVE}"
    return [row[0] for row in select_listed(evidence.connection, sql, list(firsts), "bigint")]


def _under(lots: set[int], evidence: BookEvidence) -> Iterable[tuple[int, int]]:
    """Each of these lots with the items on which it stands, or stood: those that its making touched."""
    if not lots:
        return []
    sql = (
        f"SELECT DISTINCT m.thing, i.thing FROM {{listed}} JOIN use m ON m.thing = j.value AND {in_roles('m', 6)}"
        f" JOIN use i ON i.node = m.node AND i.role = {ROLES['touched']} JOIN entry e ON e.seq = (m.node >> 1)"
        f" WHERE {_LIVE}"
    )
    return [(row[0], row[1]) for row in select_listed(evidence.connection, sql, sorted(lots), "bigint")]


def _measured_with(roots: set[int], evidence: BookEvidence) -> set[int]:
    """The cleaning agents of which entries in force say something with the help of these: a reading, with strips."""
    if not roots:
        return set()
    sql = (
        "SELECT DISTINCT m.thing FROM {listed} JOIN use u ON u.thing = j.value AND u.role >= 9"
        " JOIN use m ON m.node = u.node AND m.role IN (1, 6, 9)"
        " JOIN thing t ON t.id = m.thing AND t.cls = 'lot' AND t.farm_wide = 1"
        " JOIN thing r ON r.id = u.thing AND r.cls IN ('lot', 'item')"
        f" JOIN entry e ON e.seq = (u.node >> 1) WHERE {_LIVE}"
    )
    return {row[0] for row in select_listed(evidence.connection, sql, sorted(roots), "bigint")}


def _made_of(roots: set[int], evidence: BookEvidence) -> set[int]:
    """The roots, and what was made of them by entries in force, as far as it is of a kind that can clean."""
    kinds = [name for name, kind in evidence.kinds.things.items() if kind.cls == "lot" and kind.farm_wide_types]
    sql = (
        "SELECT DISTINCT m.thing FROM {listed} JOIN use u ON u.thing = j.value AND (u.role <= 4 OR u.role >= 9)"
        " JOIN use m ON m.node = u.node AND m.role = 6 JOIN thing t ON t.id = m.thing"
        f" AND t.kind IN ({', '.join(map(repr, kinds)) or 'NULL'}) JOIN entry e ON e.seq = (u.node >> 1) WHERE {_LIVE}"
    )
    all_found, fresh = set(roots), set(roots)
    while fresh:
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


def stored_version(seq: int, evidence: BookEvidence) -> tuple[Version, SheetRef | None]:
    """Return a stored version, and the sheet that it stands on."""
    sql = text(
        "SELECT e.record, s.id, s.digest, s.name, s.in_order FROM entry e LEFT JOIN sheet s ON s.id = e.sheet"
        " WHERE e.seq = :seq"
    )
    row = evidence.connection.execute(sql, {"seq": seq}).one()
    return record.parse(row[0]), SheetRef(row[1], row[2], row[3], bool(row[4])) if row[1] else None


def again(version: Version, sheet: SheetRef | None, seq: int, evidence: BookEvidence, because: str) -> Pending:
    """Return a stored version as a further one, numbered `seq`, that says the same; not yet judged.

    Raises Refused or NotUnderstood where its kind of record no longer understands it.
    """
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
        Amendment(version.seq, version.first, because, version.zone, version.measures),
    )


def stored_uses(
    version: Version, checked: Checked, evidence: BookEvidence
) -> tuple[list[UseRow], list[tuple[UseRow, Mention]]]:
    """Return a stored version's uses as they stood before it was judged."""
    waiting = {mention.path: mention for mention in checked.mentions if depends_on_verdict(mention.field)}
    uses: list[UseRow] = []
    held: dict[tuple[str, str], tuple[Decimal, str]] = {}
    for stored in version.uses:
        field, code = str(stored["field"]), str(stored["code"])
        amount = Decimal(str(stored["amount"])) if "amount" in stored else None
        unit = str(stored["unit"]) if "amount" in stored else None
        if field in waiting:
            if amount is not None and unit is not None:
                held[field, fold(code)] = amount, unit
            continue
        thing = evidence.names.find(code)
        assert thing is not None, "a stored use names a stored thing"
        assumed, introduces = bool(stored.get("assumed")), "kind" in stored
        uses.append(UseRow(str(stored["role"]), thing, field, amount, unit, assumed, introduces=introduces))
    judged: list[tuple[UseRow, Mention]] = []
    for path, mention in waiting.items():
        for code in mention.codes:
            if thing := evidence.names.find(code):
                judged.append((UseRow("", thing, path, *held.get((path, fold(code)), (None, None))), mention))
    return [*uses, *(use for use, _ in judged)], judged
