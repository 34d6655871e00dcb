"""Walks and recalls, against plain `sqlite3` and against networkx; that all give one answer is asserted each time."""

import json
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

from sqlalchemy import Connection
from tests.bench.graph import Graph, scope
from tests.bench.plain import EVER, Found, Plain, Window
from tests.bench.timing import Row, by_turns, compared, process

from lotwalk.book import Book
from lotwalk.recall.asking.asked import ask
from lotwalk.recall.model import Recall
from lotwalk.recall.recall import recall
from lotwalk.walk.model import BACK, FORWARD, Start, Walk
from lotwalk.walk.walk import walk

_SEED_LOT = "S1-30"


@contextmanager
def reading(path: Path) -> Iterator[tuple[Book, Connection]]:
    book = Book.open(str(path))
    with book.ledger.reading() as connection:
        yield book, connection
    book.ledger.engine.dispose()


def recalled(path: Path, code: str) -> Recall:
    """The recall of one complaint from a closed file."""
    with reading(path) as (book, connection):
        return recall(connection, ask(connection, [code]), book.ledger.kinds)


def complaint(path: Path) -> str:
    """The widest complaint of a farm: the newest."""
    rows = sqlite3.connect(path).execute("SELECT record FROM entry WHERE kind = 'complaint' ORDER BY seq DESC LIMIT 1")
    return str(json.loads(next(rows)[0])["fields"]["code"])


def delivery_of(path: Path, code: str) -> str:
    rows = sqlite3.connect(path).execute("SELECT record FROM entry WHERE kind = 'complaint'")
    found = [json.loads(row[0])["fields"] for row in rows]
    return str(next(fields["deliveries"] for fields in found if fields["code"] == code))


def walks(name: str, path: Path, graph: Graph | None) -> Iterator[Row]:
    """Three questions: back from a delivery, forward from a seed lot, and from all that is behind a delivery."""
    plain = Plain(path)
    asked = Window(plain.key(delivery_of(path, complaint(path))))
    behind = plain.back([asked]).windows
    questions: list[tuple[str, str, list[Window]]] = [
        ("back from a delivery", BACK, [asked]),
        ("forward from a seed lot", FORWARD, [Window(plain.key(_SEED_LOT))]),
        ("forward from all causes", FORWARD, [*behind, asked]),
    ]
    with reading(path) as (_, connection):
        for words, direction, windows in questions:
            starts = [Start(one.thing, (one.low, one.high)) for one in windows]
            answer = _asked(plain, direction, windows)
            assert _same(walk(connection, direction, starts), answer), f"{name}, {words}: plain sqlite3 differs"
            tasks: dict[str, Callable[[], object]] = {
                "ours": partial(walk, connection, direction, starts),
                "theirs": partial(_asked, plain, direction, windows),
            }
            if graph:
                assert _asked(graph, direction, windows) == answer, f"{name}, {words}: networkx differs"
                tasks["graph"] = partial(_asked, graph, direction, windows)
            best = by_turns(tasks)
            entries = f"{len(answer.entries):,} entries"
            yield compared(f"{name}: walk {words} ({entries}) / plain sqlite3", best["ours"], best["theirs"], 1.5, 1.2)
            if graph:
                yield compared(f"{name}: the same / networkx, its graph in memory already", best["ours"], best["graph"])
    plain.close()


def _asked(of: Plain | Graph, direction: str, windows: list[Window]) -> Found:
    return of.back(windows) if direction == BACK else of.forward(windows)


def _same(ours: Walk, theirs: Found) -> bool:
    spells = {
        (one.thing.id, -EVER if spell.start is None else spell.start, EVER if spell.end is None else spell.end)
        for one in ours.reached
        for spell in one.spells
    }
    theirs_too = {(one.thing, one.low, one.high) for one in theirs.windows}
    return (set(ours.entries), ours.codes()) == (theirs.entries, theirs.codes) and spells <= theirs_too


