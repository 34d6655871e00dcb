"""Which clean breaks a person does not believe: one entry, all that relied on a lot, all of a kind, or all."""

from collections.abc import Iterable

from sqlalchemy import Connection, text

from lotwalk.errors import NotUnderstood
from lotwalk.ledger.names import select_listed
from lotwalk.ledger.read import find_thing
from lotwalk.store.tables import in_roles
from lotwalk.values.codes import entry_number
from lotwalk.walk.model import Doubt

_LIVE = "NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.seq)"


def doubt(connection: Connection, distrusted: Iterable[str]) -> Doubt:
    """Return the doubt that these words stand for: `E12`, a lot's code, a kind of record, or `all`.

    A lot is relied on through any number of steps: a supplies lot stands for the solutions made of it, a solution
    for the entries that took it. Raises NotUnderstood for a word that is none of these.
    """
    seqs: set[int] = set()
    for word in distrusted:
        if word.casefold() == "all":
            return Doubt(all=True)
        seqs |= _entries(connection, word)
    return Doubt(frozenset(seqs))


def _entries(connection: Connection, word: str) -> set[int]:
    number = entry_number(word)
    if number is not None:
        row = connection.execute(
            text(f"SELECT e.seq FROM entry e WHERE e.first = :number AND {_LIVE}"), {"number": number}
        ).first()
        if row is None:
            raise NotUnderstood(f"there is no entry {word}", "an entry such as E12")
        return {row[0]}
    thing = find_thing(connection, word)
    if thing is not None and thing.cls == "lot":
        return _relying(connection, thing.id)
    if thing is not None:
        raise NotUnderstood(f"{thing.code} is a {thing.kind}", "an entry (E12), a lot, a kind of record, or all")
    rows = connection.execute(
        text(f"SELECT e.seq FROM entry e WHERE e.kind = :kind AND e.judged = 1 AND {_LIVE}"), {"kind": word}
    ).all()
    if not rows:
        raise NotUnderstood(f"{word} is not in the book", "an entry (E12), a lot, a kind of record that clears, or all")
    return {row[0] for row in rows}


def _relying(connection: Connection, lot: int) -> set[int]:
    """The entries that clear something and took the lot, or what was made of it."""
    sql = (
        f"SELECT DISTINCT e.seq, m.thing FROM {{listed}} JOIN use u ON u.thing = j.value AND {in_roles('u', 1)}"
        " JOIN entry e ON e.seq = (u.node >> 1) LEFT JOIN use m ON m.node = u.node AND m.role = 6 WHERE " + _LIVE
    )
    lots, fresh, seqs = {lot}, {lot}, set[int]()
    while fresh:
        rows = select_listed(connection, sql, sorted(fresh), "bigint")
        seqs |= {row[0] for row in rows}
        fresh = {row[1] for row in rows if row[1] is not None} - lots
        lots |= fresh
    judged = f"SELECT e.seq FROM {{listed}} JOIN entry e ON e.seq = j.value WHERE e.judged = 1 AND {_LIVE}"
    return {row[0] for row in select_listed(connection, judged, sorted(seqs), "bigint")}
