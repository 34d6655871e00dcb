"""Whether the ledger is what was recorded: every hash, every column and every use is derived again and compared.

An edit made behind the ledger's back is found and the first entry that is wrong is named. A cleanly cut tail leaves
no trace inside: it is found only against an older head, such as one on a printed page. The keys by which the database
joins its tables (of things, of sheets) mean nothing by themselves: what they join is compared.
"""

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import groupby
from operator import itemgetter
from typing import Any, NamedTuple

from sqlalchemy import Connection, text

from lotwalk.collector import uncollected
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.derive import SHARING_SINCE, derived, shared
from lotwalk.ledger.model import Head
from lotwalk.ledger.record import PLAIN, alike_text
from lotwalk.ledger.use import Use
from lotwalk.ledger.verdict import FIRST_JUDGE, Verdict
from lotwalk.ledger.verify_rest import BATHS_SINCE, Rest, Wrong
from lotwalk.store.damage import damage
from lotwalk.store.engine import HEAD, driver_errors, in_plain_words, streamed, version_of
from lotwalk.store.nodes import parts_of, seq_of
from lotwalk.store.shape import differences
from lotwalk.values.canonical import canonical
from lotwalk.values.merkle import Peaks, leaf_hash
from lotwalk.values.roles import Role

_BATCH = 2_000
_TOOK = Role.TOOK.word


class _Told(NamedTuple):
    """The columns of an entry and of its sheet that its text tells."""

    seq: int
    first: int
    amends: int | None
    void: int
    kind: str
    at_from: int
    at_to: int
    recorded_at: int
    line: int
    judged: int
    silent: str
    alike: str
    sheet: str | None
    sheet_name: str | None
    in_order: int | None


class _Row(NamedTuple):
    """An entry as stored. After an edit behind the ledger's back a column may hold anything."""

    told: _Told
    record: Any
    digest: Any
    root: Any
    peaks: Any
    sheet_id: Any


_ENTRIES = (
    "SELECT e.seq, e.first, e.amends, e.void, e.kind, e.at_from, e.at_to, e.recorded_at, e.line, e.judged, e.silent,"
    " e.alike, s.digest, s.name, s.in_order, e.record, e.digest, e.root, e.peaks, e.sheet"
    " FROM entry e LEFT JOIN sheet s ON s.id = e.sheet ORDER BY e.seq"
)
_USES = (
    "SELECT u.node, u.role, t.code, u.at_from, u.at_to, u.grp, u.line, u.amount, u.unit, u.assumed, u.thing"
    " FROM use u LEFT JOIN thing t ON t.id = u.thing ORDER BY u.node"
)
_REFS = "SELECT r.seq, r.first FROM ref r ORDER BY r.seq"


@dataclass(frozen=True, slots=True)
class Verification:
    """The answer: how many entries, the head, and the first entry (`E12`) that is wrong, with the reason."""

    entries: int
    head: Head
    ok: bool
    first_bad: str | None
    why: str


@uncollected()
def verify(connection: Connection, kinds: Kinds, older: Head | None = None) -> Verification:
    """Derive the whole log again. `older` is a head known from elsewhere that the log must still contain.

    The tables and all indexes are looked through as well. Whatever makes a reader stumble is told like any other
    damage.
    """
    head, entry, why = Head(0, b""), None, ""
    try:
        check = _Check(connection, kinds)
        try:
            _derive_again(check, older)
        except Wrong as wrong:
            entry, why = wrong.entry, wrong.why
        finally:
            head = check.head()
    except driver_errors(connection.engine) as error:
        why = _stumbled_over(connection) or str(in_plain_words(connection.engine, error))
    return Verification(head.size if not why else _size(connection), head, not why, entry, why)


def _derive_again(check: "_Check", older: Head | None) -> None:
    """Derive every entry again, and compare what else is stored. Raises Wrong."""
    for row in _rows(check.connection):
        check.entry(row)
        if older and older.size == check.peaks.size and older.root != check.peaks.root():
            raise Wrong(check.name, "the log up to this entry is not the one whose head is given")
    check.uses.end()
    check.refs.end()
    if older and older.size > check.peaks.size:
        missing = older.size - check.peaks.size
        raise Wrong(None, f"{missing} entries at the end are missing: the head given has more")
    check.rest.check(check.connection, check.kinds)
    for one in differences(check.connection):
        raise Wrong(None, one.text)
    if found := damage(check.connection):
        raise Wrong(None, found.text)


def _stumbled_over(connection: Connection) -> str:
    """What is wrong with a database that refuses to be read, where that can be said."""
    try:
        told = [one.text for one in differences(connection)]
        found = damage(connection)
    except driver_errors(connection.engine):
        return ""
    return (told or ([found.text] if found else [""]))[0]


