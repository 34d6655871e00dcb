"""Ways in: what it takes to append, load, verify and start, each against the plainest way to do as much."""

import json
import sqlite3
import time
from collections.abc import Iterator, Sequence
from itertools import islice
from pathlib import Path
from zoneinfo import ZoneInfo

import yaml
from jsonschema import Draft202012Validator
from referencing import Registry, Resource
from referencing.jsonschema import DRAFT202012
from tests.bench.deeds import Deed
from tests.bench.shape import SIZES, all_deeds
from tests.bench.timing import Row, by_turns, compared, once, processes
from tests.bench.writer import Rows, started

from lotwalk import data
from lotwalk.book import Book
from lotwalk.kinds.check import check
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Setting
from lotwalk.ledger.verify.entries import verify
from lotwalk.ledger.write import append
from lotwalk.sheets.reader import read_sheet
from lotwalk.values.canonical import canonical
from lotwalk.values.merkle import Peaks, leaf_hash
from lotwalk.values.units import Units

_ENTRIES = 10_000


def _some_deeds() -> list[Deed]:
    return list(islice(all_deeds(SIZES["S"]), _ENTRIES))


class _Places:
    """Fresh files in a folder, one after another."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._number = 0

    def fresh(self) -> Path:
        self._number += 1
        path = self._folder / f"door-{self._number}.db"
        for left in self._folder.glob(f"{path.name}*"):
            left.unlink()
        return path


def checking() -> Iterator[Row]:
    """A full entry read and checked by its kind, against the same file in another validator of JSON Schema."""
    kinds = Kinds.load()
    setting = Setting(Units.load("metric"), ZoneInfo("UTC"))
    text = (Path(__file__).parents[1] / "kinds" / "entries.yaml").read_text("utf-8")
    (entry,) = (one for one in yaml.load(text, Loader=yaml.BaseLoader) if one["kind"] == "sanitising")
    entry |= {"at": "2026-03-02 09:10", "by": "TO"}

    def schema(name: str) -> Resource:
        content = yaml.safe_load((data.folder("schemas") / name).read_text("utf-8"))
        return Resource.from_contents(content, default_specification=DRAFT202012)

    registry = Registry().with_resource("common.yaml", schema("common.yaml"))
    validator = Draft202012Validator(schema("sanitising.yaml").contents, registry=registry)
    thousand = range(1000)

    def ours() -> None:
        for _ in thousand:
            check(kinds["sanitising"], entry, setting, kinds)

    def theirs() -> None:
        assert all(validator.is_valid(entry) for _ in thousand)

    best = by_turns({"ours": ours, "theirs": theirs})
    yield compared("1,000 full entries checked by their kind / by jsonschema", best["ours"], best["theirs"], 1)


def bulk(folder: Path) -> Iterator[Row]:
    """Ten thousand entries in one transaction, from Python values, and from a sheet's text."""
    deeds = _some_deeds()
    places = _Places(folder)
    written = [deed.written() for deed in deeds]
    text = yaml.safe_dump(written, sort_keys=False, width=1000)
    stored: list[float] = []

    def plainly() -> float:
        path = places.fresh()
        book = started(path)
        with book.ledger.reading() as connection:
            rows = Rows(book, book.ledger.settings(connection).rules_digest).of(deeds)
        book.ledger.engine.dispose()
        return once(lambda: _execute_many(path, rows))

    def whole() -> float:
        book = started(places.fresh())
        with _storing_timed(stored):
            return once(lambda: book.record_all(written))

    def sheet() -> float:
        book = started(places.fresh())
        return once(lambda: book.load(read_sheet(text, "bench.yaml")))

    runs = [(plainly(), whole(), sheet(), once(lambda: yaml.safe_load(text))) for _ in range(2)]
    plain, python, from_text, safe = (min(times) for times in zip(*runs, strict=True))
    some = f"{_ENTRIES:,} entries"
    yield compared(
        f"{some}: hashed, put on the log and stored / executemany of ready rows", min(stored), plain, 2.5, 1.6
    )
    yield compared(f"{some}: Python values to committed / the same", python, plain)
    yield compared(f"{some}: a sheet's text to committed / the same", from_text, plain)
    yield compared(f"{some}: a sheet's text to committed / `yaml.safe_load` of it", from_text, safe, 1, 0.5)


