"""A stored entry filed once more as a further version that says the same, since what follows from it has changed."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from sqlalchemy import text

from lotwalk.kinds.check import Setting, check
from lotwalk.kinds.model import Checked, Mention
from lotwalk.kinds.roles import depends_on_verdict
from lotwalk.ledger import record
from lotwalk.ledger.evidence import BookEvidence
from lotwalk.ledger.model import Amendment, Pending, SheetRef, UseRow, Version
from lotwalk.ledger.write.derive import SHARING_SINCE
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role
from lotwalk.values.times import zone
from lotwalk.values.units import Units


def stored_version(seq: int, evidence: BookEvidence) -> tuple[Version, SheetRef | None]:
    """Return a stored version, and the sheet that it stands on."""
    sql = text(
        "SELECT e.record, e.digest, s.id, s.digest, s.name, s.in_order FROM entry e LEFT JOIN sheet s ON s.id = e.sheet"
        " WHERE e.seq = :seq"
    )
    row = evidence.connection.execute(sql, {"seq": seq}).one()
    version = record.parse(row[0], row[1])
    return version, SheetRef(row[2], row[3], row[4], bool(row[5])) if row[2] else None


def again(version: Version, sheet: SheetRef | None, seq: int, evidence: BookEvidence, because: str) -> Pending:
    """Return a stored version as a further one, numbered `seq`, that says the same; not yet judged.

    Raises Refused or NotUnderstood where its kind of record no longer understands it.
    """
    setting = Setting(Units.load(version.measures), zone(version.zone))
    checked = check(evidence.kinds[version.kind], record.written(version), setting, evidence.kinds)
    uses, judged, following = stored_uses(version, checked, evidence)
    refs = evidence.connection.execute(text("SELECT first FROM ref WHERE seq = :seq"), {"seq": version.seq})
    return Pending(
        seq,
        checked,
        uses,
        judged,
        following,
        _silent(version, checked, following, evidence),
        record.alike(checked),
        tuple(row[0] for row in refs),
        version.files,
        sheet,
        version.line,
        Amendment(version.seq, version.number, because, version.zone, version.measures),
    )


def _silent(
    version: Version, checked: Checked, following: Sequence[tuple[UseRow, Mention]], evidence: BookEvidence
) -> tuple[str, ...]:
    """The fields that name nothing: as stored, and the tub of a load that passed, of which nothing was said then."""
    taken = version.codes(Role.TOOK)
    if version.form < SHARING_SINCE or (taken and not any(map(evidence.names.is_bath, taken))):
        return version.silent
    named = {mention.field.name for _, mention in following}
    fields = checked.kind.fields.items()
    more = [name for name, field in fields if field.follows and name not in named and checked.values.get(name) != []]
    return tuple(dict.fromkeys((*version.silent, *more)))


def stored_uses(
    version: Version, checked: Checked, evidence: BookEvidence
) -> tuple[list[UseRow], list[tuple[UseRow, Mention]], list[tuple[UseRow, Mention]]]:
    """Return a stored version's uses as they stood before it was judged: all, the judged, and those that follow."""
    waiting = {mention.path: mention for mention in checked.mentions if depends_on_verdict(mention.field)}
    uses: list[UseRow] = []
    held: dict[tuple[str, str], tuple[Decimal, str]] = {}
    for use in version.uses:
        if use.role is Role.SHARED:
            # It follows from the verdict, and is given anew.
            continue
        field = checked.kind.fields.get(use.field)
        if use.assumed and field and field.follows:
            mention = Mention(use.field, field, (), checked.values, line=checked.line)
            codes = dict.fromkeys((*waiting.get(use.field, mention).codes, use.code))
            waiting[use.field] = replace(mention, codes=tuple(codes))
            continue
        if use.field in waiting:
            if use.amount is not None and use.unit is not None:
                held[use.field, fold(use.code)] = use.amount, use.unit
            continue
        thing = evidence.names.find(use.code)
        assert thing is not None, "a stored use names a stored thing"
        introduces = use.kind is not None
        uses.append(UseRow(use.role, thing, use.field, use.amount, use.unit, use.assumed, introduces=introduces))
    judged: list[tuple[UseRow, Mention]] = []
    following: list[tuple[UseRow, Mention]] = []
    assumed = {use.field for use in version.uses if use.assumed}
    for path, mention in waiting.items():
        for code in mention.codes:
            if thing := evidence.names.find(code):
                amount, unit = held.get((path, fold(code)), (None, None))
                waits = UseRow(None, thing, path, amount, unit, path in assumed), mention
                (following if mention.field.follows else judged).append(waits)
    return [*uses, *(use for use, _ in (*judged, *following))], judged, following
