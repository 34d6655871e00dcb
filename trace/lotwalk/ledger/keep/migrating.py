"""Bringing a ledger up to date: its tables, what follows from its records, and verdicts of a judge that has learned.

A copy is made and verified first; then all of it happens in one transaction, so that a ledger is of the old form or of
the new one, whenever the power fails. No entry is rewritten: the log that was printed stays the beginning of the log.
"""

from dataclasses import dataclass, replace
from pathlib import Path

from sqlalchemy import Connection, text

from lotwalk.collector import uncollected
from lotwalk.errors import Damaged, LedgerError
from lotwalk.kinds.check import Setting, check
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.bearing.filing import of_older_judge
from lotwalk.ledger.keep.backup import back_up
from lotwalk.ledger.keep.older_judge import judged_otherwise
from lotwalk.ledger.ledger import Ledger
from lotwalk.ledger.model import Receipt, Settings
from lotwalk.ledger.read.things import thing_codes
from lotwalk.ledger.read.uses import taking
from lotwalk.ledger.read.versions import entries
from lotwalk.ledger.record import written
from lotwalk.ledger.verify.entries import verify
from lotwalk.ledger.verify.tables import BATHS_SINCE
from lotwalk.ledger.write.append import Batch, Incoming
from lotwalk.ledger.write.derive import SHARING_SINCE, shared
from lotwalk.store import engine as store
from lotwalk.store import tables
from lotwalk.store.damage import damage, make_again
from lotwalk.store.nodes import node_of
from lotwalk.store.shape import mend
from lotwalk.store.sql import texts
from lotwalk.values.codes import fold
from lotwalk.values.times import show_when
from lotwalk.values.units import Units

ALL_INDEXES = "all indexes"
"""What was mended where an index had lost rows of its table."""


@dataclass(frozen=True, slots=True)
class Migrated:
    """What was done to which ledger: from which form to which, where the copy is, which indexes were put back.

    `shared` is how many loads are found to share a bath, `judged` how many verdicts an older judge had given,
    `otherwise` the entries that were filed anew since they come out otherwise, and `borne` those that were since they
    touch what a lot stood on, or handled what was left of one. `backup` is None where nothing but indexes had to be
    mended.
    """

    name: str
    before: str
    after: str
    backup: Path | None
    shared: int
    judged: int
    otherwise: tuple[Receipt, ...]
    mended: tuple[str, ...]
    borne: tuple[Receipt, ...] = ()


def bring_up_to_date(ledger: Ledger, backup: Path, typed_by: str = "") -> Migrated:
    """Bring a ledger to the newest form and the newest judge; `backup` is where the copy goes, made only if needed.

    Raises LedgerError when there is no ledger, when it is of a newer program, or when its log is not whole: then
    nothing is changed, and the copy stays.
    """
    name = store.name_of(ledger.engine)
    before = store.version(ledger.engine)
    if before is None:
        raise LedgerError(f"{name}: no ledger has been started here; begin one with `lotwalk start`")
    mended = _mend_indexes(ledger, name)
    if before >= store.HEAD:
        store.check_version(ledger.engine)
        with ledger.reading() as connection:
            settings = ledger.settings(connection)
            if settings.judge >= ledger.judging(connection, settings).number:
                return Migrated(name, before, before, None, 0, 0, (), mended)
    found = back_up(ledger, backup)
    if not found.ok:
        where = f"{found.first_bad}: " if found.first_bad else ""
        raise LedgerError(
            f"{name}: the log is not whole ({where}{found.why}). Nothing was changed; a copy of it as it is stands in"
            f" {backup}. Run `lotwalk verify`, and compare with a backup"
        )
    with store.writing(ledger.engine) as connection:
        store.upgrade(connection)
        # What follows from older records was stored when the tables came to that form, and stands.
        shared_by = _derive(connection, ledger.kinds) if before < BATHS_SINCE else 0
        judged, otherwise, borne = _judge_again(ledger, connection, typed_by)
        mended += tuple(mend(connection))
    return Migrated(name, before, store.HEAD, backup, shared_by, judged, tuple(otherwise), mended, tuple(borne))