def _size(connection: Connection) -> int:
    try:
        return connection.execute(text("SELECT count(*) FROM entry")).scalar() or 0
    except driver_errors(connection.engine):
        return 0


def end_fits(connection: Connection) -> bool:
    """Return whether the newest entry is what was hashed and follows onto the log: a glance, and no `verify`.

    It costs the same for any ledger. An edit of an earlier entry is not seen.
    """
    sql = "SELECT e.seq, e.record, e.digest, e.root, e.peaks FROM entry e ORDER BY e.seq DESC LIMIT 2"
    rows = connection.execute(text(sql)).all()
    if not rows:
        return False
    seq, record, digest, root, peaks = rows[0]
    try:
        before = Peaks.from_bytes(rows[1][0], bytes(rows[1][4])) if rows[1:] else Peaks()
        leaf = leaf_hash(record.encode())
    except (ValueError, TypeError, AttributeError):
        return False
    after = before.append(leaf)
    return seq == after.size and _is(digest, leaf) and _is(root, after.root()) and _is(peaks, after.to_bytes())


def _rows(connection: Connection) -> Iterator[_Row]:
    told = len(_Told._fields)
    for row in streamed(connection, _ENTRIES, _BATCH):
        yield _Row(_Told._make(row[:told]), *row[told:])


class _Beside:
    """Rows of a table that stand beside the entries, read in step with them."""

    def __init__(self, connection: Connection, sql: str, entry: Callable[[int], int], what: str) -> None:
        self._groups = groupby(streamed(connection, sql, _BATCH), key=itemgetter(0))
        self._entry = entry
        self._what = what
        self._next()

    def take(self, seq: int) -> list[Any]:
        """Return the rows of one entry, which come in the order of the entries."""
        if self._seq != seq:
            self._none_before(seq)
            return []
        rows: list[Any] = []
        while self._left and self._seq == seq:
            # An entry's two parts stand one after the other.
            rows += self._held
            self._next()
        return rows

    def end(self) -> None:
        """Raise Wrong if rows are left."""
        self._none_before(None)

    def _next(self) -> None:
        group = next(self._groups, None)
        self._left = group is not None
        key = group[0] if group else None
        self._seq = self._entry(key) if isinstance(key, int) else None
        self._held = list(group[1]) if group else []

    def _none_before(self, seq: int | None) -> None:
        if self._left and (seq is None or self._seq is None or self._seq < seq):
            raise Wrong(None, f"{self._what} are stored for entry number {self._seq}, which there is not")


