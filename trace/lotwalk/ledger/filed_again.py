"""A stored entry filed once more as a further version that says the same, since what follows from it has changed."""

from decimal import Decimal

from sqlalchemy import text

from lotwalk.kinds.check import Setting, check
from lotwalk.kinds.model import Checked, Mention
from lotwalk.kinds.roles import depends_on_verdict
from lotwalk.ledger import record
from lotwalk.ledger.evidence import BookEvidence
from lotwalk.ledger.model import Amendment, Pending, SheetRef, UseRow, Version
from lotwalk.values.codes import fold
from lotwalk.values.times import zone
from lotwalk.values.units import Units


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
        Amendment(version.seq, version.number, because, version.zone, version.measures),
    )


def stored_uses(
    version: Version, checked: Checked, evidence: BookEvidence
) -> tuple[list[UseRow], list[tuple[UseRow, Mention]]]:
    """Return a stored version's uses as they stood before it was judged."""
    waiting = {mention.path: mention for mention in checked.mentions if depends_on_verdict(mention.field)}
    uses: list[UseRow] = []
    held: dict[tuple[str, str], tuple[Decimal, str]] = {}
    for use in version.uses:
        if use.field in waiting:
            if use.amount is not None and use.unit is not None:
                held[use.field, fold(use.code)] = use.amount, use.unit
            continue
        thing = evidence.names.find(use.code)
        assert thing is not None, "a stored use names a stored thing"
        introduces = use.kind is not None
        uses.append(UseRow(use.role, thing, use.field, use.amount, use.unit, use.assumed, introduces=introduces))
    judged: list[tuple[UseRow, Mention]] = []
    for path, mention in waiting.items():
        for code in mention.codes:
            if thing := evidence.names.find(code):
                judged.append((UseRow(None, thing, path, *held.get((path, fold(code)), (None, None))), mention))
    return [*uses, *(use for use, _ in judged)], judged
