"""What a walk starts from, as a caller reads it out: a code, or what a package or a paper says.

A token is the whole value of a field that is printed or travels, spaces apart, or the whole code of a thing. What is
said so of one thing alone is that thing, and it is told. What is said of several things, or is only a part of a token,
is offered, and nothing starts from it.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from sqlalchemy import Connection

from lotwalk.errors import NotUnderstood
from lotwalk.kinds.library import Kinds
from lotwalk.ledger.model import ThingRow, Version
from lotwalk.ledger.read.search import codes_with, parts, tokens
from lotwalk.ledger.read.things import find_thing
from lotwalk.recall.asking.asked import ReadAs
from lotwalk.values.codes import expand
from lotwalk.values.gs1 import scanned_lot
from lotwalk.values.roles import MAKES

_MOST = 8

_Match = tuple[str, Version, str]
"""A code, the entry that made it, and the field that says the words."""


@dataclass(frozen=True, slots=True)
class Sought:
    """A thing, and the words as which it was read; None where they are its code."""

    thing: ThingRow
    read_as: ReadAs | None = None

    @property
    def code(self) -> str:
        """The code of the thing."""
        return self.thing.code


def sought(connection: Connection, words: str, kinds: Kinds, classes: Collection[str] = ()) -> Sought:
    """Return the thing of this code, or the one thing of which a package or a paper says just these words.

    What a scanner reads off a label's GS1 code is looked for by the lot in it. `classes` are those of things that are
    offered by a part of their code; all, if none is said.

    Raises NotUnderstood when there is none or there are several, and then offers what the words could mean.
    """
    thing = find_thing(connection, words)
    if thing is not None:
        return Sought(thing)
    scanned = scanned_lot(words)
    if scanned:
        return sought(connection, scanned, kinds, classes)
    spaceless = find_thing(connection, "".join(words.split()))
    matches = _made(tokens(connection, kinds.read_out(), words))
    codes = {code for code, _, _ in matches} | ({spaceless.code} if spaceless else set())
    if not codes:
        raise _offer(connection, words, kinds, classes)
    if spaceless and len(codes) == 1:
        return Sought(spaceless, ReadAs(words, spaceless.code, "its code, spaces apart"))
    if len(codes) == 1:
        return _only(connection, words, matches[0], kinds)
    if not spaceless and (shared := _shared(connection, matches, kinds)):
        came = ", ".join(dict.fromkeys(code for code, _, _ in matches))
        what = f"the {kinds.things[shared.kind].title.lower()} that came as {came}"
        return Sought(shared, ReadAs(words, shared.code, what))
    listed = [f"{spaceless.code} (its code, spaces apart)"] if spaceless else []
    listed += [f"{code} ({_told(version, field, kinds)})" for code, version, field in matches]
    raise NotUnderstood(f"{words} is no code, and it is said of several things", f"one of them: {_some(listed)}")


def all_sought(connection: Connection, words: str, kinds: Kinds, classes: Collection[str] = ()) -> list[Sought]:
    """Return the things of a list or a range of codes, such as `Q-1,Q-2` or `P-1..P-9`; else the one of these words.

    Raises NotUnderstood as `sought` does, and for a code of such a list that is not in the book.
    """
    if find_thing(connection, words) is None:
        try:
            codes = expand(words)
        except NotUnderstood:
            codes = []
        if len(codes) > 1 and any(find_thing(connection, code) for code in codes):
            return [sought(connection, code, kinds, classes) for code in codes]
    return [sought(connection, words, kinds, classes)]


def read_off(connection: Connection, words: str, kinds: Kinds) -> Sought | None:
    """Return the one thing of which a package or a paper says just these words; None where that is not one."""
    try:
        return sought(connection, words, kinds)
    except NotUnderstood:
        return None


def _only(connection: Connection, words: str, match: _Match, kinds: Kinds) -> Sought:
    code, version, field = match
    thing = find_thing(connection, code)
    assert thing is not None, "a stored use names a stored thing"
    return Sought(thing, ReadAs(words, code, _told(version, field, kinds), field, version.name))


def _offer(connection: Connection, words: str, kinds: Kinds, classes: Collection[str]) -> NotUnderstood:
    """The refusal of words that no token is, with the tokens of which they are a part."""
    things = [one for one in codes_with(connection, words) if not classes or one.cls in classes]
    listed = {one.code: f"{one.code} ({kinds.things[one.kind].title.lower()})" for one in things}
    for code, version, field in _made(parts(connection, kinds.read_out(), words)):
        listed.setdefault(code, f"{code} ({_told(version, field, kinds)}: `{_says(version.fields, field)}`)")
    if not listed:
        return NotUnderstood(f"{words} is not in the book", "a code, or what a package or a paper says")
    what = f"{words} is not in the book; it is only a part of what stands there"
    return NotUnderstood(what, f"the whole of it, such as one of these: {_some(list(listed.values()))}")


def _some(listed: list[str]) -> str:
    more = f"; and {len(listed) - _MOST} more" if len(listed) > _MOST else ""
    return f"{'; '.join(listed[:_MOST])}{more}"


def _shared(connection: Connection, matches: Iterable[_Match], kinds: Kinds) -> ThingRow | None:
    """The one thing for which several entries stand together, such as a supplier's lot that came twice."""
    codes: set[str | None] = set()
    for _, version, field in matches:
        shared = kinds[version.kind].shared
        named = shared is not None and field == shared.by[-1]
        codes.add(next((use.code for use in version.uses if named and use.field == field), None))
    (only, *others) = codes
    return find_thing(connection, only) if only and not others else None


def _made(found: Iterable[tuple[Version, str]]) -> list[_Match]:
    """The codes that the entries made or registered, each with its entry and the field that says the words."""
    return [(code, version, field) for version, field in found for code in version.codes(*MAKES)]


def _told(version: Version, field: str, kinds: Kinds) -> str:
    kind = kinds[version.kind]
    name = kind.fields[field].title.lower() if field in kind.fields else field.replace("_", " ")
    return f"{name} of {kind.title.lower()} {version.name}, {version.at}"


def _says(fields: object, name: str) -> str:
    value = fields.get(name, "") if isinstance(fields, dict) else ""
    return value if isinstance(value, str) else ""
