"""Makes the old ledger of this folder anew: `python -m tests.old.make FOLDER`, with the program of the README's commit.

A later program makes another ledger of the same sheets: that is the point of keeping the old one.
"""

import contextlib
import io
import json
import os
import shutil
import sqlite3
import sys
import tempfile
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any

from lotwalk.book import Book
from lotwalk.cli.main import main
from lotwalk.ledger.model import Receipt
from lotwalk.sheets.reader import read_sheet

HERE = Path(__file__).resolve().parent
FARM = {"name": "Quillbrook Greens", "location": "Quill Lane, Overbrook", "timezone": "Europe/London"}
QUESTIONS = (
    ("trace", "D-1", "--back"),
    ("trace", "D-4", "--back"),
    ("trace", "S-PEA-1", "--forward"),
    ("trace", "M-11", "--forward"),
    ("trace", "SOL-2", "--forward"),
    ("trace", "KNIFE", "--forward", "--from", "2026-03-04", "--until", "2026-03-09 07:30"),
    ("trace", "WELL", "--forward", "--from", "2026-03-10", "--until", "2026-03-12"),
    ("trace", "M-05", "--forward", "--distrust", "sanitising"),
    ("recall", "C-1"),
    ("recall", "C-1", "C-2"),
    ("balance", "H-1", "H-2", "H-3", "P-1", "P-2", "P-3"),
)


class Quillbrook:
    """The farm's book, with a clock that stands where it is put, and salts that follow from an entry's number."""

    def __init__(self, path: Path) -> None:
        self.now = 0.0
        self.heads: list[str] = []
        self.typed("2026-02-27 09:00")
        kinds = (HERE / "kinds",)
        self.book = Book.start(
            str(path), **FARM, measures="metric", rules="us", kinds=kinds, clock=lambda: self.now, salts=[_salt(1)]
        )

    def typed(self, at: str) -> None:
        """Put the clock. The farm's winter time is that of Greenwich."""
        self.now = datetime.strptime(at, "%Y-%m-%d %H:%M").replace(tzinfo=UTC).timestamp()

    def load(self, name: str) -> None:
        self._salt()
        self.book.load(Path(name), typed_by="Iris")

    def load_named(self, name: str, stored: str) -> None:
        """Load a sheet as a machine does that has another way to write folders."""
        self._salt()
        self.book.load(read_sheet(Path(name).read_text("utf-8"), stored), typed_by="Iris")

    def record(self, kind: str, at: str, by: str, **fields: Any) -> Receipt:
        self._salt()
        return self.book.record(kind, at=at, by=by, **fields)

    def amend(self, number: int, by: str, because: str, **changes: str) -> None:
        self._salt()
        self.book.amend(number, changes, because=because, by=[by])

    def void(self, number: int, by: str, because: str) -> None:
        self._salt()
        self.book.void(number, because=because, by=[by])

    def number(self, kind: str, at: str) -> int:
        """The one entry of that kind and time, by the number of its first version."""
        sql = "SELECT DISTINCT first FROM entry WHERE kind = ? AND json_extract(record, '$.at') = ?"
        return self._one(sql, kind, at)

    def maker(self, code: str) -> int:
        """The one entry that made a lot."""
        sql = (
            "SELECT DISTINCT e.first FROM entry e JOIN use u ON (u.node >> 1) = e.seq AND u.role = 6"
            " JOIN thing t ON t.id = u.thing WHERE t.code = ?"
        )
        return self._one(sql, code)

    def _one(self, sql: str, *values: str) -> int:
        with self.book.ledger.reading() as connection:
            (found,) = connection.exec_driver_sql(sql, values).scalars().all()
        return int(found)

    def note_head(self) -> None:
        """Keep the head as `lotwalk verify` prints it."""
        with self.book.ledger.reading() as connection:
            head = self.book.ledger.head(connection)
        self.heads.append(f"{head.size}:{head.root.hex()}")

    def _salt(self) -> None:
        with self.book.ledger.reading() as connection:
            size = self.book.ledger.head(connection).size
        self.book.ledger.salts = [_salt(number) for number in range(size + 1, size + 100)]


