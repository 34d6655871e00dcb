"""What a walk starts from, as a caller reads it out: a code, or what a package or a paper says."""

from collections.abc import Mapping, Sequence

import click
from sqlalchemy import Connection

from lotwalk.cli.output import shown
from lotwalk.errors import NotUnderstood
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import ThingRow, Version
from lotwalk.ledger.read.search import read_out
from lotwalk.ledger.read.things import find_thing
from lotwalk.values.codes import expand
from lotwalk.values.gs1 import scanned_lot
from lotwalk.values.roles import MAKES

_MOST = 8

_Match = tuple[str, Version, str]
"""A code, the entry that made it, and the field that says the words."""


def sought(connection: Connection, words: str, kinds: Kinds) -> ThingRow:
    """Return the thing of this code, or the one thing made by the one entry that says the words; then say so on stderr.

    What a scanner reads off a label's GS1 code is looked for by the lot in it.

    Raises NotUnderstood when there is none, and with all of them when there are several.
    """
    thing = find_thing(connection, words)
    if thing is not None:
        return thing
    scanned = scanned_lot(words)
    if scanned:
        return sought(connection, scanned, kinds)
    found = read_out(connection, words) if words.strip() else []
    # A field that says just this counts before one that has it somewhere inside.
    exactly = [(version, field) for version, field in found if _says(version.fields, words.strip().casefold())]
    matches = [(code, version, field) for version, field in exactly or found for code in _made(version)]
    if not matches:
        raise NotUnderstood(f"{words} is not in the book", "a code, or what a package or a paper says")
    if len({code for code, _, _ in matches}) > 1 and (shared := _shared(connection, matches, kinds)):
        came = ", ".join(dict.fromkeys(code for code, _, _ in matches))
        what = kinds.things[shared.kind].title.lower()
        click.echo(shown(f"{words} is no code. It is read as {shared.code}, the {what} that came as {came}."), err=True)
        return shared
    if len({code for code, _, _ in matches}) > 1:
        told = "; ".join(f"{code} ({_told(version, field, kinds)})" for code, version, field in matches[:_MOST])
        more = f"; and {len(matches) - _MOST} more" if len(matches) > _MOST else ""
        raise NotUnderstood(f"{words} is no code, and it is said of several things", f"one of them: {told}{more}")
    code, version, field = matches[0]
    only = find_thing(connection, code)
    assert only is not None, "a stored use names a stored thing"
    click.echo(shown(f"{words} is no code. It is read as {code}: {_told(version, field, kinds)}."), err=True)
    return only


def all_sought(connection: Connection, words: str, kinds: Kinds) -> list[ThingRow]:
    """Return the things of a list or a range of codes, such as `Q-1,Q-2` or `P-1..P-9`; else the one of these words.

    Raises NotUnderstood as `sought` does, and for a code of such a list that is not in the book.
    """
    if find_thing(connection, words) is None:
        try:
            codes = expand(words)
        except NotUnderstood:
            codes = []
        if len(codes) > 1 and any(find_thing(connection, code) for code in codes):
            return [sought(connection, code, kinds) for code in codes]
    return [sought(connection, words, kinds)]


def _shared(connection: Connection, matches: Sequence[_Match], kinds: Kinds) -> ThingRow | None:
    """The one thing for which several entries stand together, such as a supplier's lot that came twice."""
    codes: set[str | None] = set()
    for _, version, field in matches:
        shared = kinds[version.kind].shared
        named = shared is not None and field == shared.by[-1]
        codes.add(next((use.code for use in version.uses if named and use.field == field), None))
    (only, *others) = codes
    return find_thing(connection, only) if only and not others else None


def _made(version: Version) -> list[str]:
    """The codes that an entry made or registered."""
    return [use.code for use in version.uses if use.role in MAKES]


def _told(version: Version, field: str, kinds: Kinds) -> str:
    kind = kinds[version.kind]
    name = kind.fields[field].title.lower() if field in kind.fields else field.replace("_", " ")
    return f"{name} of {kind.title.lower()} {version.name}, {version.at}"


def _says(value: object, words: str) -> bool:
    """Whether a field, or a field of a row, says the words and nothing else."""
    if isinstance(value, Mapping):
        return any(_says(inner, words) for inner in value.values())
    if isinstance(value, list):
        return any(_says(inner, words) for inner in value)
    return isinstance(value, str) and value.strip().casefold() == words
