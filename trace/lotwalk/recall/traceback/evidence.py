"""What is in hand of the candidate causes: tests and papers that name them. They mark a candidate, and drop none.

What a test found in one puts it first. Nothing puts one last.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple, TypeAlias
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Field, Value
from lotwalk.kinds.roles import facts
from lotwalk.ledger.entry import content_of
from lotwalk.ledger.model import ThingRow, Version
from lotwalk.ledger.read.uses import using
from lotwalk.ledger.read.versions import by_seq
from lotwalk.recall.model import (
    AFTER,
    BEFORE,
    FAILED,
    NOT_NAMED,
    NOT_SHOWN,
    PASSED,
    UNREAD,
    WITHIN,
    Candidate,
    Evidence,
    Found,
)
from lotwalk.science.germs import germs_found, germs_in, only_indicate
from lotwalk.science.results import outcome
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role
from lotwalk.values.times import read_when, zone
from lotwalk.walk.model import EVER, Spell, Thing

FACT = "examined"
"""What a kind of record tells of what it examines or vouches for."""

_RESULTS = {"result": "", "e_coli": "generic E. coli"}
"""The fields in which a result stands in somebody's words, and what it is of where only the field says that."""

_TESTS = ("test", "method", "type")
"""The fields that say what was looked for."""

_HOLDS = frozenset({"issued", "expires"})
"""The fields that say from when on and until when a paper holds."""

_OUTCOMES = {"found": FAILED, "not found": PASSED, "not shown": NOT_SHOWN, "unclear": UNREAD}
_CLASSES = ("lot", "item", "water-source")


_Examined: TypeAlias = Thing | ThingRow

_Looked: TypeAlias = tuple[_Examined, Spell | None]
"""A thing that is looked at: an item or a water source in one spell, a lot at any time."""


def with_evidence(
    connection: Connection, kinds: Kinds, candidates: Sequence[Candidate], asked: Sequence[Thing]
) -> tuple[list[Candidate], tuple[Found, ...]]:
    """Return the candidates, each with what the book holds of it; and the tests that found a germ.

    What tested positive comes first, else the order stays. The tests are those of the candidates, and of the things
    that were asked about.
    """
    looked: list[_Looked] = [(one.thing, one.spell) for one in candidates]
    evidence = _evidence(connection, kinds, [*looked, *((thing, None) for thing in asked)])
    marked = [replace(one, evidence=told) if told else one for one, told in zip(candidates, evidence, strict=False)]
    marked.sort(key=lambda one: not one.positive)
    found: dict[tuple[int, str], Found] = {}
    for one in marked:
        for told in one.evidence:
            known = found.get((one.thing.id, told.entry))
            wider = known and known.candidate and len(known.candidate.deliveries) >= len(one.deliveries)
            if told.positive and not wider:
                found[one.thing.id, told.entry] = Found(one.thing, told, one)
    for thing, some in zip(asked, evidence[len(candidates) :], strict=True):
        for told in some:
            if told.positive:
                found.setdefault((thing.id, told.entry), Found(thing, told, None))
    return marked, tuple(found.values())


def evidence_of(
    connection: Connection, kinds: Kinds, things: Sequence[ThingRow]
) -> list[tuple[ThingRow, tuple[Evidence, ...]]]:
    """Return what is in hand of each of these lots, items and water sources, at whatever time; those of which there is
    nothing are left out."""
    told = _evidence(connection, kinds, [(thing, None) for thing in things])
    return [(thing, some) for thing, some in zip(things, told, strict=True) if some]


def _evidence(connection: Connection, kinds: Kinds, looked: Sequence[_Looked]) -> list[tuple[Evidence, ...]]:
    """What is in hand of each, by time."""
    spans: dict[int, tuple[int, int]] = {}
    for thing, spell in looked:
        low, high = _span(spell)
        known = spans.get(thing.id, (low, high))
        spans[thing.id] = min(low, known[0]), max(high, known[1])
    told = _examined(connection, kinds, {thing.id: thing for thing, _ in looked}, spans)
    return [tuple(_of_spell(told.get(thing.id, ()), spell)) for thing, spell in looked]


class _Told(NamedTuple):
    """What an examination says, and the first and last second that it speaks of.

    `dated`: it speaks of its own day. A paper tells when it was issued, and not of which day what it tells is.
    """

    start: int
    end: int
    dated: bool
    evidence: Evidence


