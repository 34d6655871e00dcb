"""Writes deeds into a real ledger file, as the front door would, many times as fast.

Nothing is looked up, resolved or judged: a deed says all that the ledger understands of it. What is stored is what the
ledger stores, hashes and log included, so that `lotwalk verify` passes, save that a verdict names no evidence.
"""

import sqlite3
from collections.abc import Iterable, Iterator
from hashlib import sha256
from itertools import islice
from pathlib import Path

from tests.bench.deeds import Deed, Used

from lotwalk.book import Book
from lotwalk.judge import NUMBER
from lotwalk.ledger.record import FORM, PLAIN, alike_text
from lotwalk.ledger.verdict import Verdict
from lotwalk.store import tables
from lotwalk.values.codes import fold
from lotwalk.values.merkle import Peaks, leaf_hash
from lotwalk.values.roles import Role

_RECORDED_AFTER = 1_800
_MINUTE = 60
_CHUNK = 20_000


def started(path: Path) -> Book:
    """Begin a ledger for a made-up grower."""
    clock = lambda: 900_000_000  # noqa: E731
    return Book.start(str(path), name="Bench", location="Nowhere", timezone="UTC", measures="metric", clock=clock)


def write(path: Path, deeds: Iterable[Deed]) -> None:
    """Begin a ledger at a path and store the deeds in it, in their order."""
    book = started(path)
    with book.ledger.reading() as connection:
        rules = book.ledger.settings(connection).rules_digest
    rows = Rows(book, rules)
    indexes = [index for table in (tables.use, tables.entry) for index in table.indexes]
    with book.ledger.engine.begin() as connection:
        for index in indexes:
            index.drop(connection)
    book.ledger.engine.dispose()
    _insert(path, rows, iter(deeds))
    # A file that is searched is indexed once it is full, which is faster and gives the same indexes.
    with book.ledger.engine.begin() as connection:
        connection.exec_driver_sql("PRAGMA cache_size = -400000")
        for index in indexes:
            index.create(connection)
    with book.ledger.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    book.ledger.engine.dispose()


def _insert(path: Path, rows: "Rows", deeds: Iterator[Deed]) -> None:
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA journal_mode = OFF")
    connection.execute("PRAGMA synchronous = OFF")
    while some := list(islice(deeds, _CHUNK)):
        for table, found in rows.of(some).items():
            marks = ", ".join("?" * len(found[0]))
            connection.executemany(f"INSERT INTO {table} VALUES ({marks})", found)
        connection.commit()
    connection.execute("PRAGMA journal_mode = WAL")
    connection.close()


class Rows:
    """Makes the rows of `thing`, `entry` and `use` for one deed after another, in the order of their columns."""

    def __init__(self, book: Book, rules: str) -> None:
        self._rules = rules
        self._kinds = book.ledger.kinds.things
        self._keys: dict[str, int] = {}
        with book.ledger.reading() as connection:
            size, peaks = connection.exec_driver_sql("SELECT seq, peaks FROM entry ORDER BY seq DESC LIMIT 1").one()
        self._peaks = Peaks.from_bytes(size, peaks)

    def of(self, deeds: Iterable[Deed]) -> dict[str, list[tuple[object, ...]]]:
        """Return the rows of these deeds by table; a table comes after those that it refers to."""
        out: dict[str, list[tuple[object, ...]]] = {"thing": [], "entry": [], "use": []}
        for deed in deeds:
            seq = self._peaks.size + 1
            uses = [*deed.uses, Used("by", deed.by, "by")]
            out["thing"] += [self._thing(use) for use in uses if use.code not in self._keys]
            out["entry"].append(self._entry(seq, deed, uses))
            out["use"] += sorted(self._use(seq, deed, use) for use in uses)
        return {table: rows for table, rows in out.items() if rows}

    def _thing(self, use: Used) -> tuple[object, ...]:
        assert use.kind, f"{use.code} is named before it is made"
        kind = self._kinds[use.kind]
        key = self._keys[use.code] = len(self._keys) + 1
        wide = int(kind.farm_wide or use.type in kind.farm_wide_types)
        name = (key, use.code, fold(use.code), use.kind, kind.cls, use.type or None)
        return *name, int(kind.bought), wide, int(kind.counted), int(kind.bath)

    def _entry(self, seq: int, deed: Deed, uses: list[Used]) -> tuple[object, ...]:
        record = {
            "form": FORM,
            "seq": seq,
            "kind": deed.kind,
            "at": deed.written_at,
            "from": deed.at,
            "to": deed.at + _MINUTE - 1,
            "zone": "UTC",
            "measures": "metric",
            "rules": self._rules,
            "recorded": deed.at + _RECORDED_AFTER,
            "typed_by": "",
            "by": [deed.by],
            "fields": deed.fields,
            "read": deed.read,
            "uses": [_use_json(use) for use in uses],
            "silent": list(deed.silent),
            "salt": sha256(str(seq).encode()).hexdigest()[:32],
        }
        if deed.passed is not None:
            record["verdict"] = Verdict(deed.passed, (), (), (), judge=NUMBER).json()
        text = PLAIN.encode(record)
        digest = leaf_hash(text.encode())
        self._peaks = self._peaks.append(digest)
        times = (deed.at, deed.at + _MINUTE - 1, deed.at + _RECORDED_AFTER)
        told = (NUMBER if deed.passed is not None else 0, " ".join(deed.silent), alike_text(record), text)
        log = (digest, self._peaks.root(), self._peaks.to_bytes())
        return seq, seq, None, 0, deed.kind, *times, None, 0, *told, *log

    def _use(self, seq: int, deed: Deed, use: Used) -> tuple[object, ...]:
        key = self._keys[use.code]
        role = Role.named(use.role).of("water-source" if deed.kind == "water-test" else "item")
        return 2 * seq, int(role), key, deed.at, deed.at + _MINUTE - 1, 0, 0, use.amount, use.unit, 0


def _use_json(use: Used) -> dict[str, str]:
    out = {"role": use.role, "code": use.code, "field": use.field}
    if use.amount is not None:
        out |= {"amount": use.amount, "unit": use.unit or ""}
    if use.kind is not None:
        out |= {"kind": use.kind, "type": use.type}
    return out
