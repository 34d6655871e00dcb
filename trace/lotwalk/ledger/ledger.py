"""The ledger as the rest of the program uses it: start, open, append, amend, void, read."""

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from sqlalchemy import Connection, Engine, insert, select, text

from lotwalk.errors import LedgerError, NotUnderstood, Problem, Refused
from lotwalk.kinds.check import Setting, check
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Checked, Kind
from lotwalk.ledger import record
from lotwalk.ledger.append import Batch, Incoming, store_attachment
from lotwalk.ledger.files import attach, text_file
from lotwalk.ledger.judging import Judging
from lotwalk.ledger.model import Amendment, File, Head, Receipt, Settings, SheetRef, Version
from lotwalk.ledger.read import find_thing
from lotwalk.sheets.reader import Sheet
from lotwalk.store import engine as store
from lotwalk.store import tables
from lotwalk.values.codes import expand, fold
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
                "SELECT f.name, f.location, f.timezone, f.measures, f.rules, f.rules_digest FROM farm f"
                " WHERE NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = f.seq) ORDER BY f.seq DESC LIMIT 1"
            )
        ).first()
        if row is None:
            raise LedgerError("this ledger has no settings; begin a new one with `lotwalk start`")
        return Settings(row[0], row[1], zone(row[2]), row[3], row[4], row[5])

    def head(self, connection: Connection) -> Head:
        """Return the newest size and root of the log."""
        table = tables.entry
        row = connection.execute(select(table.c.seq, table.c.root).order_by(table.c.seq.desc()).limit(1)).first()
        return Head(row[0], bytes(row[1])) if row else Head(0, b"")

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Yield a connection that sees one state of the ledger."""
        with store.reading(self.engine) as connection:
            yield connection

    def append(
        self,
        entries: Sequence[Mapping[str, Written]],
        *,
        typed_by: str = "",
        again: bool = False,
        folder: Path | None = None,
        rules: File | None = None,
    ) -> list[Receipt]:
        """Check and store entries in one transaction, and return their receipts.

        `rules` is the text of the rule set that a settings entry names. Raises Refused with every problem.
        """
        with store.writing(self.engine) as connection:
            settings, setting = self._setting(connection, entries)
            checking = self._check(entries, setting, folder, None)
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
            with store.writing(self.engine) as connection:
                settings, setting = self._setting(connection, sheet.entries)
                ref = self._sheet(connection, sheet)
                checking = self._check(sheet.entries, setting, folder, ref, progress)
                if sheet.in_order:
                    checking.problems += _out_of_order(checking.incoming)
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
    ) -> list[Receipt]:
        """Replace an entry's content: `changes` go over its fields, None removes one.

        Files named in `changes` stand in `folder`, and take the place of those attached before.
        Raises Refused when the entry is unknown, void, amended meanwhile, or not understood with the changes.
        """
        with store.writing(self.engine) as connection:
            version = current(connection, number)
            content = record.written(version)
            for name, value in changes.items():
                if value is None:
                    content.pop(name, None)
                else:
                    content[name] = value
            before = record.written(version)
            if "files" not in changes and all(content.get(name) == before.get(name) for name in {*content, *changes}):
                raise Refused([Problem(f"{version.name} already says so", "a change")])
            kept = None if "files" in changes else version.files
            return self._replace(connection, version, content, because, by, typed_by, kept, folder)

    def void(self, number: int, *, because: str, by: Sequence[str], typed_by: str = "") -> list[Receipt]:
        """Take an entry out of the reckoning; it stays readable. Raises Refused as `amend` does."""
        with store.writing(self.engine) as connection:
            version = current(connection, number)
            content = record.written(version)
            return self._replace(connection, version, content, because, by, typed_by, version.files, void=True)

    def _replace(
        self,
        connection: Connection,
        version: Version,
        content: dict[str, Written],
        because: str,
        by: Sequence[str],
        typed_by: str,
        files: tuple[File, ...] | None,
        folder: Path | None = None,
        *,
        void: bool = False,
    ) -> list[Receipt]:
        """File a further version. `files` are those kept from the one before; None reads those now named."""
        kind = self.kinds[version.kind]
        _check_amender(connection, version, kind, because, by)
        settings = self.settings(connection)
        same = content.get("at") == version.at
        setting = Setting(Units.load(version.measures), zone(version.zone if same else settings.zone.key))
        checked = check(kind, content, setting, self.kinds)
        amendment = Amendment(version.seq, version.first, because.strip(), tuple(by), void)
        sheet = _sheet_of(connection, version) if same else None
        line = version.line if same else 0
        attached = self._files(checked, folder, 0) if files is None else files
        incoming = Incoming(checked, attached, amendment, sheet, line)
        return self._append(connection, settings, _Checking([incoming]), typed_by, True, None)

    def _append(
        self,
        connection: Connection,
        settings: Settings | None,
        checking: "_Checking",
        typed_by: str,
        again: bool,
        rules: File | None,
    ) -> list[Receipt]:
        incoming = checking.incoming
        if rules:
            store_attachment(connection, rules)
        if settings is None:
            settings = _new_settings(checking, rules)
        batch = Batch(
            connection,
            self.kinds,
            settings,
            self.judging(connection, settings),
            int(self.clock()),
            typed_by,
            self.salts,
        )
        receipts = batch.append(incoming, again=again, problems=checking.problems, unread=checking.unread)
        for receipt, one in zip(receipts, incoming, strict=False):
            if one.checked.kind.settings:
                _store_settings(connection, receipt, one.checked, rules, settings)
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
        folder: Path | None,
        sheet: SheetRef | None,
        progress: Progress | None = None,
    ) -> "_Checking":
        checking = _Checking([])
        for entry in entries:
            line = line_of(entry)
            try:
                kind = self.kinds[str(entry.get("kind", ""))]
                checked = check(kind, entry, setting, self.kinds)
                checking.incoming.append(Incoming(checked, self._files(checked, folder, line), None, sheet, line))
            except Refused as refused:
                checking.fail(entry, [problem.at("", line) for problem in refused.problems])
            except NotUnderstood as error:
                checking.fail(entry, [error.problem("kind", line)])
            if progress:
                progress(1)
        return checking

    def _files(self, checked: Checked, folder: Path | None, line: int) -> tuple[File, ...]:
        try:
            return tuple(attach(name, folder or Path()) for name in checked.files)
        except NotUnderstood as error:
            raise Refused([error.problem("files", line)]) from None

    def _sheet(self, connection: Connection, sheet: Sheet) -> SheetRef:
        table = tables.sheet
        known = connection.execute(select(table.c.name).where(table.c.digest == sheet.digest)).first()
        if known:
            raise Refused([Problem(f"this sheet is already in the book (as {known[0]})", "a sheet that is not in yet")])
        number = (connection.execute(text("SELECT max(id) FROM sheet")).scalar() or 0) + 1
        connection.execute(
            insert(table),
            {"id": number, "digest": sheet.digest, "name": sheet.name, "in_order": int(sheet.in_order)},
        )
        return SheetRef(number, sheet.digest, sheet.name, sheet.in_order)


@dataclass(slots=True)
class _Checking:
    """Entries that their kinds understand, the problems in the others, and the words in which those could have
    made codes."""

    incoming: list[Incoming]
    problems: list[Problem] = field(default_factory=list)
    unread: set[str] = field(default_factory=set)

    def fail(self, entry: Mapping[str, Written], problems: Sequence[Problem]) -> None:
        """Note an entry that was not understood."""
        self.problems += problems
        for value in entry.values():
            for word in [value] if isinstance(value, str) else value if isinstance(value, list) else []:
                if isinstance(word, str):
                    self.unread |= _codes_in(word)


def _codes_in(words: str) -> set[str]:
    try:
        return {fold(code) for code in expand(words)}
    except NotUnderstood:
        return set()


def current(connection: Connection, number: int) -> Version:
    """Return the version in force of entry `E<number>`. Raises Refused when there is none, or it is void."""
    row = connection.execute(
        text(
            "SELECT e.record, e.digest FROM entry e WHERE e.first = :number"
            " AND NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.seq)"
        ),
        {"number": number},
    ).first()
    if row is None:
        raise Refused([Problem(f"there is no entry E{number}", "the name of an entry, such as E12")])
    version = record.parse(row[0], bytes(row[1]))
    if version.void:
        raise Refused([Problem(f"E{number} is void", "an entry in force; record it again instead")])
    return version


def _check_amender(connection: Connection, version: Version, kind: Kind, because: str, by: Sequence[str]) -> None:
    """Raise Refused unless it is said why, by people who are in the book, and the entry is one that can be amended."""
    problems = []
    if kind.settings:
        expected = f"a further record of kind {kind.name}, which changes them from now on"
        problems.append(Problem(f"{version.name} holds the farm's settings", expected))
    if not because.strip():
        problems.append(Problem("it is not said why", 'a reason, such as --because "misread the strip"'))
    if not by:
        problems.append(Problem("it is not said who amends it", "a person, such as TO", "by"))
    for code in by:
        person = find_thing(connection, code)
        if person is None or person.cls != "person":
            problems.append(Problem(f"{code} is not a person in the book", "who amends it, such as TO", "by"))
    if problems:
        raise Refused(problems)


def _sheet_of(connection: Connection, version: Version) -> SheetRef | None:
    table = tables.sheet
    row = connection.execute(
        select(table.c.id, table.c.digest, table.c.name, table.c.in_order).where(table.c.digest == version.sheet)
    ).first()
    return SheetRef(row[0], row[1], row[2], bool(row[3])) if row else None


def _out_of_order(incoming: Sequence[Incoming]) -> list[Problem]:
    """A sheet that attests its order may not have a line that surely comes before an earlier one."""
    problems: list[Problem] = []
    latest: Incoming | None = None
    for one in incoming:
        if latest and one.checked.at.end < latest.checked.at.start:
            what = f"{one.checked.at.written} is before {latest.checked.at.written} on line {latest.line}"
            problems.append(
                Problem(what, "lines in the order in which things happened, or no `in_order`", line=one.line)
            )
        if latest is None or one.checked.at.start > latest.checked.at.start:
            latest = one
    return problems


def _new_settings(checking: _Checking, rules: File | None) -> Settings:
    if checking.problems:
        raise Refused(checking.problems)
    first = checking.incoming[0].checked if checking.incoming else None
    if first is None or not first.kind.settings or rules is None:
        raise LedgerError("a ledger begins with the farm's settings; run `lotwalk start`")
    return _settings(first, rules.digest, None)


def _settings(checked: Checked, rules_digest: str, before: Settings | None) -> Settings:
    def value(name: str, default: str) -> str:
        return str(checked.values.get(name, default))

    return Settings(
        name=value("name", before.name if before else ""),
        location=value("location", before.location if before else ""),
        zone=zone(value("timezone", before.zone.key if before else "UTC")),
        measures=value("measures", before.measures if before else "us"),
        rules=value("rules", before.rules if before else "general"),
        rules_digest=rules_digest,
    )


def _store_settings(
    connection: Connection, receipt: Receipt, checked: Checked, rules: File | None, before: Settings
) -> None:
    settings = _settings(checked, rules.digest if rules else before.rules_digest, before)
    connection.execute(
        insert(tables.farm),
        {
            "seq": int(receipt.name[1:]),
            "name": settings.name,
            "location": settings.location,
            "timezone": settings.zone.key,
            "measures": settings.measures,
            "rules": settings.rules,
            "rules_digest": settings.rules_digest,
        },
    )


__all__ = ["Ledger", "attach", "current", "text_file"]
