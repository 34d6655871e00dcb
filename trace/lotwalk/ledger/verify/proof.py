"""Proofs that entries stand in the log, for somebody who has no ledger: RFC 9162, section 2.1, over stored peaks.

Each entry keeps the peaks of the log up to it, so the root of any part of the log follows from two neighbouring rows
(`values/merkle.py`). A proof of one entry among n reads some 2 log2(n) rows; the log is not read through.
"""

from collections.abc import Callable, Collection
from dataclasses import dataclass

from sqlalchemy import Connection, text

from lotwalk.errors import Damaged, NotUnderstood
from lotwalk.ledger.model import Head, Version
from lotwalk.ledger.read.things import find_things
from lotwalk.ledger.read.uses import versions_using
from lotwalk.ledger.record import parse
from lotwalk.store.sql import in_force, select_keys
from lotwalk.values.codes import entry_number, fold
from lotwalk.values.merkle import (
    Part,
    Peaks,
    consistency_parts,
    inclusion_parts,
    root_of_part,
    verify_consistency,
    verify_inclusion,
)
from lotwalk.values.roles import Role

IN_FORCE, REPLACED, VOID = "in force", "replaced", "void"

Opens = Callable[[Version, str], bool]
"""Whether a version's text may be handed over: asked with the version, and with its text as it was hashed."""


@dataclass(frozen=True, slots=True)
class Proved:
    """One version of an entry in the log: the entry's name (`E12`), the leaf (from 0) and its hash, and the path up.

    `record` is the text that was hashed, None where it stays closed. `state` is IN_FORCE, REPLACED by a later version,
    or VOID.
    """

    entry: str
    leaf: int
    state: str
    record: str | None
    digest: bytes
    path: tuple[bytes, ...]


@dataclass(frozen=True, slots=True)
class Proof:
    """Versions in the log of this head, by leaf; `consistency` shows that the log of the head `older` is its start."""

    head: Head
    entries: tuple[Proved, ...]
    older: Head | None
    consistency: tuple[bytes, ...]

    @property
    def closed(self) -> int:
        """How many versions stand in it with their place and hash alone."""
        return sum(one.record is None for one in self.entries)

    def json(self) -> dict[str, object]:
        """Return it as JSON values; hashes are hexadecimal."""
        older = self.older
        return {
            "tree": {"size": self.head.size, "root": self.head.root.hex()},
            "against": older
            and {"size": older.size, "root": older.root.hex(), "path": [one.hex() for one in self.consistency]},
            "counts": {"with_text": len(self.entries) - self.closed, "closed": self.closed},
            "entries": [
                {
                    "entry": one.entry,
                    "leaf": one.leaf,
                    "state": one.state,
                    "record": one.record,
                    "leaf_hash": one.digest.hex(),
                    "path": [step.hex() for step in one.path],
                }
                for one in self.entries
            ],
        }


def asked_for(connection: Connection, asked: Collection[str]) -> set[int]:
    """Return the numbers of the entries asked for: by name (`E12`), or those of which any version names a code.

    So what an amendment took off a thing is among them. Raises NotUnderstood for a code that is not in the book.
    """
    numbers = {number for words in asked if (number := entry_number(words)) is not None}
    codes = [words for words in asked if entry_number(words) is None]
    things = find_things(connection, codes)
    if missing := [code for code in codes if fold(code) not in things]:
        raise NotUnderstood(f"{missing[0]} is not in the book", "a code, or an entry such as E1")
    found = versions_using(connection, {thing.id for thing in things.values()}, tuple(Role), past=True)
    return numbers | {version.number for _, _, version in found}


def prove(
    connection: Connection,
    head: Head,
    entries: Collection[int],
    *,
    older: Head | None = None,
    opens: Opens | None = None,
) -> Proof:
    """Return the proof of every version of these entries (their numbers), against the log's head.

    `opens` says whose text may be in it; all, if nothing is said. Raises NotUnderstood for an entry that is not in the
    book, and Damaged where `older` is no head of this log or where a proof does not come out.
    """
    rows = _versions(connection, entries)
    parts = {seq: inclusion_parts(seq - 1, head.size) for seq, *_ in rows}
    _check_older(connection, head, older)
    along = consistency_parts(older.size, head.size) if older else []
    roots = _roots(connection, {part for listed in (*parts.values(), along) for part in listed})
    live = _live(connection, [seq for seq, *_ in rows])
    proved = []
    for seq, record, digest in rows:
        version = parse(record, digest)
        opened = record if opens is None or opens(version, record) else None
        path = tuple(roots[part] for part in parts[seq])
        if not verify_inclusion(digest, seq - 1, head.size, path, head.root):
            raise _broken(version.name)
        state = REPLACED if seq not in live else VOID if version.void else IN_FORCE
        proved.append(Proved(version.name, seq - 1, state, opened, digest, path))
    steps = tuple(roots[part] for part in along)
    if older and not verify_consistency(older.size, head.size, older.root, head.root, steps):
        raise _broken(f"the log of {older.size} entries")
    return Proof(head, tuple(proved), older, steps)


def _versions(connection: Connection, entries: Collection[int]) -> list[tuple[int, str, bytes]]:
    """Every version of these entries, as (number, text, digest), by number."""
    sql = "SELECT e.first, e.seq, e.record, e.digest FROM {listed} JOIN entry e ON e.first = j.value"
    rows = select_keys(connection, sql, set(entries))
    if missing := sorted(set(entries) - {row[0] for row in rows}):
        raise NotUnderstood(f"there is no entry E{missing[0]}", "an entry that is in the book, such as E1")
    return sorted((seq, record, bytes(digest)) for _, seq, record, digest in rows)


def _live(connection: Connection, seqs: Collection[int]) -> set[int]:
    """Those of these versions that nothing amends."""
    sql = f"SELECT e.seq FROM {{listed}} JOIN entry e ON e.seq = j.value WHERE {in_force()}"
    return {row[0] for row in select_keys(connection, sql, seqs)}


def _roots(connection: Connection, parts: Collection[Part]) -> dict[Part, bytes]:
    """The root of each part, from the row of its last leaf and the row before that."""
    ends = {high for _, high in parts}
    sql = "SELECT e.seq, e.digest, e.peaks FROM {listed} JOIN entry e ON e.seq = j.value"
    rows = {seq: stored for seq, *stored in select_keys(connection, sql, ends | {end - 1 for end in ends})}
    before = {end: Peaks.from_bytes(end - 1, bytes(rows[end - 1][1])) if end > 1 else Peaks() for end in ends}
    return {part: root_of_part(part, before[part[1]], bytes(rows[part[1]][0])) for part in parts}


def _check_older(connection: Connection, head: Head, older: Head | None) -> None:
    """Raise Damaged where a head known from elsewhere is none that this log ever had."""
    if older is None:
        return
    if older.size > head.size:
        raise Damaged(
            f"The head given has {older.size} entries and this log has {head.size}: {older.size - head.size} at the end"
            " are missing, or the head is another book's. Nothing is proved. Look for a newer copy of the book"
        )
    sql = text("SELECT e.root FROM entry e WHERE e.seq = :size")
    if bytes(connection.execute(sql, {"size": older.size}).scalar_one()) != older.root:
        raise Damaged(
            f"The head given is none of this log: its first {older.size} entries have another root. Nothing is proved."
            " Hold the head against the paper that it was read from; `lotwalk verify` says how far the log is whole"
        )


def _broken(what: str) -> Damaged:
    return Damaged(f"{what} cannot be proved: the log does not follow from its entries. Run `lotwalk verify`")
