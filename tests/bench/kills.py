"""Kills programs at random moments and counts what came of it: `python -m tests.bench.kills [DEED...]`.

The deeds are the commands `load`, `restore` and `backup`, `copied` (a backup copied by hand over the ledger of a
program that was killed after it recorded one to a thousand entries) and `replaced` (a backup moved to the ledger's name
during a load). Every second kill waits until the deed is in its middle: until the -wal grows, the plan of the restore
is written, or the copy is begun. A line is printed for each deed. What is BAD must not be.

    python -m tests.bench.kills restore --times 50 --seed 2
"""

import argparse
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from lotwalk.book import Book
from lotwalk.errors import LedgerError
from lotwalk.ledger.keep.backup import back_up
from lotwalk.ledger.verify.entries import verify

SOURCE = Path(__file__).parents[2] / "trace"
FARM = {"name": "Tarn End", "location": "Tarn Lane", "timezone": "Europe/London"}
BEFORE, MORE, BATCH = 1_500, 200, 3_000
"""Entries in the backup, those recorded since, and those of the sheet that is loaded."""

BAD = "BAD: "


@dataclass(frozen=True, slots=True)
class Farm:
    """A folder with a ledger, a backup of it from before it was last written to, and a sheet to load."""

    folder: Path

    @property
    def ledger(self) -> Path:
        return self.folder / "farm.db"

    @property
    def backup(self) -> Path:
        return self.folder / "farm.bak"

    def copy(self, folder: Path) -> "Farm":
        shutil.copytree(self.folder, folder)
        return Farm(folder)

    def run(self, *arguments: str) -> subprocess.Popen[bytes]:
        return subprocess.Popen(
            [sys.executable, "-m", "lotwalk", "--ledger", "farm.db", *arguments],
            cwd=self.folder,
            env={**os.environ, "PYTHONPATH": str(SOURCE)},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )


def made(folder: Path) -> Farm:
    folder.mkdir()
    farm = Farm(folder)
    book = Book.start(str(farm.ledger), **FARM)
    book.record("person", at="2026-03-01", by="TO", code="TO", name="Tess Orr")
    book.record_all(list(_people("A", BEFORE - 2)))
    back_up(book.ledger, farm.backup)
    book.record_all(list(_people("B", MORE)))
    book.ledger.engine.dispose()
    rows = "".join(f"- {{kind: person, at: 2026-03-01, by: TO, code: C-{one}, name: P}}\n" for one in range(BATCH))
    (folder / "sheet.yaml").write_text(f"entries:\n{rows}", "utf-8")
    return farm


def _people(letter: str, many: int) -> list[dict[str, str]]:
    fixed = {"kind": "person", "at": "2026-03-01", "by": "TO", "name": "P"}
    return [{**fixed, "code": f"{letter}-{one}"} for one in range(many)]


def entries(path: Path) -> int | str:
    """How many entries a ledger has in which nothing is wrong; else what is told."""
    try:
        book = Book.open(str(path))
        with book.ledger.reading() as connection:
            found = verify(connection, book.ledger.kinds)
        book.ledger.engine.dispose()
    except LedgerError as error:
        return str(error)
    return found.entries if found.ok else f"not whole: {found.why}"


def after_load(farm: Farm) -> str:
    found = entries(farm.ledger)
    if found == BEFORE + MORE:
        return "nothing of it"
    return "all of it" if found == BEFORE + MORE + BATCH else f"{BAD}{found}"


def after_restore(farm: Farm) -> str:
    found = entries(farm.ledger)
    old = list(farm.folder.glob("farm-set-aside-*.db"))
    if found == BEFORE + MORE and not old:
        return "the old ledger"
    if found == BEFORE and len(old) == 1 and entries(old[0]) == BEFORE + MORE:
        return "the backup, and the old one set aside"
    return f"{BAD}{found}, set aside: {[entries(one) for one in old]}"


def after_backup(farm: Farm) -> str:
    copy = farm.folder / "new.bak"
    if not copy.exists():
        again = farm.run("backup", "new.bak").wait()
        return "no file of that name" if not again and entries(copy) == BEFORE + MORE else f"{BAD}and no other one"
    found = entries(copy)
    return "a whole copy" if found == BEFORE + MORE else f"{BAD}{found}"


RECORD = """
import os, signal, sys
from lotwalk.book import Book
book = Book.open("farm.db")
fixed = {"kind": "person", "at": "2026-03-01", "by": "TO", "name": "P"}
book.record_all([{**fixed, "code": f"C-{number}"} for number in range(int(sys.argv[1]))])
os.kill(os.getpid(), signal.SIGKILL)
"""


