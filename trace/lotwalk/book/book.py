"""The record book as a person or a program uses it: a ledger, its kinds of record and its judge, put together."""

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lotwalk.book.reading import BookReader
from lotwalk.book.rules import DEFAULT_RULES, Judges
from lotwalk.errors import LedgerError, NotUnderstood, Refused
from lotwalk.judge.ruleset.rules import RuleSet
from lotwalk.kinds.check import Setting, check
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.keep.opening import nothing_left_at, open_ledger
from lotwalk.ledger.ledger import Ledger, Progress
from lotwalk.ledger.model import File, Receipt
from lotwalk.ledger.read.versions import versions
from lotwalk.ledger.write.files import rules_file
from lotwalk.sheets.reader import Sheet
from lotwalk.store import engine as store
from lotwalk.values.codes import entry_number
from lotwalk.values.text import Fields, line_of
from lotwalk.values.times import zone
from lotwalk.values.units import Units

if TYPE_CHECKING:
    from lotwalk.forms.filled import Filled
    from lotwalk.ledger.keep.migrating import Migrated
    from lotwalk.recall.asking.in_place import Entries

SETTINGS_KIND = "farm"
"""The kind of record that begins a ledger; its file says that it holds the settings."""


def _beside(where: str) -> Path:
    """Where the copy of a ledger goes that is to be migrated: beside its file, or in this folder."""
    path = Path() / "lotwalk.db" if "://" in where else Path(where)
    copy = path.with_name(f"{path.stem}-before-{store.HEAD}.db")
    number = 1
    while copy.exists():
        number += 1
        copy = path.with_name(f"{path.stem}-before-{store.HEAD}-{number}.db")
    return copy


def _told(receipts: list[Receipt], put: "Entries | None") -> list[Receipt]:
    """The receipts with what is to be told of the entries in which something was replaced."""
    for number, notices in put.notices.items() if put else ():
        receipts[number] = replace(receipts[number], notices=(*receipts[number].notices, *notices))
    return receipts


