"""What a verdict rests on, and in which role an entry uses a thing, in the words of a report."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from sqlalchemy import Connection

from lotwalk.judge.words import listed
from lotwalk.kinds.library import Kinds
from lotwalk.kinds.roles import facts
from lotwalk.ledger.entry import content_of
from lotwalk.ledger.model import Version
from lotwalk.ledger.read.versions import in_force_of
from lotwalk.values.codes import entry_number, fold
from lotwalk.values.roles import Role

_ROLES: Mapping[Role, str] = {
    Role.TOOK: "used, wholly or partly",
    Role.MADE: "made here",
    Role.TENDED: "tended",
    Role.HANDLED: "worked on",
    Role.TOUCHED: "in contact",
    Role.DREW: "drawn from",
    Role.CLEARED: "starts afresh here",
    Role.ABOUT: "named",
    Role.FROM: "came from",
    Role.TO: "went to",
    Role.BY: "did it",
    Role.PLACE: "place",
    Role.NAMES: "registered",
    Role.SHARED: "shared its bath",
}
_OPPOSITES = {"washed": "unclean"}
"""Facts that the judges know, each with the one that takes it back."""

MEASURED = "measured"
_READING = "reading"
"""The field in which what was measured stands."""


def role_words(version: Version, code: str) -> tuple[str, ...]:
    """Return how an entry uses a thing, in words."""
    folded = fold(code)
    roles = [use.role for use in version.uses if fold(use.code) == folded]
    return tuple(dict.fromkeys(_ROLES[role] for role in roles))


@dataclass(slots=True)
class Facts:
    """Reads what entries tell of things."""

    connection: Connection
    kinds: Kinds
    _known: dict[tuple[str, str], frozenset[str]] = field(default_factory=dict)

    def told(self, version: Version, fact: str) -> tuple[str, ...]:
        """Return, as `yes, E12`, the entries that tell a fact of what is judged and on which the verdict rests.

        A thing of which one of them tells the opposite too is left out. Of `measured` it is what was measured of
        something that the entry used, where it holds no reading of its own: the nearest before it and after it.
        """
        verdict = version.judged
        evidence = [f"E{number}" for number in verdict.evidence]
        if fact == MEASURED:
            return self._measured(version, evidence)
        judged = {fold(code) for code in (*verdict.passed, *verdict.failed)}
        for name in evidence:
            judged -= self._tells(name, _OPPOSITES.get(fact, ""))
        names = [name for name in evidence if self._tells(name, fact) & judged]
        return (f"yes, {listed(names)}",) if names else ()

    def _measured(self, version: Version, evidence: Sequence[str]) -> tuple[str, ...]:
        if _READING in version.fields:
            return ()
        used = {fold(use.code) for use in version.uses if use.role is Role.TOOK}
        found = [
            told
            for name in evidence
            if name != version.name and self._tells(name, MEASURED) & used and (told := self._entry(name))
            if _READING in told.fields
        ]
        ordered = sorted(found, key=lambda one: (one.start, one.number))
        before = [one for one in ordered if one.start <= version.start][-1:]
        after = [one for one in ordered if one.start > version.start][:1]
        near = [f"{one.name} ({one.fields[_READING]})" for one in (*before, *after)]
        if before and after:
            return (f"between {near[0]} and {near[1]}",)
        return tuple(f"{'before' if before else 'after'} it {one}" for one in near)

    def _tells(self, name: str, fact: str) -> frozenset[str]:
        """Return the things (folded codes) of which an entry tells a fact."""
        if (name, fact) not in self._known:
            self._known[name, fact] = self._read(name, fact)
        return self._known[name, fact]

    def _read(self, name: str, fact: str) -> frozenset[str]:
        version = self._entry(name)
        if version is None or version.void or version.kind not in self.kinds.telling(fact):
            return frozenset()
        mentions = content_of(version, self.kinds).mentions
        return frozenset(
            fold(code)
            for mention in mentions
            if fact in facts(mention.field, mention.scope, None)
            for code in mention.codes
        )

    def _entry(self, name: str) -> Version | None:
        """The newest version of an entry."""
        number = entry_number(name)
        found = in_force_of(self.connection, [number]) if number else []
        return found[0] if found else None