def _examined(
    connection: Connection, kinds: Kinds, things: Mapping[int, _Examined], spans: Mapping[int, tuple[int, int]]
) -> dict[int, list[_Told]]:
    """What examined each thing (database keys) and speaks of some time in its span, by time.

    A well is tested for twenty years, and only the tests beside a spell tell of it; the others are not read.
    """
    telling = kinds.telling(FACT)
    of_their_day = {name for name in telling if not _HOLDS & kinds[name].fields.keys()}
    if not telling:
        return {}
    out: dict[int, list[_Told]] = defaultdict(list)
    for cls in _CLASSES:
        keys = [key for key, thing in things.items() if thing.cls == cls]
        roles = _roles(kinds, telling, cls)
        if not keys or not roles:
            continue
        found = {
            (one.thing, one.seq)
            for one in using(connection, keys, roles, telling)
            if one.kind not in of_their_day or (one.start <= spans[one.thing][1] and one.end >= spans[one.thing][0])
        }
        versions = by_seq(connection, {seq for _, seq in found})
        for key, seq in found:
            out[key] += _told(versions[seq], things[key], kinds, of_their_day)
    return {key: sorted(told, key=_by_time) for key, told in out.items() if told}


def _by_time(one: _Told) -> tuple[int, int, int]:
    return one.start, one.end, int(one.evidence.entry[1:])


def _roles(kinds: Kinds, telling: Collection[str], cls: str) -> set[Role]:
    """The roles in which fields that tell of an examination may use things of a class.

    Asked class by class, so that a water source's thousand draws are not read for the one role that lots have there.
    """
    found: set[Role] = set()
    for name in telling:
        for field in _fields(kinds[name].fields.values()):
            if not any(fact.name == FACT for fact in field.facts):
                continue
            for case in field.roles:
                wanted = case.when.get("thing") if isinstance(case.when, Mapping) else None
                listed = wanted if isinstance(wanted, list) else [wanted]
                if wanted is None or any(cls in (one, _class(kinds, one)) for one in listed):
                    found.add(case.role.of(cls))
    return found


def _class(kinds: Kinds, kind: str | None) -> str | None:
    return kinds.things[kind].cls if kind is not None and kind in kinds.things else None


def _fields(fields: Iterable[Field]) -> Iterator[Field]:
    for field in fields:
        yield field
        yield from _fields(field.fields.values())


def _told(version: Version, thing: _Examined, kinds: Kinds, of_their_day: Collection[str]) -> Iterator[_Told]:
    content = content_of(version, kinds)
    for mention in content.mentions:
        named = any(fold(code) == fold(thing.code) for code in mention.codes)
        if named and FACT in facts(mention.field, mention.scope, (thing.kind, thing.cls)):
            when = _when(version, content.values)
            yield _Told(*when, version.kind in of_their_day, _came_to(version, thing.code, content.values))
            return


def _came_to(version: Version, code: str, values: Mapping[str, Value]) -> Evidence:
    """What an examination came to, and in which words."""
    field, says = next(((name, str(values[name])) for name in _RESULTS if values.get(name)), ("", ""))
    tested = " ".join(filter(None, (_RESULTS.get(field, ""), *(str(values.get(name) or "") for name in _TESTS))))
    if version.verdict:
        result = PASSED if code in version.verdict.passed else FAILED
    else:
        result = _OUTCOMES[outcome(says, tested)] if says else NOT_NAMED
    evidence = Evidence(version.name, version.at, version.kind, result, says, looked_for=tested)
    if result != FAILED:
        return evidence
    germs = germs_found(says, tested) or germs_in(f"{says} {tested}")
    return replace(evidence, germs=tuple(germ.name for germ in germs), positive=not only_indicate(germs))


def _when(version: Version, values: Mapping[str, Value]) -> tuple[int, int]:
    """The time that an examination speaks of: its own, or that in which a paper holds."""
    place: ZoneInfo = zone(version.zone)
    issued, expires = values.get("issued"), values.get("expires")
    if not isinstance(issued, str) and not isinstance(expires, str):
        return version.start, version.end
    low = read_when(issued, place).start if isinstance(issued, str) else version.start
    high = read_when(expires, place).end if isinstance(expires, str) else max(low, version.end)
    return min(low, high), high


def _of_spell(told: Iterable[_Told], spell: Spell | None) -> Iterator[Evidence]:
    low, high = _span(spell)
    for one in told:
        if spell is None:
            yield one.evidence
        elif one.start <= high and one.end >= low:
            yield replace(one.evidence, side=BEFORE if one.start <= low else AFTER if one.end >= high else WITHIN)
        elif one.evidence.positive and not one.dated:
            # A paper of a positive says nothing of when the sample was taken, so it speaks of every spell.
            yield one.evidence


def _span(spell: Spell | None) -> tuple[int, int]:
    """The first and last second of a spell; of none, all time."""
    low = None if spell is None else spell.start
    high = None if spell is None else spell.end
    return -EVER if low is None else low, EVER if high is None else high