class _storing_timed:
    """Notes the seconds that the ledger takes to hash and store a batch."""

    def __init__(self, seconds: list[float]) -> None:
        self._seconds = seconds
        self._store = append.Batch._store

    def __enter__(self) -> None:
        store = self._store

        def timed(batch: append.Batch, *arguments: object) -> None:
            self._seconds.append(once(lambda: store(batch, *arguments)))

        append.Batch._store = timed

    def __exit__(self, *_: object) -> None:
        append.Batch._store = self._store


def _execute_many(path: Path, rows: dict[str, list[tuple[object, ...]]]) -> None:
    connection = _durable(path)
    connection.execute("BEGIN IMMEDIATE")
    for table, found in rows.items():
        connection.executemany(f"INSERT INTO {table} VALUES ({', '.join('?' * len(found[0]))})", found)
    connection.execute("COMMIT")
    connection.close()


def _durable(path: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    return connection


def single(folder: Path) -> Iterator[Row]:
    """One entry at a time, each safe on the disk before the next."""
    deeds = [deed for deed in _some_deeds() if deed.kind == "delivery"][:50]
    before = _some_deeds()
    places = _Places(folder)
    book = started(places.fresh())
    book.record_all([deed.written() for deed in before])
    path = places.fresh()
    other = started(path)
    with other.ledger.reading() as connection:
        rows = Rows(other, other.ledger.settings(connection).rules_digest)
    _execute_many(path, rows.of(before))
    plain = _durable(path)
    entries = iter(range(1, 1 << 30))

    def again(deed: Deed) -> Deed:
        """The same delivery under another code: a day later, so that it is not alike."""
        code = f"X{next(entries)}"
        uses = [use._replace(code=code) if use.role == "made" else use for use in deed.uses]
        return Deed(deed.kind, deed.at + 86_400, deed.by, deed.fields | {"code": code}, uses, deed.read)

    def ours() -> None:
        for one in map(again, deeds):
            book.record_all([one.written()])

    def theirs() -> None:
        for one in map(again, deeds):
            plain.execute("BEGIN IMMEDIATE")
            for table, found in rows.of([one]).items():
                plain.executemany(f"INSERT INTO {table} VALUES ({', '.join('?' * len(found[0]))})", found)
            plain.execute("COMMIT")

    best = by_turns({"ours": ours, "theirs": theirs}, 5, time.perf_counter)
    count = len(deeds)
    what = "One durable entry through the interface / plain sqlite3 with the same hashing"
    yield compared(what, best["ours"] / count, best["theirs"] / count, 3, 2)


def verifying(path: Path) -> Iterator[Row]:
    """All cross-checks, against making every record canonical again and hashing it onto the log."""
    book = Book.open(str(path))

    def ours() -> None:
        with book.ledger.reading() as connection:
            assert verify(connection, book.ledger.kinds).ok

    best = by_turns({"ours": ours, "theirs": lambda: _hash_again(path)}, 3)
    yield compared("Verify / making canonical and hashing alone", best["ours"], best["theirs"], 2, 1.3)


def _hash_again(path: Path) -> None:
    connection = sqlite3.connect(path)
    peaks = Peaks()
    for record, digest, root in connection.execute("SELECT record, digest, root FROM entry ORDER BY seq"):
        content = canonical(json.loads(record))
        hashed = leaf_hash(content)
        peaks = peaks.append(hashed)
        assert (content.decode(), hashed, peaks.root()) == (record, digest, root)
    connection.close()


def starting(folder: Path) -> Iterator[Row]:
    """Whole processes."""
    best = processes({"help": ["-m", "lotwalk", "--help"], "pass": ["-c", "pass"]}, 9)
    yield compared("`lotwalk --help` / `python -c pass`", best["help"], best["pass"], 6, 4)
    path = _Places(folder).fresh()
    started(path).record_all([deed.written() for deed in _some_deeds()[:200]])
    numbers = iter(range(1, 1 << 30))

    def recorded() -> Sequence[str]:
        told = f"--ledger {path} record customer --at 2026-05-01 --by W1 --code N{next(numbers)} --name New"
        return ["-m", "lotwalk", *told.split()]

    commands = [{"record": recorded(), "core": ["-c", "import sqlalchemy"]} for _ in range(7)]
    runs = [processes(one, 1) for one in commands]
    record, core = (min(run[name] for run in runs) for name in ("record", "core"))
    yield compared("`lotwalk record` of one entry / importing SQLAlchemy Core", record, core, 2, 1.5)