class Book(BookReader):
    """An open record book, to write in and to ask: what it can be asked stands in `BookReader`.

    `with Book.open(...) as book:` lets go of the file, or of the server, at the end; `close` does so too.
    """

    __slots__ = ()

    def __enter__(self) -> "Book":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the ledger. Asked for anything more, the book opens it again."""
        self.ledger.engine.dispose()

    @classmethod
    def start(
        cls,
        where: str,
        *,
        name: str,
        location: str,
        timezone: str,
        measures: str = "us",
        rules: str = DEFAULT_RULES,
        kinds: Sequence[Path] = (),
        clock: Callable[[], float] = time.time,
        salts: Sequence[bytes] = (),
        typed_by: str = "",
        **more: str,
    ) -> "Book":
        """Begin a ledger at a file or URL with the farm's settings as its first entry, and open it.

        Raises LedgerError when there is one already, Refused when a setting cannot be understood.
        """
        rule_set = RuleSet.load(rules)
        library = Kinds.load(*kinds)
        now = datetime.fromtimestamp(clock(), UTC).strftime("%Y-%m-%d %H:%MZ")
        entry: dict[str, Any] = {
            "kind": SETTINGS_KIND,
            "at": now,
            "name": name,
            "location": location,
            "timezone": timezone,
            "measures": measures,
            "rules": Path(rules).stem if rules.endswith((".yaml", ".yml")) else rules,
            **more,
        }
        # Understood before the file is made, so that a slip leaves nothing behind.
        check(library[SETTINGS_KIND], entry, Setting(Units.load(measures), zone(timezone)), library)
        nothing_left_at(where)
        engine = store.open_engine(where, create=True)
        store.check_free(engine)
        book = cls(Ledger(engine, library, Judges(), clock, salts))
        store.migrate(engine)
        book.ledger.append([entry], typed_by=typed_by, rules=rules_file(entry["rules"], rule_set.text), begins=True)
        return book

    @classmethod
    def open(
        cls,
        where: str,
        *,
        kinds: Sequence[Path] = (),
        clock: Callable[[], float] = time.time,
        salts: Sequence[bytes] = (),
    ) -> "Book":
        """Open the ledger at a file or URL. Raises LedgerError when there is none, or it is of another version."""
        library = cache(lambda: Kinds.load(*kinds))
        engine = open_ledger(where, library)
        store.check_version(engine)
        return cls(Ledger(engine, library(), Judges(), clock, salts))

    @classmethod
    def migrate(
        cls,
        where: str,
        *,
        kinds: Sequence[Path] = (),
        backup: Path | None = None,
        clock: Callable[[], float] = time.time,
        salts: Sequence[bytes] = (),
        typed_by: str = "",
    ) -> "Migrated":
        """Bring the ledger at a file or URL up to date: its tables, and verdicts that come out otherwise by now.

        A verified copy is made first, at `backup`: beside the file, if nothing is said. Raises LedgerError; then the
        ledger is as it was.
        """
        from lotwalk.ledger.keep.migrating import bring_up_to_date

        library = Kinds.load(*kinds)
        engine = open_ledger(where, lambda: library)
        ledger = Ledger(engine, library, Judges(), clock, salts)
        try:
            return bring_up_to_date(ledger, backup or _beside(where), typed_by)
        finally:
            engine.dispose()

    def record(
        self, kind: str, *, typed_by: str = "", again: bool = False, folder: Path | None = None, **fields: Any
    ) -> Receipt:
        """Record one entry and return its receipt; further receipts of changed verdicts are left out.

        Raises Refused with every problem.
        """
        return self.record_all([{"kind": kind, **fields}], typed_by=typed_by, again=again, folder=folder)[0]

    def record_all(
        self,
        entries: Sequence[Mapping[str, Any]],
        *,
        typed_by: str = "",
        again: bool = False,
        folder: Path | None = None,
    ) -> list[Receipt]:
        """Record entries in one transaction; receipts as the ledger's `append` gives them."""
        rules = self._rules_named(entries)
        read = self._in_place(entries)
        receipts = self.ledger.append(
            read.entries if read else entries, typed_by=typed_by, again=again, folder=folder, rules=rules
        )
        return self._at_the_door(_told(receipts, read), len(entries))

    def load(
        self,
        sheet: "Path | Sheet | Filled",
        *,
        typed_by: str = "",
        again: bool = False,
        folder: Path | None = None,
        progress: Progress | None = None,
    ) -> list[Receipt]:
        """Load a sheet, or a form that was filled in, all or nothing.

        `folder` is where the files that entries name stand: beside the sheet, if nothing is said. Raises Refused with
        every problem, each with file and line, or with the form's row and field.
        """
        from lotwalk.forms.filled import Filled, read_file

        read = read_file(sheet, self.ledger.kinds) if isinstance(sheet, Path) else sheet
        folder = sheet.parent if isinstance(sheet, Path) and folder is None else folder
        if isinstance(read, Filled):
            try:
                return self.load(read.sheet, typed_by=typed_by, again=again, folder=folder, progress=progress)
            except Refused as refused:
                raise Refused(map(read.told, refused.problems)) from None
        rules = self._rules_named(read.entries, read.name)
        put = self._in_place(read.entries)
        entries = [one if isinstance(one, Fields) else Fields(one) for one in put.entries] if put else read.entries
        sheet = replace(read, entries=tuple(entries))
        receipts = self.ledger.load(
            sheet, typed_by=typed_by, folder=folder, again=again, progress=progress, rules=rules
        )
        return self._at_the_door(_told(receipts, put), len(entries))

    def amend(
        self,
        entry: int,
        changes: Mapping[str, Any],
        *,
        because: str,
        by: Sequence[str],
        typed_by: str = "",
        folder: Path | None = None,
        seen: int | None = None,
    ) -> list[Receipt]:
        """Replace content of entry `E<entry>`: `changes` go over its fields, None takes one away.

        `seen` is the `seq` of the version that was read; when somebody amended the entry since, that is told. Returns
        its receipt and one for each verdict that changed. Raises Refused with every problem.
        """
        more, put = self._amended(entry, changes)
        receipts = self.ledger.amend(entry, more, because=because, by=by, typed_by=typed_by, folder=folder, seen=seen)
        return self._at_the_door(_told(receipts, put), 1)

    def void(
        self, entry: int, *, because: str, by: Sequence[str], typed_by: str = "", seen: int | None = None
    ) -> list[Receipt]:
        """Take entry `E<entry>` out of the reckoning; it stays readable. Receipts and refusals as of `amend`."""
        return self.ledger.void(entry, because=because, by=by, typed_by=typed_by, seen=seen)

    def _at_the_door(self, receipts: list[Receipt], own: int) -> list[Receipt]:
        """The receipts, the first `own` of them with the findings that their entries bring about.

        They are in the book by then. So where the book cannot be read for this, that is told and nothing is raised.
        """
        from lotwalk.checks.door import at_once, next_step
        from lotwalk.checks.nearby import Nearby

        numbers = {entry_number(one.name) or 0 for one in receipts[:own]}
        try:
            with self.ledger.reading() as connection:
                settings = self.ledger.settings(connection)
                rules, now = self._judged_by(connection, settings), int(self.ledger.clock())
                units = Units.load(settings.measures)
                near = Nearby(connection, self.ledger.kinds, rules, units, settings.zone, now, numbers)
                told, steps = at_once(near), next_step(near)
        except LedgerError as error:
            notice = f"it is in the book, and what the checks say of it could not be read: {error}"
            return [replace(receipts[0], notices=(*receipts[0].notices, notice)), *receipts[1:]]
        found = [
            replace(one, findings=told[one.name].findings, older=told[one.name].older) if one.name in told else one
            for one in receipts[:own]
        ]
        found = [replace(one, notices=(*one.notices, steps[one.name])) if one.name in steps else one for one in found]
        return [*found, *receipts[own:]]

    def _in_place(self, entries: Sequence[Mapping[str, Any]]) -> "Entries | None":
        """The entries with what stands for lots replaced by those; None where none of their kinds knows of that."""
        kinds = self.ledger.kinds
        named = {str(entry.get("kind", "")) for entry in entries}
        if not any(kinds[name].replaced for name in named.intersection(kinds.names)):
            return None
        # Read only for such an entry, so that an entry at the sink does not wait for it.
        from lotwalk.recall.asking.in_place import in_place

        with self.ledger.reading() as connection:
            settings = self.ledger.settings(connection)
            return in_place(connection, kinds, Setting(Units.load(settings.measures), settings.zone), entries)

    def _amended(self, entry: int, changes: Mapping[str, Any]) -> "tuple[Mapping[str, Any], Entries | None]":
        """The changes to an entry, with what stands for lots in it replaced by those."""
        with self.ledger.reading() as connection:
            known = versions(connection, entry)
        fields = self.ledger.kinds[known[-1].kind].replaced if known else ()
        if not fields:
            return changes, None
        # What was named before stands for the lots that it stood for, and for none that are named now.
        stale = {one.instead.told for one in fields if one.instead and one.name in changes}
        more = {**dict.fromkeys(stale & known[-1].fields.keys()), **changes}
        whole = {"kind": known[-1].kind, **known[-1].fields, **more}
        before = {name: value for name, value in whole.items() if value is not None}
        put = self._in_place([before])
        after = put.entries[0] if put else before
        return {**more, **{name: after[name] for name in after if after[name] is not before.get(name)}}, put

    def _rules_named(self, entries: Sequence[Mapping[str, Any]], sheet: str = "") -> File | None:
        """The text of the rule set that a settings entry among these changes to."""
        for entry in entries:
            if entry.get("kind") == SETTINGS_KIND and entry.get("rules"):
                name = str(entry["rules"])
                try:
                    return rules_file(name, RuleSet.load(name).text)
                except NotUnderstood as error:
                    problem = error.problem("rules", line_of(entry["rules"]) or line_of(entry))
                    raise Refused([problem.at(sheet)]) from None
        return None
