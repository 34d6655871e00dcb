"""What the entries say of the tables that do not stand beside them: things, sheets, attached files, settings."""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, text

from lotwalk.kinds.library import Kinds
from lotwalk.ledger.record import SETTINGS
from lotwalk.ledger.verify.stored_entry import Wrong
from lotwalk.ledger.write.files import RULES_TYPE, rules_file_name
from lotwalk.store.engine import HEAD, version_of
from lotwalk.values.codes import fold

BATHS_SINCE = "0002"
"""The migration that told which things are baths, and which loads share one."""


@dataclass(frozen=True, slots=True)
class _Thing:
    """A thing as the newest entry that makes or registers it says it is."""

    code: str
    kind: str
    type: str
    entry: str


@dataclass(frozen=True, slots=True)
class _File:
    name: str
    media_type: str
    entry: str


@dataclass(slots=True)
class Rest:
    """Gathers what the entries say, one after another, and compares it at the end."""

    things: dict[Any, _Thing] = field(default_factory=dict)
    files: dict[str, _File] = field(default_factory=dict)
    sheets: set[Any] = field(default_factory=set)
    settings: dict[int, tuple[str, ...]] = field(default_factory=dict)

    def introduce(self, key: object, code: str, kind: str, type_: str, entry: str) -> None:
        """Take note of a thing that an entry makes or registers; of several entries the newest says what it is."""
        self.things[key] = _Thing(code, kind, type_, entry)

    def kind_of(self, key: object) -> str:
        """Return the kind of a thing, as far as an entry so far says what it is."""
        thing = self.things.get(key)
        return thing.kind if thing else ""

    def note(self, record: Mapping[str, Any], entry: str, sheet: object) -> None:
        """Take note of an entry's sheet, files and settings."""
        if sheet is not None:
            self.sheets.add(sheet)
        for file in record.get("files", []):
            self.files.setdefault(file["digest"], _File(file["name"], file["type"], entry))
        if "settings" in record:
            told = record["settings"]
            self.settings[record["seq"]] = tuple(told[name] for name in SETTINGS)
            rules = _File(rules_file_name(told["rules"]), RULES_TYPE, entry)
            self.files.setdefault(told["rules_digest"], rules)

    def check(self, connection: Connection, kinds: Kinds) -> None:
        """Compare everything with what is stored. Raises Wrong."""
        self.check_things(connection, kinds)
        self._check_sheets(connection)
        self._check_files(connection)
        self._check_settings(connection)

    def check_things(self, connection: Connection, kinds: Kinds, *, known: bool = False) -> None:
        """Compare the things with what is stored; with `known` only those of known kinds. Raises Wrong."""
        bath = "" if (version_of(connection) or HEAD) < BATHS_SINCE else ", bath"
        rows = connection.execute(
            text(f"SELECT id, code, fold, kind, cls, type, bought, farm_wide, counted{bath} FROM thing")
        )
        for key, code, folded, kind, cls, type_, *flags in rows:
            told = self.things.get(key)
            if told is None:
                raise Wrong(None, f"no entry makes {code}")
            if (code, kind, type_) != (told.code, told.kind, told.type or None):
                raise Wrong(told.entry, f"{told.code} is not stored as what it was recorded as")
            if known and kind not in kinds.things:
                continue
            check_thing((code, folded, kind, cls, type_, *flags), kinds, told.entry)

    def _check_sheets(self, connection: Connection) -> None:
        for key, name in connection.execute(text("SELECT id, name FROM sheet")):
            if key not in self.sheets:
                raise Wrong(None, f"no entry stands on the sheet {name}")

    def _check_files(self, connection: Connection) -> None:
        missing = dict(self.files)
        strangers: list[str] = []
        sql = text("SELECT digest, name, media_type, content FROM attachment ORDER BY digest")
        for digest, name, media_type, content in connection.execute(sql):
            told = missing.pop(digest, None)
            if told is None:
                strangers.append(str(name))
                continue
            whole = isinstance(content, bytes | memoryview) and hashlib.sha256(bytes(content)).hexdigest() == digest
            if not whole or (name, media_type) != (told.name, told.media_type):
                raise Wrong(told.entry, f"the attached file {told.name} is not the one that was recorded")
        for told in missing.values():
            raise Wrong(told.entry, f"the attached file {told.name} is missing")
        if strangers:
            raise Wrong(None, f"no entry has the attached file {strangers[0]}")

    def _check_settings(self, connection: Connection) -> None:
        rows = connection.execute(text(f"SELECT seq, {', '.join(SETTINGS)} FROM farm"))
        stored = {row[0]: tuple(row[1:]) for row in rows}
        for seq, told in self.settings.items():
            if stored.pop(seq, None) != told:
                raise Wrong(f"E{seq}", "the farm's settings are not stored as they were recorded")
        for seq in stored:
            raise Wrong(f"E{seq}" if isinstance(seq, int) else None, "settings are stored that no entry sets")


def check_thing(row: Sequence[Any], kinds: Kinds, entry: str | None = None) -> None:
    """Compare a stored thing with what its code and the file of its kind say.

    Its columns are code, fold, kind, cls, type, bought, farm_wide, counted and, where the ledger has it, bath. Raises
    Wrong.
    """
    code, folded, kind, cls, type_, *flags = row
    if folded != fold(code):
        raise Wrong(entry, f"{code} is not stored as what it was recorded as")
    kind_of = kinds.things.get(kind)
    if kind_of is None:
        raise Wrong(entry, f"{code} is of a kind ({kind}) that no kind file given here describes")
    wide = int(kind_of.farm_wide or type_ in kind_of.farm_wide_types)
    expected = [int(kind_of.bought), wide, int(kind_of.counted), int(kind_of.bath)][: len(flags)]
    if (cls, flags) != (kind_of.cls, expected):
        raise Wrong(entry, f"{code} is not stored as a {kind_of.title.lower()}")
