"""Where a log's values come from: an entry's own fields, and fields of the entries that made what it names."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from lotwalk.errors import NotUnderstood
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Field, Value
from lotwalk.kinds.rows import row_mappings
from lotwalk.ledger.entry import content_of
from lotwalk.ledger.model import Version
from lotwalk.ledger.read.things import find_thing
from lotwalk.ledger.read.uses import makers
from lotwalk.pages.definitions.section_file import ENTRY, KIND, ROLE, TOLD, VERDICT
from lotwalk.pages.rows.evidence_text import Facts, role_words
from lotwalk.values.codes import expand, fold
from lotwalk.values.text import Written
from lotwalk.values.times import read_when, show_when, zone

_COMMON = ("at", "by", "place", "files")

_PLAIN = re.compile(r"\d{4}-\d{2}-\d{2}( \d{2}:\d{2})?", re.ASCII)
"""A time as it is shown, too."""


@dataclass(slots=True)
class Values:
    """Reads values for one report, at one state of the ledger. Times are shown in `zone`, the farm's.

    `asked` is the code that the report is printed for, or empty.
    """

    connection: Connection
    kinds: Kinds
    zone: ZoneInfo
    asked: str = ""
    _facts: Facts = field(init=False)
    _makers: dict[str, tuple[str, Mapping[str, Written]]] = field(default_factory=dict)
    _paths: dict[tuple[str, ...], tuple[str, ...]] = field(default_factory=dict)

    def read(self, version: Version, name: str) -> tuple[str, ...]:
        """Return the words for a value of an entry as it was written, none when it has none.

        `name` is `entry`, `kind`, a field, or fields of what a field names, such as `solution.product`.
        """
        if name == ENTRY:
            return (version.name,)
        if name == KIND:
            return (self.kinds[version.kind].title,)
        if name == VERDICT:
            return ()
        if name == ROLE:
            return role_words(version, self.asked)
        first, *rest = name.split(".")
        if first == TOLD:
            return self._facts.told(version, rest[0])
        if rest:
            return self._followed(version, first, rest)
        shown = self.field(version, first)
        return (shown,) if shown else ()

    def field(self, version: Version, name: str) -> str:
        """Return a field's value as it was written, empty when there is none."""
        if name == "at":
            return self.when(version)
        if name in _COMMON:
            return words(_common(version, name))
        written = version.fields.get(name)
        return _assumed(version, name) if written is None else words(written, self._field(version, name))

    def __post_init__(self) -> None:
        self._facts = Facts(self.connection, self.kinds)

    def names(self, version: Version) -> list[str]:
        """Return the fields of an entry's kind in the order of its file."""
        return list(self.kinds[version.kind].fields)

    def amount(self, version: Version, name: str) -> Value | None:
        """Return what the book read in a field: an amount, a range of two or a number; None when it has none."""
        return content_of(version, self.kinds).values.get(name) if name in version.fields else None

    def title(self, version: Version, name: str) -> str:
        """Return the title of a value's field in the entry's kind; empty when the kind has no such field."""
        first, _, rest = name.partition(".")
        found = self._field(version, rest if first == TOLD else first)
        return found.title if found else ""

    def _field(self, version: Version, name: str) -> Field | None:
        return self.kinds[version.kind].fields.get(name)

    def when(self, version: Version) -> str:
        """Return the entry's time in the farm's time zone, with what was written where that says it in another way."""
        written = version.at.strip()
        if version.zone == self.zone.key and _PLAIN.fullmatch(written):
            return written
        shown = show_when(version.start, version.end, self.zone)
        return shown if " ".join(written.split()) == shown else f"{shown} (written {written})"

    def changed(self, before: Version, after: Version) -> list[str]:
        """Return in words what an amendment changed: `Reading was 30 ppm, now 110 ppm`."""
        names = dict.fromkeys((*_COMMON, *before.fields, *after.fields))
        found = []
        for name in names:
            known = self._field(after, name)
            old, new = (
                words(_common(one, name) if name in _COMMON else one.fields.get(name, ""), known)
                for one in (before, after)
            )
            if old != new:
                found.append(f"{self.title(after, name) or name} was {old or 'not given'}, now {new or 'not given'}")
        return found

    def codes(self, version: Version, name: str) -> list[str]:
        """Return the codes that a field names, one by one."""
        return _codes(_common(version, name) if name in _COMMON else version.fields.get(name, ""))

    def _followed(self, version: Version, first: str, rest: Sequence[str]) -> tuple[str, ...]:
        """Return the fields of the things named, the fields of what those name, and so on, to the last of the path."""
        asked = (self.field(version, first), first, *rest)
        if asked not in self._paths:
            written = _common(version, first) if first in _COMMON else version.fields.get(first)
            whole = self._rows(version.kind, first, written) if written is not None else None
            start = _assumed_codes(version, first) if whole is None else [whole]
            self._paths[asked] = self._follow(start, rest)
        return self._paths[asked]

    def _follow(self, start: Sequence[Written], path: Sequence[str]) -> tuple[str, ...]:
        found = list(start)
        for name in path:
            rows = [row for one in found for row in (one if isinstance(one, list) else [one]) if isinstance(row, dict)]
            inside = [row[name] for row in rows if name in row]
            makers = [self._maker(code) for code in _all_codes(one for one in found if not _has_rows(one))]
            found = [*inside, *(self._rows(kind, name, said[name]) for kind, said in makers if name in said)]
        return tuple(dict.fromkeys(words(one) for one in found))

    def _rows(self, kind: str, name: str, written: Written) -> Written:
        """Return a field's rows as mappings, also where they were written in the short form; all else as it is."""
        field = self.kinds[kind].fields.get(name) if kind else None
        if field is None or field.form != "rows":
            return written
        try:
            return [*row_mappings(written, field)]
        except NotUnderstood:
            return written

    def maker(self, code: str) -> Mapping[str, Written]:
        """Return the fields of the entry that made or named a thing, none when nothing in force did."""
        return self._maker(code)[1]

    def _maker(self, code: str) -> tuple[str, Mapping[str, Written]]:
        """Return the kind (empty: there is none) and the fields of the entry that made or named a thing."""
        key = fold(code)
        if key not in self._makers:
            thing = find_thing(self.connection, code)
            made = makers(self.connection, [thing.id]).get(thing.id) if thing else None
            said: dict[str, Written] = {**made.fields, "at": made.at, "by": list(made.by)} if made else {}
            if made and made.place:
                said["place"] = made.place
            self._makers[key] = made.kind if made else "", said
        return self._makers[key]


