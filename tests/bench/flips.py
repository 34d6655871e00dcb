"""Turns over one bit of a book at a time and prints what came of it: `python -m tests.bench.flips [BOOK] [QUESTION]`.

Each flip is a copy of the book with one bit wrong, as an ageing card makes them, and a recall from it. What may come of
it: the same answer, since the bit is not read; or a refusal in words. What may not: another answer, and a traceback.
Without a BOOK the sample farm is flipped. The same --seed takes the same flips.

    python -m tests.bench.flips --count 1000
    python -m tests.bench.flips farm.db C-1 --in use use_in use_out use_clear thing entry --count 200
"""

import argparse
import json
import random
import shutil
import sqlite3
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from click.testing import CliRunner

from lotwalk.cli.main import main

SAME, REFUSED, OTHER, TRACEBACK = "the same answer", "refused", "ANOTHER ANSWER", "TRACEBACK"


@dataclass(frozen=True, slots=True)
class Flip:
    """Which bit was turned over, what the recall did, and whether `verify` saw it (None: not asked)."""

    place: int
    bit: int
    came: str
    seen: bool | None
    told: str = ""


class _Command:
    name = "lotwalk"

    def main(self, args: Sequence[str], prog_name: str, **extra: object) -> None:
        raise SystemExit(main(args))


def run(book: Path, *words: str) -> tuple[int, str, str]:
    """Run a command on a book in this process: its status, what it prints, and what it says or raises."""
    done = CliRunner().invoke(_Command(), ["--ledger", str(book), *words])  # type: ignore[arg-type]
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        return -1, "", f"{type(done.exception).__name__}: {done.exception}"
    return done.exit_code, done.stdout, done.stderr


def places(book: Path, names: Sequence[str]) -> list[tuple[int, int]]:
    """The first byte and the length of each page of the book; with names, of these tables and indexes alone."""
    with closing(sqlite3.connect(book)) as connection:
        (size,) = connection.execute("PRAGMA page_size").fetchone()
        if not names:
            (pages,) = connection.execute("PRAGMA page_count").fetchone()
            return [(page * size, size) for page in range(pages)]
        marks = ", ".join("?" * len(names))
        rows = connection.execute(f"SELECT pageno FROM dbstat WHERE name IN ({marks})", list(names)).fetchall()
    return [((page - 1) * size, size) for (page,) in rows]


def flips(
    book: Path, question: Sequence[str], count: int, seed: int, *, names: Sequence[str] = (), verify: bool = True
) -> Iterator[Flip]:
    """Yield what came of each of so many flips. `question` is the command and its words, which print JSON."""
    chance = random.Random(seed)
    pages = places(book, names)
    content = book.read_bytes()
    status, truth, said = run(book, *question)
    if status:
        raise SystemExit(f"the book gives no answer as it is: {said}")
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / book.name
        for _ in range(count):
            start, size = chance.choice(pages)
            place, bit = start + chance.randrange(size), chance.randrange(8)
            for old in Path(folder).iterdir():
                old.unlink()
            shutil.copyfile(book, copy)
            with copy.open("r+b") as file:
                file.seek(place)
                file.write(bytes([content[place] ^ 1 << bit]))
            status, answer, said = run(copy, *question)
            if status < 0:
                came = TRACEBACK
            elif status:
                came = REFUSED
            else:
                came = SAME if _told(answer) == _told(truth) else OTHER
            seen = None
            if verify:
                checked, _, more = run(copy, "verify")
                seen = checked != 0
                if checked < 0:
                    came, said = TRACEBACK, f"verify: {more}"
            yield Flip(place, bit, came, seen, said.strip()[:200])


def _told(answer: str) -> object:
    """An answer without its own word that the newest entry is not what was hashed: that is a warning."""
    told = json.loads(answer)
    told.pop("log_fits", None)
    return told


def main_flips() -> None:
    """Flip, and print how many came to what, with each that should not be."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("book", nargs="?", type=Path)
    parser.add_argument("question", nargs="?", default="Q-1")
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--in", nargs="*", default=(), dest="names", metavar="NAME", help="tables and indexes")
    parser.add_argument("--no-verify", action="store_true")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        book = options.book
        if book is None:
            book = Path(folder) / "sample.db"
            run(book, "demo", "--fresh")
        counts: Counter[tuple[str, bool | None]] = Counter()
        question = ("recall", options.question, "--format", "json")
        for one in flips(
            book, question, options.count, options.seed, names=options.names, verify=not options.no_verify
        ):
            counts[one.came, one.seen] += 1
            if one.came in (OTHER, TRACEBACK):
                print(
                    f"byte {one.place}, bit {one.bit}: {one.came}, verify sees it: {one.seen}. {one.told}", flush=True
                )
    for (came, seen), number in sorted(counts.items(), key=str):
        print(f"{number:6}  {came}{'' if seen is None else ', seen by verify' if seen else ', not seen by verify'}")


if __name__ == "__main__":
    main_flips()
