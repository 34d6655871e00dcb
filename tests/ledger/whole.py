"""A small ledger with a row in every table and a use in every role, for edits behind its back."""

import json
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, select, text
from tests.ledger.farm import load, start

from lotwalk.book import Book
from lotwalk.store.tables import metadata

WEEK = """
    in_order: yes
    entries:
    - {kind: solution, at: 2026-03-02, by: TO, lot: SOL-1, product: BLEACH, amount: 20 mL, water: MAINS, volume: 10 L}
    - {kind: sowing, at: 2026-03-02, by: TO, batch: T-1, seed: S-1 200 g, trays: 2, equipment: "M-01, M-02"}
    - {kind: washing, at: 2026-03-02, by: TO, items: M-03..M-05, method: brushed, files: wash.pdf}
    - {kind: sanitising, at: 2026-03-02, by: TO, items: M-03..M-06, solution: SOL-1, reading: 110 ppm, contact: 2 min}
    - {kind: growing-check, at: 2026-03-03, by: TO, batches: T-1, place: SHED}
    - {kind: growing-check, at: 2026-03-03, by: AK, batches: T-1, water: MAINS}
    - {kind: water-test, at: 2026-03-04, by: TO, source: WELL, lab: LAB, e_coli: 4 MPN/100 mL}
    - {kind: corrective-action, at: 2026-03-05, by: TO, about: [E26, WELL], cause: a crack, action: mended,
       closed: 2026-03-05}
    - {kind: water-test, at: 2026-03-06, by: TO, source: WELL, lab: LAB, e_coli: <1 MPN/100 mL}
    - {kind: harvest, at: 2026-03-09, by: TO, lot: H-1, from: {batch: T-1, trays: M-01, finished: no}, amount: 1 kg,
       cut: with roots}
    - {kind: packing, at: 2026-03-09, by: TO, lot: P-1, from: H-1 500 g, packaging: BOXES, packs: 10, product: PEA-50}
    - {kind: delivery, at: 2026-03-09, by: TO, code: D-1, customer: CAFE, items: P-1 4 packs}
"""


def whole(where: str, folder: Path) -> Book:
    """Begin the ledger."""
    book = start(where)
    (folder / "wash.pdf").write_bytes(b"%PDF-1.4 a photograph of the sink")
    load(book, WEEK, "week.yaml", folder=folder)
    book.amend(23, {"reading": "115 ppm"}, because="misread the strip", by=["AK"])
    book.void(25, because="typed twice", by=["TO"])
    book.record(
        "farm", at="2026-03-10", name="Tarn End", location="New York", timezone="America/New_York", measures="us",
        rules="us",
    )  # fmt: skip
    load(book, "- {kind: washing, at: 2026-03-11, by: TO, items: M-06, method: brushed}\n", "later.yaml")
    book.amend(22, {"items": "M-03..M-06"}, because="M-06 was there too", by=["TO"])
    return book


Row = dict[str, Any]


class Truth:
    """All rows as they were recorded, and which entry each of them belongs to."""

    def __init__(self, connection: Connection) -> None:
        self.rows: dict[str, list[Row]] = {
            table.name: [dict(row) for row in connection.execute(select(table)).mappings()]
            for table in metadata.sorted_tables
        }
        self.rows["entry"].sort(key=lambda row: row["seq"])
        self.records = {row["seq"]: json.loads(row["record"]) for row in self.rows["entry"]}
        self.names = {row["seq"]: f"E{row['first']}" for row in self.rows["entry"]}

    def owner(self, table: str, row: Row, column: str) -> str:
        """The first entry that is wrong once this column of this row says something else."""
        return self.names[self._seq(table, row, column)] if column != "seq" or table != "entry" else f"E{row['seq']}"

    def _seq(self, table: str, row: Row, column: str) -> int:
        if table == "use":
            return int(row["node"] >> 1)
        if table == "sheet":
            return min(entry["seq"] for entry in self.rows["entry"] if entry["sheet"] == row["id"])
        if table == "attachment":
            return min(seq for seq, record in self.records.items() if row["digest"] in _files(record))
        if table == "thing":
            if column in ("id", "code"):
                return min(use["node"] >> 1 for use in self.rows["use"] if use["thing"] == row["id"])
            introducing = [
                seq
                for seq, record in self.records.items()
                if any(use["code"] == row["code"] and "kind" in use for use in record["uses"])
            ]
            return max(introducing)
        return int(row["seq"])


def _files(record: dict[str, Any]) -> set[str]:
    files = {file["digest"] for file in record.get("files", [])}
    return files | ({record["settings"]["rules_digest"]} if "settings" in record else set())


def unguarded(connection: Connection) -> None:
    """Let rows be changed as somebody does who means to: no foreign keys stand in the way."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("SET LOCAL session_replication_role = replica"))
    else:
        connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
