"""A small farm with one path from delivery to delivery, and ways to damage the book that it stands in.

T-1 grew on M-01 and was cut, packed and sent to the café (H-1, P-1, D-1). M-01 was sown again without a wash; T-2 went
the same way to the inn (H-2, P-2, D-2). So whatever was wrong with D-1 may have come to D-2 by the mat: a recall of D-1
names both deliveries.
"""

import sqlite3
from contextlib import closing
from pathlib import Path

import psycopg
from tests.ledger.farm import load, start

from lotwalk.book import Book

DELIVERIES = ["D-1", "D-2"]
"""What a recall of D-1 names."""

WEEK = """
    - {kind: customer, at: 2026-03-01, by: TO, code: INN, name: Old Inn}
    - {kind: sowing, at: 2026-03-02 09:00, by: TO, batch: T-1, seed: S-1 100 g, trays: 1, equipment: M-01, water: MAINS}
    - {kind: harvest, at: 2026-03-09 09:00, by: TO, lot: H-1, from: T-1 1 tray, amount: 1 kg, cut: above the medium}
    - {kind: packing, at: 2026-03-09 10:00, by: TO, lot: P-1, from: H-1 1 kg, packs: 20, product: PEA-50}
    - {kind: delivery, at: 2026-03-09 11:00, by: TO, code: D-1, customer: CAFE, items: P-1 20 packs}
    - {kind: sowing, at: 2026-03-10 09:00, by: TO, batch: T-2, seed: S-2 100 g, trays: 1, equipment: M-01, water: MAINS}
    - {kind: harvest, at: 2026-03-17 09:00, by: TO, lot: H-2, from: T-2 1 tray, amount: 1 kg, cut: above the medium}
    - {kind: packing, at: 2026-03-17 10:00, by: TO, lot: P-2, from: H-2 1 kg, packs: 20, product: PEA-50}
    - {kind: delivery, at: 2026-03-17 11:00, by: TO, code: D-2, customer: INN, items: P-2 20 packs}
"""


def farm(where: str) -> Book:
    """Begin the farm's book."""
    book = start(where)
    load(book, WEEK)
    return book


def hollow(where: str, index: str, thing: str) -> None:
    """Take the uses of a thing out of an index, so that neither tables nor words tell of it.

    In SQLite the index is made again without them, and its old words are put back; in PostgreSQL the rows are put in
    anew while the index is not kept.
    """
    if "://" in where:
        with psycopg.connect(where) as connection:
            (key,) = connection.execute("SELECT id FROM thing WHERE code = %s", (thing,)).fetchone()
            ready = "UPDATE pg_index SET indisready = %s WHERE indexrelid = %s::regclass"
            connection.execute(ready, (False, index))
            connection.commit()
            connection.execute("CREATE TEMP TABLE held AS SELECT * FROM use WHERE thing = %s", (key,))
            connection.execute("DELETE FROM use WHERE thing = %s", (key,))
            connection.execute("INSERT INTO use SELECT * FROM held")
            connection.commit()
            connection.execute(ready, (True, index))
        return
    with closing(sqlite3.connect(where)) as connection:
        (key,) = connection.execute("SELECT id FROM thing WHERE code = ?", (thing,)).fetchone()
        (words,) = connection.execute("SELECT sql FROM sqlite_master WHERE name = ?", (index,)).fetchone()
        connection.execute(f"DROP INDEX {index}")
        connection.execute(f"{words} AND thing NOT IN ({key})")
        connection.execute("PRAGMA writable_schema = ON")
        connection.execute("UPDATE sqlite_master SET sql = ? WHERE name = ?", (words, index))
        connection.commit()


def flip(path: Path, place: int, bit: int) -> None:
    """Turn one bit of a file over."""
    content = bytearray(path.read_bytes())
    content[place] ^= 1 << bit
    path.write_bytes(content)


def page_of(path: Path, name: str) -> tuple[int, int]:
    """The first byte of a table's or an index's root page, and the length of a page."""
    with closing(sqlite3.connect(path)) as connection:
        (size,) = connection.execute("PRAGMA page_size").fetchone()
        (root,) = connection.execute("SELECT rootpage FROM sqlite_master WHERE name = ?", (name,)).fetchone()
    return (root - 1) * size, size