def _salt(number: int) -> bytes:
    return sha256(f"Quillbrook {number}".encode()).digest()[:16]


def live(farm: Quillbrook) -> None:
    """Three weeks on the farm, typed as they were typed."""
    farm.typed("2026-02-27 10:00")
    farm.load("register.yaml")
    farm.load("papers/2026/stores.yaml")
    farm.typed("2026-03-08 18:00")
    farm.load("papers/2026/week-1.yaml")
    farm.note_head()
    farm.typed("2026-03-09 19:30")
    farm.load("papers/2026/week-2.yaml")
    _water_fails_and_somebody_complains(farm)
    farm.note_head()
    _water_is_mended_and_papers_are_found(farm)
    _corrections(farm)
    farm.typed("2026-03-17 18:00")
    farm.load_named("papers/2026/week-3.yaml", "papers\\2026\\week-3.yaml")
    _other_measures(farm)
    farm.note_head()


def _water_fails_and_somebody_complains(farm: Quillbrook) -> None:
    farm.typed("2026-03-10 18:00")
    farm.record("fitness", "2026-03-10 07:30", "IP", person="MW", state="excluded")
    farm.typed("2026-03-11 10:00")
    test = {"source": "WELL", "lab": "LAB", "report": "L-317", "reported": "2026-03-11", "e_coli": "4 MPN/100 mL"}
    farm.record("water-test", "2026-03-10 08:00", "IP", **test)
    farm.typed("2026-03-11 18:00")
    farm.record("growing-check", "2026-03-11 07:30", "JD", place="GROW", batches="T-1", water="WELL")
    farm.record("growing-check", "2026-03-11 17:30", "JD", place="GROW", batches="T-1", seen="first leaves")
    farm.typed("2026-03-12 10:05")
    complaint = {"customer": "CAFE", "type": "illness", "deliveries": "D-1", "number_ill": "2"}
    farm.record("complaint", "2026-03-12 10:00", "IP", code="C-1", **complaint, description="two guests ill at night")
    farm.record(
        "recall-contact", "2026-03-12 10:30", "IP", complaint="C-1", customer="CAFE", reached="yes", found="90 g"
    )
    farm.record("hold", "2026-03-12 10:45", "IP", lots="P-1, P-2, H-2, S-RAD-1", reason="recall from C-1")


def _water_is_mended_and_papers_are_found(farm: Quillbrook) -> None:
    farm.typed("2026-03-12 17:00")
    farm.record(
        "corrective-action",
        "2026-03-12 16:30",
        "IP",
        about=f"E{farm.number('water-test', '2026-03-10 08:00')}",
        cause="the cap of the well was cracked",
        action="new cap, the well shocked and flushed",
        closed="2026-03-12",
    )
    farm.typed("2026-03-12 18:00")
    farm.record("farm", "2026-03-12 18:00", "IP", **FARM, measures="metric", rules="rules/lane.yaml")
    farm.typed("2026-03-13 12:00")
    farm.record("water-test", "2026-03-13 08:00", "IP", source="WELL", lab="LAB", e_coli="<1 MPN/100 mL")
    farm.typed("2026-03-13 18:00")
    farm.load("papers/2026/found/late.yaml")


def _corrections(farm: Quillbrook) -> None:
    farm.typed("2026-03-14 08:00")
    farm.record("fitness", "2026-03-14 07:30", "IP", person="MW", state="back")
    sent = {"place": "PACK", "code": "D-3", "items": "P-2 1 packs"}
    farm.record("delivery", "2026-03-13 15:00", "JD", customer="DELI", **sent)
    farm.void(farm.maker("D-3"), "JD", "it went to the café")
    farm.record("delivery", "2026-03-13 15:00", "JD", customer="CAFE", **sent)
    farm.void(farm.number("growing-check", "2026-03-11 17:30"), "JD", "another day's")
    farm.amend(farm.maker("P-2"), "MW", "counted again", packs="12", trim="50 g")
    farm.amend(farm.maker("D-2"), "JD", "the clock in the van", at="2026-03-09 15:10")
    farm.amend(farm.number("sanitising", "2026-03-07 08:30"), "JD", "it was earlier", at="2026-03-07 08:10")
    farm.amend(farm.maker("CAN-1"), "IP", "misread the can", type="sanitiser")


