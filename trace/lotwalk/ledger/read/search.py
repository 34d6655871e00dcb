"""What people read out from a label or a paper, looked for in what entries say."""

import json
from collections.abc import Sequence

from sqlalchemy import Connection, text

from lotwalk.ledger.model import Version
from lotwalk.ledger.record import parse
from lotwalk.store.sql import in_force

_MOST_MATCHES = 50


def read_out(connection: Connection, words: str) -> Sequence[tuple[Version, str]]:
    """Return entries in force of which a field holds these words, with the field: what a label or a paper says.

    People read out a supplier's lot, a printed code, a best-before date or a document number.
    """
    # SQLite folds the case of ASCII letters alone: any one letter will do here in place of others, and what was found
    # is looked at below.
    inside = json.dumps(words, ensure_ascii=False)[1:-1]
    for wild in "!%_":
        inside = inside.replace(wild, f"!{wild}")
    inside = "".join(letter if letter.isascii() else "_" for letter in inside)
    rows = connection.execute(
        text(
            "SELECT e.record FROM entry e WHERE lower(e.record) LIKE lower(:words) ESCAPE '!' AND e.void = 0"
            f" AND {in_force()} ORDER BY e.at_from DESC, e.seq DESC LIMIT 500"
        ),
        {"words": f"%{inside}%"},
    )
    found: list[tuple[Version, str]] = []
    for row in rows:
        version = parse(row[0])
        field = _field_holding(version.fields, words.casefold())
        if field:
            found.append((version, field))
        if len(found) == _MOST_MATCHES:
            break
    return found


def _field_holding(value: object, words: str, name: str = "") -> str:
    if isinstance(value, str):
        return name if words in value.casefold() else ""
    inner = (
        value.items() if isinstance(value, dict) else ((name, one) for one in value) if isinstance(value, list) else ()
    )
    for key, one in inner:
        if field := _field_holding(one, words, str(key)):
            return field
    return ""
