"""Whether the ledger is what was recorded: every hash, every column and every use is derived again and compared.

An edit made behind the ledger's back is found and the first entry that is wrong is named. A cleanly cut tail leaves
no trace inside: it is found only against an older head, such as one on a printed page. The keys by which the database
joins its tables (of things, of sheets) mean nothing by themselves: what they join is compared.
"""

from collections.abc import Callable, Iterator
from contextlib import nullcontext
from dataclasses import dataclass, field
from itertools import groupby
from operator import itemgetter
from typing import Any

from sqlalchemy import Connection, text

from lotwalk.collector import uncollected
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import Head
from lotwalk.ledger.verify.stored_entry import ENTRY, USE, Row, Wrong, check_columns, check_uses, first_of, is_, read
from lotwalk.ledger.verify.tables import BATHS_SINCE, Rest
from lotwalk.store.damage import damage
from lotwalk.store.engine import HEAD, driver_errors, reason, streamed, version_of
from lotwalk.store.nodes import seq_of
from lotwalk.store.shape import differences
from lotwalk.values.merkle import Peaks, leaf_hash

_BATCH = 2_000


_ENTRIES = f"SELECT {ENTRY} FROM entry e LEFT JOIN sheet s ON s.id = e.sheet ORDER BY e.seq"
_USES = f"SELECT {USE} FROM use u LEFT JOIN thing t ON t.id = u.thing ORDER BY u.node"
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
        # Once PostgreSQL refused something it answers nothing more, save from a savepoint on.
        with nullcontext() if connection.dialect.name == "sqlite" else connection.begin_nested():
            check = _Check(connection, kinds)
            try:
                _derive_again(check, older)
            except Wrong as wrong:
                entry, why = wrong.entry, wrong.why
            finally:
                head = check.head()
    except driver_errors(connection.engine) as error:
        why = _stumbled_over(connection) or f"it cannot be read ({reason(error)})"
    return Verification(head.size if not why else _size(connection), head, not why, entry, why)


def check_entries(connection: Connection, kinds: Kinds) -> None:
    """Raise Wrong at the first entry, use or thing that is not what was recorded. Files and settings are left out.

    A thing of a kind that no kind file given here describes is passed over: its folder may be missing on a bad day.
    """
    check = _Check(connection, kinds)
    _derive_entries(check, None)
    check.rest.check_things(connection, kinds, known=True)


def _derive_entries(check: "_Check", older: Head | None) -> None:
    """Derive every entry again. Raises Wrong."""
    for row in _rows(check.connection):
        check.entry(row)
        if older and older.size == check.peaks.size and older.root != check.peaks.root():
            raise Wrong(check.name, "the log up to this entry is not the one whose head is given")
    check.uses.end()
    check.refs.end()
    if older and older.size > check.peaks.size:
        missing = older.size - check.peaks.size
        raise Wrong(None, f"{missing} entries at the end are missing: the head given has more")


def _derive_again(check: "_Check", older: Head | None) -> None:
    """Derive every entry again, and compare what else is stored. Raises Wrong."""
    _derive_entries(check, older)
    check.rest.check(check.connection, check.kinds)
    for one in differences(check.connection):
        raise Wrong(None, one.text)
    if found := damage(check.connection):
        raise Wrong(None, found.text)


def _stumbled_over(connection: Connection) -> str:
    """What is wrong with a database that refuses to be read, where that can be said."""
    try:
        for one in differences(connection):
            return one.text
        found = damage(connection)
    except driver_errors(connection.engine):
        return ""
    return found.text if found else ""


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
    return seq == after.size and is_(digest, leaf) and is_(root, after.root()) and is_(peaks, after.to_bytes())


def _rows(connection: Connection) -> Iterator[Row]:
    return map(Row.of, streamed(connection, _ENTRIES, _BATCH))


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

    def __post_init__(self) -> None:
        self.uses = _Beside(self.connection, _USES, seq_of, "uses")
        self.refs = _Beside(self.connection, _REFS, int, "references")
        self.rest = Rest()
        self.derives = (version_of(self.connection) or HEAD) >= BATHS_SINCE

    def head(self) -> Head:
        """The newest size and root that are as they should be."""
        return Head(self.peaks.size, self.peaks.root())

    def entry(self, row: Row) -> None:
        """Check one entry with all that hangs on it. Raises Wrong."""
        number = self.peaks.size + 1
        if row.told.seq < number:
            raise Wrong(None, f"an entry is numbered {row.told.seq}, which cannot be")
        if row.told.seq > number:
            raise Wrong(f"E{number}", f"entry number {number} is missing")
        self.name = f"E{row.told.first}"
        record, digest = read(row, self.name)
        peaks = self.peaks.append(digest)
        if not is_(row.root, peaks.root()) or not is_(row.peaks, peaks.to_bytes()):
            raise Wrong(self.name, "the log's root does not follow from the entries up to here")
        try:
            # The text is what was hashed, so by now it knows the name better than the column does.
            self.name = f"E{first_of(record)}"
            check_columns(row, record, self.name)
            self._check_uses(row, record)
            refs = {first for _, first in self.refs.take(number)}
            if refs != set(record.get("refs", [])):
                raise Wrong(self.name, "the entries that it names are not stored as they were recorded")
            self.rest.note(record, self.name, row.sheet_id)
        except (KeyError, TypeError, AttributeError):
            raise Wrong(self.name, "its text is not that of an entry") from None
        self.peaks = peaks

    def _check_uses(self, row: Row, record: dict[str, Any]) -> None:
        found = self.uses.take(row.told.seq)
        keys = {one[2]: one[10] for one in found}
        for use in record["uses"]:
            # What an entry brings in stands before what it clears.
            if "kind" in use and use["code"] in keys:
                self.rest.introduce(keys[use["code"]], use["code"], use["kind"], use["type"], self.name)

        def kind_of(code: str) -> str:
            return self.rest.kind_of(keys.get(code))

        check_uses(row, record, self.name, found, kind_of, self.kinds, derives=self.derives)
