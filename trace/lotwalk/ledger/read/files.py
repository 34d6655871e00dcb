"""The files that are attached to entries."""

from hashlib import sha256

from sqlalchemy import Connection, text

from lotwalk.ledger.model import Version
from lotwalk.ledger.record import parse
from lotwalk.store.sql import in_force, in_roles, seq_of
from lotwalk.values.roles import MAKES


def content(connection: Connection, digest: str) -> bytes | None:
    """Return the content of an attached file by its digest (SHA-256, hex); None where it is missing.

    Raises ValueError where it is not what was recorded.
    """
    found = connection.execute(
        text("SELECT content FROM attachment WHERE digest = :digest"), {"digest": digest}
    ).scalar()
    if found is None:
        return None
    if sha256(bytes(found)).hexdigest() != digest:
        raise ValueError("an attached file is not the one that was recorded")
    return bytes(found)


def with_files(connection: Connection, start: int, end: int) -> list[Version]:
    """Return the entries in force with files: those of a time (first and last second), and papers from before it."""
    papers = (
        f"e.seq IN (SELECT {seq_of()} FROM use u JOIN thing t ON t.id = u.thing"
        f" WHERE t.cls = 'paper' AND {in_roles('u', *MAKES)})"
    )
    sql = (
        f"SELECT e.record, e.digest FROM entry e WHERE e.void = 0 AND e.record LIKE '%\"files\":[%' AND {in_force()}"
        f" AND e.at_from <= :end AND (e.at_to >= :start OR {papers}) ORDER BY e.at_from, e.at_to, e.seq"
    )
    return [parse(*row) for row in connection.execute(text(sql), {"start": start, "end": end})]