@dataclass(slots=True)
class _Check:
    """The entries so far. `rest` gathers what they say of the other tables."""

    connection: Connection
    kinds: Kinds
    peaks: Peaks = field(default_factory=Peaks)
    name: str = ""
    uses: _Beside = field(init=False)
    refs: _Beside = field(init=False)
    rest: Rest = field(init=False)
    derives: bool = field(init=False)
    """Whether the ledger has been brought up to date, so that what older records imply is stored too."""

    def _shared(self, record: Mapping[str, Any], keys: Mapping[str, Any]) -> list[Use]:
        """The uses by which an entry of an older form shares mixes."""

        def is_bath(code: str) -> bool:
            kind = self.kinds.things.get(self.rest.kind_of(keys.get(code)))
            return kind is not None and kind.bath

        if not any(use["role"] == _TOOK and is_bath(use["code"]) for use in record["uses"]):
            return []
        verdict = Verdict.read(record["verdict"]) if "verdict" in record else None
        return shared([Use.read(use) for use in record["uses"]], verdict, is_bath)

    def __post_init__(self) -> None:
        self.uses = _Beside(self.connection, _USES, seq_of, "uses")
        self.refs = _Beside(self.connection, _REFS, int, "references")
        self.rest = Rest()
        self.derives = (version_of(self.connection) or HEAD) >= BATHS_SINCE

    def head(self) -> Head:
        """The newest size and root that are as they should be."""
        return Head(self.peaks.size, self.peaks.root())

    def entry(self, row: _Row) -> None:
        """Check one entry with all that hangs on it. Raises Wrong."""
        number = self.peaks.size + 1
        if row.told.seq < number:
            raise Wrong(None, f"an entry is numbered {row.told.seq}, which cannot be")
        if row.told.seq > number:
            raise Wrong(f"E{number}", f"entry number {number} is missing")
        self.name = f"E{row.told.first}"
        record, digest = _read(row, self.name)
        peaks = self.peaks.append(digest)
        if not _is(row.root, peaks.root()) or not _is(row.peaks, peaks.to_bytes()):
            raise Wrong(self.name, "the log's root does not follow from the entries up to here")
        try:
            # The text is what was hashed, so by now it knows the name better than the column does.
            self.name = f"E{_first(record)}"
            _check_columns(row, record, self.name)
            self._check_uses(row, record)
            refs = {first for _, first in self.refs.take(number)}
            if refs != set(record.get("refs", [])):
                raise Wrong(self.name, "the entries that it names are not stored as they were recorded")
            self.rest.note(record, self.name, row.sheet_id)
        except (KeyError, TypeError, AttributeError):
            raise Wrong(self.name, "its text is not that of an entry") from None
        self.peaks = peaks

    def _check_uses(self, row: _Row, record: dict[str, Any]) -> None:
        found = self.uses.take(row.told.seq)
        group = row.sheet_id if row.told.in_order else 0
        same = (record["from"], record["to"], group, row.told.line)
        for one in found:
            if one[3:7] != same:
                raise Wrong(self.name, f"the stored time or line of its use of {one[2]} is not what was recorded")
        keys = {one[2]: one[10] for one in found}
        told = []
        named, cleared = Role.named, Role.CLEARED
        for use in record["uses"]:
            code = use["code"]
            # What an entry brings in stands before what it clears.
            if "kind" in use and code in keys:
                self.rest.introduce(keys[code], code, use["kind"], use["type"], self.name)
            role = named(use["role"])
            thing_class = self.rest.class_of(keys.get(code), self.kinds) if role is cleared else ""
            told.append((role, thing_class, use.get("part", 0), use))
        if self.derives and record.get("form", 1) < SHARING_SINCE:
            told += [(use.role, "", use.part, use.json()) for use in self._shared(record, keys)]
        nodes = dict(enumerate(parts_of(row.told.seq)))
        expected = {
            (
                nodes[part],
                role.stored,
                use["code"],
                use.get("amount") if measured else None,
                use.get("unit") if measured else None,
                int("assumed" in use),
            )
            for part, role, use, measured in derived(told)
        }
        stored = {(one[0], one[1], one[2], one[7], one[8], one[9]) for one in found}
        if stored != expected:
            odd = sorted({str(use[2]) for use in stored ^ expected})
            raise Wrong(self.name, f"its stored uses are not what was recorded: {', '.join(odd[:5])}")


def _read(row: _Row, name: str) -> tuple[dict[str, Any], bytes]:
    """Return what an entry's text says, and its digest."""
    try:
        record: dict[str, Any] = json.loads(row.record)
        same = PLAIN.encode(record) == row.record or canonical(record).decode() == row.record
    except (ValueError, TypeError):
        raise Wrong(name, "its text cannot be read") from None
    if not same:
        raise Wrong(name, "its text is not in the canonical form")
    digest = leaf_hash(row.record.encode())
    if not _is(row.digest, digest):
        raise Wrong(name, "its text is not what was hashed when it was recorded")
    return record, digest


def _is(stored: object, expected: bytes) -> bool:
    """Whether a column holds these bytes; after an edit it may hold anything."""
    return isinstance(stored, bytes | memoryview) and bytes(stored) == expected


def _first(record: Mapping[str, Any]) -> int:
    return int(record["amends"]["first"] if "amends" in record else record["seq"])


def _check_columns(row: _Row, record: dict[str, Any], name: str) -> None:
    amends = record.get("amends") or {}
    sheet = record.get("sheet") or {}
    expected = _Told(
        seq=record["seq"],
        first=_first(record),
        amends=amends.get("seq"),
        void=int(amends.get("void") == "yes"),
        kind=record["kind"],
        at_from=record["from"],
        at_to=record["to"],
        recorded_at=record["recorded"],
        line=sheet.get("line", 0),
        judged=record["verdict"].get("judge", FIRST_JUDGE) if "verdict" in record else 0,
        silent=" ".join(record["silent"]),
        alike=alike_text(record),
        sheet=sheet.get("digest"),
        sheet_name=sheet.get("name"),
        in_order=int(sheet["in_order"] == "yes") if sheet else None,
    )
    # One and True are equal, and no column holds the one for the other.
    if row.told != expected or list(map(type, row.told)) != list(map(type, expected)):
        for column, stored, value in zip(_Told._fields, row.told, expected, strict=True):
            if stored != value or type(stored) is not type(value):
                raise Wrong(name, f"the stored {column} is not what was recorded")
    if not sheet and row.sheet_id is not None:
        raise Wrong(name, "the stored sheet is not what was recorded")
