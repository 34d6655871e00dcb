"""What people read out from a label or a paper, looked for in what entries say."""

import json
from collections.abc import Collection, Iterator, Mapping, Sequence

from sqlalchemy import Connection, text

from lotwalk.ledger.model import ThingRow, Version
from lotwalk.ledger.read.things import things_holding
from lotwalk.ledger.record import parse
from lotwalk.store.sql import in_force, texts
from lotwalk.values.codes import fold

_MOST_MATCHES = 50
_MOST_LOOKED_AT = 500

ReadOut = Mapping[str, Collection[str]]
"""The fields that a caller may read out, by the kind of record."""


def told(words: str) -> str:
    """Return words as they are compared: without spaces, however they are cased."""
    return fold("".join(words.split()))


def read_out(connection: Connection, words: str) -> Sequence[tuple[Version, str]]:
    """Return entries in force of which a field holds these words anywhere, the newest first, each with the field."""
    where = "lower(e.record) LIKE lower(:words) ESCAPE '!'"
    found: list[tuple[Version, str]] = []
    for version in _versions(connection, where, f"%{_pattern(words)}%", limit=_MOST_LOOKED_AT):
        if fields := list(_fields_holding(version.fields, words.casefold())):
            found.append((version, fields[0]))
        if len(found) == _MOST_MATCHES:
            break
    return found


def tokens(connection: Connection, fields: ReadOut, words: str) -> list[tuple[Version, str]]:
    """Return the entries in force that say these words, spaces apart, and nothing else in a field that is read out.

    All of them, the newest first, each with the field: of a part of them nobody could say that it is the only one.
    """
    asked = told(words)
    return [
        (version, name)
        for version in _saying(connection, fields, f'%:"{_pattern(asked)}"%')
        if asked
        for name, value in _texts(version.fields)
        if name in fields[version.kind] and told(value) == asked
    ]


def parts(connection: Connection, fields: ReadOut, words: str) -> list[tuple[Version, str]]:
    """Return entries in force that have these words, spaces apart, inside of a field that is read out, with the field.

    The newest first, and no more than can be looked through.
    """
    asked = told(words)
    return [
        (version, name)
        for version in _saying(connection, fields, f"%{_pattern(asked)}%", limit=_MOST_LOOKED_AT)
        if asked
        for name, value in _texts(version.fields)
        if name in fields[version.kind] and asked in told(value)
    ]


def codes_with(connection: Connection, words: str) -> list[ThingRow]:
    """Return things with these words, spaces apart, inside of their codes, the newest first; not more than fifty."""
    asked = told(words)
    return things_holding(connection, _escaped(asked), _MOST_MATCHES) if asked else []


def _saying(connection: Connection, fields: ReadOut, pattern: str, limit: int | None = None) -> Iterator[Version]:
    where = f"e.kind IN {texts(sorted(fields))} AND lower(replace(e.record, ' ', '')) LIKE lower(:words) ESCAPE '!'"
    return _versions(connection, where, pattern, limit=limit)


def _versions(connection: Connection, where: str, pattern: str, *, limit: int | None) -> Iterator[Version]:
    """The entries in force for which a condition on a pattern holds, the newest first."""
    most = "" if limit is None else f" LIMIT {limit}"
    rows = connection.execute(
        text(
            f"SELECT e.record, e.digest FROM entry e WHERE {where} AND e.void = 0 AND {in_force()}"
            f" ORDER BY e.at_from DESC, e.seq DESC{most}"
        ),
        {"words": pattern},
    )
    return (parse(*row) for row in rows)


def _pattern(words: str) -> str:
    """The words as they stand in a record, for LIKE.

    SQLite folds the case of ASCII letters alone: any one letter will do here in place of others, and what was found is
    looked at again.
    """
    inside = _escaped(json.dumps(words, ensure_ascii=False)[1:-1])
    return "".join(letter if letter.isascii() else "_" for letter in inside)


def _escaped(words: str) -> str:
    for wild in "!%_":
        words = words.replace(wild, f"!{wild}")
    return words


def _fields_holding(value: object, words: str) -> Iterator[str]:
    return (name for name, inner in _texts(value) if words in inner.casefold())


def _texts(value: object, name: str = "") -> Iterator[tuple[str, str]]:
    """Every text among the fields of an entry and of its rows, with the name of its own field."""
    if isinstance(value, str):
        yield name, value
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            yield from _texts(inner, str(key))
    elif isinstance(value, list):
        for inner in value:
            yield from _texts(inner, name)
