"""The ledger as the rest of the program uses it: start, open, append, amend, void, read."""

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path, PureWindowsPath

from sqlalchemy import Connection, Engine, insert, select, text

from lotwalk.collector import uncollected
from lotwalk.errors import LedgerError, NotUnderstood, Problem, Refused
from lotwalk.kinds.check import Setting, check
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Checked, Kind
from lotwalk.ledger.model import File, Head, Receipt, Settings, SheetRef
from lotwalk.ledger.record import settings_judge
from lotwalk.ledger.verify.sound import unharmed
from lotwalk.ledger.write.amending import (
    amendment_of,
    changed,
    content_with,
    current,
    left_without,
    read_again,
    says_already,
    sheet_of,
)
from lotwalk.ledger.write.append import Batch, Incoming, store_attachment
from lotwalk.ledger.write.checking import Checking, out_of_order
from lotwalk.ledger.write.files import LIMIT, Drawer
from lotwalk.ledger.write.judging import Judging
from lotwalk.ledger.write.settings import beside_settings, new_settings, store_settings, with_settings
from lotwalk.ledger.write.usual import recorded_before
from lotwalk.sheets.reader import Sheet
from lotwalk.store import engine as store
from lotwalk.store import tables
from lotwalk.store.sql import in_force
from lotwalk.values.text import Written, line_of
from lotwalk.values.times import zone
from lotwalk.values.units import Units

Progress = Callable[[int], None]
"""Told how many more entries have been checked."""


