"""What is in hand of the candidate causes: tests and papers that name them. They mark a candidate, and drop none."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from lotwalk.kinds.library import Kinds
from lotwalk.kinds.model import Field, Value
from lotwalk.kinds.roles import facts
from lotwalk.ledger.entry import content_of
from lotwalk.ledger.model import Version
from lotwalk.ledger.read.uses import uses_of
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
)
from lotwalk.science.results import outcome
from lotwalk.store.nodes import seq_of
from lotwalk.values.codes import fold
from lotwalk.values.roles import Role
from lotwalk.values.times import read_when, zone
from lotwalk.walk.model import EVER, Spell, Thing

FACT = "examined"
"""What a kind of record tells of what it examines or vouches for."""

_RESULTS = ("result", "e_coli")
"""The fields in which a result stands in somebody's words."""

_TESTS = ("test", "method", "type")
"""The fields that say what was looked for."""

_HOLDS = frozenset({"issued", "expires"})
"""The fields that say from when on and until when a paper holds."""

_OUTCOMES = {"found": FAILED, "not found": PASSED, "not shown": NOT_SHOWN, "unclear": UNREAD}
_CLASSES = ("lot", "item", "water-source")


def with_evidence(connection: Connection, kinds: Kinds, candidates: Sequence[Candidate]) -> list[Candidate]:
    """Return the candidates, each with what the book holds of it; the order stays."""
    things = {one.thing.id: one.thing for one in candidates}
    spans: dict[int, tuple[int, int]] = {}
    for one in candidates:
        low, high = _span(one.spell)
        known = spans.get(one.thing.id, (low, high))
        spans[one.thing.id] = min(low, known[0]), max(high, known[1])
    told = _examined(connection, kinds, things, spans)
    return [
        replace(one, evidence=tuple(_of_spell(told[one.thing.id], one.spell))) if one.thing.id in told else one
        for one in candidates
    ]


_Told = tuple[tuple[int, int], Evidence]
"""The first and last second that an examination speaks of, and what it says."""


def _examined(
    connection: Connection, kinds: Kinds, things: Mapping[int, Thing], spans: Mapping[int, tuple[int, int]]
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
            (one.thing, seq_of(one.node)): None
            for one in uses_of(connection, keys, roles, telling)
            if one.kind not in of_their_day or (one.start <= spans[one.thing][1] and one.end >= spans[one.thing][0])
        }
        versions = by_seq(connection, {seq for _, seq in found})
        for key, seq in found:
            out[key] += _told(versions[seq], things[key], kinds)
    return {key: sorted(told, key=lambda one: (one[0], int(one[1].entry[1:]))) for key, told in out.items() if told}


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


def _told(version: Version, thing: Thing, kinds: Kinds) -> Iterator[_Told]:
    content = content_of(version, kinds)
    for mention in content.mentions:
        named = any(fold(code) == fold(thing.code) for code in mention.codes)
        if named and FACT in facts(mention.field, mention.scope, (thing.kind, thing.cls)):
            result, says = _result(version, thing.code, content.values)
            yield _when(version, content.values), Evidence(version.name, version.at, version.kind, result, says)
            return


def _result(version: Version, code: str, values: Mapping[str, Value]) -> tuple[str, str]:
    """What an examination came to, and in which words."""
    says = next((str(values[name]) for name in _RESULTS if values.get(name)), "")
    if version.verdict:
        return (PASSED if code in version.verdict.passed else FAILED), says
    if not says:
        return NOT_NAMED, ""
    tested = " ".join(str(values[name]) for name in _TESTS if values.get(name))
    return _OUTCOMES[outcome(says, tested)], says


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
    if spell is None:
        yield from (evidence for _, evidence in told)
        return
    low, high = _span(spell)
    for (start, end), evidence in told:
        if start <= high and end >= low:
            yield replace(evidence, side=BEFORE if start <= low else AFTER if end >= high else WITHIN)


def _span(spell: Spell | None) -> tuple[int, int]:
    """The first and last second of a spell; of none, all time."""
    low = None if spell is None else spell.start
    high = None if spell is None else spell.end
    return -EVER if low is None else low, EVER if high is None else high