def _other_measures(farm: Quillbrook) -> None:
    farm.typed("2026-03-18 09:00")
    farm.record("farm", "2026-03-18 09:00", "IP", **FARM, measures="us", rules="us")
    farm.typed("2026-03-18 16:00")
    mixed = {"place": "WASH", "lot": "SOL-7", "product": "CL-X", "water": "MAINS", "volume": "2 gal"}
    farm.record("solution", "2026-03-18 14:00", "JD", **mixed, reading="120 ppm")
    dip = {"place": "WASH", "items": "M-10", "solution": "SOL-7", "reading": "118 ppm", "temperature": "75 degF"}
    farm.record("sanitising", "2026-03-18 14:30", "JD", **dip, ph="7.6", contact="1 min", washed="yes")
    farm.amend(
        farm.number("sanitising", "2026-03-04 09:00"), "JD", "held the strip to the light again", reading="58 ppm"
    )
    farm.typed("2026-03-19 11:00")
    about = {"product": "PEA-50", "from": "2026-03-08", "until": "2026-03-12", "description": "one ill, no label left"}
    farm.record("complaint", "2026-03-19 10:40", "IP", code="C-2", customer="SHOP", type="illness", **about)
    farm.record("recall-contact", "2026-03-19 11:00", "IP", complaint="C-2", customer="SHOP", reached="no")
    farm.record("release", "2026-03-19 11:00", "IP", lots="S-RAD-1", reason="none of it was in what they got")


def answers(path: Path) -> dict[str, Any]:
    """What the program answers, and every verdict that the book holds, version by version."""
    with contextlib.closing(sqlite3.connect(path)) as connection:
        sql = "SELECT DISTINCT kind FROM entry WHERE judged = 1 ORDER BY kind"
        judged = [row[0] for row in connection.execute(sql)]
    logs = [ask(path, "log", kind, "--all-versions") for kind in judged]
    return {
        "answers": [{"asked": list(words), "answer": ask(path, *words)} for words in QUESTIONS],
        "verdicts": [
            {"entry": one["entry"], "version": one["number"]}
            | {name: one["verdict"][name] for name in ("passed", "failed")}
            for log in logs
            for one in log["entries"]
            if one["verdict"]
        ],
    }


def ask(path: Path, *words: str) -> Any:
    """What the command answers, as JSON."""
    with contextlib.redirect_stdout(io.StringIO()) as out:
        main(["--ledger", str(path), "--kinds", str(HERE / "kinds"), *words, "--format", "json"])
    return json.loads(out.getvalue())


def make(folder: Path) -> None:
    """Make the ledger in one file, its heads, and what was answered."""
    path = folder / "book-form-1.sqlite3"
    for left in folder.glob(f"{path.name}*"):
        left.unlink()
    os.chdir(HERE)  # so that the sheets are named as from the farm's own folder
    farm = Quillbrook(path)
    live(farm)
    farm.book.ledger.engine.dispose()
    with contextlib.closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        connection.execute("PRAGMA journal_mode = DELETE")
        connection.execute("PRAGMA page_size = 1024")
        connection.execute("VACUUM")
    with tempfile.TemporaryDirectory() as elsewhere:
        # Asking leaves files beside a ledger.
        told = answers(Path(shutil.copy(path, elsewhere)))
    (folder / "head.txt").write_text("".join(f"{head}\n" for head in farm.heads), "utf-8")
    (folder / "answers.json").write_text(json.dumps(told, ensure_ascii=False, indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    make(Path(sys.argv[1]).resolve() if len(sys.argv) > 1 else HERE)