def copied(farm: Farm, draw: random.Random) -> str:
    many = int(1_000 ** draw.random())
    environment = {**os.environ, "PYTHONPATH": str(SOURCE)}
    subprocess.run([sys.executable, "-c", RECORD, str(many)], cwd=farm.folder, env=environment, check=False)
    shutil.copy(farm.backup, farm.ledger)
    kept = farm.ledger.read_bytes()
    found = entries(farm.ledger)
    if isinstance(found, int):
        return {
            BEFORE: "the backup alone",
            BEFORE + MORE + many: "the whole ledger",
        }.get(found, f"{BAD}{found}")
    if "restore BACKUP" not in found or farm.ledger.read_bytes() != kept:
        return f"{BAD}{found}"
    done = farm.run("restore", "farm.bak", "--yes").wait()
    return "refused untouched, then restored" if not done and entries(farm.ledger) == BEFORE else f"{BAD}not restored"


@dataclass(frozen=True, slots=True)
class Deed:
    """A command, what shows that it is in its middle, and what is found when it was killed."""

    arguments: tuple[str, ...]
    middle: Callable[[Farm], bool]
    found: Callable[[Farm], str]


def _grows(farm: Farm) -> bool:
    path = farm.folder / "farm.db-wal"
    return path.exists() and path.stat().st_size > 4_096


DEEDS = {
    "load": Deed(("load", "sheet.yaml"), _grows, after_load),
    "restore": Deed(
        ("restore", "farm.bak", "--yes"),
        lambda farm: (farm.folder / "farm.db-restoring/plan.json").exists(),
        after_restore,
    ),
    "backup": Deed(("backup", "new.bak"), lambda farm: any(farm.folder.glob(".lotwalk-*")), after_backup),
}


def killed(deed: Deed, farm: Farm, seconds: float, number: int, draw: random.Random) -> None:
    process = farm.run(*deed.arguments)
    if number % 2:
        while process.poll() is None and not deed.middle(farm):
            time.sleep(0.0002)
        # The middle of a restore is over in a few milliseconds.
        time.sleep(draw.random() * (0.01 if deed is DEEDS["restore"] else seconds / 4))
    else:
        time.sleep(draw.random() * seconds)
    process.send_signal(signal.SIGKILL)
    process.wait()


def replaced(farm: Farm, seconds: float, draw: random.Random) -> str:
    before = farm.folder / "before.db"
    os.link(farm.ledger, before)
    kept = farm.backup.read_bytes()
    process = farm.run("load", "sheet.yaml")
    time.sleep(draw.random() * seconds)
    farm.backup.rename(farm.ledger)
    status = process.wait()
    untouched = farm.ledger.read_bytes() == kept
    found = entries(farm.ledger)
    if status == 2 and found == BEFORE:
        return "told, and the copy as it was put there"
    if status == 0 and found == BEFORE + BATCH:
        return "loaded into the copy, which was there before it began"
    if status == 0 and found == BEFORE and entries(before) == BEFORE + MORE + BATCH:
        return "put there when the load had ended"
    if status == 0 and untouched and "restore BACKUP" in str(found):
        return "put there between the end of the load and of its program: refused untouched"
    return f"{BAD}status {status}, {found}"


NAMES = [*DEEDS, "copied", "replaced"]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("deeds", nargs="*", choices=[[], *NAMES])
    parser.add_argument("--times", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    draw = random.Random(options.seed)
    with tempfile.TemporaryDirectory() as name:
        farm = made(Path(name) / "farm")
        for deed in options.deeds or NAMES:
            outcomes = _outcomes(deed, farm, Path(name), options.times, draw)
            told = "; ".join(f"{count} {what}" for what, count in sorted(outcomes.items()))
            print(f"{deed}: {options.times} kills: {told}", flush=True)


def _outcomes(name: str, farm: Farm, folder: Path, times: int, draw: random.Random) -> Counter[str]:
    deed = DEEDS.get(name, DEEDS["load"])
    trial = farm.copy(folder / "trial")
    start = time.perf_counter()
    trial.run(*deed.arguments).wait()
    seconds = time.perf_counter() - start
    shutil.rmtree(trial.folder)
    outcomes: Counter[str] = Counter()
    for number in range(times):
        trial = farm.copy(folder / "trial")
        if name == "replaced":
            outcomes[replaced(trial, seconds, draw)] += 1
        elif name == "copied":
            outcomes[copied(trial, draw)] += 1
        else:
            killed(deed, trial, seconds, number, draw)
            outcomes[deed.found(trial)] += 1
        shutil.rmtree(trial.folder)
    return outcomes


if __name__ == "__main__":
    main()