def _mend_indexes(ledger: Ledger, name: str) -> tuple[str, ...]:
    """Put back the indexes that are missing, and make all of them again where one has not its table's rows.

    Only where the entries themselves are whole: indexes made from a damaged table would hide the damage. Returns what
    was mended, in words.
    """
    with store.writing(ledger.engine) as connection:
        put_back = mend(connection)
        found = damage(connection)
        if found is None:
            return tuple(put_back)
        if found.of_index:
            make_again(connection)
        checked = verify(connection, ledger.kinds)
        if not checked.ok:
            where = f"{checked.first_bad}: " if checked.first_bad else ""
            raise Damaged(
                f"{name}: it is damaged ({found.text}), and the log is not whole ({where}{checked.why}). Nothing was"
                " changed. Keep this file as it is; `lotwalk restore` puts a backup in its place"
            )
    return (*put_back, ALL_INDEXES)


def _derive(connection: Connection, kinds: Kinds) -> int:
    """Store what follows from older records: which things are baths, and which loads share one. Returns how many do."""
    names = [name for name, kind in kinds.things.items() if kind.bath]
    connection.execute(text(f"UPDATE thing SET bath = 1 WHERE kind IN {texts(names)}"))
    baths = {fold(thing.code): thing.id for name in names for thing in thing_codes(connection, name)}
    rows: list[tuple[object, ...]] = []
    for version, group in taking(connection, baths.values()):
        older = version.form < SHARING_SINCE
        found = shared(version.uses, version.verdict, lambda code: fold(code) in baths, older=True) if older else ()
        when = (version.start, version.end, group, version.line)
        for use in found:
            node = node_of(version.seq, use.part)
            rows.append((node, use.role.stored, baths[fold(use.code)], *when, None, None, 0))
    store.insert_rows(connection, tables.use, rows)
    return len({row[0] for row in rows})


def _judge_again(ledger: Ledger, connection: Connection, typed_by: str) -> tuple[int, list[Receipt], list[Receipt]]:
    settings = ledger.settings(connection)
    judging = ledger.judging(connection, settings)
    if settings.judge >= judging.number:
        return 0, [], []
    now = int(ledger.clock())
    with uncollected():
        batch = Batch(connection, ledger.kinds, settings, judging, now, typed_by, ledger.salts)
        # First what was touched, since verdicts rest on that.
        borne = of_older_judge(connection, ledger.kinds, judging, now, ledger.head(connection).size)
        filed = batch.file(borne)
        judged, pendings = judged_otherwise(connection, ledger.kinds, judging, now, ledger.head(connection).size)
        receipts = batch.file(pendings)
    said = f"Judge {judging.number} has judged every earlier verdict again; {len(pendings)} came out otherwise."
    if borne:
        said += f" What a lot stood on, or what was left of one, is written into {len(borne)}."
    ledger.file_settings(connection, _settings_again(ledger, connection, settings, judging.number, said), typed_by)
    return judged, receipts, filed


def _settings_again(ledger: Ledger, connection: Connection, settings: Settings, judge: int, note: str) -> Incoming:
    """The farm's settings as they are, once more, with the number of the judge that has looked at every verdict."""
    kinds = [name for name in ledger.kinds.names if ledger.kinds[name].settings]
    newest = max((one for name in kinds for one in entries(connection, name)), key=lambda one: one.seq)
    now = int(ledger.clock())
    minute = now - now % 60
    told = {
        **written(newest),
        "at": show_when(minute, minute + 59, settings.zone),
        "note": note,
    }
    kind = ledger.kinds[newest.kind]
    checked = check(kind, told, Setting(Units.load(settings.measures), settings.zone), ledger.kinds)
    return Incoming(checked, sets=replace(settings, judge=judge))