@dataclass(slots=True)
class Ledger:
    """One open ledger. `clock` gives epoch seconds and `salts` the random bytes, so that tests can set both.

    `judging` is called with the settings in force and returns the judge for them.
    """

    engine: Engine
    kinds: Kinds
    judging: Callable[[Connection, Settings], Judging]
    clock: Callable[[], float] = time.time
    salts: Sequence[bytes] = field(default=())

    def settings(self, connection: Connection) -> Settings:
        """Return the settings in force."""
        row = connection.execute(
            text(
                "SELECT f.name, f.location, f.timezone, f.measures, f.rules, f.rules_digest, e.record FROM farm f"
                f" JOIN entry e ON e.seq = f.seq WHERE {in_force()} ORDER BY f.seq DESC LIMIT 1"
            )
        ).first()
        if row is None:
            if self.head(connection).size:
                raise ValueError("no settings are stored")
            raise LedgerError("this ledger has no settings; begin a new one with `lotwalk start`")
        name, location, place, measures, rules, rules_digest, record = row
        return Settings(name, location, zone(place), measures, rules, rules_digest, settings_judge(record))

    def head(self, connection: Connection) -> Head:
        """Return the newest size and root of the log."""
        table = tables.entry
        row = connection.execute(select(table.c.seq, table.c.root).order_by(table.c.seq.desc()).limit(1)).first()
        return Head(row[0], bytes(row[1])) if row else Head(0, b"")

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Yield a connection that sees one state of the ledger.

        Whatever the block stumbles over is told as Damaged where the ledger is not as it was recorded.
        """
        with unharmed(self.engine, self.kinds), store.reading(self.engine) as connection:
            yield connection

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        """Yield a connection in one transaction, alone in appending; else as `reading`."""
        with unharmed(self.engine, self.kinds), store.writing(self.engine) as connection:
            yield connection

    def append(
        self,
        entries: Sequence[Mapping[str, Written]],
        *,
        typed_by: str = "",
        again: bool = False,
        folder: Path | None = None,
        rules: File | None = None,
        begins: bool = False,
    ) -> list[Receipt]:
        """Check and store entries in one transaction, and return their receipts.

        `rules` is the text of the rule set that a settings entry names. With `begins` they must be the ledger's first:
        LedgerError when somebody began it meanwhile. Raises Refused with every problem.
        """
        with self._writing() as connection:
            if begins and self.head(connection).size:
                raise LedgerError("somebody began a ledger here at the same moment; choose another name")
            settings, setting = self._setting(connection, entries)
            checking = self._check(entries, setting, self._drawer(connection, settings, folder), None)
            return self._append(connection, settings, checking, typed_by, again, rules)

    def load(
        self,
        sheet: Sheet,
        *,
        typed_by: str = "",
        folder: Path | None = None,
        again: bool = False,
        progress: Progress | None = None,
        rules: File | None = None,
    ) -> list[Receipt]:
        """Store a sheet, all or nothing. Raises Refused with every problem, each with the sheet's name and line."""
        try:
            with self._writing() as connection:
                settings, setting = self._setting(connection, sheet.entries)
                ref = self._sheet(connection, sheet)
                drawer = replace(self._drawer(connection, settings, folder), inside=True)
                checking = self._check(sheet.entries, setting, drawer, ref, progress)
                if sheet.in_order:
                    checking.problems += out_of_order(checking.incoming)
                return self._append(connection, settings, checking, typed_by, again or sheet.again, rules)
        except Refused as refused:
            raise Refused(problem.at(sheet.name) for problem in refused.problems) from None

    def amend(
        self,
        number: int,
        changes: Mapping[str, Written | None],
        *,
        because: str,
        by: Sequence[str],
        typed_by: str = "",
        folder: Path | None = None,
        seen: int | None = None,
    ) -> list[Receipt]:
        """Replace an entry's content: `changes` go over its fields, None removes one.

        Files named in `changes` stand in `folder`, and take the place of those attached before. `seen` is the `seq` of
        the version that the person has read. Raises Refused when the entry is unknown, void, amended since, or not
        understood with the changes.
        """
        with self._writing() as connection:
            version = current(connection, number, seen)
            kind = self.kinds[version.kind]
            content = content_with(version, changes)
            settings = self.settings(connection)
            place = version.zone if content.get("at") == version.at else settings.zone.key
            amendment = amendment_of(connection, version, kind, because, by, place)
            checked = check(kind, content, Setting(Units.load(version.measures), zone(place)), self.kinds)
            drawer = self._drawer(connection, settings, folder)
            files = _files(checked, drawer, 0) if "files" in changes else version.files
            if says_already(version, checked, files, read_again(version, kind, self.kinds)):
                raise Refused([Problem(f"{version.name} already says so", "a change")])
            # With another time its line on the sheet no longer says what came before what.
            moved = (checked.at.start, checked.at.end) != (version.start, version.end)
            sheet, line = (None, 0) if moved else (sheet_of(connection, version), version.line)
            incoming = Incoming(checked, files, amendment, sheet, line)
            receipts = self._append(connection, settings, Checking([incoming]), typed_by, True, None)
            notices = (*receipts[0].notices, *recorded_before(connection, self.kinds, version, checked))
            receipts[0] = replace(receipts[0], notices=notices, changed=changed(version, content))
            return receipts

    def void(
        self, number: int, *, because: str, by: Sequence[str], typed_by: str = "", seen: int | None = None
    ) -> list[Receipt]:
        """Take an entry out of the reckoning; it stays readable. Raises Refused as `amend` does."""
        with self._writing() as connection:
            version = current(connection, number, seen)
            kind = self.kinds[version.kind]
            amendment = replace(amendment_of(connection, version, kind, because, by, version.zone), void=True)
            checked = read_again(version, kind, self.kinds)
            incoming = Incoming(checked, version.files, amendment, sheet_of(connection, version), version.line)
            return self._append(connection, self.settings(connection), Checking([incoming]), typed_by, True, None)

    def file_settings(self, connection: Connection, incoming: Incoming, typed_by: str) -> list[Receipt]:
        """Store an entry that sets the farm's settings, in the transaction of the connection."""
        settings = self.settings(connection)
        return self._append(connection, settings, Checking([incoming]), typed_by, True, None)

    def _append(
        self,
        connection: Connection,
        settings: Settings | None,
        checking: Checking,
        typed_by: str,
        again: bool,
        rules: File | None,
    ) -> list[Receipt]:
        if rules:
            store_attachment(connection, rules)
        begun = settings or new_settings(checking, rules)
        judging = self.judging(connection, begun)
        settings = settings or replace(begun, judge=judging.number)
        incoming = with_settings(checking.incoming, rules, settings)
        checking.problems += beside_settings(incoming)
        batch = Batch(
            connection,
            self.kinds,
            settings,
            judging,
            int(self.clock()),
            typed_by,
            self.salts,
        )
        with uncollected():
            receipts = batch.append(
                incoming, again=again, problems=checking.problems, unread=checking.unread, named=checking.named
            )
        for receipt, one in zip(receipts, incoming, strict=False):
            if one.sets:
                store_settings(connection, receipt, one.sets)
        for number, one in enumerate(incoming):
            if one.amendment and (notice := left_without(connection, one.amendment.seq)):
                receipts[number] = replace(receipts[number], notices=(*receipts[number].notices, notice))
        return receipts

    def _setting(
        self, connection: Connection, entries: Sequence[Mapping[str, Written]]
    ) -> tuple[Settings | None, Setting]:
        """The settings in force; for a ledger's first entry, those that it sets itself."""
        if self.head(connection).size:
            settings = self.settings(connection)
            return settings, Setting(Units.load(settings.measures), settings.zone)
        first = entries[0] if entries else {}
        measures, name = str(first.get("measures", "us")), str(first.get("timezone", "UTC"))
        try:
            return None, Setting(Units.load(measures), zone(name))
        except NotUnderstood as error:
            raise Refused([error.problem()]) from None

    def _check(
        self,
        entries: Sequence[Mapping[str, Written]],
        setting: Setting,
        drawer: Drawer,
        sheet: SheetRef | None,
        progress: Progress | None = None,
    ) -> Checking:
        checking = Checking([])
        with uncollected():
            self._check_each(checking, entries, setting, drawer, sheet, progress)
        return checking

    def _check_each(
        self,
        checking: Checking,
        entries: Sequence[Mapping[str, Written]],
        setting: Setting,
        drawer: Drawer,
        sheet: SheetRef | None,
        progress: Progress | None,
    ) -> None:
        for entry in entries:
            line = line_of(entry)
            kind: Kind | None = None
            try:
                kind = self.kinds[str(entry.get("kind", ""))]
                checked = check(kind, entry, setting, self.kinds)
                checking.incoming.append(Incoming(checked, _files(checked, drawer, line), None, sheet, line))
            except Refused as refused:
                checking.fail(entry, kind, [problem.at("", line) for problem in refused.problems], refused.named)
            except NotUnderstood as error:
                checking.fail(entry, kind, [error.problem("kind", line)])
            if progress:
                progress(1)

    def _drawer(self, connection: Connection, settings: Settings | None, folder: Path | None) -> Drawer:
        limit = self.judging(connection, settings).largest_file if settings else None
        return Drawer(folder or Path(), LIMIT if limit is None else limit)

    def _sheet(self, connection: Connection, sheet: Sheet) -> SheetRef:
        table = tables.sheet
        known = connection.execute(select(table.c.name).where(table.c.digest == sheet.digest)).first()
        if known:
            what = f"this {sheet.what} is already in the book (as {known[0]})"
            raise Refused([Problem(what, f"a {sheet.what} that is not in yet")])
        number = (connection.execute(text("SELECT max(id) FROM sheet")).scalar() or 0) + 1
        # The name alone, whichever way the system writes folders: where the sheet lay is the farm's own business, and
        # another place tomorrow. It may hold bytes that are no text.
        name = PureWindowsPath(sheet.name).name.encode("utf-8", "replace").decode()
        values = {"id": number, "digest": sheet.digest, "name": name, "in_order": int(sheet.in_order)}
        connection.execute(insert(table), values)
        return SheetRef(number, sheet.digest, name, sheet.in_order)


def _files(checked: Checked, drawer: Drawer, line: int) -> tuple[File, ...]:
    try:
        return tuple(drawer.attach(name) for name in checked.files)
    except NotUnderstood as error:
        raise Refused([error.problem("files", line)]) from None