def against_networkx(name: str, path: Path) -> Iterator[Row]:
    """A recall from the closed file, against networkx reading the same file, building its graph and asking it."""
    code = complaint(path)
    delivery = delivery_of(path, code)
    found: list[Found] = []

    def theirs() -> None:
        graph, plain = Graph(path), Plain(path)
        found.append(scope(graph, plain.key(delivery)))

    best = by_turns({"theirs": theirs}, 1) | by_turns({"ours": lambda: recalled(path, code)}, 5)
    lots = {*recalled(path, code).lots}
    assert lots <= found[0].codes | _behind(path, delivery), f"{name}: networkx reached less"
    what = f"{name}: recall from the closed file / networkx, read, build and ask"
    yield compared(what, best["ours"], best["theirs"], 1 / 30, 1 / 60)
    runs = [process("-m", "lotwalk", "--ledger", str(path), "recall", code) for _ in range(3)]
    taken, waited = min(one.seconds for one in runs), min(one.waited for one in runs)
    what = f"{name}: `lotwalk recall`, process start to printed answer ({waited:.1f} s by the clock) / the same"
    yield compared(what, taken, best["theirs"])


def _behind(path: Path, delivery: str) -> frozenset[str]:
    plain = Plain(path)
    return plain.back([Window(plain.key(delivery))]).codes


def same_part(small: tuple[str, Path], large: tuple[str, Path], aim: float | None = None) -> Iterator[Row]:
    """The same complaint, with the same answer, in two ledgers of which one is many times as large."""
    answers = [recalled(path, "C-1") for _, path in (small, large)]
    first, second = (
        (one.lots, tuple(had.code for had in one.deliveries), tuple(cause.thing.code for cause in one.candidates))
        for one in answers
    )
    assert first == second, "the two ledgers give different answers"
    best = by_turns({name: partial(recalled, path, "C-1") for name, path in (small, large)})
    yield compared(f"The same recall in {large[0]} / in {small[0]}", best[large[0]], best[small[0]], 1.5, aim)


def analysed(name: str, path: Path, folder: Path) -> Iterator[Row]:
    """Before and after ANALYZE, which has made other queries many times slower."""
    copy = folder / f"{name}-analysed.db"
    shutil.copy(path, copy)
    with sqlite3.connect(copy) as connection:
        connection.execute("ANALYZE")
    code = complaint(path)
    best = by_turns({"after": lambda: recalled(copy, code), "before": lambda: recalled(path, code)})
    copy.unlink()
    yield compared(f"{name}: recall after ANALYZE / before", best["after"], best["before"], 1.2, 1.05)


_RECALL = """
import resource, sys
from pathlib import Path
from tests.bench import walks
walks.Book.open({path!r})
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
walks.recalled(Path({path!r}), {code!r})
print((resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024, file=sys.stderr)
"""
_NETWORKX = """
import resource, sys
from pathlib import Path
from tests.bench import graph, plain
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
graph.scope(graph.Graph(Path({path!r})), plain.Plain(Path({path!r})).key({delivery!r}))
print((resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024, file=sys.stderr)
"""


def memory(name: str, path: Path, *, networkx: bool) -> Iterator[Row]:
    """The most memory that a recall holds: of the whole process, and what it adds to a program with the book open."""
    code = complaint(path)
    whole = process("-m", "lotwalk", "--ledger", str(path), "recall", code).megabytes
    yield Row(f"{name}: memory of `lotwalk recall` / 200 MB", f"{whole:.0f} MB", "200 MB", whole / 200, 1)
    if networkx:
        added = float(process("-c", _RECALL.format(path=str(path), code=code)).printed.split()[-1])
        delivery = delivery_of(path, code)
        theirs = float(process("-c", _NETWORKX.format(path=str(path), delivery=delivery)).printed.split()[-1])
        what = f"{name}: memory added by the recall / by networkx"
        yield Row(what, f"{added:.0f} MB", f"{theirs:.0f} MB", added / theirs, 1 / 30, 1 / 60)