def words(value: Written, field: Field | None = None) -> str:
    """Return what was written in one line of words: the members of a list with commas, rows with semicolons.

    The parts of a row stand in the order in which `field` has them, all but the first after their names.
    """
    if isinstance(value, str):
        return value
    if isinstance(value, list):
        return ("; " if any(isinstance(one, dict) for one in value) else ", ").join(words(one, field) for one in value)
    names = [name for name in (field.fields if field else value) if name in value]
    parts = [f"{name.replace('_', ' ')} {words(value[name])}" for name in names[1:]]
    return ", ".join([*(words(value[name]) for name in names[:1]), *parts])


def no_time(version: Version) -> bool:
    """Return whether only a date, or a span of dates, was given."""
    when = read_when(version.at, zone(version.zone))
    return when.precision == "date" or (when.precision == "span" and ":" not in version.at)


def _common(version: Version, name: str) -> Written:
    if name == "at":
        return version.at
    if name == "by":
        return list(version.by)
    return version.place or "" if name == "place" else [file.name for file in version.files]


def _assumed(version: Version, name: str) -> str:
    """Return what was taken to be used in silence, said so."""
    codes = list(map(str, _assumed_codes(version, name)))
    return f"{', '.join(dict.fromkeys(codes))} (assumed)" if codes else ""


def _assumed_codes(version: Version, name: str) -> list[Written]:
    return [use.code for use in version.uses if use.field == name and use.assumed]


def _has_rows(written: Written) -> bool:
    return isinstance(written, dict) or (isinstance(written, list) and any(isinstance(one, dict) for one in written))


def _codes(written: Written) -> list[str]:
    """Return the codes in a field; words that are no codes give none."""
    try:
        return [code for one in (written if isinstance(written, list) else [written]) for code in expand(str(one))]
    except NotUnderstood:
        return []


def _all_codes(written: Iterable[Written]) -> list[str]:
    return list(dict.fromkeys(code for one in written for code in _codes(one)))
